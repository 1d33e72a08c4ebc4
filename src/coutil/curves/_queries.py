"""What is asked of a curve's spans: crossings with a horizontal, nearest point, extent, straightness,
polyline.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from coutil.curves._cubic import (
    Floats,
    Ints,
    bernstein_value,
    points_on,
    points_on_each,
    towards_nearest,
    turning_points,
)
from coutil.curves._lengths import lengths_up_to

# A curve as near to a line as this touches it: a thousandth of a pen width would be visible in no drawing.
TOUCH_TOLERANCE_MM = 1e-9

# Crossings closer along the curve than this are one: the end of one span and the start of the next.
SAME_CROSSING_MM = 1e-6

# Each span is looked at in this many places before the nearest one is refined; a cubic has at most 5 extrema.
CLOSEST_SAMPLES = 32

# Four looks narrow a sample's place 256-fold; from there Newton's method doubles the digits at each step.
CLOSER_LOOKS = 4
NEWTON_STEPS = 4


@dataclass(frozen=True, slots=True)
class Crossing:
    """Where a curve meets a horizontal: span, its parameter t in 0..1, x in mm, `along` in mm from the start.

    A meeting at a knot is given with the span that ends there.
    """

    span: int
    t: float
    x: float
    along: float


@dataclass(frozen=True, slots=True, eq=False)
class Closest:
    """The nearest point of a curve: `along` in mm from the start, distance in mm, coordinates of shape
    (2,).
    """

    along: float
    distance: float
    point: Floats


def find_crossings(spans: Floats, knot_lengths: Floats, y: float) -> tuple[Crossing, ...]:
    """All meetings with the horizontal at y, sorted by `along`; see Curve.crossings."""
    found = [(k, t) for k in _spans_reaching(spans, y) for t in _meetings(spans, k, y)]
    if not found:
        return ()
    indices, t = np.array([k for k, _ in found]), np.array([t for _, t in found])
    along = knot_lengths[indices] + lengths_up_to(spans[indices], t)
    x = points_on(spans[indices], t)[:, 0]
    order = np.argsort(along, kind="stable")
    ordered = [(*found[i], float(x[i]), float(along[i])) for i in order]
    return _without_doubles([Crossing(k, u, v, s) for k, u, v, s in ordered])


def _spans_reaching(spans: Floats, y: float) -> list[int]:
    heights = spans[:, :, 1]
    lowest, highest = heights.min(axis=1) - TOUCH_TOLERANCE_MM, heights.max(axis=1) + TOUCH_TOLERANCE_MM
    return [int(k) for k in np.flatnonzero((lowest <= y) & (y <= highest))]


def _meetings(spans: Floats, k: int, y: float) -> list[float]:
    """Parameters at which span k meets the line; a span that lies on it gives the ends of the stretch."""
    if _lies_on(spans, k, y):
        return [t for t, neighbour in ((0.0, k - 1), (1.0, k + 1)) if not _lies_on(spans, neighbour, y)]
    values = (spans[k, :, 1] - y).tolist()
    stops = (0.0, *turning_points(values), 1.0)
    heights = [bernstein_value(values, t) for t in stops]
    touching = [t for t, height in zip(stops, heights, strict=True) if abs(height) <= TOUCH_TOLERANCE_MM]
    through = [
        _root_between(values, stops[i], stops[i + 1])
        for i in range(len(stops) - 1)
        if min(abs(heights[i]), abs(heights[i + 1])) > TOUCH_TOLERANCE_MM and heights[i] * heights[i + 1] < 0
    ]
    return touching + through


def _lies_on(spans: Floats, k: int, y: float) -> bool:
    return 0 <= k < len(spans) and bool(np.all(np.abs(spans[k, :, 1] - y) <= TOUCH_TOLERANCE_MM))


def _root_between(values: Sequence[float], low: float, high: float) -> float:
    """The root of a cubic that is monotone and changes sign between two parameters: Newton kept in a
    bracket.
    """
    rising = bernstein_value(values, low) < 0
    legs = [after - before for before, after in pairwise(values)]
    t = 0.5 * (low + high)
    for _ in range(100):
        height = bernstein_value(values, t)
        low, high = (t, high) if (height < 0) == rising else (low, t)
        slope = 3 * ((1 - t) ** 2 * legs[0] + 2 * (1 - t) * t * legs[1] + t * t * legs[2])
        step = t - height / slope if slope else math.inf
        nearer = step if low < step < high else 0.5 * (low + high)
        if nearer == t or height == 0:
            break
        t = float(nearer)
    return t


def _without_doubles(crossings: list[Crossing]) -> tuple[Crossing, ...]:
    kept = crossings[:1]
    for crossing in crossings[1:]:
        if crossing.along - kept[-1].along > SAME_CROSSING_MM:
            kept.append(crossing)
    return tuple(kept)


def find_closest(spans: Floats, knot_lengths: Floats, point: Floats) -> Closest:
    """The nearest point of all spans: every near minimum of a sampled distance is refined, the best one
    kept.
    """
    t = np.linspace(0, 1, CLOSEST_SAMPLES + 1)
    k, i = _near_minima(spans, t, point)
    candidates = spans[k]
    refined = _refined(candidates, t[i], 1 / CLOSEST_SAMPLES, point)
    found = points_on(candidates, refined)
    distances = np.linalg.norm(found - point, axis=1)
    best = int(np.argmin(distances))
    along = knot_lengths[k[best]] + lengths_up_to(candidates[best : best + 1], refined[best : best + 1])[0]
    return Closest(float(along), float(distances[best]), found[best])


def _near_minima(spans: Floats, t: Floats, point: Floats) -> tuple[Ints, Ints]:
    distances = np.linalg.norm(points_on_each(spans, t) - point, axis=2)
    distances = np.pad(distances, ((0, 0), (1, 1)), constant_values=np.inf)
    middle = distances[:, 1:-1]
    k, i = np.nonzero((middle <= distances[:, :-2]) & (middle <= distances[:, 2:]))
    return k, i


def _refined(spans: Floats, t: Floats, reach: float, point: Floats) -> Floats:
    """Nearest parameters within `reach` of t: the bracket is looked at closer, then Newton's method."""
    offsets = np.linspace(-1, 1, 9)
    rows = np.arange(len(t))
    for _ in range(CLOSER_LOOKS):
        around = np.clip(t[:, None] + reach * offsets, 0, 1)
        places = points_on_each(spans, around)
        t = around[rows, np.argmin(np.linalg.norm(places - point, axis=2), axis=1)]
        reach /= 4
    for _ in range(NEWTON_STEPS):
        step = np.clip(towards_nearest(spans, t, point), -4 * reach, 4 * reach)
        t = np.clip(t + step, 0, 1)
    return t


