"""Curves made from points: splines, joining, fitting; and the rounds and hollows of a curve."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from curve_strategies import bent, edges, quarter_circle, random_edge
from hypothesis import given, settings
from hypothesis import strategies as st

from coutil.curves import (
    Curve,
    fit_through,
    has_new_inflection,
    hermite_c2,
    join,
    runs_of_steps,
    smooth_through,
    step_turns,
    turning_runs,
    turnings,
    visible_signs,
)
from coutil.errors import BadCurve


def circle_points(radius: float, degrees: np.ndarray) -> np.ndarray:
    angles = np.radians(degrees)
    return radius * np.stack((np.cos(angles), np.sin(angles)), axis=1)


def test_two_points_make_a_line():
    assert smooth_through([(0, 0), (30, 40)]).is_straight(1e-12)


def test_a_spline_reproduces_a_cubic():
    """(t, t^3) at t = 0, 1, 3 with its own end derivatives is that cubic: (1, 3) at the knot t = 1."""
    curve = hermite_c2([(0, 0), (1, 1), (3, 27)], [1, 2], (1, 0), (1, 27))
    assert 3 * (curve.points[4] - curve.points[3]) / 2 == pytest.approx(np.array((1, 3)))


@settings(max_examples=30, deadline=None)
@given(edges())
def test_second_derivatives_of_a_spline_agree_at_its_knots(curve):
    widths = np.linalg.norm(np.diff(curve.knots, axis=0), axis=1)
    spans = smooth_through(curve.knots).spans
    arriving = 6 * (spans[:, 3] - 2 * spans[:, 2] + spans[:, 1]) / widths[:, None] ** 2
    leaving = 6 * (spans[:, 2] - 2 * spans[:, 1] + spans[:, 0]) / widths[:, None] ** 2
    assert arriving[:-1] == pytest.approx(leaving[1:], abs=1e-9)
    assert leaving[0] == pytest.approx(np.zeros(2), abs=1e-9)
    assert arriving[-1] == pytest.approx(np.zeros(2), abs=1e-9)


@pytest.mark.parametrize(("n", "error"), [(3, 2e-3), (5, 2e-4), (9, 2e-5)])
def test_a_spline_through_a_quarter_circle_closes_in(n, error):
    curve = smooth_through(circle_points(1, np.linspace(0, 90, n)), (0, 1), (-5, 0))
    assert np.abs(np.hypot(*curve.flatten(1e-5).T) - 1).max() < error
    assert curve.tangent_at(curve.length) == pytest.approx(np.array((-1, 0)))


@pytest.mark.parametrize("points", [[(0, 0)], [(0, 0), (0, 0)], [(0, 0), (math.nan, 1)], [1, 2, 3]])
def test_a_spline_through_bad_points_is_refused(points):
    with pytest.raises(BadCurve):
        smooth_through(points)


def test_a_tangent_without_direction_is_refused():
    for tangent in ((0, 0), (math.nan, 1), (1, 0, 0)):
        with pytest.raises(BadCurve, match="direction"):
            smooth_through([(0, 0), (1, 1)], start_tangent=tangent)


def test_joining_parts_gives_the_whole():
    whole = random_edge(np.random.default_rng(1))
    before, after = whole.split(whole.length * 0.4)
    joined = join([before, after])
    assert joined.length == pytest.approx(whole.length, rel=1e-10)
    assert joined.n_spans == whole.n_spans + 1
    assert join([whole]) == whole


def test_ends_that_do_not_meet_are_not_joined():
    with pytest.raises(BadCurve, match=r"curve 1 starts 0\.5 mm"):
        join([Curve.line((0, 0), (1, 0)), Curve.line((1.5, 0), (2, 0))])
    assert join([Curve.line((0, 0), (1, 0)), Curve.line((1.5, 0), (2, 0))], tolerance=0.6).n_spans == 2
    with pytest.raises(BadCurve, match="no curve"):
        join([])


def test_a_line_turns_no_way():
    assert turning_runs(Curve.line((0, 0), (30, 40), (0.3, 0.6))) == ()


def test_a_quarter_circle_is_one_round_of_90_degrees():
    (run,) = turning_runs(quarter_circle(50))
    assert run.turning_deg == pytest.approx(90)
    assert (run.start_along, run.end_along) == (0, pytest.approx(quarter_circle(50).length))
    (back,) = turning_runs(quarter_circle(50).reversed())
    assert back.turning_deg == pytest.approx(-90)


def test_a_round_over_several_knots_is_one_run():
    three = smooth_through(circle_points(80, np.linspace(0, 270, 10)), (0, 1), (1, 0))
    (run,) = turning_runs(three)
    assert run.turning_deg == pytest.approx(270)


def test_an_s_has_one_inflection_in_its_middle():
    """Legs (1, 1), (1, -1), (1, 1): the middle runs along (1, 1) + 2 (1, -1) = (4, 0), so 45 and
    45 degrees.
    """
    s = Curve([(0, 0), (1, 1), (2, 0), (3, 1)])
    right, left = turning_runs(s)
    assert right.end_along == left.start_along == pytest.approx(s.length / 2)
    assert (right.turning_deg, left.turning_deg) == (pytest.approx(-45), pytest.approx(45))


def test_a_straight_stretch_between_two_rounds_of_one_sign_separates_nothing():
    lower = quarter_circle(10)
    upper = quarter_circle(10).transformed([(0, -1), (1, 0)], (-20, 0))
    (run,) = turning_runs(join([lower, Curve.line((0, 10), (-20, 10)), upper]))
    assert run.turning_deg == pytest.approx(180)


def test_a_corner_at_a_knot_turns_without_length():
    (run,) = turning_runs(join([Curve.line((0, 0), (10, 0)), Curve.line((10, 0), (10, 10))]))
    assert (run.start_along, run.end_along, run.turning_deg) == (
        pytest.approx(10),
        pytest.approx(10),
        pytest.approx(90),
    )


def test_the_reversal_at_a_cusp_has_no_side():
    """Handles crossed at right angles: 45 degrees left to the cusp, 45 left after it."""
    (run,) = turning_runs(Curve([(0, 0), (1, 1), (0, 1), (1, 0)]))
    assert run.turning_deg == pytest.approx(90)


def test_a_loop_turns_beyond_180_degrees():
    """Legs at 45, 180 and -45 degrees: 135 + 135."""
    (run,) = turning_runs(Curve([(0, 0), (2, 2), (-1, 2), (1, 0)]))
    assert run.turning_deg == pytest.approx(270)


@settings(max_examples=50, deadline=None)
@given(edges())
def test_turns_alternate_and_add_up_to_the_change_of_direction(curve):
    runs = turning_runs(curve)
    assert all(a.turning_deg * b.turning_deg < 0 for a, b in pairwise(runs))
    first, last = (math.degrees(math.atan2(*curve.tangent_at(s)[::-1])) for s in (0, curve.length))
    assert sum(run.turning_deg for run in runs) == pytest.approx(last - first, abs=1e-4)


@settings(max_examples=50, deadline=None)
@given(edges())
def test_curvature_inside_a_run_has_its_sign(curve):
    for run in turning_runs(curve):
        if run.end_along - run.start_along > 0.5 and abs(run.turning_deg) > 0.1:
            middle = curve.curvature_at(0.5 * (run.start_along + run.end_along))
            assert middle * run.turning_deg >= -1e-9


@pytest.mark.parametrize(("tolerance", "most_spans"), [(1, 1), (0.1, 1), (0.01, 1), (0.001, 2)])
def test_a_quarter_circle_is_fitted_with_few_knots(tolerance, most_spans):
    points = circle_points(100, np.linspace(0, 90, 181))
    curve = fit_through(points, tolerance)
    assert max(curve.closest(p).distance for p in points) <= tolerance
    assert curve.n_spans <= most_spans


def test_a_fit_keeps_the_given_end_tangents():
    points = circle_points(100, np.linspace(0, 120, 100))
    curve = fit_through(points, 0.01, start_tangent=(0, 3), end_tangent=(-math.sin(2 * math.pi / 3), -0.5))
    assert curve.tangent_at(0) == pytest.approx(np.array((0, 1)))
    assert curve.tangent_at(curve.length) == pytest.approx(np.array((-math.sqrt(0.75), -0.5)))


def test_a_fit_smooths_a_shaky_hand_within_its_tolerance():
    rng = np.random.default_rng(2)
    points = random_edge(rng).flatten(0.01)
    shaky = points + rng.uniform(-0.2, 0.2, points.shape)
    curve = fit_through(shaky, 0.5)
    assert max(curve.closest(p).distance for p in shaky) <= 0.5
    assert curve.n_spans <= 6


def test_a_fit_through_a_corner_still_keeps_its_tolerance():
    points = np.array([(x, 0.0) for x in range(11)] + [(10.0, y) for y in range(1, 11)])
    curve = fit_through(points, 0.05)
    assert max(curve.closest(p).distance for p in points) <= 0.05


def test_a_fit_through_a_doubled_back_line_ends():
    curve = fit_through([(0, 0), (10, 0), (10, 0), (0, 0.0), (5, 0)], 0.01)
    assert curve.n_spans >= 1


def test_two_points_are_fitted_by_a_line():
    assert fit_through([(0, 0), (0, 0), (30, 40)], 0.1).is_straight(1e-9)


@pytest.mark.parametrize(
    "points", [[(1, 1), (1, 1)], [], [(0, 0), (math.inf, 0)], [1, 2], [(0, 0), (1, "x")]]
)
def test_a_fit_through_bad_points_is_refused(points):
    with pytest.raises(BadCurve):
        fit_through(points, 0.1)


def test_a_fit_without_tolerance_is_refused():
    with pytest.raises(BadCurve, match="above 0"):
        fit_through([(0, 0), (1, 1)], 0)


@settings(max_examples=8, deadline=None)
@given(st.one_of(edges(), bent()), st.sampled_from([1.0, 0.1]))
def test_a_fit_is_within_its_tolerance_and_runs_through_its_knots(curve, tolerance):
    points = curve.flatten(0.2)
    fitted = fit_through(points, tolerance)
    assert max(fitted.closest(p).distance for p in points[:: max(1, len(points) // 30)]) <= tolerance + 1e-9
    assert np.array_equal(fitted.start, points[0])
    assert np.array_equal(fitted.end, points[-1])
    arriving, leaving = np.diff(fitted.points, axis=0)[2:-1:3], np.diff(fitted.points, axis=0)[3::3]
    along = (arriving * leaving).sum(axis=1)
    assert along == pytest.approx(
        np.linalg.norm(arriving, axis=1) * np.linalg.norm(leaving, axis=1), rel=1e-6
    )


@settings(max_examples=60, deadline=None)
@given(bent())
def test_turnings_are_those_of_the_runs(curve):
    assert turnings(curve) == tuple(run.turning_deg for run in turning_runs(curve))


@pytest.mark.parametrize(
    ("before", "after", "is_new"),
    [
        # A straight line may become one round or hollow; that is no inflection.
        ((), (4.0,), False),
        ((5.0,), (-5.0,), False),
        # A second run in sight is one, the base's own is not.
        ((8.0,), (9.0, -1.1), True),
        ((8.0,), (9.0, -0.9), False),
        ((8.0, -2.0), (9.0, -6.0), False),
        # 0.6 may grow past 1 degree, 0.4 may not; nor may 0.6 grow past 1.5.
        ((8.0, -0.6), (9.0, -1.1), False),
        ((8.0, -0.4), (9.0, -1.1), True),
        ((8.0, -0.6), (9.0, -1.6), True),
        # What lies between two runs of one side and cannot be seen parts them not.
        ((8.0,), (5.0, -0.3, 4.0), False),
    ],
)
def test_an_inflection_is_new_where_it_was_not_nearly_in_sight(before, after, is_new):
    assert has_new_inflection(before, after) is is_new


def test_runs_in_sight_are_told_by_their_side():
    assert visible_signs((-1.1, 0.4, -3.0, 7.0, 0.2, -0.9, 2.0)) == (-1, 1)
    assert visible_signs((-1.1, 0.4, -3.0), 0.3) == (-1, 1, -1)


def test_many_curves_are_looked_at_in_one_go_as_one_by_one():
    """A quarter circle, a straight line and a wave: runs of the same turning as each curve's own."""
    wave = Curve([(0, 0), (20, 30), (40, -30), (60, 0)])
    curves = [quarter_circle(50.0), Curve.line((0, 0), (30, 40)), wave]
    t = np.linspace(0.0, 1.0, 33)
    bernstein = 3 * np.stack(((1 - t) ** 2, 2 * t * (1 - t), t**2), axis=1)
    velocity = np.concatenate([bernstein @ np.diff(curve.spans, axis=1) for curve in curves])
    owners = np.repeat(np.arange(3), [curve.n_spans for curve in curves])
    ends = np.cumsum([curve.n_spans for curve in curves]) - 1
    found = runs_of_steps(step_turns(velocity, ends.tolist()), owners, 3)
    assert [run.turning_deg for run in found[0]] == pytest.approx([90.0])
    assert found[1] == []
    assert [run.turning_deg for run in found[2]] == pytest.approx(turnings(wave), abs=0.1)
    assert found[2][0].first == 33 * (ends[1] + 1)
    assert found[2][0].last + 1 == found[2][1].first
