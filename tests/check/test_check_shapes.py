"""Joins, outlines, straight edges, cusps, hollows and bends."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from check_cases import cupped, cylinder, found, verdicts, worst

from coutil.check import Verdict
from coutil.curves import Curve
from coutil.pattern import EdgeRef, Role, Seam, Style
from helpers.tubes import polyline, with_edge, with_outline

X = 75.0  # Where panel 1's backward edge stands: 600 / 2 / 4.


# --- joins -------------------------------------------------------------------------------------------------


def turned(deg: float) -> Style:
    """Panel 1's top arrives at the seam `deg` lower than level: a curve from a tilted start to a level end."""
    drop = 25.0 * math.tan(math.radians(deg))
    top = Curve(np.array([(X, 100), (X - 25, 100 - drop), (25, 100), (0, 100)], dtype=float))
    return with_edge(cylinder(), "panel_1", "top", top)


@pytest.mark.parametrize(("deg", "verdict"), [(0.0, Verdict.PASS), (1.9, Verdict.PASS), (3.0, Verdict.FAIL)])
def test_the_top_runs_through_within_two_degrees(deg, verdict):
    line = next(f for f in found(turned(deg), "join") if f.name.startswith("top") and "panel_1" in f.pieces)
    assert line.verdict is verdict
    assert line.figure == pytest.approx(-deg, abs=1e-6)


def test_a_point_of_the_base_may_stay_but_not_change():
    assert worst(turned(8.0), "join", base=turned(8.0)).verdict is Verdict.PASS
    assert worst(turned(9.5), "join", base=turned(8.0)).verdict is Verdict.PASS
    assert worst(turned(11.0), "join", base=turned(8.0)).verdict is Verdict.FAIL
    assert worst(turned(3.0), "join", base=cylinder()).verdict is Verdict.FAIL


def test_neckline_armhole_and_cradle_are_looked_at_across_the_cup_seam():
    names = " ".join(f.name for f in found(cupped(), "join"))
    assert "neckline and armhole across the cup seam" in names
    assert "cradle seam across the cup seam" in names
    assert "armhole and top across the side seam" in names
    assert verdicts(cupped(), "join") == {Verdict.PASS}


def test_right_angles_at_centre_and_closure():
    assert verdicts(cylinder(), "centre_angle") == {Verdict.PASS}
    drop = 25.0 * math.tan(math.radians(3.0))
    top = Curve(np.array([(X, 100), (50, 100), (25, 100 - drop), (0, 100)], dtype=float))
    style = with_edge(cylinder(), "panel_1", "top", top)
    assert worst(style, "centre_angle").verdict is Verdict.WARN
    line = worst(style, "centre_angle", base=cylinder())
    assert line.verdict is Verdict.FAIL
    assert line.figure == pytest.approx(-3.0, abs=1e-6)
    assert worst(style, "centre_angle", base=style).verdict is Verdict.PASS


def test_a_clear_point_at_the_centre_is_shown():
    peak = [f for f in found(cupped(), "centre_angle") if f.pieces == ("centre_front",) and "cradle" in f.name]
    assert [f.verdict for f in peak] == [Verdict.PASS]
    assert peak[0].limit is None


def whole(deg: float) -> Style:
    """Left and right of a cylinder, sewn at the centre; the right one's top turned by `deg` at the centre."""
    left = cylinder().piece("panel_1")
    edges = []
    for edge in left.edges:
        points = edge.curve.points[::-1] * np.array([-1.0, 1.0])
        edges.append(replace(edge, curve=Curve(points)))
    right = replace(left, name="right", edges=tuple(reversed(edges)), notches=(), level_marks=())
    drop = 25.0 * math.tan(math.radians(deg))
    top = Curve(np.array([(0, 100), (-25, 100 + drop), (-50, 100), (-X, 100)], dtype=float))
    right = right.with_curves({"top": top})
    seam = Seam("centre", (EdgeRef("panel_1", "centre"),), (EdgeRef("right", "centre", backward=True),))
    return replace(cylinder(), half=False, pieces=(*cylinder().pieces, right), seams=(*cylinder().seams, seam))


def test_left_and_right_mirror_at_the_centre():
    assert verdicts(whole(0.0), "mirror") == {Verdict.PASS}
    line = worst(whole(3.0), "mirror")
    assert line.verdict is Verdict.FAIL
    assert abs(line.figure) == pytest.approx(3.0, abs=1e-6)
    assert not found(cupped(), "mirror")


# --- straight edges ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("by", "verdict"), [(0.05, Verdict.PASS), (0.2, Verdict.FAIL)])
def test_straight_edges_are_straight(by, verdict):
    """Both handles of one span moved aside by 4/3 of `by` bow it by `by`."""
    points = cylinder().piece("panel_1").edge("centre").curve.points.copy()
    points[1:3, 0] += by * 4 / 3
    style = with_edge(cylinder(), "panel_1", "centre", Curve(points))
    assert worst(style, "straight").verdict is verdict
    assert worst(style, "straight").figure == pytest.approx(by, abs=1e-3)


def test_centre_and_closure_stand_upright():
    assert verdicts(cylinder(), "upright") == {Verdict.PASS}
    leaning = polyline([(0.3, 100), (0.2, 0), (0.1, -50), (0, -80)])
    line = worst(with_edge(cylinder(), "panel_1", "centre", leaning), "upright")
    assert line.verdict is Verdict.FAIL
    assert line.figure == pytest.approx(0.3)


# --- outlines ----------------------------------------------------------------------------------------------