def extent(spans: Floats) -> tuple[float, float, float, float]:
    """(xmin, ymin, xmax, ymax) of the spans themselves, not of their control points, mm."""
    low, high = zip(*(_range_of(spans[:, :, axis]) for axis in (0, 1)), strict=True)
    return low[0], low[1], high[0], high[1]


def _range_of(values: Floats) -> tuple[float, float]:
    heights = _stops(values)
    return min(heights), max(heights)


def _stops(values: Floats) -> list[float]:
    """A coordinate where it starts, turns and ends, span by span in order; (n, 4) Bernstein coefficients."""
    return [bernstein_value(span, t) for span in values.tolist() for t in (0.0, *turning_points(span), 1.0)]


def lie_straight(spans: Floats, tolerance: float) -> bool:
    """Whether the spans stay within `tolerance` mm of the chord and never run back along it by more."""
    chord = spans[-1, 3] - spans[0, 0]
    length = math.hypot(*chord)
    if length <= tolerance:
        return False
    ahead = chord / length
    relative = spans - spans[0, 0]
    lowest, highest = _range_of(relative @ np.array([-ahead[1], ahead[0]]))
    progress = np.array(_stops(relative @ ahead))
    runs_back = float(np.max(np.maximum.accumulate(progress) - progress))
    return max(-lowest, highest, runs_back) <= tolerance


def polyline(spans: Floats, tolerance: float) -> Floats:
    """Points (m, 2) whose polyline stays within `tolerance` mm of the spans; every knot is among them.

    A chord over a parameter step h leaves the curve by at most h^2 / 8 times the largest second derivative.
    """
    bends = 6 * np.linalg.norm(np.diff(spans, n=2, axis=1), axis=2).max(axis=1)
    counts = np.maximum(1, np.ceil(np.sqrt(bends / (8 * tolerance)))).astype(int)
    owner = np.repeat(np.arange(len(spans)), counts)
    step = np.arange(len(owner)) - (np.cumsum(counts) - counts)[owner] + 1
    return np.concatenate((spans[:1, 0], points_on(spans[owner], step / counts[owner])))
