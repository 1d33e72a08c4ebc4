"""What every maker knows about altering a cupped corset, each fact as a worked example done by hand.

Unless a test names its source these are common practice, no source.  Base: underbust 85, cup difference 14 cm.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from coutil.alter import Alteration, Wishes
from coutil.curves import Curve
from coutil.pattern import (
    Style,
    bust_point_separation,
    girth,
    laced_inside,
    level_height,
    lower_dart_angles,
    seam_lengths,
    side_height,
    width,
)
from helpers.altering import LEVELS, alterer_of, base_of, client_of, everywhere, length, moved

BASE = base_of()
BODY_LEVELS = ("underbust", "waist", "high_hip", "hem")
CRADLE = (("centre_front", "cradle"), ("side_front", "cradle"), ("inner_cup", "cradle"), ("outer_cup", "cradle"))


def altered(wishes: Wishes | None = None, **changes: float) -> Alteration:
    """The base altered to its own chart with some readings changed, at the base's own reduction."""
    outcome = alterer_of().alter(client_of(BASE, **changes), wishes or Wishes(reduction=BASE.base_fit.reduction))
    assert outcome.conflicts == ()
    return outcome


def heights(style: Style, piece: str, landmark: str) -> float:
    at = style.piece(piece).landmark(landmark)
    assert at is not None
    return float(style.piece(piece).point(at)[1])


# --- (a) a strip let into the centre front -----------------------------------------------------------------


@pytest.mark.parametrize("strip", [10.0, -10.0, 16.0])
def test_a_strip_let_into_the_centre_front(strip: float) -> None:
    """Common practice, no source: strip 10 -> each half of the front 5 wider at every level, girths 10 fuller;
    the inner cup, sewn above it, takes the same 5; both peaks and the centre top stay at their heights.
    """
    style = altered(bust_point_separation=strip, **everywhere(strip, strip)).style
    for level in BODY_LEVELS:
        wider = width(style.piece("centre_front"), level) - width(BASE.piece("centre_front"), level)
        assert wider == pytest.approx(strip / 2, abs=0.02), level
        assert girth(style, level).full - girth(BASE, level).full == pytest.approx(strip, abs=0.05)
    cup = width(style.piece("inner_cup"), "bust") - width(BASE.piece("inner_cup"), "bust")
    assert cup == pytest.approx(strip / 2, abs=0.01)
    assert bust_point_separation(style) == pytest.approx(bust_point_separation(BASE) + strip, abs=0.02)
    for piece, corner in (("centre_front", "peak"), ("inner_cup", "peak"), ("inner_cup", "centre_top")):
        assert heights(style, piece, corner) == pytest.approx(heights(BASE, piece, corner), abs=0.01), piece


def test_a_strip_lengthens_the_cradle_by_less_than_itself() -> None:
    """Common practice, no source: the cradle climbs to the peak, so 5 mm across are less along it; cup and panel alike.

    By hand: the cradle of the base runs from (77, 99) to (0, 146), chord sqrt(77^2 + 47^2) = 90.2; 5 wider
    sqrt(82^2 + 47^2) = 94.5, 4.3 longer.
    """
    style = altered(bust_point_separation=10.0, **everywhere(10.0, 10.0)).style
    panel, cup = (length(style, p, "cradle") - length(BASE, p, "cradle") for p in ("centre_front", "inner_cup"))
    assert panel == pytest.approx(cup, abs=1e-5)
    assert panel == pytest.approx(4.3, abs=0.4)


def test_a_strip_leaves_the_side_alone() -> None:
    style = altered(bust_point_separation=10.0, **everywhere(10.0, 10.0)).style
    for piece in ("side_front", "side_back", "centre_back"):
        for edge in BASE.piece(piece).edges:
            assert np.abs(moved(BASE, style, piece, edge.name)).max() <= 0.3, (piece, edge.name)


# --- (b) the side seam -------------------------------------------------------------------------------------


@pytest.mark.parametrize("amount", [5.0, -5.0, 9.0])
def test_a_side_seam_moves_parallel_on_panel_and_cup_alike(amount: float) -> None:
    """Common practice, no source: 20 mm more of body all round, half of it in front, is 5 at each side seam edge."""
    style = altered(**everywhere(4 * amount, 2 * amount)).style
    for piece in ("side_front", "outer_cup"):
        shift = moved(BASE, style, piece, "side_seam")
        assert shift[:, 0] == pytest.approx(np.full(len(shift), amount), abs=0.05), piece
        assert np.abs(shift[:, 1]).max() <= 0.2, piece
    back = moved(BASE, style, "side_back", "side_seam")
    assert back[:, 0] == pytest.approx(np.full(len(back), -amount), abs=0.05)
    assert length(style, "side_back", "side_seam") == pytest.approx(length(BASE, "side_back", "side_seam"), abs=0.05)
    assert side_height(style) == pytest.approx(side_height(BASE), abs=0.05)


