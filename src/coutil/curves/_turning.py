"""Rounds and hollows: stretches of a curve that turn one way, with the angle they turn."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from coutil.curves._cubic import (
    NO_SPEED,
    Floats,
    arriving_direction,
    inflections,
    leaving_direction,
)
from coutil.curves._curve import Curve

# Turning by less than this is rounding or a straight line, and has no side.
NO_TURN_DEG = 1e-6
# A run that turns less cannot be seen on paper.
VISIBLE_DEG = 1.0
# A run in sight is new unless it was there with at most so much less: one that barely grows past 1 degree is not.
NEAR_DEG = 0.5


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
    return tuple(
        Run(
            _along(curve, *run[0].start),
            _along(curve, *run[-1].end),
            sum(piece.turning_deg for piece in run),
        )
        for run in _runs(curve, samples_per_span)
    )


def turnings(curve: Curve, samples_per_span: int = 8) -> tuple[float, ...]:
    """The turning of each of `turning_runs`, degrees, without where they lie: no length has to be measured."""
    return tuple(sum(piece.turning_deg for piece in run) for run in _runs(curve, samples_per_span))


def in_sight(turning_deg: float, strictly: float = 0.0) -> bool:
    """Whether a run that turns so far can be seen on paper, or nearly (`strictly`, degrees less)."""
    return abs(turning_deg) > VISIBLE_DEG - strictly


def visible_signs(turned: Iterable[float], least_deg: float = VISIBLE_DEG) -> tuple[int, ...]:
    """Signs (left +1, right -1) of the runs that turn more than `least_deg`, neighbours of one sign joined.

    `turned` holds the turning of each run in order, degrees.
    """
    signs = [1 if degrees > 0 else -1 for degrees in turned if abs(degrees) > least_deg]
    return tuple(sign for i, sign in enumerate(signs) if i == 0 or sign != signs[i - 1])


def has_new_inflection(before: Sequence[float], after: Sequence[float], strictly: float = 0.0) -> bool:
    """Whether a curve has more inflections in sight than it had, from the turning of its runs in degrees.

    Looked at twice: all that turns more than 1 degree against what turned more than half a degree, and all that turns
    more than 1.5 degrees against what turned more than 1.  `strictly` counts what turns by so many degrees less.
    """
    return any(
        len(visible_signs(after, least - strictly)) > max(len(visible_signs(before, least - NEAR_DEG)), 1)
        for least in (VISIBLE_DEG, VISIBLE_DEG + NEAR_DEG)
    )


class _Piece(NamedTuple):
    """A part of one span without inflection, or the corner at its start; places are span and parameter."""

    start: tuple[int, float]
    end: tuple[int, float]
    turning_deg: float


def _runs(curve: Curve, samples: int) -> list[list[_Piece]]:
    """Pieces that turn, neighbours of one sign together."""
    runs: list[list[_Piece]] = []
    spans = curve.spans
    for k in range(len(spans)):
        for piece in _pieces(spans, k, samples):
            if abs(piece.turning_deg) <= NO_TURN_DEG:
                continue
            if runs and runs[-1][-1].turning_deg * piece.turning_deg > 0:
                runs[-1].append(piece)
            else:
                runs.append([piece])
    return runs


def _along(curve: Curve, k: int, t: float) -> float:
    return float(curve.knot_lengths[k + int(t)]) if t in (0.0, 1.0) else curve.along_of(k, t)


def _pieces(spans: Floats, k: int, samples: int) -> Iterator[_Piece]:
    """The corner at the span's start, then the span divided at its inflections."""
    if k:
        yield _Piece((k, 0.0), (k, 0.0), _corner(spans[k - 1], spans[k]))
    stops = (0.0, *inflections(spans[k]), 1.0)
    for a, b in pairwise(stops):
        yield _Piece((k, a), (k, b), _turning(spans[k], a, b, samples))


def _corner(before: Floats, after: Floats) -> float:
    """Degrees turned at the knot between two spans."""
    into, out = (before[3] - before[2]).tolist(), (after[1] - after[0]).tolist()
    if math.hypot(*into) > _least_speed(before) and math.hypot(*out) > _least_speed(after):
        return _angle(*into, *out)
    return _angle(*arriving_direction(before, 1.0), *leaving_direction(after, 0.0))


def _least_speed(span: Floats) -> float:
    """A derivative, or a handle, that is shorter has no direction that can be trusted."""
    x, y = span[:, 0].tolist(), span[:, 1].tolist()
    return NO_SPEED * float(max(*(abs(value - x[0]) for value in x), *(abs(value - y[0]) for value in y)))


def _turning(span: Floats, start: float, end: float, samples: int) -> float:
    """Degrees between two parameters; a cusp, whose reversal has no side, can only lie at an inflection."""
    steps = [start + (end - start) * i / samples for i in range(samples)] + [end]
    velocities = _velocities(span, steps)
    least = _least_speed(span)
    if all(math.hypot(x, y) > least for x, y in velocities):
        return sum(_angle(*a, *b) for a, b in pairwise(velocities))
    return sum(
        _angle(*leaving_direction(span, a), *arriving_direction(span, b)) for a, b in pairwise(steps)
    )


def _velocities(span: Floats, steps: Sequence[float]) -> list[tuple[float, float]]:
    """The derivative at each step: plain numbers, as an array of nine brings nothing."""
    (ax, ay), (bx, by), (cx, cy) = (3 * (span[1:] - span[:-1])).tolist()
    found = []
    for t in steps:
        u = 1 - t
        a, b, c = u * u, 2 * u * t, t * t
        found.append((a * ax + b * bx + c * cx, a * ay + b * by + c * cy))
    return found


def _angle(ax: float, ay: float, bx: float, by: float) -> float:
    return math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))
