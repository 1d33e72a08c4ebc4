"""The value itself: what may be built, equality, places along it, dividing, closed forms."""

from __future__ import annotations

import copy
import math
import pickle

import numpy as np
import pytest
from curve_strategies import bent, edges, fractions, quarter_circle, random_edge
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from coutil import curves
from coutil.curves import Curve
from coutil.errors import BadCurve

PARABOLA = Curve([(0, 0), (1 / 3, 0), (2 / 3, 1 / 3), (1, 1)])  # y = x^2 from 0 to 1, x = t


def test_the_door_is_complete_and_sorted():
    assert curves.__all__ == sorted(name for name in vars(curves) if not name.startswith("_"))


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ([(0, 0), (1, 0), (2, 0)], "4, 7, 10"),
        ([(0, 0)], "4, 7, 10"),
        ([(0, 0, 0)] * 4, "4, 7, 10"),
        ([(0, 0), (1, 0), (math.nan, 0), (3, 0)], "point 2 .* not finite"),
        ([(0, 0), (1, 0), (2, math.inf), (3, 0)], "point 2 .* not finite"),
        ([(5, 7)] * 7, r"\(5, 7\): it has no length"),
        ([(0, 0), (1, "x"), (2, 0), (3, 0)], "pairs of numbers"),
        ([(0, 0), (1,), (2, 0), (3, 0)], "pairs of numbers"),
    ],
)
def test_a_curve_that_cannot_exist_is_refused_in_one_sentence(points, words):
    with pytest.raises(BadCurve, match=words) as caught:
        Curve(points)
    assert "\n" not in str(caught.value)


def test_points_are_a_read_only_copy():
    given_points = np.array([(0.0, 0), (1, 0), (2, 0), (3, 0)])
    curve = Curve(given_points)
    given_points[0] = 99
    assert curve.start.tolist() == [0, 0]
    with pytest.raises(ValueError, match="read-only"):
        curve.points[0] = 1
    with pytest.raises(ValueError, match="read-only"):
        curve.knot_lengths[0] = 1


def test_equality_is_exact_and_agrees_with_hash():
    a, b = quarter_circle(), quarter_circle()
    assert a == b
    assert hash(a) == hash(b)
    assert a != a.moved(1e-12, 0)
    assert a != a.points.tolist()
    zero, minus = Curve([(0, 0), (1, 0), (2, 0), (3, 0)]), Curve([(0, -0.0), (1, 0), (2, 0), (3, 0)])
    assert zero == minus
    assert hash(zero) == hash(minus)


def test_copies_and_pickles_are_equal():
    curve = quarter_circle(40)
    assert curve.length > 0
    assert pickle.loads(pickle.dumps(curve)) == curve == copy.deepcopy(curve)


def test_a_line_by_hand():
    """3-4-5 triangle ten times: 50 mm; knots at a quarter and a half lie at 12.5 and 25 mm."""
    line = Curve.line((0, 0), (30, 40), inner=(0.25, 0.5))
    assert line.n_spans == 3
    assert line.length == pytest.approx(50, abs=1e-13)
    assert line.knot_lengths == pytest.approx([0, 12.5, 25, 50], abs=1e-13)
    assert line.knots == pytest.approx(np.array([(0, 0), (7.5, 10), (15, 20), (30, 40)]))
    assert line.points[1] == pytest.approx(np.array((2.5, 10 / 3)))
    assert line.parameters == pytest.approx(line.knot_lengths)
    assert line.tangent_at(17) == pytest.approx(np.array((0.6, 0.8)))
    assert line.curvature_at(17) == pytest.approx(0, abs=1e-15)
    assert line.is_straight(1e-12)


@pytest.mark.parametrize("inner", [(0.5, 0.25), (0.0,), (1.0,), (0.5, 0.5), (math.nan,)])
def test_a_line_with_knots_out_of_order_is_refused(inner):
    with pytest.raises(BadCurve, match="ascending"):
        Curve.line((0, 0), (1, 0), inner)


def test_a_line_without_length_is_refused():
    with pytest.raises(BadCurve, match="no length"):
        Curve.line((3, 3), (3, 3))


def test_hermite_handles_are_a_third_of_width_times_tangent():
    curve = Curve.from_hermite([(0, 0), (30, 0), (30, 60)], [(1, 0), (0.6, 0.8), (0, 1)], [30, 60])
    assert curve.points[1].tolist() == [10, 0]
    assert curve.points[2] == pytest.approx(np.array((24, -8)))
    assert curve.points[4] == pytest.approx(np.array((42, 16)))
    ratio = np.diff(curve.parameters)
    assert ratio[1] / ratio[0] == pytest.approx(2)
    assert curve.parameters[-1] == pytest.approx(curve.length)


