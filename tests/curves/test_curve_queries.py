"""Crossings with a level, the nearest point, extent, straightness, the polyline."""

from __future__ import annotations

import math

import numpy as np
import pytest
from curve_strategies import bent, coordinates, edges, points, quarter_circle
from hypothesis import given, settings
from hypothesis import strategies as st

from coutil.curves import Curve
from coutil.errors import BadCurve

WAVE = Curve(
    [(0, -1), (1, 3), (2, -3), (3, 1)]
)  # y = -1 + 12 t - 30 t^2 + 20 t^3: zero at t = 1/2 by symmetry
ARCH = Curve([(0, 0), (1, 4), (2, 4), (3, 0)])  # y = 12 t (1 - t), top 3 at x = 1.5


def test_a_line_crosses_once_where_thales_says():
    (crossing,) = Curve.line((0, 0), (30, 40)).crossings(10)
    assert (crossing.span, crossing.x, crossing.along) == (0, pytest.approx(7.5), pytest.approx(12.5))


def test_a_wave_crosses_three_times_in_order():
    """12 t - 30 t^2 + 20 t^3 = 1 has 1/2 and, divided, 20 t^2 - 20 t + 2 = 0: t = (5 +- sqrt(15)) / 10."""
    found = WAVE.crossings(0)
    assert [c.t for c in found] == pytest.approx([(5 - 15**0.5) / 10, 0.5, (5 + 15**0.5) / 10], abs=1e-14)
    assert [c.along for c in found] == sorted(c.along for c in found)
    assert [c.x for c in found] == pytest.approx([3 * c.t for c in found])


def test_a_touch_counts_once():
    (touch,) = ARCH.crossings(3)
    assert touch.x == pytest.approx(1.5)
    assert touch.along == pytest.approx(ARCH.length / 2)
    assert ARCH.crossings(3 + 1e-6) == ()
    assert len(ARCH.crossings(3 - 1e-6)) == 2


def test_both_ends_on_the_level_are_found():
    assert [c.along for c in ARCH.crossings(0)] == pytest.approx([0, ARCH.length])


def test_a_knot_on_the_level_counts_once():
    line = Curve.line((0, 0), (0, 30), inner=(1 / 3, 2 / 3))
    (crossing,) = line.crossings(float(line.knots[1, 1]))
    assert crossing.along == pytest.approx(10)


def test_a_peak_at_a_knot_counts_once():
    roof = Curve(np.concatenate((Curve.line((0, 0), (1, 5)).points, Curve.line((1, 5), (2, 0)).points[1:])))
    assert [c.x for c in roof.crossings(5)] == [1]


def test_a_horizontal_stretch_gives_its_two_ends():
    parts = [Curve.line(a, b).points[1:] for a, b in (((0, 0), (0, 5)), ((0, 5), (4, 5)), ((4, 5), (9, 5)))]
    shelf = Curve(np.concatenate(([(0, 0)], *parts, Curve.line((9, 5), (9, 9)).points[1:])))
    assert [(c.x, c.along) for c in shelf.crossings(5)] == [(0, pytest.approx(5)), (9, pytest.approx(14))]


def test_a_curve_that_lies_on_the_level_gives_its_ends():
    assert [c.along for c in Curve.line((0, 7), (20, 7), (0.3,)).crossings(7)] == pytest.approx([0, 20])


def test_a_level_above_or_below_is_not_crossed():
    assert ARCH.crossings(3.01) == ARCH.crossings(-0.01) == ()


@settings(max_examples=40, deadline=None)
@given(st.one_of(edges(), bent()), coordinates)
def test_crossings_lie_on_the_curve_and_on_the_level(curve, y):
    for crossing in curve.crossings(y):
        assert curve.point_at(crossing.along) == pytest.approx(np.array((crossing.x, y)), abs=1e-6)


@settings(max_examples=40, deadline=None)
@given(edges(), st.floats(0.001, 0.999))
def test_a_level_between_the_ends_is_crossed_an_odd_number_of_times(curve, fraction):
    y = curve.start[1] + fraction * (curve.end[1] - curve.start[1])
    found = curve.crossings(float(y))
    dense = np.sign(curve.flatten(1e-4)[:, 1] - y)
    changes = int(np.sum(dense[:-1] * dense[1:] < 0))
    assert len(found) >= max(1, changes)


def test_the_nearest_point_of_a_line_is_the_foot_of_the_perpendicular():
    """From (50, 0) onto the 3-4-5 line: 50 * 0.6 = 30 mm along, 50 * 0.8 = 40 mm away, at (18, 24)."""
    nearest = Curve.line((0, 0), (30, 40), (0.2,)).closest((50, 0))
    assert (nearest.along, nearest.distance) == (pytest.approx(30), pytest.approx(40))
    assert nearest.point == pytest.approx(np.array((18, 24)))