def test_a_crossing_outline_is_found():
    assert verdicts(cylinder(), "outline") == {Verdict.PASS}
    hem = Curve(np.array([(0, -80), (25, 200), (50, 200), (X, -80)], dtype=float))
    line = worst(with_edge(cylinder(), "panel_1", "hem", hem), "outline")
    assert line.verdict is Verdict.FAIL
    assert "crosses itself" in line.advice
    assert line.pieces == ("panel_1",)


def test_an_open_outline_is_found():
    top = Curve.line((X, 99), (0, 100))
    line = worst(with_edge(cylinder(), "panel_1", "top", top), "outline")
    assert line.verdict is Verdict.FAIL
    assert "open by 1.0 mm" in line.advice


def test_an_outline_that_runs_backwards_is_found():
    piece = cylinder().piece("panel_1")
    turned_over = tuple(replace(e, curve=e.curve.reversed()) for e in reversed(piece.edges))
    line = worst(cylinder().with_pieces({"panel_1": replace(piece, edges=turned_over)}), "outline")
    assert line.verdict is Verdict.FAIL
    assert "wrong way round" in line.advice


def test_a_corner_inside_an_edge_and_a_turned_back_handle_are_found():
    assert verdicts(cylinder(), "cusp") == {Verdict.PASS}
    kinked = polyline([(X, -80), (X, -50), (X + 10, 0), (X, 100)])
    assert verdicts(with_edge(cylinder(), "panel_1", "backward", kinked), "cusp") == {Verdict.FAIL}
    back = Curve(np.array([(0, -80), (200, -80), (-125, -80), (X, -80)], dtype=float))
    assert verdicts(with_edge(cylinder(), "panel_1", "hem", back), "cusp") == {Verdict.FAIL}


def arc_hollow(radius: float) -> Style:
    """The backward edge of panel 1 hollowed by a quarter-turn arc of that radius, C1 with straight runs beside it."""
    k = 0.5522847498 * radius
    r = radius
    runs = [
        [(X, -80), (X, -75), (X, -70), (X, -65)],
        [(X, -65), (X, -60), (X, -55), (X, -50)],
        [(X, -50), (X, -50 + k), (X + r - k, -50 + r), (X + r, -50 + r)],
    ]
    points = np.array([*runs[0][:3], *runs[1][:3], *runs[2]], dtype=float)
    top = Curve.line((X + r, -50 + r), (0, 100))
    return with_outline(cylinder(), "panel_1", {"backward": Curve(points), "top": top})


@pytest.mark.parametrize(("radius", "verdict"), [(20.0, Verdict.PASS), (16.0, Verdict.FAIL)])
def test_hollows_are_wide_enough_for_their_allowance(radius, verdict):
    """A panel seam's allowance is 15, so a hollow's radius is at least 17; the arc's cubic is 3 % off at most."""
    line = worst(arc_hollow(radius), "hollow")
    assert line.limit == 17.0
    assert line.verdict is verdict
    assert line.figure == pytest.approx(radius, rel=0.03)


def test_without_a_hollow_the_radius_is_endless():
    line = worst(cylinder(), "hollow")
    assert line.verdict is Verdict.PASS
    assert math.isinf(line.figure)


def test_a_cut_line_that_crosses_itself_is_found():
    assert verdicts(cupped(), "cut_line") == {Verdict.PASS}
    assert verdicts(arc_hollow(6.0), "cut_line") == {Verdict.FAIL}
    piece = arc_hollow(6.0).piece("panel_1")
    narrow = tuple(replace(e, allowance=3.0) if e.name == "backward" else e for e in piece.edges)
    style = arc_hollow(6.0).with_pieces({"panel_1": replace(piece, edges=narrow)})
    assert verdicts(style, "cut_line") == {Verdict.PASS}


# --- against the base --------------------------------------------------------------------------------------


def waved(amount: float) -> Style:
    """The top of panel 1 as one S of two opposite bends."""
    top = Curve(np.array([(X, 100), (50, 100 + amount), (25, 100 - amount), (0, 100)], dtype=float))
    return with_edge(cylinder(), "panel_1", "top", top)


def test_a_new_hollow_is_worth_a_look():
    assert verdicts(cylinder(), "new_hollows", base=cylinder()) == {Verdict.PASS}
    line = worst(waved(5.0), "new_hollows", base=cylinder())
    assert line.verdict is Verdict.WARN
    assert "top of the panel 1" in line.advice
    assert verdicts(waved(5.0), "new_hollows", base=waved(4.0)) == {Verdict.PASS}
    assert verdicts(waved(0.1), "new_hollows", base=cylinder()) == {Verdict.PASS}
    assert not found(waved(5.0), "new_hollows")


def test_a_hollow_that_turns_into_a_round_is_new():
    assert verdicts(waved(-5.0), "new_hollows", base=waved(5.0)) == {Verdict.WARN}


def test_a_sharper_bend_is_worth_a_look():
    """A parabola-like top of height h over 75: curvature at its middle 8 h / 75^2 x 3/4 per mm."""
    assert verdicts(waved(1.0), "curvature", base=cylinder()) == {Verdict.PASS}
    line = worst(waved(40.0), "curvature", base=cylinder())
    assert line.verdict is Verdict.WARN
    assert line.unit == "per m"


def test_roles_of_a_tube_are_what_the_tests_take_them_for():
    assert cylinder().piece("panel_1").edge("centre").role is Role.CENTRE
    assert cylinder().piece("panel_1").edge("backward").role is Role.PANEL_SEAM