def test_hermite_with_wrong_counts_is_refused():
    with pytest.raises(BadCurve, match="widths"):
        Curve.from_hermite([(0, 0), (1, 1)], [(1, 0), (1, 0)], [0.0])


def test_length_of_a_parabola_in_closed_form():
    """y = x^2 over 0..1: sqrt(5)/2 + asinh(2)/4 = 1.4789428575446."""
    assert PARABOLA.length == pytest.approx(math.sqrt(5) / 2 + math.asinh(2) / 4, rel=1e-14)


def test_length_of_a_cusp_in_closed_form():
    """(t^2, t^3) from -1 to 1 runs 2 (13 sqrt(13) - 8) / 27 mm and has a cusp in the middle."""
    cusp = Curve([(1, -1), (-1 / 3, 1), (-1 / 3, -1), (1, 1)])
    assert cusp.length == pytest.approx(2 * (13 * math.sqrt(13) - 8) / 27, rel=1e-12)


def test_length_of_a_hairpin_that_runs_back_on_itself():
    """x(t) = 3t - 3t^2 runs out to 0.75 and back, 1.5 mm in all, on a straight line."""
    assert Curve([(0, 0), (1, 0), (1, 0), (0, 0)]).length == pytest.approx(1.5, rel=1e-12)


def test_length_keeps_its_digits_far_from_the_origin():
    far = quarter_circle(5).moved(1e6, -1e6)
    assert far.length == pytest.approx(quarter_circle(5).length, rel=1e-9)


def test_a_tiny_part_of_a_far_span_is_measured_without_endless_division():
    line = Curve.line((2e5, 1e5), (2e5 + 30, 1e5 + 40))
    assert [c.along for c in line.crossings(1e5 + 1e-8)] == pytest.approx([1.25e-8], abs=1e-9)


def test_quarter_circle_is_as_long_and_as_curved_as_its_radius_error_allows():
    """Worst radial error of the usual cubic is 2.73e-4; a constant curvature is met to 1 %."""
    arc = quarter_circle(100)
    assert arc.length == pytest.approx(math.pi * 50, rel=2.73e-4)
    for along in (10, 78, 140):
        assert np.hypot(*arc.point_at(along)) == pytest.approx(100, rel=2.8e-4)
        assert arc.curvature_at(along) == pytest.approx(0.01, rel=0.015)
        assert arc.reversed().curvature_at(along) == pytest.approx(-0.01, rel=0.015)


def test_curvature_of_a_parabola_in_closed_form():
    """y = x^2 has 2 / (1 + 4 x^2)^1.5: 2 at the start, 2 / 5^1.5 at x = 1."""
    assert PARABOLA.curvature_at(0) == pytest.approx(2)
    assert PARABOLA.curvature_at(PARABOLA.length) == pytest.approx(2 / 5**1.5)


def test_tangent_where_a_handle_has_no_length():
    curve = Curve([(0, 0), (0, 0), (10, 0), (10, 10)])
    assert curve.tangent_at(0).tolist() == [1, 0]
    assert curve.reversed().tangent_at(curve.length).tolist() == [-1, 0]
    assert math.isfinite(curve.curvature_at(0))


def test_curvature_of_a_line_whose_handles_have_no_length_is_zero():
    assert Curve([(0, 0), (0, 0), (10, 5), (10, 5)]).curvature_at(0) == 0


def test_parameters_fall_back_on_arcs_where_a_handle_has_no_length():
    curve = Curve([(0, 0), (1, 0), (3, 0), (3, 0), (4, 0), (8, 0), (9, 0)])
    assert np.diff(curve.parameters) == pytest.approx([3, 6])


def test_a_span_that_is_one_point_among_others_is_survived():
    curve = Curve([(0, 0), (1, 0), (2, 0), (3, 0), (3, 0), (3, 0), (3, 0), (4, 0), (5, 0), (6, 0)])
    assert curve.length == pytest.approx(6)
    assert np.all(np.diff(curve.parameters) > 0)
    assert curve.point_at(4.5) == pytest.approx(np.array((4.5, 0)))
    assert len(curve.crossings(0)) == 2


@pytest.mark.parametrize("along", [-0.01, 50.01, math.nan, math.inf])
def test_a_place_beyond_the_ends_is_refused(along):
    with pytest.raises(BadCurve, match=r"50\.000 mm long"):
        Curve.line((0, 0), (30, 40)).point_at(along)


def test_a_place_beyond_the_end_by_rounding_is_the_end():
    assert Curve.line((0, 0), (30, 40)).point_at(50 + 1e-9).tolist() == [30, 40]


