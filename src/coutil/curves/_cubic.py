"""Cubic spans as plain arrays: evaluate, differentiate, divide, and the roots that extrema and inflections
need.

A span is its four Bezier control points, shape (4, 2); functions take many at once, shape (m, 4, 2), with one
parameter t in 0..1 for each, shape (m,).
Formulas: G. Farin, Curves and Surfaces for CAGD, 5th ed., chapters 4 and 5 (Bernstein form, de Casteljau).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

# A derivative shorter than this part of the control polygon has no direction that can be trusted.
NO_SPEED = 1e-9

# Below this part of the largest coefficient the leading one is rounding, and the quadratic is a line.
NO_COEFFICIENT = 1e-14


def halves(spans: Floats, t: Floats) -> tuple[Floats, Floats]:
    """Both parts of each span, divided at its t by de Casteljau's construction; each has shape (m, 4, 2)."""
    u = t[:, None]
    p0, p1, p2, p3 = (spans[:, i] for i in range(4))
    a, b, c = p0 + (p1 - p0) * u, p1 + (p2 - p1) * u, p2 + (p3 - p2) * u
    d, e = a + (b - a) * u, b + (c - b) * u
    middle = d + (e - d) * u
    return np.stack((p0, a, d, middle), axis=1), np.stack((middle, e, c, p3), axis=1)


def points_on(spans: Floats, t: Floats) -> Floats:
    """The point of each span at its t, shape (m, 2)."""
    return np.asarray((_bernstein(t)[:, None] @ spans)[:, 0])


def points_on_each(spans: Floats, t: Floats) -> Floats:
    """The points of every span (n, 4, 2) at every t (m,), shape (n, m, 2)."""
    return np.asarray(_bernstein(t) @ spans)


def _bernstein(t: Floats) -> Floats:
    u = 1 - t
    return np.stack((u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t), axis=-1)


def derivatives(spans: Floats, t: Floats) -> Floats:
    """The first derivative by t of each span at its t, shape (m, 2), mm."""
    u = 1 - t
    basis = np.stack((3 * u * u, 6 * u * t, 3 * t * t), axis=1)
    return np.asarray((basis[:, None] @ (spans[:, 1:] - spans[:, :-1]))[:, 0])


def second_derivatives(spans: Floats, t: Floats) -> Floats:
    """The second derivative by t of each span at its t, shape (m, 2), mm."""
    basis = np.stack((6 * (1 - t), 6 * t), axis=1)
    return np.asarray((basis[:, None] @ np.diff(spans, n=2, axis=1))[:, 0])


def cross(a: Floats, b: Floats) -> Floats:
    """The z part of a x b along the last axis; positive where b lies to the left of a."""
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def leaving_direction(span: Floats, t: float) -> Floats:
    """Unit tangent of one span just after its t (at t = 1 just before), shape (2,).

    It has a value also where the derivative vanishes: at a handle without length and at a cusp.  (0, 0) for
    a span that is a single point.
    """
    if t == 1:
        return arriving_direction(span, t)
    return _direction(span, t, lambda: _first_direction(_divided(span, t)[1]))


def arriving_direction(span: Floats, t: float) -> Floats:
    """Unit tangent of one span just before its t (at t = 0 just after); differs from the leaving one at a
    cusp.
    """
    if t == 0:
        return leaving_direction(span, t)
    return _direction(span, t, lambda: -_first_direction(_divided(span, t)[0][::-1]))


def is_moving(span: Floats, velocities: Floats) -> NDArray[np.bool_]:
    """Whether derivatives (m, 2) of one span are long enough to have a direction, (m,)."""
    speeds = np.hypot(velocities[:, 0], velocities[:, 1])
    return np.asarray(speeds > NO_SPEED * np.abs(span - span[0]).max())


def _direction(span: Floats, t: float, where_still: Callable[[], Floats]) -> Floats:
    velocity = derivatives(span[None], np.array([t]))
    if is_moving(span, velocity)[0]:
        return np.asarray(velocity[0] / math.hypot(*velocity[0]))
    return where_still()


def _divided(span: Floats, t: float) -> tuple[Floats, Floats]:
    before, after = halves(span[None], np.array([t]))
    return before[0], after[0]


def _first_direction(span: Floats) -> Floats:
    """Direction from the first control point to the next that differs from it."""
    legs = span[1:] - span[0]
    sizes = np.hypot(legs[:, 0], legs[:, 1])
    distinct = np.flatnonzero(sizes > NO_SPEED * sizes.max())
    if not len(distinct):
        return np.zeros(2)
    return np.asarray(legs[distinct[0]] / sizes[distinct[0]])


def towards_nearest(spans: Floats, t: Floats, points: Floats) -> Floats:
    """The Newton step in t towards the place of each span nearest to its point, (m,); 0 where none leads
    there.
    """
    away = points_on(spans, t) - points
    velocity = derivatives(spans, t)
    slope = (away * velocity).sum(axis=1)
    bend = (velocity * velocity).sum(axis=1) + (away * second_derivatives(spans, t)).sum(axis=1)
    return np.where(bend > 0, -slope / np.where(bend > 0, bend, 1), 0)


def quadratic_roots(a: float, b: float, c: float) -> tuple[float, ...]:
    """The roots of a t^2 + b t + c strictly inside 0..1, ascending; a double one once, none of a zero
    polynomial.
    """
    largest = max(abs(a), abs(b), abs(c))
    if largest == 0:
        return ()
    if abs(a) <= NO_COEFFICIENT * largest:
        roots = [-c / b] if b else []
    else:
        roots = _stable_roots(a, b, c)
    return tuple(sorted({t for t in roots if 0 < t < 1}))


def _stable_roots(a: float, b: float, c: float) -> list[float]:
    # The textbook formula subtracts nearly equal numbers where 4ac is small; the second root comes from c /
    # q.
    under_root = b * b - 4 * a * c
    if under_root < 0:
        return []
    q = -0.5 * (b + math.copysign(math.sqrt(under_root), b))
    return [q / a, c / q] if q else [0.0]


def turning_points(values: Sequence[float]) -> tuple[float, ...]:
    """Where a cubic with these four Bernstein coefficients stops rising or falling, strictly inside 0..1."""
    d0, d1, d2 = (after - before for before, after in pairwise(values))
    return quadratic_roots(d0 - 2 * d1 + d2, 2 * (d1 - d0), d0)


def inflections(span: Floats) -> tuple[float, ...]:
    """Where one span's curvature changes or touches zero, strictly inside 0..1.

    The numerator x'y'' - y'x'' of a cubic is a quadratic in t.  Its Bernstein form comes from the cross
    products of the control polygon's three legs: (a x b, a x c / 2, b x c).
    """
    (ax, ay), (bx, by), (cx, cy) = (span[1:] - span[:-1]).tolist()
    ab, ac, bc = ax * by - ay * bx, (ax * cy - ay * cx) / 2, bx * cy - by * cx
    return quadratic_roots(ab - 2 * ac + bc, 2 * (ac - ab), ab)


def bernstein_value(values: Sequence[float], t: float) -> float:
    """The cubic with these four Bernstein coefficients at t."""
    u = 1 - t
    v0, v1, v2, v3 = values
    return float(u * u * (u * v0 + 3 * t * v1) + t * t * (3 * u * v2 + t * v3))
