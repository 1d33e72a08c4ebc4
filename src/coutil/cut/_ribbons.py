"""The strip between an edge and its cut line, before its ends are shaped.

Words: a *side* is an edge with its width; its *ribbon* is the strip of that width beside it, outside the
piece for a positive width and inside for a negative one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from coutil.curves import Curve

Floats = NDArray[np.float64]

# Both the edge and its cut line are drawn as chords; together with everything else they stay within 0.01 mm.
CHORD_TOLERANCE_MM = 0.004

# Doubling the chords this often ends the search where a cut line has a cusp that no chords can follow.
MOST_DOUBLINGS = 6

# A derivative shorter than this part of the span has no direction.
NO_SPEED = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Side:
    """An edge as chords: points (m, 2), outward unit normals (m, 2), and its width in mm."""

    name: str
    points: Floats
    normals: Floats
    width: float

    @property
    def cut_points(self) -> Floats:
        """The points shifted outwards by the width, shape (m, 2)."""
        return np.asarray(self.points + self.width * self.normals)


@lru_cache(maxsize=512)
def sampled_side(name: str, curve: Curve, width: float) -> Side:
    """The edge in chords so short that neither it nor its cut line is left by more than CHORD_TOLERANCE_MM.

    The outline runs anticlockwise, so outwards is to the right.  The last few hundred are remembered, since every
    layer and every paper of a garment asks for the same edges.
    """
    count = _chords_for(curve)
    for _ in range(MOST_DOUBLINGS):
        side = Side(name, *_sampled(curve, count), width)
        if max(_sag(side.points), _sag(side.cut_points)) <= CHORD_TOLERANCE_MM:
            break
        count *= 2
    return side


def _chords_for(curve: Curve) -> int:
    """Chords a span needs: one over a step h leaves it by at most h^2 / 8 times its second derivative."""
    bend = 6 * float(np.linalg.norm(np.diff(curve.spans, n=2, axis=1), axis=2).max())
    return max(1, math.ceil(math.sqrt(bend / (8 * CHORD_TOLERANCE_MM))))


def _sampled(curve: Curve, count: int) -> tuple[Floats, Floats]:
    """Points and outward normals at `count` equal steps of the parameter in every span."""
    steps = np.arange(count) / count
    points = np.concatenate([_span_points(span, steps) for span in curve.spans] + [curve.points[-1:]])
    speeds = np.concatenate([_span_speeds(span, steps) for span in curve.spans] + [np.zeros((1, 2))])
    speeds[0], speeds[-1] = curve.tangent_at(0.0), curve.tangent_at(curve.length)
    return points, _right_of(_with_direction(points, speeds))


def _span_points(span: Floats, t: Floats) -> Floats:
    u = 1 - t
    basis = np.stack((u**3, 3 * u * u * t, 3 * u * t * t, t**3), axis=1)
    return np.asarray(basis @ span)


def _span_speeds(span: Floats, t: Floats) -> Floats:
    u = 1 - t
    return np.asarray(np.stack((3 * u * u, 6 * u * t, 3 * t * t), axis=1) @ np.diff(span, axis=0))


def _with_direction(points: Floats, speeds: Floats) -> Floats:
    """Speeds, with the way to the next point in place of those too short to have a direction."""
    lengths = np.linalg.norm(speeds, axis=1)
    still = lengths <= NO_SPEED * max(float(np.ptp(points)), 1.0)
    ahead = np.diff(points, axis=0, append=points[-1:])
    ahead[-1] = points[-1] - points[-2]
    return np.where(still[:, None], ahead, speeds)


def _right_of(directions: Floats) -> Floats:
    unit = directions / np.linalg.norm(directions, axis=1)[:, None]
    return np.stack((unit[:, 1], -unit[:, 0]), axis=1)


def _sag(points: Floats) -> float:
    """How far points lie from the chord between their neighbours, over 4: what their own chords leave out."""
    across = points[1:-1] - (points[:-2] + points[2:]) / 2
    chord = points[2:] - points[:-2]
    lengths = np.linalg.norm(chord, axis=1)
    cross = across[:, 0] * chord[:, 1] - across[:, 1] * chord[:, 0]
    return float(np.max(np.abs(cross) / np.maximum(lengths, NO_SPEED), initial=0.0)) / 4


def ribbon(side: Side) -> BaseGeometry:
    """The strip beside the edge; empty for no width.

    Where an inside curve is tighter than the width its normals cross, and the strip is joined piece by piece.
    """
    if side.width == 0:
        return Polygon()
    whole = Polygon(np.concatenate((side.points, side.cut_points[::-1])))
    return whole if whole.is_valid else shapely.union_all(_quads(side))


def _quads(side: Side) -> NDArray[np.object_]:
    corners = np.stack((side.points[:-1], side.points[1:], side.cut_points[1:], side.cut_points[:-1]), axis=1)
    return np.asarray(shapely.convex_hull(shapely.multipoints(corners)))
