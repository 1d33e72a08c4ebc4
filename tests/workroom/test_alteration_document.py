"""The alteration page's document: what stands in it agrees with the pattern, and everything is in the maker's unit."""

from __future__ import annotations

import re
from collections import OrderedDict
from collections.abc import Hashable
from dataclasses import replace

import msgspec
import numpy as np
import pytest
from alteration_samples import REDUCTION_MM, base, contralto, desk
from hypothesis import given, settings
from hypothesis import strategies as st

from coutil.alter import Override, State, Wishes
from coutil.curves import Curve
from coutil.measure import Unit, complete_chart
from coutil.pattern import EdgeRef, seam_lengths
from coutil.workroom._alteration import Desk, Work, document, remembered
from coutil.workroom._alteration_shapes import edge_path, middle_of, spot_of
from coutil.workroom._alteration_wire import Arrow, Document, Row

WISHES = Wishes(reduction=REDUCTION_MM)


def worked(wishes: Wishes = WISHES, unit: Unit = "cm") -> Work:
    return desk().work(contralto(), wishes, unit)


def shown(wishes: Wishes = WISHES, unit: Unit = "cm", cut: bool = False) -> Document:
    return document(desk(), worked(wishes, unit), cut)


def row_of(page: Document, key: str) -> Row:
    return next(row for row in page.rows if row.key == key)


