"""Curves made from points: the smooth (C2) cubic spline, joining end to end, and the gradient of a length.

Spline: C. de Boor, A Practical Guide to Splines, chapter IV (cubic interpolation in Hermite form).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from coutil.curves._cubic import Floats
from coutil.curves._curve import Curve, numbers
from coutil.curves._lengths import measured_gradient
from coutil.errors import BadCurve

# Ends that meet within this are one point: a plotter pen is ten thousand times wider.
JOIN_TOLERANCE_MM = 1e-5


def hermite_c2(
    knots: ArrayLike,
    widths: ArrayLike,
    start_tangent: ArrayLike | None = None,
    end_tangent: ArrayLike | None = None,
) -> Curve:
    """The C2 cubic spline through knots (n+1, 2) over parameter widths (n,).

    End tangents are derivatives by the parameter, used as given; None leaves that end natural (no curvature).
    """
    p, w = numbers(knots), numbers(widths)
    if p.ndim != 2 or w.shape != (len(p) - 1,) or np.any(w <= 0):
        raise BadCurve(f"a spline through {len(p)} knots needs {len(p) - 1} widths above 0")
    matrix, right = _inner_rows(p, w)
    matrix[0, :2], right[0] = _end_row((p[1] - p[0]) / w[0], start_tangent)
    matrix[-1, :-3:-1], right[-1] = _end_row((p[-1] - p[-2]) / w[-1], end_tangent)
    return Curve.from_hermite(p, np.linalg.solve(matrix, right), w)


def _inner_rows(p: Floats, w: Floats) -> tuple[Floats, Floats]:
    """Equal second derivatives at every inner knot: rows of the system for the tangents."""
    n = len(w)
    matrix, right = np.zeros((n + 1, n + 1)), np.zeros((n + 1, 2))
    chords = np.diff(p, axis=0) / w[:, None]
    inner = np.arange(1, n)
    matrix[inner, inner - 1] = w[1:]
    matrix[inner, inner] = 2 * (w[:-1] + w[1:])
    matrix[inner, inner + 1] = w[:-1]
    right[inner] = 3 * (w[1:, None] * chords[:-1] + w[:-1, None] * chords[1:])
    return matrix, right


def _end_row(chord: Floats, tangent: ArrayLike | None) -> tuple[tuple[float, float], Floats]:
    """Coefficients of the end's tangent and of the one beside it, and the right side, (2,)."""
    if tangent is None:
        return (2, 1), 3 * chord
    return (1, 0), np.asarray(tangent, dtype=float)


def smooth_through(
    points: ArrayLike, start_tangent: ArrayLike | None = None, end_tangent: ArrayLike | None = None
) -> Curve:
    """The C2 curve through points (n+1, 2), a knot at each, parametrised by the chords' lengths.

    A given end tangent counts as a direction only (it is used at unit speed, 1 mm a mm); None leaves that end
    without curvature.  Raises BadCurve where two neighbouring points are the same.
    """
    p = _distinct(points)
    chords = np.linalg.norm(np.diff(p, axis=0), axis=1)
    return hermite_c2(p, chords, unit_or_none(start_tangent), unit_or_none(end_tangent))


def _distinct(points: ArrayLike) -> Floats:
    p = numbers(points)
    if p.ndim != 2 or p.shape[1] != 2 or len(p) < 2 or not np.all(np.isfinite(p)):
        raise BadCurve(f"a curve is drawn through two or more points, not an array of shape {p.shape}")
    same = np.flatnonzero(np.all(np.diff(p, axis=0) == 0, axis=1))
    if len(same):
        raise BadCurve(f"points {same[0]} and {same[0] + 1} are the same: leave one out")
    return p


def unit_or_none(tangent: ArrayLike | None) -> Floats | None:
    """The direction at length 1, shape (2,); None stays None.  Raises BadCurve where there is none."""
    if tangent is None:
        return None
    given = numbers(tangent)
    size = float(np.linalg.norm(given))
    if given.shape != (2,) or not 0 < size < math.inf:
        raise BadCurve(f"a tangent needs a direction (x, y), not {given.tolist()}")
    return np.asarray(given / size)


def join(curves: Sequence[Curve], tolerance: float = JOIN_TOLERANCE_MM) -> Curve:
    """One curve of several end to end; each must start within `tolerance` mm of the end before it, or
    BadCurve.

    The end before is kept, the start after it gives way.
    """
    if not curves:
        raise BadCurve("there is no curve to join: give one or more")
    for i, (before, after) in enumerate(pairwise(curves)):
        gap = math.dist(before.end, after.start)
        if gap > tolerance:
            where = f"curve {i + 1} starts {gap:.3g} mm from the end of curve {i}"
            raise BadCurve(f"{where}, {tolerance:g} mm allowed")
    return Curve(np.concatenate((curves[0].points, *(curve.points[1:] for curve in curves[1:]))))


def length_gradient(curve: Curve) -> Floats:
    """Gradient of the curve's length by its points, shape (3n+1, 2), mm per mm."""
    by_span = measured_gradient(curve.spans)
    gradient = np.zeros_like(curve.points)
    gradient[:-1] += by_span[:, :3].reshape(-1, 2)
    gradient[3::3] += by_span[:, 3]
    return gradient
