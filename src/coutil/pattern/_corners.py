"""Corners of an outline: which edges meet there, and the angle inside the cloth."""

from __future__ import annotations

import math

import numpy as np

from coutil.pattern._spread import Floats, Spread
from coutil.pattern._values import Edge, EdgeRef, KnotRef, Piece

# A handle shorter than this gives no direction; the next control point does.
NO_HANDLE_MM = 1e-6


def corner_of(piece: Piece, at: KnotRef) -> int | None:
    """The corner at a knot, numbered by the edge that starts there; None for a knot inside an edge."""
    for i, edge in enumerate(piece.edges):
        if edge.name == at.edge:
            if at.knot == 0:
                return i
            return (i + 1) % len(piece.edges) if at.knot == edge.curve.n_spans else None
    return None


def edges_at(piece: Piece, corner: int) -> tuple[Edge, Edge]:
    """The edge that ends at a corner and the edge that starts there."""
    return piece.edges[corner - 1], piece.edges[corner]


def end_corners(piece: Piece, ref: EdgeRef) -> tuple[int, int]:
    """The corners at which a seam comes onto an edge and leaves it."""
    i = next(k for k, edge in enumerate(piece.edges) if edge.name == ref.edge)
    start, end = i, (i + 1) % len(piece.edges)
    return (end, start) if ref.backward else (start, end)


def neighbour(piece: Piece, edge: str, corner: int) -> Edge:
    """The other edge at a corner of `edge`."""
    before, after = edges_at(piece, corner)
    return after if before.name == edge else before


def interior_angle(spread: Spread, piece: Piece, corner: int) -> float:
    """Angle inside the cloth at a corner, degrees in 0..360; the outline runs anticlockwise."""
    before, after = edges_at(piece, corner)
    start, end = spread.remembered("end directions", lambda: _end_directions(spread))
    ax, ay = end[spread.place(piece.name, before.name).stop - 1]
    bx, by = start[spread.place(piece.name, after.name).start]
    return 180.0 - math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))


def _end_directions(spread: Spread) -> tuple[list[list[float]], list[list[float]]]:
    """The directions in which every span leaves its start and arrives at its end, [x, y]; not of unit length."""
    return _leavings(spread.spans).tolist(), (-_leavings(spread.spans[:, ::-1])).tolist()


def _leavings(spans: Floats) -> Floats:
    """The direction in which each span of shape (m, 4, 2) leaves its first point, (m, 2)."""
    directions = spans[:, 1] - spans[:, 0]
    for i in np.flatnonzero(np.abs(directions).max(axis=1) <= NO_HANDLE_MM):
        directions[i] = leaving(spans[i])
    return directions


def leaving(span: Floats) -> Floats:
    """The direction in which a span of shape (4, 2) leaves its first point; not of unit length."""
    for k in (1, 2, 3):
        step = span[k] - span[0]
        if np.abs(step).max() > NO_HANDLE_MM:
            return np.asarray(step)
    return np.asarray(span[3] - span[0])
