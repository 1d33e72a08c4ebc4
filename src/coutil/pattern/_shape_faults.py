"""Faults of one piece's shape: open, clockwise, crossing itself, kinked, of absurd size, mismarked."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon
from shapely.validation import explain_validity

from coutil.curves import Curve
from coutil.pattern._values import Edge, Piece

# A file with two decimals closes within this; nobody can draw or cut it.
GAP_MM = 0.01

LARGEST_MM = 5000.0  # Longer than any cloth is wide and any person is tall.
SMALLEST_PIECE_MM = 5.0  # A piece narrower than this vanishes within its own seam.
SHORTEST_EDGE_MM = 0.5  # The practical limit of accuracy on paper.
KINK_DEG = 2.0  # A turn that the eye sees as a corner, so a corner it must be.
STRAIGHT_MM = 0.1
MARK_LOST_MM = 5.0  # Levels slip by a millimetre at most; a mark further off is on another knot.
FLATTEN_MM = 0.02
MOST_STROKES = 5


def find_shape_faults(piece: Piece) -> Iterator[str]:
    """Each fault of the piece, in a sentence without its full stop."""
    yield from (f"piece {piece.name}: {fault}" for fault in _faults(piece))


def _faults(piece: Piece) -> Iterator[str]:
    if not piece.edges:
        yield "it has no edges"
        return
    for edge in piece.edges:
        yield from _edge_faults(edge)
    gaps = tuple(_gaps(piece))
    yield from gaps
    yield from _level_faults(piece)
    yield from _notch_faults(piece)
    if not gaps and not any(np.abs(edge.curve.points).max() > LARGEST_MM for edge in piece.edges):
        yield from _outline_faults(piece)


def _gaps(piece: Piece) -> Iterator[str]:
    following = (*piece.edges[1:], piece.edges[0])
    for edge, after in zip(piece.edges, following, strict=True):
        gap = math.dist(edge.curve.end, after.curve.start)
        if gap > GAP_MM:
            yield (
                f"the outline is open by {gap:.2f} mm "
                f"between the end of edge {edge.name} and the start of edge {after.name}"
            )


def _outline_faults(piece: Piece) -> Iterator[str]:
    """Size, self-crossing and direction of a closed outline."""
    outline = np.concatenate([edge.curve.flatten(FLATTEN_MM)[:-1] for edge in piece.edges])
    width, height = np.ptp(outline, axis=0)
    if min(width, height) < SMALLEST_PIECE_MM:
        yield f"it is only {width:.1f} mm wide and {height:.1f} mm high; are the numbers millimetres?"
        return
    polygon = Polygon(outline)
    if not polygon.is_valid:
        yield f"its outline crosses itself{_near(explain_validity(polygon))}"
    elif not polygon.exterior.is_ccw:
        yield "its edges run clockwise; list them anticlockwise, each from its start to its end"


def _near(explanation: str) -> str:
    """Shapely says `Self-intersection[12.3 45.6]`."""
    place = explanation.partition("[")[2].rstrip("]").split()
    return f" near ({float(place[0]):.0f}, {float(place[1]):.0f})" if len(place) == 2 else ""


def _edge_faults(edge: Edge) -> Iterator[str]:
    curve = edge.curve
    largest = float(np.abs(curve.points).max())
    if largest > LARGEST_MM:
        yield f"edge {edge.name} reaches {largest:g} mm, over {LARGEST_MM:g}; is it in millimetres?"
        return
    if curve.length < SHORTEST_EDGE_MM:
        yield f"edge {edge.name} is {curve.length:.2f} mm long; an edge has at least {SHORTEST_EDGE_MM} mm"
        return
    knot, turn = _sharpest_turn(curve)
    if turn > KINK_DEG:
        yield f"edge {edge.name} turns {turn:.1f} degrees at knot {knot}: mend it"
    if edge.straight and not curve.is_straight(STRAIGHT_MM):
        yield f"edge {edge.name} is declared straight, but strays more than {STRAIGHT_MM} mm from its chord"
    if edge.role.is_vertical:
        yield from _lean_fault(edge)
    if edge.allowance is not None and edge.allowance < 0:
        yield f"edge {edge.name} has an allowance of {edge.allowance:g} mm, below 0"


def _lean_fault(edge: Edge) -> Iterator[str]:
    left, _, right, _ = edge.curve.bounds()
    if right - left > STRAIGHT_MM:
        yield f"edge {edge.name} is a {edge.role} line, but strays {right - left:.2f} mm from the upright"


def _sharpest_turn(curve: Curve) -> tuple[int, float]:
    """The inner knot at which the curve turns most, and by how many degrees; (0, 0.0) where there is none."""
    turns = [_turn(before, after) for before, after in zip(curve.spans[:-1], curve.spans[1:], strict=True)]
    if not turns:
        return 0, 0.0
    sharpest = int(np.argmax(turns))
    return sharpest + 1, turns[sharpest]


def _turn(before: NDArray[np.float64], after: NDArray[np.float64]) -> float:
    arriving = _first_step(before[::-1])
    leaving = _first_step(after)
    cross = arriving[0] * leaving[1] - arriving[1] * leaving[0]
    return math.degrees(abs(math.atan2(-cross, -float(arriving @ leaving))))


def _first_step(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """From the first control point to the next that lies elsewhere: the curve's direction there."""
    steps = points[1:] - points[0]
    reach = np.hypot(*steps.T)
    step: NDArray[np.float64] = steps[int(np.argmax(reach > 1e-9 * max(float(reach.max()), 1e-300)))]
    return step


def _level_faults(piece: Piece) -> Iterator[str]:
    bounds = [edge.curve.bounds() for edge in piece.edges]
    low, high = min(b[1] for b in bounds), max(b[3] for b in bounds)
    for name, height in piece.levels.items():
        if not low - MARK_LOST_MM <= height <= high + MARK_LOST_MM:
            yield f"level {name} at {height:.1f} mm lies outside; the piece is {low:.1f} to {high:.1f} high"
    for mark in piece.level_marks:
        off = float(piece.point(mark.at)[1]) - piece.levels[mark.level]
        if abs(off) > MARK_LOST_MM:
            yield (
                f"the mark of level {mark.level} at knot {mark.at.knot} of edge {mark.at.edge} lies "
                f"{abs(off):.1f} mm {'above' if off > 0 else 'below'} its level"
            )


def _notch_faults(piece: Piece) -> Iterator[str]:
    for notch in piece.notches:
        length = piece.edge(notch.edge).curve.length
        if not -GAP_MM <= notch.along <= length + GAP_MM:
            place = f"{notch.along:.1f} mm along edge {notch.edge}"
            yield f"notch {notch.name} lies {place}, which is {length:.1f} mm long"
        if not 1 <= notch.count <= MOST_STROKES:
            yield f"notch {notch.name} has {notch.count} strokes; it can have 1 to {MOST_STROKES}"
