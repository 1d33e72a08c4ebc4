"""The tape on small styles whose every figure is known, and on the drafted cupped overbust."""

from __future__ import annotations

import ast
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import coutil.pattern
from coutil.curves import Curve
from coutil.draft import base_chart, draft_cupped
from coutil.errors import BadStyle
from coutil.pattern import (
    Edge,
    EdgeRef,
    KnotRef,
    Landmark,
    LevelMark,
    Match,
    Piece,
    PointRef,
    Role,
    Seam,
    bust_point_separation,
    girth,
    interior_angle,
    laced_inside,
    length_between,
    lower_dart_angles,
    measure_style,
    measured_fit,
    pairs_along,
    place_on_chain,
    scan,
    seam_lengths,
    spread_out,
    upper_dart_angles,
    width,
    with_notches,
)
from helpers.tubes import HEIGHTS, polyline, tube_style, with_edge

GIRTHS = {"underbust": 700.0, "waist": 590.0, "high_hip": 720.0, "hem": 760.0}


@pytest.fixture(scope="module")
def cupped():
    return draft_cupped(base_chart(80, 14))


# --- girths ------------------------------------------------------------------------------------------------


def test_worked_case_of_the_waist():
    """720 body - 80 reduction - 50 gap = 590 garment, half 295, laced inside 640."""
    style = tube_style(5, {**GIRTHS, "waist": 720.0 - 80.0 - 50.0}, reduction=80.0)
    assert girth(style, "waist").full == pytest.approx(590.0, abs=1e-9)
    assert girth(style, "waist").full / 2 == pytest.approx(295.0, abs=1e-9)
    assert laced_inside(style, "waist", 50.0) == pytest.approx(640.0, abs=1e-9)
    assert laced_inside(style, "waist", 50.0, closure_gap=4.0) == pytest.approx(644.0, abs=1e-9)
    assert measured_fit(style, 50.0, reduction=80.0).ease["waist"] == pytest.approx(0.0, abs=1e-9)


@given(st.integers(2, 7), st.lists(st.floats(500, 900), min_size=4, max_size=4))
@settings(max_examples=25, deadline=None)
def test_a_tube_measures_what_it_was_made_to(n, values):
    wanted = dict(zip(HEIGHTS, values, strict=True))
    style = tube_style(n, wanted)
    for level, value in wanted.items():
        assert girth(style, level).full == pytest.approx(value, abs=1e-9)


def test_front_and_back_are_parted_at_the_side_seam():
    """Five equal panels a half: three of them front."""
    found = girth(tube_style(5, GIRTHS), "waist")
    assert found.front == pytest.approx(590.0 * 3 / 5)
    assert found.back == pytest.approx(590.0 * 2 / 5)


def test_a_whole_style_counts_each_piece_once():
    assert girth(tube_style(4, GIRTHS, half=False), "waist").full == pytest.approx(590.0)


def test_width_through_true_crossings_of_a_curve():
    """A half disc of radius 100 on its flat side: at height 60 the circle is 80 away; one cubic is 0.03 off."""
    k = 0.5522847498 * 100
    right = Curve(np.array([(100, 0), (100, k), (k, 100), (0, 100)], dtype=float))
    left = Curve(np.array([(0, 100), (-k, 100), (-100, k), (-100, 0)], dtype=float))
    edges = (
        Edge("hem", Curve.line((-100, 0), (100, 0)), Role.HEM),
        Edge("right", right, Role.PANEL_SEAM),
        Edge("left", left, Role.PANEL_SEAM),
    )
    piece = Piece("disc", "Disc", "front", edges, {"waist": 60.0})
    assert width(piece, "waist") == pytest.approx(160.0, abs=0.06)
    exact = -left.crossings(60.0)[0].x + right.crossings(60.0)[0].x
    assert width(piece, "waist") == pytest.approx(exact, abs=1e-9)