@pytest.mark.parametrize("amount", [5.0, 9.0])
def test_the_fronts_end_slides_along_its_own_top_edge_to_the_backs_corner(amount: float) -> None:
    """Common practice, no source: moved out, the end of a sloping armhole would lie a little off the back's corner.

    By hand: an armhole that leaves the side at slope s climbs amount * s; at 1.1 degrees 5 mm climb 0.1.  It is a few
    millimetres at most, and what is drawn is the back's corner: both side seams stay equally long.
    """
    style = altered(**everywhere(4 * amount, 2 * amount)).style
    start, handle = BASE.piece("outer_cup").edge("armhole").curve.points[:2]
    slope = float((handle[1] - start[1]) / (handle[0] - start[0]))
    end = moved(BASE, style, "outer_cup", "armhole")[0]
    assert abs(end[1] - slope * end[0]) <= 3.0
    assert float(np.hypot(*end)) == pytest.approx(amount, abs=0.1)
    side = next(seam for seam in style.seams if seam.name == "side")
    total = seam_lengths(style, side).total
    assert total.a == pytest.approx(total.b, abs=1e-4)
    assert total.b == pytest.approx(length(BASE, "side_back", "side_seam"), abs=0.05)


# --- (c) the upper cup corner ------------------------------------------------------------------------------


@pytest.mark.parametrize("lower", [3.0, 6.0, 10.0])
def test_the_upper_corner_comes_down_alike_on_both_cups(lower: float) -> None:
    """Common practice, no source: 6 lower is 6 along the cup seam on the inner and on the outer cup; the rest stays."""
    style = altered(bust_point_to_upper_corner=-lower).style
    for cup in ("inner_cup", "outer_cup"):
        assert length(style, cup, "cup_seam") - length(BASE, cup, "cup_seam") == pytest.approx(-lower, abs=0.001)
        assert np.abs(moved(BASE, style, cup, "cradle")).max() <= 0.6, cup
    assert np.abs(moved(BASE, style, "inner_cup", "centre")).max() <= 0.01
    assert np.abs(moved(BASE, style, "outer_cup", "side_seam")).max() <= 0.2


@pytest.mark.parametrize("lower", [3.0, 6.0, 10.0])
def test_the_upper_dart_changes_by_no_more_than_a_few_millimetres(lower: float) -> None:
    """Common practice, no source: at a lowered corner the dart may be up to 3 mm deeper than the base's dart there."""
    style = altered(bust_point_to_upper_corner=-lower).style
    assert abs(upper_gap(style, 0.0) - upper_gap(BASE, lower)) <= 3.0
    assert upper_gap(style, 0.0) < upper_gap(BASE, 0.0)


def upper_gap(style: Style, down: float) -> float:
    """How far the two cups stand apart so many mm along the cup seam below the upper corner."""
    inner = style.piece("inner_cup").edge("cup_seam").curve
    outer = style.piece("outer_cup").edge("cup_seam").curve
    return float(np.hypot(*(point_along(outer, down) - point_along(inner, inner.length - down))))


def point_along(curve: Curve, along: float) -> np.ndarray:
    """The point so many mm from the curve's start, read off a fine polyline."""
    points = curve.flatten(1e-4)
    reach = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
    return np.array([np.interp(along, reach, points[:, axis]) for axis in (0, 1)])


# --- (d) curves --------------------------------------------------------------------------------------------


def test_curves_change_on_both_sides_of_each_seam() -> None:
    """Common practice, no source: waist taken in by 20 and abdomen let out by 20, half of each in front.

    By hand: 20 / 4 = 5 for each quarter, over three edges of weight 0.5, 1 and 1: 1, 2, 2 in whole millimetres.
    """
    outcome = altered(waist_girth=-20.0, waist_front=-10.0, high_hip_girth=20.0, high_hip_front=10.0)
    edges = {
        ("centre_front", "panel_seam"): 1.0,
        ("side_front", "panel_seam"): 2.0,
        ("side_front", "side_seam"): 2.0,
        ("side_back", "side_seam"): 2.0,
        ("side_back", "panel_seam"): 2.0,
        ("centre_back", "panel_seam"): 1.0,
    }
    for level, sign in (("waist", -1.0), ("high_hip", 1.0)):
        rows = [outcome.plan.row(f"curves_{level}_{part}") for part in ("front", "back")]
        found = {(m.piece, m.edge): m.amount for row in rows if row is not None for m in row.moves}
        assert found == pytest.approx({edge: sign * mm for edge, mm in edges.items()}, abs=1e-6)
    for (piece, edge), mm in edges.items():
        assert outwards(outcome.style, piece, edge, "waist") == pytest.approx(-mm, abs=0.15), (piece, edge)
        assert outwards(outcome.style, piece, edge, "high_hip") == pytest.approx(mm, abs=0.2), (piece, edge)


def outwards(style: Style, piece: str, edge: str, level: str) -> float:
    """How far an edge's knot at a level moved away from the middle of its piece, mm."""
    at = next(at for at in BASE.piece(piece).marks_of(level) if at.edge == edge)
    shift = float(moved(BASE, style, piece, edge)[at.knot, 0])
    points = BASE.piece(piece).edge(edge).curve.points
    return shift if points[-1, 1] > points[0, 1] else -shift


