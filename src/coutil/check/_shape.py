"""Every edge of a style looked at in many places at once: points, directions, curvature, rounds and hollows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from coutil.curves import runs_of_steps, step_turns
from coutil.pattern import Edge, Piece, Spread

Floats = NDArray[np.float64]

# Places a span; at this many a 60 mm span of a pattern's usual bend lies within 0.01 mm of its chords.
LOOKS = 32

# A handle shorter than this part of the span's size gives no direction and no curvature.
NO_SPEED = 1e-6

# A speed below this, mm over a whole span, is a stop.
STANDS_MM = 1e-3

_T = np.linspace(0.0, 1.0, LOOKS + 1)
_S = 1 - _T
_POINT = np.stack((_S**3, 3 * _S * _S * _T, 3 * _S * _T * _T, _T**3), axis=1)
_SPEED = 3 * np.stack((_S * _S, 2 * _S * _T, _T * _T), axis=1)
_BEND = 6 * np.stack((_S, _T), axis=1)


@dataclass(frozen=True, eq=False)
class Shape:
    """Per span (s) and place (p): points and velocities (s, p, 2), curvature (s, p) in 1/mm, not a number at a cusp.

    `turns` (s, p) is the angle in radians from each place to the next along the same edge, positive to the left, that
    from a span's last place being the corner at its end.
    """

    spread: Spread
    points: Floats
    velocity: Floats
    curvature: Floats
    turns: Floats

    @cached_property
    def outward(self) -> Floats:
        """Unit normals to the right of each place, (s, p, 2), out of an anticlockwise outline; no number at a stop."""
        speed = np.hypot(self.velocity[..., 0], self.velocity[..., 1])
        speed[speed <= STANDS_MM] = np.nan
        return np.stack((self.velocity[..., 1] / speed, -self.velocity[..., 0] / speed), axis=2)

    def edges(self) -> Iterator[tuple[Piece, Edge, slice]]:
        """Every edge with its piece and its spans."""
        for piece in self.spread.style.pieces:
            for edge in piece.edges:
                yield piece, edge, self.spread.place(piece.name, edge.name)


def shape_of(spread: Spread) -> Shape:
    """Look at all edges of a style at once; a style looked at before is remembered."""
    return spread.remembered("shape", lambda: _looked_at(spread))


def _looked_at(spread: Spread) -> Shape:
    velocity = _SPEED @ np.diff(spread.spans, axis=1)
    bend = _BEND @ np.diff(spread.spans, n=2, axis=1)
    speed = np.hypot(velocity[..., 0], velocity[..., 1])
    size = np.abs(spread.spans - spread.spans[:, :1]).max(axis=(1, 2))
    speed[speed <= NO_SPEED * size[:, None]] = np.nan
    curvature = (velocity[..., 0] * bend[..., 1] - velocity[..., 1] * bend[..., 0]) / speed**3
    return Shape(spread, _POINT @ spread.spans, velocity, curvature, _turns(spread, velocity))


def turnings_of_runs(shape: Shape) -> dict[tuple[str, str], list[float]]:
    """The turning of the rounds (+) and hollows (-) of every edge in order, degrees, by (piece, edge)."""
    places = shape.spread.places
    owners = np.empty(len(shape.turns), dtype=int)
    for number, place in enumerate(places.values()):
        owners[place] = number
    found = runs_of_steps(shape.turns, owners, len(places))
    return {key: [run.turning_deg for run in runs] for key, runs in zip(places, found, strict=True)}


def _turns(spread: Spread, velocity: Floats) -> Floats:
    return step_turns(velocity, [place.stop - 1 for place in spread.places.values()])