def test_a_level_that_meets_a_corner_is_measured_at_the_corner():
    """The top slopes up from a corner that has slipped 0.2 below its level: across it the tape would read 20 less."""
    edges = (
        Edge("hem", Curve.line((0, -50), (100, -50)), Role.HEM),
        Edge("right", Curve.line((100, -50), (100, 99.8)), Role.PANEL_SEAM),
        Edge("cradle", Curve.line((100, 99.8), (0, 100.8)), Role.CRADLE),
        Edge("left", polyline([(0, 100.8), (0, 100), (0, -50)]), Role.CENTRE),
    )
    marks = (LevelMark("underbust", KnotRef("right", 1)), LevelMark("underbust", KnotRef("left", 1)))
    piece = Piece("corner", "Corner", "front", edges, {"underbust": 100.0}, marks)
    assert width(piece, "underbust") == pytest.approx(100.0, abs=1e-9)
    assert width(replace(piece, level_marks=()), "underbust") == pytest.approx(80.0, abs=1e-6)


def test_a_notched_hem_is_not_cloth():
    """At height 10 a hem with a peak of 20 leaves a hole of 20 in a width of 100."""
    hem = polyline([(0, 0), (40, 0), (50, 20), (60, 0), (100, 0)])
    edges = (
        Edge("hem", hem, Role.HEM),
        Edge("right", Curve.line((100, 0), (100, 50)), Role.PANEL_SEAM),
        Edge("top", Curve.line((100, 50), (0, 50)), Role.TOP),
        Edge("left", Curve.line((0, 50), (0, 0)), Role.CENTRE),
    )
    assert width(Piece("p", "P", "front", edges, {"hip": 10.0}), "hip") == pytest.approx(90.0, abs=1e-9)


def test_levels_nobody_carries_are_named():
    style = tube_style()
    with pytest.raises(BadStyle, match="carries the level bust"):
        girth(style, "bust")
    with pytest.raises(BadStyle, match="does not carry the level bust"):
        width(style.pieces[0], "bust")
    with pytest.raises(BadStyle, match="reaches from bust"):
        scan(style, from_level="bust")


def test_scan_interpolates_a_trapezium():
    """Straight edges from 590 at 0 to 700 at 100: half-way up 645, and half-way down to the hip at -25: 655."""
    found = scan(tube_style(3, GIRTHS))
    assert np.interp(50.0, found[:, 0], found[:, 1]) == pytest.approx(645.0, abs=1e-6)
    assert np.interp(-25.0, found[:, 0], found[:, 1]) == pytest.approx(655.0, abs=1e-6)
    assert found[0, 0] == pytest.approx(-50.0, abs=1e-5)
    assert found[-1, 0] == pytest.approx(100.0, abs=1e-5)
    assert np.diff(found[:, 0]).max() <= 2.0 + 1e-9


def test_scan_agrees_with_the_single_tape(cupped):
    found = scan(cupped, step=1.0)
    for level in ("waist", "high_hip"):
        at = np.interp(cupped.piece("centre_front").levels[level], found[:, 0], found[:, 1])
        assert at == pytest.approx(girth(cupped, level).full, abs=0.25)


def test_scan_ends_where_the_cradle_begins(cupped):
    """A horizontal across the cradle would miss the cups' part, and look tighter by it."""
    found = scan(cupped, step=1.0)
    lowest = min(cupped.piece(name).edge("cradle").curve.bounds()[1] for name in ("centre_front", "side_front"))
    assert found[-1, 0] <= lowest
    assert found[-1, 1] == pytest.approx(girth(cupped, "underbust").full, abs=15.0)


# --- seams -------------------------------------------------------------------------------------------------


def test_a_planted_seam_difference_is_found_in_its_segment():
    """The mate's edge is drawn 4.2 longer between waist and underbust: a right triangle of 100 up and s across."""
    style = tube_style(2)
    across = math.sqrt((100 + 4.2) ** 2 - 100**2)
    forward = polyline([(-150 - across, 100), (-150, 0), (-150, -50), (-150, -80)])
    walked = seam_lengths(with_edge(style, "panel_2", "forward", forward), style.seams[0])
    differences = {segment.name: segment.difference for segment in walked.segments}
    assert differences["waist to end"] == pytest.approx(4.2, abs=1e-9)
    assert differences["high_hip to waist"] == pytest.approx(0.0, abs=1e-9)
    assert walked.total.difference == pytest.approx(4.2, abs=1e-9)
    assert walked.worst.difference == pytest.approx(4.2, abs=1e-9)