def path_points(path: str) -> np.ndarray:
    numbers = [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?(?:e-?\d+)?", path)]
    return np.array(numbers).reshape(-1, 2)


def test_paths_are_the_curves_upside_down_to_a_hundredth() -> None:
    page, style = shown(), worked().job.alteration.style
    for edge in page.edges:
        piece, name = edge.id.split("/")
        points = style.curve(EdgeRef(piece, name)).points
        assert np.allclose(path_points(edge.result) * [1, -1], points, atol=0.0051)


def test_a_straight_edge_by_hand() -> None:
    # From (0, 0) to (3, 6): handles at the thirds, y turned down.
    assert edge_path(Curve.line((0, 0), (3, 6))) == "M0 0C1 -2 2 -4 3 -6"


def test_every_piece_shows_base_and_result_and_the_cut_line_only_on_request() -> None:
    plain, cut = shown(), shown(cut=True)
    assert [piece.name for piece in plain.pieces] == [piece.name for piece in base().pieces]
    assert all(piece.cut is None for piece in plain.pieces)
    assert all(piece.cut and piece.cut.endswith("Z") for piece in cut.pieces)
    assert all(piece.base != piece.result for piece in plain.pieces)


def test_pieces_do_not_lie_on_each_other() -> None:
    boxes = [(p.dx + p.box[0], p.dy + p.box[1], p.dx + p.box[2], p.dy + p.box[3]) for p in shown().pieces]
    for i, (left, top, right, bottom) in enumerate(boxes):
        for other in boxes[i + 1 :]:
            assert right <= other[0] or other[2] <= left or bottom <= other[1] or other[3] <= top


def test_sewn_edges_know_their_mates_and_seams_their_lengths() -> None:
    page, style = shown(), worked().job.alteration.style
    edge = next(e for e in page.edges if e.id == "side_back/side_seam")
    assert edge.seam == "side"
    assert edge.mates == ("side_front/side_seam", "outer_cup/side_seam")
    seam = next(seam for seam in page.seams if seam.name == "side")
    lengths = seam_lengths(style, next(s for s in style.seams if s.name == "side"))
    assert seam.result == f"{lengths.total.a / 10:.2f} on {lengths.total.b / 10:.2f} cm"
    assert [s.name for s in seam.segments][1:3] == ["high hip to waist", "waist to underbust"]
    hem = next(e for e in page.edges if e.id == "side_back/hem")
    assert hem.seam is None
    assert hem.mates == ()


def test_arrows_stand_on_their_edges_at_their_levels_and_point_outwards() -> None:
    page, style = shown(), worked().job.alteration.style
    for row in page.rows:
        for arrow in row.arrows:
            piece, name = arrow.edge.split("/")
            curve = style.curve(EdgeRef(piece, name))
            assert curve.closest((arrow.x, -arrow.y)).distance < 0.02
            assert np.hypot(arrow.ux, arrow.uy) == pytest.approx(1.0, abs=1e-4)
    waist = row_of(page, "curves_waist_back").arrows
    assert {a.edge: (a.ux, a.uy) for a in waist}["side_back/panel_seam"] == (1.0, 0.0)
    assert {a.edge: (a.ux, a.uy) for a in waist}["side_back/side_seam"] == (-1.0, 0.0)
    assert all(abs(a.y) < 1.5 for a in waist)


def test_shares_say_how_far_the_row_moves_with_its_arrow() -> None:
    row = row_of(shown(), "curves_waist_back")
    # The chart's own amounts, -10.5 in all; which of two equal shares gets the odd half millimetre is the rounding's.
    assert sorted(arrow.amount_mm for arrow in row.arrows) == [-4.5, -4.0, -2.0]
    shares = [4.5 / 10.5, 4 / 10.5, 2 / 10.5]
    assert sorted((arrow.share for arrow in row.arrows), reverse=True) == pytest.approx(shares, abs=1e-5)
    assert all(arrow.share == pytest.approx(arrow.amount_mm / row.amount_mm, abs=1e-5) for arrow in row.arrows)
    assert [arrow.share for arrow in row_of(shown(), "side_front").arrows] == [1.0, 1.0]


def test_a_row_left_as_in_the_base_keeps_the_handles_it_had() -> None:
    before = row_of(shown(), "curves_waist_back").arrows
    left = Override("curves_waist_back", State.LEFT, "sat well")
    after = row_of(shown(replace(WISHES, overrides=(left,))), "curves_waist_back")
    assert after.amount_mm == 0.0
    assert [arrow.edge for arrow in after.arrows] == [arrow.edge for arrow in before]
    assert [arrow.share for arrow in after.arrows] == pytest.approx([arrow.share for arrow in before])
    assert all(arrow.amount_mm == 0.0 for arrow in after.arrows)


def test_amounts_are_millimetres_for_who_measures_in_centimetres_and_sixteenths_for_inches() -> None:
    assert (shown().drawing_unit, shown().step_mm) == ("mm", 1.0)
    inches = shown(unit="in")
    assert (inches.drawing_unit, inches.step_mm) == ("in", 25.4 / 16)
    assert row_of(shown(), "side_front").amount == "-7.5 mm"
    assert row_of(inches, "side_front").amount == "-5/16 in"


def test_girths_stand_full_with_the_half_in_brackets() -> None:
    # Waist 705 on a base of 760, half 380: a difference of 55 of full girth, 27.5 of the half.
    waist = next(m for m in shown().measures if m.key == "waist_girth")
    assert (waist.base, waist.client, waist.difference) == ("76.0 (38.0)", "70.5 cm", "-5.5 (-2.75)")
    assert set(waist.rows) == {"reduction", "curves_waist_front", "curves_waist_back"}


def test_what_was_not_taken_shows_its_estimate() -> None:
    lacking = contralto().without(["underbust_to_waist"])
    page = document(desk(), desk().work(lacking, WISHES, "cm"))
    line = next(m for m in page.measures if m.key == "underbust_to_waist")
    assert (line.client_mm, line.client, line.how) == (None, "", "")
    assert line.estimate.endswith(" cm")


def test_a_seams_checks_name_its_edges() -> None:
    found = [check for check in shown().checks if check.code == "seam" and "side_back/side_seam" in check.edges]
    assert len(found) == 1
    assert set(found[0].edges) == {"side_front/side_seam", "outer_cup/side_seam", "side_back/side_seam"}


def test_the_same_work_is_not_done_twice() -> None:
    fresh = Desk(base())
    first = fresh.work(contralto(), WISHES, "cm")
    again = fresh.work(contralto(), WISHES, "cm")
    assert again.job is first.job
    assert first.engine_ms > 0.0
    assert again.engine_ms == 0.0


def test_the_one_not_asked_for_longest_gives_way() -> None:
    known: OrderedDict[Hashable, int] = OrderedDict()
    for key in ("a", "b", "a", "c"):
        remembered(known, key, 2, lambda: len(known))
    assert list(known) == ["a", "c"]


def test_the_document_is_read_back_as_it_was() -> None:
    page = shown(cut=True)
    assert msgspec.json.decode(msgspec.json.encode(page), type=Document) == page


@given(st.integers(1, 6), st.floats(-40, 40), st.floats(-40, 40))
@settings(max_examples=30, deadline=None)
def test_the_middle_lies_on_the_curve(spans: int, x: float, y: float) -> None:
    inner = [i / spans for i in range(1, spans)]
    curve = Curve.line((0, 0), (100 + x, y), inner)
    assert curve.closest(middle_of(curve)).distance < 1e-6
    assert np.allclose(middle_of(curve), np.array([100 + x, y]) / 2)


def test_a_vertical_move_points_up_on_the_screen() -> None:
    row = row_of(shown(), "length")
    arrow: Arrow = row.arrows[0]
    assert (arrow.ux, arrow.uy) == (0.0, -1.0)
    move = next(r for r in worked().job.alteration.plan.rows if r.key == "length").moves[0]
    spot = spot_of(worked().job.alteration.style.piece(move.piece), move)
    assert tuple(spot.direction) == (0.0, 1.0)


def test_a_girth_taken_elsewhere_is_compared_at_the_styles_depth() -> None:
    """High hip 850 taken 90 mm below the waist, the style's level 40 below: as its rows, compared there."""
    chart = contralto()
    assert (chart["high_hip_girth"], chart["waist_to_high_hip"]) == (850.0, 90.0)
    own = base().base_chart
    there = complete_chart(chart, own, {"high_hip": 40.0, "hem": 90.0}).chart["high_hip_girth"]
    assert 760.0 < there < 780.0
    page = document(desk(), desk().work(chart, WISHES, "cm"))
    (measure,) = (measure for measure in page.measures if measure.key == "high_hip_girth")
    assert measure.client_mm == 850.0
    assert measure.difference.startswith(f"{(there - own['high_hip_girth']) / 10:+.1f}")
    assert measure.remarks[0] == f"Compared at the style's depth, 4.0 cm below the waist: {there / 10:.1f} cm there."
