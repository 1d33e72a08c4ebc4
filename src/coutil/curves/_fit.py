"""A curve with few knots through a polyline: least squares with parameters that follow, divided where it
misses.

Method: P.  J.  Schneider, An Algorithm for Automatically Fitting Digitized Curves, in Graphics Gems (1990),
with ends left free unless their tangents are given.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from coutil.curves._cubic import Floats, points_on, towards_nearest
from coutil.curves._curve import Curve, numbers
from coutil.curves._splines import unit_or_none
from coutil.errors import BadCurve

# The parameters follow the curve this often before a span is given up and divided.  They follow slowly: a
# quarter circle of 100 mm is missed by 0.11 mm after 8 rounds, 0.03 after 20, 0.008 after 40 and 0.007
# after 100.
ROUNDS = 40

# Missing by this many tolerances after so many rounds, a span will not be saved by the rest (see above:
# 0.11 to 0.007).
HOPELESS_AFTER = 8
HOPELESS = 30

# A handle shorter than this part of its chord comes from an ill-posed fit; a third of the chord is used
# instead.
SHORTEST_HANDLE = 1e-3

# A handle longer than this part of its run comes from one too: the span would run out and double back on itself,
# near all points and yet millimetres too long.  A third is usual, a half circle has 0.42, and with more than half on
# either side the handles pass each other.
LONGEST_HANDLE = 0.5

# The direction at a division is read from points up to this many places away, so that one point's error
# counts less.
DIRECTION_REACH = 3


def fit_through(
    polyline: ArrayLike,
    tolerance: float,
    start_tangent: ArrayLike | None = None,
    end_tangent: ArrayLike | None = None,
) -> Curve:
    """A curve of running direction with few knots, from the first to the last point of a polyline (m, 2).

    No point of the polyline lies further than `tolerance` mm from it.  End tangents are directions of
    travel; None leaves the end to the fit.  Repeated points are taken once.  Raises BadCurve for fewer than
    two distinct points.
    """
    if not tolerance > 0:
        raise BadCurve(f"a curve cannot be fitted to within {tolerance} mm: give a tolerance above 0")
    points = _without_repeats(polyline)
    spans = []
    waiting = [(points, unit_or_none(start_tangent), unit_or_none(end_tangent))]
    while waiting:
        part, start, end = waiting.pop()
        span, distances = _best_span(part, start, end, tolerance)
        if distances.max() <= tolerance:
            spans.append(span)
            continue
        k = _place_to_divide(part, distances)
        through = _direction_through(part, k)
        waiting += [(part[k:], through, end), (part[: k + 1], start, through)]
    return Curve.from_spans(spans)


def _place_to_divide(points: Floats, distances: Floats) -> int:
    """The inner point that is missed most; of like ones the one nearer to the middle, so that no sliver is
    left.
    """
    run = _run(points)
    return int(np.argmax((distances * run * (run[-1] - run))[1:-1])) + 1


def _run(points: Floats) -> Floats:
    """Length of the polyline up to each point."""
    return np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))))


def _without_repeats(polyline: ArrayLike) -> Floats:
    points = numbers(polyline)
    if points.ndim != 2 or points.shape[1] != 2 or not len(points) or not np.all(np.isfinite(points)):
        raise BadCurve(f"a curve is fitted to finite points (x, y), not to an array of shape {points.shape}")
    new = np.concatenate(([True], np.any(np.diff(points, axis=0) != 0, axis=1)))
    if new.sum() < 2:
        raise BadCurve(
            f"a curve needs two distinct points, and all lie at ({points[0, 0]:g}, {points[0, 1]:g})"
        )
    return points[new]


def _best_span(
    points: Floats, start: Floats | None, end: Floats | None, tolerance: float
) -> tuple[Floats, Floats]:
    """The best single span and each point's distance from it (as far as the parameters tell, never too
    small).
    """
    run = _run(points)
    t = run / run[-1]
    best, least = _least_squares(points, t, start, end), np.full(len(points), math.inf)
    for tried in range(ROUNDS):
        span = _least_squares(points, t, start, end)
        repeated = np.broadcast_to(span, (len(points), 4, 2))
        inner = np.clip(t + towards_nearest(repeated, t, points), 0, 1)
        t = np.maximum.accumulate(np.concatenate(([0.0], inner[1:-1], [1.0])))
        distances = np.linalg.norm(points_on(repeated, t) - points, axis=1)
        if distances.max() < least.max():
            best, least = span, distances
        missed = least.max() / tolerance
        if missed <= 1 or (tried >= HOPELESS_AFTER and missed > HOPELESS):
            break
    return best, least


def _least_squares(points: Floats, t: Floats, start: Floats | None, end: Floats | None) -> Floats:
    """The span from the first to the last point whose handles miss the points least, at fixed parameters.

    A handle is unknown in its length along a given tangent, else in its offset from the third of the chord;
    the smallest offsets are taken where the points do not determine them.
    """
    first, last = points[0], points[-1]
    chord = last - first
    u = 1 - t
    near, far = 3 * u * u * t, 3 * u * t * t
    from_first, first_ways = _handle(first, chord, start)
    from_last, last_ways = _handle(last, -chord, None if end is None else -end)
    fixed = np.outer(u**3 + near, first) + np.outer(t**3 + far, last)
    fixed += np.outer(near, from_first) + np.outer(far, from_last)
    columns = [np.outer(near, way).ravel() for way in first_ways]
    columns += [np.outer(far, way).ravel() for way in last_ways]
    amounts = np.linalg.lstsq(np.stack(columns, axis=1), (points - fixed).ravel(), rcond=1e-12)[0]
    n = len(first_ways)
    most = LONGEST_HANDLE * float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
    handles = (
        first + _settled(from_first, first_ways, amounts[:n], chord, most),
        last + _settled(from_last, last_ways, amounts[n:], chord, most),
    )
    return np.stack((first, *handles, last))


def _handle(knot: Floats, chord: Floats, tangent: Floats | None) -> tuple[Floats, Floats]:
    """Where a handle starts from, relative to its knot, and the directions it may move in, (1 or 2, 2)."""
    if tangent is None:
        return chord / 3, np.eye(2)
    return np.zeros(2), tangent[None]


def _settled(begin: Floats, ways: Floats, amounts: Floats, chord: Floats, most: float) -> Floats:
    """The handle relative to its knot, no longer than `most`; one that would point backwards along its tangent is a
    third of the chord.
    """
    size = math.hypot(*chord)
    if len(ways) == 1 and amounts[0] <= SHORTEST_HANDLE * size:
        return np.asarray(ways[0] * size / 3)
    handle = np.asarray(begin + amounts @ ways)
    length = math.hypot(*handle)
    return handle if length <= most else handle * (most / length)


def _direction_through(points: Floats, k: int) -> Floats:
    """Unit tangent at point k of the parabola through it and a point on either side."""
    reach = min(DIRECTION_REACH, k, len(points) - 1 - k)
    before, after = points[k] - points[k - reach], points[k + reach] - points[k]
    near, far = math.hypot(*before), math.hypot(*after)
    slope = before * far * far + after * near * near
    size = math.hypot(*slope)
    if size <= SHORTEST_HANDLE * near * near * far:
        return np.asarray((points[k + 1] - points[k]) / math.dist(points[k + 1], points[k]))
    return np.asarray(slope / size)
