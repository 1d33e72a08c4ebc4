"""Rounds and hollows: stretches of a curve that turn one way, with the angle they turn."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from coutil.curves._cubic import (
    Floats,
    arriving_direction,
    cross,
    derivatives,
    inflections,
    is_moving,
    leaving_direction,
)
from coutil.curves._curve import Curve

# Turning by less than this is rounding or a straight line, and has no side.
NO_TURN_DEG = 1e-6


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch that turns one way, from and to in mm along; left turns are positive, degrees."""

    start_along: float
    end_along: float
    turning_deg: float


def turning_runs(curve: Curve, samples_per_span: int = 8) -> tuple[Run, ...]:
    """The stretches of one curvature sign in order; a straight curve has none, n runs have n - 1 inflections.

    They end where the curvature changes sign; the turning is the difference of tangent angles, followed
    over `samples_per_span` steps so that turns beyond 180 degrees are counted in full.  A corner at a knot
    counts as turning without length, the reversal at a cusp is not counted.  A straight stretch belongs to
    no run and separates none of one sign.
    """
    pieces = [piece for k in range(curve.n_spans) for piece in _pieces(curve, k, samples_per_span)]
    runs: list[Run] = []
    for piece in pieces:
        if abs(piece.turning_deg) <= NO_TURN_DEG:
            continue
        if runs and runs[-1].turning_deg * piece.turning_deg > 0:
            runs.append(_merged(runs.pop(), piece))
        else:
            runs.append(piece)
    return tuple(runs)


def _merged(first: Run, second: Run) -> Run:
    return Run(first.start_along, second.end_along, first.turning_deg + second.turning_deg)


def _pieces(curve: Curve, k: int, samples: int) -> list[Run]:
    """The corner at the span's start, then the span divided at its inflections."""
    span = curve.spans[k]
    stops = (0.0, *inflections(span), 1.0)
    along = [curve.along_of(k, t) for t in stops]
    turning = [_turning(span, a, b, samples) for a, b in pairwise(stops)]
    pieces = [Run(a, b, turned) for (a, b), turned in zip(pairwise(along), turning, strict=True)]
    return [_corner(curve, k), *pieces]


def _corner(curve: Curve, k: int) -> Run:
    along = float(curve.knot_lengths[k])
    if k == 0:
        return Run(along, along, 0.0)
    arriving, leaving = arriving_direction(curve.spans[k - 1], 1.0), leaving_direction(curve.spans[k], 0.0)
    return Run(along, along, _angle(arriving, leaving))


def _turning(span: Floats, start: float, end: float, samples: int) -> float:
    """Degrees between two parameters; a cusp, whose reversal has no side, can only lie at an inflection."""
    steps = np.linspace(start, end, samples + 1)
    velocities = derivatives(np.broadcast_to(span, (len(steps), 4, 2)), steps)
    if is_moving(span, velocities).all():
        return sum(_angle(a, b) for a, b in pairwise(velocities))
    return sum(
        _angle(leaving_direction(span, a), arriving_direction(span, b)) for a, b in pairwise(steps.tolist())
    )


def _angle(a: Floats, b: Floats) -> float:
    return math.degrees(math.atan2(float(cross(a, b)), float(a @ b)))