def test_the_nearest_point_may_be_an_end():
    assert Curve.line((0, 0), (30, 40)).closest((60, 80)).along == pytest.approx(50)
    assert Curve.line((0, 0), (30, 40)).closest((-6, -8)).distance == pytest.approx(10)


def test_from_the_centre_of_a_circle_every_point_is_near():
    assert quarter_circle(10).closest((0, 0)).distance == pytest.approx(10, rel=3e-4)


@settings(max_examples=60, deadline=None)
@given(bent(), points)
def test_no_sampled_point_is_nearer_than_the_nearest(curve, point):
    nearest = curve.closest(point)
    sampled = np.linalg.norm(curve.flatten(0.01) - np.array(point), axis=1).min()
    assert nearest.distance <= sampled + 1e-9
    assert curve.point_at(nearest.along) == pytest.approx(nearest.point, abs=1e-6)


@pytest.mark.parametrize("tolerance", [1, 0.1, 0.01, 0.001])
def test_the_polyline_keeps_within_its_tolerance(tolerance):
    """From the arch y = 12 t (1 - t), x = 3 t the gap at each chord is measured straight down, never too
    small.
    """
    line = ARCH.flatten(tolerance)
    x = np.linspace(0, 3, 2001)
    gap = 4 * x * (1 - x / 3) - np.interp(x, line[:, 0], line[:, 1])
    assert 0 <= gap.max() <= tolerance * 4.2
    middles = 0.5 * (line[:-1] + line[1:])
    assert max(ARCH.closest(middle).distance for middle in middles) <= tolerance


def test_the_polyline_of_a_line_is_its_knots():
    line = Curve.line((0, 0), (30, 40), (0.5,))
    assert np.array_equal(line.flatten(0.01), line.knots)


@settings(max_examples=30, deadline=None)
@given(bent(), st.sampled_from([1.0, 0.1]))
def test_every_knot_is_in_the_polyline_and_the_curve_stays_near(curve, tolerance):
    line = curve.flatten(tolerance)
    for knot in curve.knots:
        assert np.min(np.abs(line - knot).max(axis=1)) < 1e-9
    for place in curve.points_at(np.linspace(0, curve.length, 40)):
        assert _distance(line, place) <= tolerance + 1e-9


def _distance(line: np.ndarray, point: np.ndarray) -> float:
    a, d = line[:-1], np.diff(line, axis=0)
    squares = np.maximum((d * d).sum(axis=1), 1e-300)
    t = np.clip(((point - a) * d).sum(axis=1) / squares, 0, 1)
    return float(np.linalg.norm(a + t[:, None] * d - point, axis=1).min())


@pytest.mark.parametrize("tolerance", [0, -1, math.nan])
def test_a_polyline_without_tolerance_is_refused(tolerance):
    with pytest.raises(BadCurve, match="above 0"):
        ARCH.flatten(tolerance)


def test_bounds_are_those_of_the_curve_not_of_its_handles():
    assert ARCH.bounds() == pytest.approx((0, 0, 3, 3))
    assert quarter_circle(2).bounds() == pytest.approx((0, 0, 2, 2))


@settings(max_examples=40, deadline=None)
@given(bent())
def test_bounds_hold_the_curve_and_touch_it(curve):
    xmin, ymin, xmax, ymax = curve.bounds()
    line = curve.flatten(0.05)
    assert np.all(line >= np.array((xmin, ymin)) - 1e-9)
    assert np.all(line <= np.array((xmax, ymax)) + 1e-9)
    assert (xmin, ymin, xmax, ymax) == pytest.approx((*line.min(axis=0), *line.max(axis=0)), abs=0.06)


@pytest.mark.parametrize("bow", [1, 0.1, 0.01])
def test_a_bow_is_straight_only_to_a_tolerance_above_it(bow):
    """Handles 4/3 of the bow off the chord lift the middle by exactly the bow."""
    bowed = Curve([(0, 0), (30, 4 / 3 * bow), (60, 4 / 3 * bow), (90, 0)])
    assert bowed.is_straight(bow * 1.001)
    assert not bowed.is_straight(bow * 0.999)


def test_an_s_shape_within_the_tolerance_is_straight_though_its_handles_are_not():
    assert Curve([(0, 0), (30, 1), (60, -1), (90, 0)]).is_straight(0.3)


def test_a_curve_that_runs_back_on_its_chord_is_not_straight():
    assert not Curve([(0, 0), (90, 0), (-60, 0), (30, 0)]).is_straight(0.1)


def test_a_curve_that_ends_where_it_began_is_not_straight():
    assert not Curve([(0, 0), (1, 0), (1, 0), (0, 0)]).is_straight(0.1)