def test_ease_is_shared_by_length_and_a_free_match_ends_no_segment():
    style = tube_style(2)
    free = Match("junction", PointRef("panel_1", "backward", 1), None)
    waist = Match("waist", PointRef("panel_1", "backward", 2), PointRef("panel_2", "forward", 1))
    seam = replace(style.seams[0], matches=(free, waist), ease=3.6)
    walked = seam_lengths(style, seam)
    assert [segment.name for segment in walked.segments] == ["start to waist", "waist to end"]
    assert [segment.ease for segment in walked.segments] == pytest.approx([3.6 * 80 / 180, 3.6 * 100 / 180])
    assert walked.total.difference == pytest.approx(-3.6)


def test_a_chain_is_walked_over_its_junction():
    style = tube_style(3)
    chain = (EdgeRef("panel_1", "backward"), EdgeRef("panel_2", "forward"))
    spread = spread_out(style)
    assert place_on_chain(spread, chain, 200.0) == (chain[1], pytest.approx(20.0))
    assert place_on_chain(spread, (replace(chain[1], backward=True),), 20.0)[1] == pytest.approx(160.0)
    assert place_on_chain(spread, chain, 1e6)[1] == pytest.approx(180.0)


def test_a_match_outside_its_seam_is_named():
    style = tube_style(2)
    strange = Match("waist", PointRef("panel_1", "hem", 0), PointRef("panel_2", "forward", 1))
    with pytest.raises(BadStyle, match="does not belong"):
        seam_lengths(style, replace(style.seams[0], matches=(strange,)))
    with pytest.raises(BadStyle, match="has no knot 9"):
        length_between(style, "panel_1", "backward", 0, 9)


def test_length_between_two_knots():
    style = tube_style(2)
    assert length_between(style, "panel_1", "backward", 1, 2) == pytest.approx(50.0)
    assert length_between(style, "panel_1", "backward", 2, 1) == pytest.approx(50.0)


def test_lengths_agree_with_the_curves_own(cupped):
    spread = spread_out(cupped)
    for piece in cupped.pieces:
        for edge in piece.edges:
            assert spread.length(piece.name, edge.name) == pytest.approx(edge.curve.length, abs=1e-8)


def test_a_cusp_is_measured_with_care():
    """There and back: (0,0) to (0,0) by way of both handles far right; the quadrature alone would miss it."""
    curve = Curve(np.array([(300, -80), (310, 90), (290, -70), (300, 100)], dtype=float))
    style = with_edge(tube_style(2), "panel_1", "backward", curve)
    assert spread_out(style).length("panel_1", "backward") == pytest.approx(curve.length, abs=1e-9)


# --- bust --------------------------------------------------------------------------------------------------


def test_the_cupped_overbust_measures_its_chart(cupped):
    found, chart = measure_style(cupped), base_chart(80, 14)
    for key in (
        "bust_point_separation",
        "bust_point_to_underbust",
        "bust_point_to_upper_corner",
        "bust_point_to_armhole",
        "underbust_to_waist",
        "centre_front_height",
        "centre_back_height",
        "centre_front_below_waist",
    ):
        assert found[key] == pytest.approx(chart[key], abs=0.05), key
    assert found["side_height"] == pytest.approx(chart["side_height"], abs=0.5)
    assert found["bust_front"] == pytest.approx(chart["bust_front"], abs=0.05)
    assert "bust_level_to_waist" not in found


def test_separation_is_the_inner_cup_twice(cupped):
    assert bust_point_separation(cupped) == pytest.approx(2 * width(cupped.piece("inner_cup"), "bust"), abs=1e-9)


def _cups(upper: float = 120.0) -> tuple[Piece, Piece]:
    """Two flat cups: bust points 95 from the centre and 155 from the side, foot 80 below turned 25 and 20 degrees."""
    foot_in = (-80 * math.sin(math.radians(25)), -80 * math.cos(math.radians(25)))
    foot_out = (80 * math.sin(math.radians(20)), -80 * math.cos(math.radians(20)))
    inner = (
        Edge("cradle", Curve.line((-95, -5), foot_in), Role.CRADLE),
        Edge("cup_seam", polyline([foot_in, (0, 0), (0, upper)]), Role.CUP_SEAM),
        Edge("neckline", Curve.line((0, upper), (-95, 60)), Role.NECKLINE),
        Edge("centre", polyline([(-95, 60), (-95, 0), (-95, -5)]), Role.CENTRE, True),
    )
    outer = (
        Edge("cradle", Curve.line(foot_out, (150, -33)), Role.CRADLE),
        Edge("side_seam", polyline([(150, -33), (155, 0), (155, 50)]), Role.SIDE_SEAM),
        Edge("armhole", Curve.line((155, 50), (0, upper)), Role.ARMHOLE),
        Edge("cup_seam", polyline([(0, upper), (0, 0), foot_out]), Role.CUP_SEAM),
    )
    point = (Landmark("bust_point", KnotRef("cup_seam", 1)),)
    bust = LevelMark("bust", KnotRef("cup_seam", 1))
    return (
        Piece("in", "In", "front", inner, {"bust": 0.0}, (bust, LevelMark("bust", KnotRef("centre", 1))), point),
        Piece("out", "Out", "front", outer, {"bust": 0.0}, (bust, LevelMark("bust", KnotRef("side_seam", 1))), point),
    )


