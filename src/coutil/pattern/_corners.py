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
    arrives = -leaving(spread.spans[spread.place(piece.name, before.name)][-1, ::-1])
    leaves = leaving(spread.spans[spread.place(piece.name, after.name)][0])
    cross = arrives[0] * leaves[1] - arrives[1] * leaves[0]
    return 180.0 - math.degrees(math.atan2(cross, float(arrives @ leaves)))


def leaving(span: Floats) -> Floats:
    """The direction in which a span of shape (4, 2) leaves its first point; not of unit length."""
    for k in (1, 2, 3):
        step = span[k] - span[0]
        if np.abs(step).max() > NO_HANDLE_MM:
            return np.asarray(step)
    return np.asarray(span[3] - span[0])
