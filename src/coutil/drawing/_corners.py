"""Corners of an outline: where it turns sharply, told apart from the small turns of a curve drawn in short strokes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from coutil.curves import Curve
from coutil.drawing._values import Bools, Floats, Point
from coutil.errors import BadInput

# The direction before and after a node is read over this length, so that a corner rounded by the pen stays one.
REACH_MM = 1.0
CORNER_DEG = 25.0  # A sharper turn is a corner; stroked curves turn by a few degrees at each node.
SURE_DEG = 45.0
DOUBT_DEG = 12.0  # Turns between this and a corner are worth the maker's look.
MOST_TURNS = 200  # Of one outline; a piece has four to ten corners.
APART_MM = 3.0  # Of two sharp nodes nearer than this the sharper is the corner.
SAME_NODE_MM = 0.5
OFF_OUTLINE_MM = 2.0


@dataclass(frozen=True, slots=True)
class Turn:
    """A node at which the outline turns, by how many degrees (positive to the left)."""

    node: int
    degrees: float


def find_turns(spans: Floats) -> tuple[Turn, ...]:
    """Every node of a closed run that turns by more than 12 degrees, sharper ones first where two lie close."""
    along, length = _node_places(spans)
    before, after = _looks(spans, along, length)
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    degrees = np.degrees(np.arctan2(cross, np.einsum("ij,ij->i", before, after)))
    kept: list[int] = []
    for node in np.argsort(-np.abs(degrees)):
        if abs(degrees[node]) < DOUBT_DEG:
            break
        if all(_apart(along, length, int(node), other) > APART_MM for other in kept):
            kept.append(int(node))
        if len(kept) > MOST_TURNS:
            raise BadInput(f"An outline has more than {MOST_TURNS} sharp turns, which no piece has: draw it smoother.")
    return tuple(Turn(node, float(degrees[node])) for node in sorted(kept))


def certainty_of(degrees: float) -> float:
    """How sure a turn of that many degrees is a corner, 0 to 1: a half at 25 degrees, 1 from 45 on."""
    share = (abs(degrees) - CORNER_DEG) / (SURE_DEG - CORNER_DEG)
    return min(1.0, max(0.0, 0.5 + 0.5 * share))


def with_nodes_at(
    spans: Floats, flat: Bools, points: Sequence[Point], what: Sequence[str]
) -> tuple[Floats, Bools, list[int]]:
    """The closed run with a node at each point, and those nodes; raises BadInput for a point off the outline."""
    run, kinds = spans, np.asarray(flat, dtype=bool)
    places = []
    for point, name in zip(points, what, strict=True):
        place = point
        if _node_near(run, point) is None:
            run, kinds, place = _divided(run, kinds, point, name)
        places.append(place)
    nodes = [_node_near(run, place) for place in places]
    return run, kinds, [node for node in nodes if node is not None]


def _node_near(spans: Floats, point: Point) -> int | None:
    away = np.hypot(*(spans[:, 0] - np.asarray(point)).T)
    nearest = int(np.argmin(away))
    return nearest if away[nearest] <= SAME_NODE_MM else None


def _divided(spans: Floats, flat: Bools, point: Point, name: str) -> tuple[Floats, Bools, Point]:
    curve = Curve.from_spans(spans)
    found = curve.closest(point)
    if found.distance > OFF_OUTLINE_MM:
        raise BadInput(
            f"{name} is said to begin at ({point[0]:.1f}, {point[1]:.1f}), {found.distance:.1f} mm from the outline: "
            "correct the place, which counts from the piece's origin."
        )
    divided, knot = curve.with_knot_at(found.along)
    # Where a node was there already nothing changes.
    kinds = np.insert(flat, knot, flat[knot - 1]) if divided.n_spans > curve.n_spans else flat
    spans = divided.spans.copy()
    spans[-1, 3] = spans[0, 0]
    x, y = divided.knots[knot].tolist()
    return spans, kinds, (x, y)


def _node_places(spans: Floats) -> tuple[Floats, float]:
    curve = Curve.from_spans(spans)
    return curve.knot_lengths[:-1], curve.length


def _apart(along: Floats, length: float, a: int, b: int) -> float:
    gap = abs(float(along[a] - along[b]))
    return min(gap, length - gap)


def _looks(spans: Floats, along: Floats, length: float) -> tuple[Floats, Floats]:
    """Directions into and out of every node, as chords over the reach."""
    curve = Curve.from_spans(spans)
    reach = min(REACH_MM, length / 8)
    here = spans[:, 0]
    behind = curve.points_at(np.mod(along - reach, length))
    ahead = curve.points_at(np.mod(along + reach, length))
    return here - behind, ahead - here


def turn_between(before: Floats, after: Floats) -> float:
    """Degrees by which the direction changes from one span's end to the next one's start."""
    a, b = _step(before[::-1]), _step(after)
    a = -a
    return abs(math.degrees(math.atan2(a[0] * b[1] - a[1] * b[0], float(a @ b))))


def _step(span: Floats) -> Floats:
    steps = span[1:] - span[0]
    reach = np.hypot(*steps.T)
    return np.asarray(steps[int(np.argmax(reach > 1e-9 * max(float(reach.max()), 1e-300)))])