def _cup_style(half: bool = True):
    seam = Seam("cup", (EdgeRef("in", "cup_seam"),), (EdgeRef("out", "cup_seam", backward=True),))
    return replace(tube_style(2), half=half, pieces=_cups(), seams=(seam,), levels=())


def test_distances_of_a_flat_cup_by_hand():
    """Half separation 95; foot 80; corner 120; top at (-95, 60): 112.36; armhole's middle (77.5, 85): 115.03."""
    found = measure_style(_cup_style())
    assert found["bust_point_separation"] == pytest.approx(190.0)
    assert found["bust_point_to_underbust"] == pytest.approx(80.0)
    assert found["bust_point_to_upper_corner"] == pytest.approx(120.0)
    assert found["bust_point_to_centre_top"] == pytest.approx(math.hypot(95, 60))
    assert found["bust_point_to_armhole"] == pytest.approx(math.hypot(77.5, 85))
    assert girth(_cup_style(), "bust").front == pytest.approx(2 * (95 + 155))
    assert lower_dart_angles(_cup_style()) == pytest.approx((45.0,))
    assert upper_dart_angles(_cup_style()) == pytest.approx((0.0,))


def test_a_whole_style_adds_left_and_right_separation():
    left, right = _cups(), _cups()
    named = (*left, *(replace(piece, name=f"{piece.name}_right") for piece in right))
    style = _cup_style(half=False)
    seams = (*style.seams, Seam("r", (EdgeRef("in_right", "cup_seam"),), (EdgeRef("out_right", "cup_seam", True),)))
    whole = replace(style, pieces=named, seams=seams)
    assert bust_point_separation(whole) == pytest.approx(190.0)
    assert len(lower_dart_angles(whole)) == 2


def test_a_panelled_front_adds_the_panels_up_to_the_bust_point():
    """Bust point on the seam of panels 2 and 3 of a tube of 6: at the waist each is 590 / 12 = 49.17 wide, at the bust
    (600 - 590) / 2 = 5 more a half on 10 sewn edges, three of which belong to the first two panels: 2 x (98.33 + 1.5).
    """
    style = tube_style(6, {**GIRTHS, "bust": 600.0}, {**HEIGHTS, "bust": 160.0})
    second, third = style.piece("panel_2"), style.piece("panel_3")
    marked = style.with_pieces(
        {
            "panel_2": replace(second, landmarks=(Landmark("bust_point", KnotRef("backward", 4)),)),
            "panel_3": replace(third, landmarks=(Landmark("bust_point", KnotRef("forward", 0)),)),
        }
    )
    found = measure_style(marked)
    assert found["bust_point_separation"] == pytest.approx(2 * (2 * 590 / 12 + 3 * 0.5))
    assert found["bust_level_to_waist"] == pytest.approx(160.0)
    on_seam = length_between(marked, "panel_2", "backward", 3, 4)
    on_mate = length_between(marked, "panel_3", "forward", 0, 1)
    assert found["bust_point_to_underbust"] == pytest.approx((on_seam + on_mate) / 2)
    assert "bust_point_separation" not in measure_style(style)


# --- heights -----------------------------------------------------------------------------------------------


def test_heights_and_edges_of_a_tube():
    found = measure_style(tube_style(3, GIRTHS))
    assert found["centre_front_height"] == pytest.approx(100.0)
    assert found["centre_back_height"] == pytest.approx(100.0)
    assert found["side_height"] == pytest.approx(100.0)
    assert found["side_below_waist"] == pytest.approx(80.0)
    assert found["waist_to_high_hip"] == pytest.approx(50.0)
    assert found["top_edge_run"] == pytest.approx(700.0)
    assert found["waist_front"] == pytest.approx(590.0 * 2 / 3)


