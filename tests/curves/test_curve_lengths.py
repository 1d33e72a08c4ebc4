"""Batched arc length and its gradient, for solvers: closed forms, finite differences, speed of one batch."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
from curve_strategies import bent, edges, random_edge
from hypothesis import given, settings

from coutil.curves import Curve, length_gradient, span_lengths, span_lengths_and_gradient


def test_a_straight_span_by_hand():
    """From (0, 0) to (30, 40): 50 mm; the end pulls by (0.6, 0.8), the start the other way, handles not at
    all.
    """
    spans = Curve.line((0, 0), (30, 40)).spans
    lengths, gradient = span_lengths_and_gradient(spans)
    assert lengths == pytest.approx([50])
    expected = np.array([[(-0.6, -0.8), (0, 0), (0, 0), (0.6, 0.8)]])
    assert gradient == pytest.approx(expected, abs=1e-13)


def test_the_batch_agrees_with_the_measured_lengths_on_edges():
    rng = np.random.default_rng(11)
    for curve in (random_edge(rng) for _ in range(25)):
        assert span_lengths(curve.spans) == pytest.approx(curve.span_lengths, rel=1e-9)
        assert span_lengths_and_gradient(curve.spans)[0] == pytest.approx(
            span_lengths(curve.spans), rel=1e-15
        )


def test_gradients_agree_with_central_differences():
    spans = np.concatenate([random_edge(np.random.default_rng(k)).spans for k in range(4)])
    _, gradient = span_lengths_and_gradient(spans)
    step = 1e-4
    for i in range(4):
        for axis in (0, 1):
            nudge = np.zeros((4, 2))
            nudge[i, axis] = step
            difference = (span_lengths(spans + nudge) - span_lengths(spans - nudge)) / (2 * step)
            assert gradient[:, i, axis] == pytest.approx(difference, abs=1e-8)


@settings(max_examples=30, deadline=None)
@given(edges())
def test_moving_a_whole_curve_does_not_change_its_length(curve):
    assert length_gradient(curve).sum(axis=0) == pytest.approx(np.zeros(2), abs=1e-11)


@settings(max_examples=30, deadline=None)
@given(bent())
def test_scaling_a_curve_scales_its_length(curve):
    """Euler: a homogeneous function of degree one is its gradient times its argument, cusp or not."""
    assert np.sum(length_gradient(curve) * curve.points) == pytest.approx(curve.length, rel=1e-8)


def test_the_gradient_of_a_whole_curve_agrees_with_central_differences():
    curve = random_edge(np.random.default_rng(3))
    gradient = length_gradient(curve)
    for i, axis in np.ndindex(*curve.points.shape):
        nudge = np.zeros(curve.points.shape)
        nudge[i, axis] = 1e-4
        difference = (Curve(curve.points + nudge).length - Curve(curve.points - nudge).length) / 2e-4
        assert gradient[i, axis] == pytest.approx(difference, abs=1e-8)


def test_a_span_that_is_one_point_has_no_length_and_a_zero_gradient():
    lengths, gradient = span_lengths_and_gradient(np.full((1, 4, 2), 12.5))
    assert lengths == pytest.approx([0], abs=1e-12)
    assert np.all(np.isfinite(gradient))


def test_a_hairpin_needs_the_measured_length():
    """The plain batch misses this fold by more than 1e-6 of it; measuring does not (closed form 1.5)."""
    fold = Curve([(0, 0), (1, 0), (1, 0), (0, 0)])
    assert abs(span_lengths(fold.spans)[0] - 1.5) > 1.5e-6
    assert fold.length == pytest.approx(1.5, rel=1e-12)


def test_a_batch_of_a_whole_pattern_is_fast():
    """Seventy spans; the bound is ten times what it takes on a quiet machine."""
    spans = np.concatenate([random_edge(np.random.default_rng(k), 7).spans for k in range(10)])
    best = math.inf
    for _ in range(50):
        begun = time.perf_counter()
        span_lengths_and_gradient(spans)
        best = min(best, time.perf_counter() - begun)
    assert best < 0.0005