@pytest.mark.parametrize("along", [0, 50])
def test_dividing_at_an_end_is_refused(along):
    with pytest.raises(BadCurve, match="divided at its end"):
        Curve.line((0, 0), (30, 40)).split(along)


def test_an_existing_knot_is_used():
    line = Curve.line((0, 0), (30, 40), inner=(0.5,))
    curve, knot = line.with_knot_at(25 + 1e-10)
    assert curve is line
    assert knot == 1
    assert line.with_knot_at(0)[1] == 0
    assert line.with_knot_at(50)[1] == 2


def test_moving_and_turning():
    line = Curve.line((1, 2), (3, 2))
    assert line.moved(10, 20) == Curve(line.points + np.array((10, 20)))
    turned = line.transformed([(0, -1), (1, 0)], (100, 0))
    assert turned.start.tolist() == [98, 1]
    assert turned.end.tolist() == [98, 3]


@settings(max_examples=40, deadline=None)
@given(bent())
def test_reversing_twice_changes_nothing(curve):
    assert curve.reversed().reversed() == curve
    assert curve.reversed().length == pytest.approx(curve.length, rel=1e-9)


@settings(max_examples=40, deadline=None)
@given(st.one_of(edges(), bent()), fractions)
def test_parts_add_up_and_a_new_knot_changes_no_point(curve, fraction):
    along = fraction * curve.length
    assume(min(along, curve.length - along) > 1e-6)
    before, after = curve.split(along)
    assert before.length == pytest.approx(along, rel=1e-9, abs=1e-8)
    assert before.length + after.length == pytest.approx(curve.length, rel=1e-9)
    assert np.array_equal(before.end, after.start)
    knotted, knot = curve.with_knot_at(along)
    assert knotted.knot_lengths[knot] == pytest.approx(along, rel=1e-9, abs=1e-8)
    assert np.array_equal(knotted.knots[knot], before.end)


@settings(max_examples=40, deadline=None)
@given(edges(), fractions)
def test_the_nearest_place_to_a_point_of_an_edge_is_where_it_was_taken(curve, fraction):
    along = fraction * curve.length
    nearest = curve.closest(curve.point_at(along))
    assert nearest.distance < 1e-9
    assert nearest.along == pytest.approx(along, abs=1e-6)


@settings(max_examples=40, deadline=None)
@given(edges())
def test_parameters_make_an_edge_c1_again(curve):
    widths = np.diff(curve.parameters)
    handles = np.linalg.norm(np.diff(curve.points, axis=0), axis=1)
    speeds_in, speeds_out = 3 * handles[2:-1:3] / widths[:-1], 3 * handles[3::3] / widths[1:]
    assert speeds_in == pytest.approx(speeds_out, rel=1e-9)
    assert curve.parameters[-1] == pytest.approx(curve.length, rel=1e-12)


@settings(max_examples=30, deadline=None)
@given(bent())
def test_places_run_forward_and_ends_are_the_ends(curve):
    places = curve.points_at(np.linspace(0, curve.length, 9))
    assert places[0] == pytest.approx(curve.start, abs=1e-9)
    assert places[-1] == pytest.approx(curve.end, abs=1e-9)
    chords = np.linalg.norm(np.diff(places, axis=0), axis=1)
    assert np.all(chords <= curve.length / 8 + 1e-6)


def test_many_places_at_once_are_the_same_as_one_by_one():
    curve = random_edge(np.random.default_rng(5))
    along = np.linspace(0, curve.length, 11)
    assert curve.points_at(along) == pytest.approx(np.array([curve.point_at(s) for s in along]), abs=1e-10)


def test_curves_cut_from_one_array_are_those_made_one_by_one():
    points = np.array([(0, 0), (1, 2), (3, 2), (4, 0), (5, -2), (7, -2), (8, 0)], dtype=float)
    bounds = [(0, 4), (3, 7), (0, 7)]
    cut = Curve.cut_from(points, bounds)
    assert cut == [Curve(points[start:stop]) for start, stop in bounds]
    assert not any(curve.points.flags.writeable for curve in cut)
    points[:] = 9.0
    assert cut[0].points[1].tolist() == [1.0, 2.0]


@pytest.mark.parametrize("bad", [[(0, 3)], [(0, 5)]])
def test_a_stretch_that_is_no_curve_is_refused_as_a_curve_would_be(bad):
    with pytest.raises(BadCurve):
        Curve.cut_from(np.arange(14.0).reshape(7, 2), bad)


def test_a_stretch_without_length_or_with_a_gap_is_refused():
    with pytest.raises(BadCurve, match="no length"):
        Curve.cut_from(np.ones((4, 2)), [(0, 4)])
    with pytest.raises(BadCurve, match="not finite"):
        Curve.cut_from(np.full((4, 2), np.nan), [(0, 4)])
