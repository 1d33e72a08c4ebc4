"""Lines of a draft: seams that stand upright at the waist, and curves through points with given directions."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from coutil.curves import Curve, hermite_c2, join

# Share of a seam's last chord slope that it keeps at its end: below 1.5 it straightens towards the end, as a
# hand-drawn seam does, and above 1 it never turns back.
TOP_EASE = 1.0
HEM_EASE = 0.75

Point = tuple[float, float]


def upright_seam(below: Sequence[Point], above: Sequence[Point]) -> Curve:
    """A seam from the hem up, upright at the waist; `below` runs hem .. waist, `above` waist .. top."""
    lower = _half([(x, -y) for x, y in reversed(below)], HEM_EASE)
    flipped = lower.transformed([[1.0, 0.0], [0.0, -1.0]]).reversed()
    return join([flipped, _half(list(above), TOP_EASE)])


def _half(points: list[Point], ease: float) -> Curve:
    """From the waist (upright) to the last point, which it reaches with a share of the last chord's slope."""
    knots = np.array(points, dtype=float)
    rises = np.diff(knots[:, 1])
    slope = ease * (knots[-1, 0] - knots[-2, 0]) / rises[-1]
    return hermite_c2(knots, rises, (0.0, 1.0), (slope, 1.0))


def direction(degrees: float) -> Point:
    """Unit vector at that angle from the x axis."""
    return math.cos(math.radians(degrees)), math.sin(math.radians(degrees))


def through(points: Sequence[Point], start: Point | None = None, end: Point | None = None) -> Curve:
    """A smooth curve through points, chord-length parameters, directions at the ends where given."""
    knots = np.array(points, dtype=float)
    widths = np.hypot(*np.diff(knots, axis=0).T)
    return hermite_c2(knots, widths, start, end)


def vertical(x: float, heights: Sequence[float]) -> Curve:
    """A straight upright line with a knot at each height, in the order given."""
    start, end = heights[0], heights[-1]
    inner = [(h - start) / (end - start) for h in heights[1:-1]]
    return Curve.line((x, start), (x, end), inner)


@dataclass(frozen=True, slots=True)
class Profile:
    """A line round the half garment: (x, height) points it passes through, mm, and its slopes at both ends."""

    points: tuple[Point, ...]
    start_slope: float = 0.0
    end_slope: float = 0.0

    def at(self, x: float) -> tuple[float, float]:
        """Height in mm and slope at a place round the garment; beyond the ends the ends."""
        knots = np.array(self.points)
        widths = np.diff(knots[:, 0])
        curve = hermite_c2(knots, widths, (1.0, self.start_slope), (1.0, self.end_slope))
        k = int(np.clip(np.searchsorted(knots[:, 0], x) - 1, 0, len(widths) - 1))
        t = float(np.clip((x - knots[k, 0]) / widths[k], 0.0, 1.0))
        y = curve.points[3 * k : 3 * k + 4, 1]
        s = 1.0 - t
        height = s**3 * y[0] + 3 * s * s * t * y[1] + 3 * s * t * t * y[2] + t**3 * y[3]
        slope = 3 * (s * s * (y[1] - y[0]) + 2 * s * t * (y[2] - y[1]) + t * t * (y[3] - y[2])) / widths[k]
        return float(height), float(slope)
