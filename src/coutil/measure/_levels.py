"""The body's girth between the levels that were measured below the waist."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from coutil.errors import BadChart
from coutil.measure._chart import Chart
from coutil.measure._keys import title

SAME_LEVEL_MM = 10.0  # Within this a reading counts as taken at the level; beyond it, it is estimated.
_DEPTHS = (("waist", None), ("high_hip", "waist_to_high_hip"), ("hip", "waist_to_hip"))


@dataclass(frozen=True, slots=True)
class LevelGirth:
    """Body girth and front arc (None where no front arcs surround the level) in mm at some depth."""

    girth: float
    front: float | None
    estimated: bool


def girth_at_depth(chart: Chart, depth: float) -> LevelGirth:
    """The body's girth `depth` mm below the waist, read between waist, high hip and hip.

    Within 10 mm of a measured level that reading counts, unmarked unless it was itself estimated; between
    levels a curve that rises and falls only as the readings do (piecewise cubic, slopes by the harmonic mean
    rule of Fritsch and Butland, from memory).  BadChart, naming the reading to take, outside the levels.
    """
    levels = _measured_levels(chart)
    near = min(levels, key=lambda level: abs(level[0] - depth), default=None)
    if near is not None and abs(near[0] - depth) <= SAME_LEVEL_MM:
        marked = any(chart.estimated(key) for key in (f"{near[1]}_girth", f"{near[1]}_front"))
        return LevelGirth(chart[f"{near[1]}_girth"], chart.get(f"{near[1]}_front"), marked)
    if not levels or not levels[0][0] < depth < levels[-1][0]:
        raise BadChart(_unknown_level(chart, depth))
    return LevelGirth(_between(chart, levels, "girth", depth), _front_between(chart, levels, depth), True)


def _measured_levels(chart: Chart) -> list[tuple[float, str]]:
    """Depth and stem of each level whose girth and depth are both known, from the waist down."""
    levels: dict[float, str] = {}
    for stem, depth_key in _DEPTHS:
        depth = chart.get(depth_key) if depth_key else 0.0
        if depth is not None and f"{stem}_girth" in chart:
            levels.setdefault(depth, stem)
    return sorted(levels.items())


def _unknown_level(chart: Chart, depth: float) -> str:
    wanted = ("waist_girth", "hip_girth", "waist_to_hip")
    absent = ", the ".join(title(key) for key in wanted if key not in chart)
    where = f"The girth {depth:.0f} mm below the waist"
    if absent:
        return f"{where} cannot be estimated: measure the {absent}."
    return f"{where} lies outside the measured levels: measure it there."


def _front_between(chart: Chart, levels: Sequence[tuple[float, str]], depth: float) -> float | None:
    """The front arc, from the two levels round the depth or more; None where either is missing."""
    known = [level for level in levels if f"{level[1]}_front" in chart]
    if not known or not known[0][0] < depth < known[-1][0]:
        return None
    return _between(chart, known, "front", depth)


def _between(chart: Chart, levels: Sequence[tuple[float, str]], what: str, depth: float) -> float:
    return monotone_between([d for d, _ in levels], [chart[f"{stem}_{what}"] for _, stem in levels], depth)


def monotone_between(xs: Sequence[float], ys: Sequence[float], x: float) -> float:
    """The value at `x` of a C1 cubic through the points that has no hump between them; `xs` rise strictly."""
    i = min(max(bisect_right(xs, x) - 1, 0), len(xs) - 2)
    step = xs[i + 1] - xs[i]
    slopes = _slopes(xs, ys)
    t = (x - xs[i]) / step
    rise = ys[i] * (1 + 2 * t) * (1 - t) ** 2 + ys[i + 1] * t * t * (3 - 2 * t)
    return rise + step * (slopes[i] * t * (1 - t) ** 2 - slopes[i + 1] * t * t * (1 - t))


def _slopes(xs: Sequence[float], ys: Sequence[float]) -> list[float]:
    """Slope at each point: weighted harmonic mean of both chords, 0 at a hump, the chord's at the ends."""
    widths = [b - a for a, b in pairwise(xs)]
    chords = [(b - a) / width for (a, b), width in zip(pairwise(ys), widths, strict=True)]
    inner = [_slope(*w, *c) for w, c in zip(pairwise(widths), pairwise(chords), strict=True)]
    return [chords[0], *inner, chords[-1]]


def _slope(width_before: float, width_after: float, before: float, after: float) -> float:
    if before * after <= 0:
        return 0.0
    weights = (width_before + 2 * width_after, 2 * width_before + width_after)
    return sum(weights) / (weights[0] / before + weights[1] / after)
