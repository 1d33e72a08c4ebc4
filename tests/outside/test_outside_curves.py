"""Curves against outside arithmetic: mpmath at 30 digits, scipy's quadrature and its cubic spline."""

from __future__ import annotations

import math
from functools import reduce
from itertools import pairwise

import mpmath
import numpy as np
import pytest
from scipy.integrate import quad
from scipy.interpolate import CubicSpline

from coutil.curves import Curve, length_gradient, smooth_through, span_lengths_and_gradient

mpmath.mp.dps = 30


def pattern_like(seed: int) -> np.ndarray:
    """One span as long and as bent as an edge between two levels, shape (4, 2)."""
    rng = np.random.default_rng(seed)
    length, lean = rng.uniform(20, 150), rng.uniform(-0.6, 0.6, 2)
    start = rng.uniform(-200, 200, 2)
    reach = length * rng.uniform(0.25, 0.4, 2)
    ways = np.stack((np.sin(lean), np.cos(lean)), axis=1)
    end = start + np.array((rng.uniform(-0.2, 0.2), 1)) * length
    return np.array([start, start + reach[0] * ways[0], end - reach[1] * ways[1], end])


def bent_span(seed: int) -> np.ndarray:
    """One span with its handles anywhere: loops and near cusps, shape (4, 2)."""
    return np.random.default_rng(1000 + seed).uniform(-100, 100, (4, 2))


SPANS = [pattern_like(k) for k in range(40)] + [bent_span(k) for k in range(30)]


def legs(span: np.ndarray) -> list[list[mpmath.mpf]]:
    points = [[mpmath.mpf(float(c)) for c in p] for p in span]
    return [[b - a for a, b in zip(p, q, strict=True)] for p, q in pairwise(points)]


def velocity(span: np.ndarray, t: mpmath.mpf) -> list[mpmath.mpf]:
    a, b, c = legs(span)
    return [3 * ((1 - t) ** 2 * x + 2 * (1 - t) * t * y + t**2 * z) for x, y, z in zip(a, b, c, strict=True)]


def slowest(span: np.ndarray) -> list[float]:
    """Parameters of least speed, where the integrand bends most: the quadrature is told to divide there."""
    a, b, c = np.diff(span, axis=0)
    x, y = (
        np.polynomial.Polynomial((p, 2 * (q - p), p - 2 * q + r)) for p, q, r in zip(a, b, c, strict=True)
    )
    roots = (x * x + y * y).deriv().roots()
    return sorted(float(r.real) for r in roots if abs(r.imag) < 1e-9 and 0.001 < r.real < 0.999)


def mp_length(span: np.ndarray) -> mpmath.mpf:
    """Speed is the root of a quartic, expanded here in powers; the quadrature must vouch for 13 digits."""
    a, b, c = legs(span)
    powers = [(3 * (z - 2 * y + x), 6 * (y - x), 3 * x) for x, y, z in zip(a, b, c, strict=True)]
    quartic = [mpmath.mpf(0)] * 5
    for row in powers:
        for m, n in np.ndindex(3, 3):
            quartic[m + n] += row[m] * row[n]

    def speed(t: mpmath.mpf) -> mpmath.mpf:
        return mpmath.sqrt(reduce(lambda value, power: value * t + power, quartic))

    length, error = mpmath.quad(speed, [0, *slowest(span), 1], maxdegree=7, error=True)
    assert error < 1e-13 * length
    return length


@pytest.mark.parametrize("number", range(len(SPANS)))
def test_arc_length_against_30_digits(number):
    assert Curve(SPANS[number]).length == pytest.approx(float(mp_length(SPANS[number])), rel=1e-9)


def test_arc_length_against_scipy_quad():
    for span in SPANS:
        a, b, c = np.diff(span, axis=0)
        whole, _ = quad(
            lambda t, a=a, b=b, c=c: 3 * math.hypot(*((1 - t) ** 2 * a + 2 * (1 - t) * t * b + t * t * c)),
            0, 1, epsabs=1e-11, epsrel=1e-12, limit=200, points=slowest(span) or None,
        )  # fmt: skip
        assert Curve(span).length == pytest.approx(whole, rel=1e-9)


@pytest.mark.parametrize("number", [0, 7, 41])
def test_length_gradient_against_30_digits(number):
    span = SPANS[number]
    measured = length_gradient(Curve(span))
    degree = [
        lambda t: -3 * (1 - t) ** 2,
        lambda t: 3 * (1 - t) ** 2 - 6 * t * (1 - t),
        lambda t: 6 * t * (1 - t) - 3 * t**2,
        lambda t: 3 * t**2,
    ]
    for i in range(4):
        for axis in (0, 1):

            def integrand(t: mpmath.mpf, i: int = i, axis: int = axis) -> mpmath.mpf:
                v = velocity(span, t)
                return degree[i](t) * v[axis] / mpmath.sqrt(v[0] ** 2 + v[1] ** 2)

            exact = mpmath.quad(integrand, [0, *slowest(span), 1], maxdegree=6)
            assert measured[i, axis] == pytest.approx(float(exact), abs=1e-9)


def test_the_fast_gradient_of_pattern_edges_equals_the_measured_one():
    _, gradient = span_lengths_and_gradient(np.array(SPANS[:40]))
    for span, row in zip(SPANS[:40], gradient, strict=True):
        assert row == pytest.approx(length_gradient(Curve(span)), abs=1e-9)


@pytest.mark.parametrize("number", [0, 3, 12, 45, 60])
@pytest.mark.parametrize("t", [0.0, 0.3, 0.77])
def test_curvature_and_direction_against_mpmath_derivatives(number, t):
    """The curve as a polynomial is differentiated numerically at 30 digits, by no formula of ours."""
    span = SPANS[number]
    curve = Curve(span)

    def coordinate(axis: int):
        p = [mpmath.mpf(float(c)) for c in span[:, axis]]
        return lambda u: sum(mpmath.binomial(3, i) * (1 - u) ** (3 - i) * u**i * p[i] for i in range(4))

    d1 = [mpmath.diff(coordinate(axis), t) for axis in (0, 1)]
    d2 = [mpmath.diff(coordinate(axis), t, 2) for axis in (0, 1)]
    speed = mpmath.hypot(*d1)
    along = curve.along_of(0, t)
    assert curve.curvature_at(along) == pytest.approx(
        float((d1[0] * d2[1] - d1[1] * d2[0]) / speed**3), rel=1e-7
    )
    assert curve.tangent_at(along) == pytest.approx(np.array([float(d / speed) for d in d1]), abs=1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_smooth_through_against_scipy_cubic_spline(seed):
    rng = np.random.default_rng(seed)
    points = np.stack((np.cumsum(rng.uniform(10, 60, 6)), rng.uniform(-30, 30, 6)), axis=1)
    run = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))))
    for ends, start, end in (("natural", None, None), ("clamped", (0.6, 0.8), (1.0, 0.0))):
        bounds = "natural" if ends == "natural" else ((1, start), (1, end))
        spline = CubicSpline(run, points, bc_type=bounds)
        curve = smooth_through(points, start, end)
        handles = curve.knots[:-1] + np.diff(run)[:, None] / 3 * spline(run[:-1], 1)
        assert curve.points[1::3] == pytest.approx(handles, abs=1e-10)
        back = curve.knots[1:] - np.diff(run)[:, None] / 3 * spline(run[1:], 1)
        assert curve.points[2::3] == pytest.approx(back, abs=1e-10)