def test_the_abdomen_of_a_short_corset_lies_four_centimetres_below_the_waist() -> None:
    """Common practice, no source: the fullest abdomen of a corset that ends above the hips."""
    assert BASE.level("high_hip").depth == pytest.approx(40.0, abs=5.0)
    for piece in ("centre_front", "side_front", "side_back", "centre_back"):
        levels = BASE.piece(piece).levels
        assert levels["waist"] - levels["high_hip"] == pytest.approx(40.0, abs=5.0)


# --- (e) length --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("band", [-12.0, 8.0])
def test_the_same_band_comes_out_of_every_piece(band: float) -> None:
    """Common practice, no source: 12 shorter from underbust to waist is 12 on each panel, and the side is 12 lower."""
    style = altered(underbust_to_waist=band).style
    for piece in ("centre_front", "side_front", "side_back", "centre_back"):
        before, after = BASE.piece(piece).levels, style.piece(piece).levels
        gap = (after["underbust"] - after["waist"]) - (before["underbust"] - before["waist"])
        assert gap == pytest.approx(band, abs=0.05), piece
    assert level_height(style, "underbust") == pytest.approx(level_height(BASE, "underbust") + band, abs=0.05)
    assert side_height(style) == pytest.approx(side_height(BASE) + band, abs=0.05)


def test_the_side_height_is_the_makers_decision() -> None:
    """Common practice, no source: 12 out of the waist, side height unchanged on the body: 12 wanted, nothing forced."""
    row = altered(underbust_to_waist=-12.0).plan.row("side_height")
    assert row is not None
    assert row.decision
    assert row.wanted == pytest.approx(12.0)
    assert row.amount == 0.0
    taken = altered(Wishes(reduction=BASE.base_fit.reduction, take_heights=True), underbust_to_waist=-12.0)
    assert side_height(taken.style) == pytest.approx(side_height(BASE), abs=0.1)


# --- (f) cup depth -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("depth", [-5.0, -3.0, 5.0])
def test_the_cups_depth_changes_and_its_cradle_keeps_its_length(depth: float) -> None:
    """Common practice, no source: a shallower cup still goes into the cradle it came from."""
    style = altered(bust_point_to_underbust=depth).style
    for piece, edge in CRADLE:
        assert length(style, piece, edge) == pytest.approx(length(BASE, piece, edge), abs=1e-4), piece
    for piece in ("centre_front", "side_front"):
        for edge in BASE.piece(piece).edges:
            assert np.abs(moved(BASE, style, piece, edge.name)).max() <= 0.1, (piece, edge.name)


@pytest.mark.parametrize("size", [(75, 14), (80, 18), (85, 14), (90, 18), (95, 14)])
def test_five_less_in_depth_closes_the_lower_dart_by_one_to_two_degrees(size: tuple[int, int]) -> None:
    """Our own table of annex A: about 0.3 degrees for a millimetre, so 1.5 for five, within 1 to 2."""
    base = base_of(*size)
    style = alterer_of(*size).alter(client_of(base, bust_point_to_underbust=-5.0)).style
    assert 1.0 <= lower_dart_angles(base)[0] - lower_dart_angles(style)[0] <= 2.0


# --- (g) reduction and gap ---------------------------------------------------------------------------------


def test_the_worked_waist_through_the_plan() -> None:
    """Body 720 less reduction 80 and gap 50 is 590 of cloth, 295 in the half; laced to its gap, 640 inside."""
    base = base_of(75, 14)
    chart = base.base_chart.with_value("waist_girth", 720.0)
    outcome = alterer_of(75, 14).alter(chart, Wishes(reduction=80.0, lacing_gap=50.0))
    order = next(order for order in outcome.plan.girths if order.level == "waist")
    assert (order.body, order.reduction, order.gap) == (720.0, 80.0, 50.0)
    assert order.ease == pytest.approx(0.0, abs=0.01)
    assert order.garment == pytest.approx(590.0, abs=0.01)
    half = sum(width(piece, "waist") for piece in outcome.style.pieces if "waist" in piece.levels)
    assert half == pytest.approx(295.0, abs=0.05)
    assert girth(outcome.style, "waist").full == pytest.approx(590.0, abs=0.1)
    assert laced_inside(outcome.style, "waist", gap=50.0) == pytest.approx(640.0, abs=0.1)


def test_a_wider_gap_comes_off_the_back_alone_the_same_at_every_level() -> None:
    """Common practice, no source: gap 50 -> 70 takes 10 off each half back at every level, nothing off the front."""
    outcome = altered(Wishes(reduction=BASE.base_fit.reduction, lacing_gap=BASE.base_fit.lacing_gap + 20.0))
    for level in LEVELS:
        before, after = girth(BASE, level), girth(outcome.style, level)
        assert after.front - before.front == pytest.approx(0.0, abs=0.05), level
        assert after.full - before.full == pytest.approx(-20.0, abs=0.1), level
    assert math.isclose(outcome.style.base_fit.lacing_gap, 70.0)