def test_the_assembled_centre_front_adds_cup_and_panel(cupped):
    panel, cup = cupped.piece("centre_front"), cupped.piece("inner_cup")
    top = panel.edge("centre").curve.start[1] + cup.edge("centre").curve.length
    assert measure_style(cupped)["centre_front_height"] == pytest.approx(top, abs=1e-9)


def test_a_style_that_does_not_start_at_zero_measures_the_same():
    """A piece drawn 30 higher in its own frame, levels with it, is the same piece."""
    style = tube_style(3, GIRTHS)
    lifted = style.with_pieces({piece.name: _lifted(piece) for piece in style.pieces})
    assert measure_style(lifted) == pytest.approx(measure_style(style), abs=1e-9)
    assert scan(lifted) == pytest.approx(scan(style), abs=1e-6)


def _lifted(piece: Piece) -> Piece:
    curves = {edge.name: edge.curve.moved(12.0, 30.0) for edge in piece.edges}
    levels = {name: y + 30.0 for name, y in piece.levels.items()}
    return replace(piece.with_curves(curves), levels=levels)


# --- corners and notches -----------------------------------------------------------------------------------


def test_interior_angles_of_an_outline_add_up():
    """Rectangles have right angles; the cup is a pentagon, whose fifth angle of 180 - 25 lies at the bust point."""
    style = tube_style(3)
    spread = spread_out(style)
    assert [interior_angle(spread, style.pieces[1], k) for k in range(4)] == pytest.approx([90.0] * 4)
    cup = _cup_style()
    inner = cup.piece("in")
    angles = [interior_angle(spread_out(cup), inner, k) for k in range(4)]
    assert sum(angles) + (180.0 - 25.0) == pytest.approx(540.0)


def test_notches_lie_on_both_sides_and_count_two_where_back_meets_back():
    """Two for the back is common usage (common practice, no source); what is sewn together bears the same."""
    style = tube_style(3, GIRTHS)
    one, two, _ = style.pieces
    assert {n.name for n in one.notches} == {"waist", "high_hip"}
    assert all(n.count == 1 for n in one.notches)
    for seam in style.seams:
        refs = (*seam.a, *seam.b)
        within_back = all(style.piece(ref.piece).part == "back" for ref in refs)
        counts = {n.count for ref in refs for n in style.piece(ref.piece).notches if n.edge == ref.edge}
        assert counts == {2 if within_back else 1}
    waist = {n.edge: n.along for n in two.notches if n.name == "waist"}
    assert waist["forward"] + _rest(style, "panel_1", "waist") == pytest.approx(
        length_between(style, "panel_2", "forward", 0, 3)
    )


def _rest(style, piece, name):
    return next(n.along for n in style.piece(piece).notches if n.name == name)


def test_the_free_junction_is_notched_on_the_long_edge(cupped):
    """The cradle's end falls on the back by arc length: as far up the back as the side front is long."""
    back = cupped.piece("side_back")
    notch = next(n for n in back.notches if n.name == "cradle end")
    front = cupped.piece("side_front").edge("side_seam").curve.length
    assert back.edge("side_seam").curve.length - notch.along == pytest.approx(front, abs=1e-6)
    assert not any(n.name == "cradle end" for n in cupped.piece("side_front").notches)


def test_notches_are_drawn_anew_not_twice(cupped):
    assert with_notches(with_notches(cupped)) == with_notches(cupped)


def test_a_level_marked_on_one_side_alone_is_carried_to_the_other():
    style = tube_style(2, GIRTHS)
    bare = replace(style.piece("panel_2"), level_marks=())
    seam = replace(style.seams[0], matches=())
    pairs = pairs_along(style.with_pieces({"panel_2": bare}), seam)
    assert [name for name, _, _ in pairs] == ["high_hip", "waist"]
    assert all(a == pytest.approx(b) for _, a, b in pairs)


# --- the room ----------------------------------------------------------------------------------------------


def test_the_tape_knows_nothing_of_altering():
    """It judges what altering did, so it must not share a line of its code."""
    folder = Path(coutil.pattern.__file__).parent
    for path in folder.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            names += [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            assert not any(name.startswith(("coutil.alter", "coutil.draft", "coutil.check")) for name in names)
