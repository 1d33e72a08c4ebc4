"""Which numbers may move: one position for every knot and corner, one tangent for every end of a smooth run.

A tangent is the derivative by the curve's own C1 parameter, so a displacement of positions and tangents is a cubic
along every edge and keeps every edge smooth by construction.  Neighbouring edges of a piece share their corner.
"""

from __future__ import annotations

from collections.abc import Container, Hashable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coutil.curves import Curve
from coutil.pattern import Edge, LevelMark, Piece, PointRef, Role, Style

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# Bending length 100 mm: a displacement decays over that length.  Tried: ten times more or less shows no difference.
BENDING = 1e4
STRETCHING = 1.0
# Keeps a piece that no row holds from floating away.
ANCHOR = 1e-5

SOFT_ROLES = frozenset({Role.CRADLE, Role.NECKLINE, Role.ARMHOLE, Role.TOP, Role.HEM})
SOFT_STIFFNESS = 0.1
STRAIGHT_STIFFNESS = 0.001
# How strongly a soft edge spreads a change of its curvature evenly, so that an arc stays an arc.
EVENNESS = 1.0
# A span shorter than a pencil line is wide is no stiffer than one of this length: it would be ten million times as
# stiff as the rest, and the solve lose its footing.
LEAST_SPAN_MM = 0.5

# A span this uneven is a hairpin: lengths may be met by it, but no seam can be sewn.  Alterations that can be sewn
# keep above 0.15, most above 0.6.
LEAST_EVENNESS = 0.05
# Sets of rows, and groups of variables, that are remembered for a base.
MOST_KEPT = 200
_T = np.linspace(0.0, 1.0, 17)
# Velocity at places along a span, by the three legs of its control polygon.
PLACES = 3 * np.stack(((1 - _T) ** 2, 2 * (1 - _T) * _T, _T**2), axis=1)


@dataclass(frozen=True, slots=True)
class EdgeSlots:
    """Where an edge's numbers live: nodes of its knots' positions and tangents, its spans and control points.

    `marked` is the level marked at each knot, or None; `nearest` the level marked on the edge that is nearest in
    height to each, or None where none is; `rises` where the edge ends no lower than it starts.
    """

    piece: str
    edge: Edge
    positions: Ints
    tangents: Ints
    widths: Floats
    first_span: int
    first_point: int
    marked: tuple[str | None, ...]
    nearest: tuple[str | None, ...]
    rises: bool



class Kept(dict[Hashable, Any]):
    """A dictionary that forgets the oldest entry when it is full: rows of their own kind come with odd clients."""

    def __setitem__(self, key: Hashable, value: Any) -> None:
        """Keep a value."""
        if len(self) >= MOST_KEPT and key not in self:
            self.pop(next(iter(self)), None)
        super().__setitem__(key, value)


@dataclass(frozen=True)
class Layout:
    """All nodes of a style.  `nodes` (N, 2) holds the base's positions and tangents; `to_points` (P, N) maps a
    displacement of the nodes to a displacement of the control points (P, 2).
    """

    style: Style
    edges: dict[tuple[str, str], EdgeSlots]
    nodes: Floats
    points: Floats
    to_points: Floats
    span_points: Ints
    energy: Floats

    @cached_property
    def span_nodes(self) -> Ints:
        """Nodes of every span, (spans, 4): start, its tangent, end, its tangent."""
        rows = [
            np.stack((s.positions[:-1], s.tangents[:-1], s.positions[1:], s.tangents[1:]), axis=1)
            for s in self.edges.values()
        ]
        return np.concatenate(rows)

    @cached_property
    def span_widths(self) -> Floats:
        """Parameter width of every span, (spans,)."""
        return np.concatenate([slots.widths for slots in self.edges.values()])

    @cached_property
    def levers(self) -> Floats:
        """How far a control point moves at most for each number of z (2N,): a third of the width for a tangent."""
        levers = np.ones(len(self.nodes))
        for slots in self.edges.values():
            widths = slots.widths
            levers[slots.tangents] = np.maximum(np.append(widths, 0.0), np.insert(widths, 0, 0.0)) / 3
        return np.tile(levers, 2)

    def is_folded(self, z: Floats) -> bool:
        """Whether a displacement (2N,) folds some span to a hairpin that the base has not."""
        moved = self.points + self.to_points @ z.reshape(2, -1).T
        return bool((_evenness(moved[self.span_points]) < self._least_evenness).any())

    @cached_property
    def _least_evenness(self) -> Floats:
        return np.minimum(LEAST_EVENNESS, 0.5 * _evenness(self.points[self.span_points]))

    @cached_property
    def condensed(self) -> Kept:
        """What was worked out for one set of rows, whatever they want: kept, as every client needs the same."""
        return Kept()

    def slots(self, piece: str, edge: str) -> EdgeSlots:
        """The numbers of one edge."""
        return self.edges[piece, edge]

    def crossing(self, slots: EdgeSlots, knot: int, level: float) -> float:
        """x at which an edge of the base crosses a height near one of its knots; the knot's own where it does not."""
        key = (slots.piece, slots.edge.name, knot, level)
        if key not in self.condensed:
            along = float(slots.edge.curve.knot_lengths[knot])
            own = float(self.nodes[slots.positions[knot], 0])
            met = [(abs(found.along - along), found.x) for found in slots.edge.curve.crossings(level)]
            self.condensed[key] = min(met, default=(0.0, own))[1]
        return float(self.condensed[key])

    def position(self, ref: PointRef) -> int:
        """Node of a knot's position."""
        return int(self.slots(ref.piece, ref.edge).positions[ref.knot])

    def tangent(self, ref: PointRef) -> int:
        """Node of a knot's tangent on that edge."""
        return int(self.slots(ref.piece, ref.edge).tangents[ref.knot])

    @cached_property
    def _starts(self) -> tuple[Ints, Ints]:
        """The first control point of every edge, and the last one of the edge before it on its piece."""
        first, before = [], []
        for piece in self.style.pieces:
            own = [self.edges[piece.name, edge.name] for edge in piece.edges]
            first += [slots.first_point for slots in own]
            before += [slots.first_point + 3 * len(slots.widths) for slots in (own[-1], *own[:-1])]
        return np.array(first), np.array(before)

    def moved(self, shift: Floats, pieces: Container[str] | None = None) -> Style:
        """The style with its nodes displaced by `shift` (N, 2): all pieces, or only the named ones."""
        points = self.points + self.to_points @ shift
        # Each edge starts exactly where the one before it ends: rounding would leave 1e-13 mm.
        first, before = self._starts
        points[first] = points[before]
        moved = [slots for slots in self.edges.values() if pieces is None or slots.piece in pieces]
        bounds = [(slots.first_point, slots.first_point + 3 * len(slots.widths) + 1) for slots in moved]
        found = zip(moved, Curve.cut_from(points, bounds), strict=True)
        curves = {(slots.piece, slots.edge.name): curve for slots, curve in found}
        return self.style.with_pieces(
            {
                piece.name: piece.with_curves({edge.name: curves[piece.name, edge.name] for edge in piece.edges})
                for piece in self.style.pieces
                if pieces is None or piece.name in pieces
            }
        )


def lay_out(style: Style) -> Layout:
    """Number the nodes of every edge and gather the energy of their displacement."""
    builder = _Builder()
    for piece in style.pieces:
        builder.add_piece(piece)
    return builder.layout(style)


class _Builder:
    """Counts nodes, spans and control points while the pieces are added."""

    def __init__(self) -> None:
        self.edges: dict[tuple[str, str], EdgeSlots] = {}
        self.nodes: list[Floats] = []
        self.points: list[Floats] = []
        self.spans = 0
        self.n_points = 0

    def add_piece(self, piece: Piece) -> None:
        corners = [self._node(edge.curve.start) for edge in piece.edges]
        for i, edge in enumerate(piece.edges):
            after = corners[(i + 1) % len(corners)]
            self._add_edge(piece, edge, corners[i], after)

    def _node(self, value: Floats) -> int:
        self.nodes.append(np.asarray(value, dtype=np.float64))
        return len(self.nodes) - 1

    def _add_edge(self, piece: Piece, edge: Edge, start: int, end: int) -> None:
        curve = edge.curve
        marks = [mark for mark in piece.level_marks if mark.at.edge == edge.name]
        marked = {mark.at.knot: mark.level for mark in reversed(marks)}
        inner = [self._node(knot) for knot in curve.knots[1:-1]]
        tangents = [self._node(tangent) for tangent in knot_tangents(curve)]
        self.edges[piece.name, edge.name] = EdgeSlots(
            piece.name,
            edge,
            np.array([start, *inner, end]),
            np.array(tangents),
            np.diff(curve.parameters),
            self.spans,
            self.n_points,
            tuple(marked.get(knot) for knot in range(len(curve.knots))),
            tuple(_nearest(curve, marks, knot) for knot in range(len(curve.knots))),
            bool(curve.end[1] >= curve.start[1]),
        )
        self.points.append(curve.points)
        self.spans += curve.n_spans
        self.n_points += len(curve.points)

    def layout(self, style: Style) -> Layout:
        count = len(self.nodes)
        to_points = np.zeros((self.n_points, count))
        energy = np.eye(count) * ANCHOR
        span_points = np.zeros((self.spans, 4), dtype=np.int64)
        for slots in self.edges.values():
            _fill_points(to_points, slots)
            _fill_energy(energy, slots)
            spans = len(slots.widths)
            first = slots.first_point + 3 * np.arange(spans)
            span_points[slots.first_span : slots.first_span + spans] = first[:, None] + np.arange(4)
        points = np.concatenate(self.points)
        return Layout(style, self.edges, np.array(self.nodes), points, to_points, span_points, energy)


def _evenness(spans: Floats) -> Floats:
    """The least speed of each span (m, 4, 2) as a part of its mean one: 1 for an even run, 0 at a cusp."""
    velocities = PLACES @ np.diff(spans, axis=1)
    speeds = np.hypot(velocities[..., 0], velocities[..., 1])
    return np.asarray(speeds.min(axis=1) / np.maximum(speeds.mean(axis=1), 1e-12))


def _nearest(curve: Curve, marks: list[LevelMark], knot: int) -> str | None:
    heights = curve.knots[:, 1]
    return min(marks, key=lambda mark: abs(heights[mark.at.knot] - heights[knot])).level if marks else None


def knot_tangents(curve: Curve) -> Floats:
    """Derivative by the C1 parameter at every knot, (n + 1, 2); the mean of both sides at inner knots."""
    widths = np.diff(curve.parameters)[:, None]
    spans = curve.spans
    out = 3 * (spans[:, 1] - spans[:, 0]) / widths
    into = 3 * (spans[:, 3] - spans[:, 2]) / widths
    return np.concatenate((out[:1], 0.5 * (out[1:] + into[:-1]), into[-1:]))


def _fill_points(to_points: Floats, slots: EdgeSlots) -> None:
    first = slots.first_point
    for k, width in enumerate(slots.widths):
        start, end = slots.positions[k], slots.positions[k + 1]
        row = first + 3 * k
        to_points[row, start] = 1.0
        to_points[row + 1, start] = 1.0
        to_points[row + 1, slots.tangents[k]] = width / 3
        to_points[row + 2, end] = 1.0
        to_points[row + 2, slots.tangents[k + 1]] = -width / 3
        to_points[row + 3, end] = 1.0


def _fill_energy(energy: Floats, slots: EdgeSlots) -> None:
    stiffness = _stiffness(slots.edge)
    for k, width in enumerate(slots.widths):
        nodes = [slots.positions[k], slots.tangents[k], slots.positions[k + 1], slots.tangents[k + 1]]
        unit = stiffness * min(1.0, width / LEAST_SPAN_MM) ** 3
        energy[np.ix_(nodes, nodes)] += unit * (BENDING * _bending(width) + STRETCHING * _stretching(width))
    if slots.edge.role in SOFT_ROLES:
        _fill_evenness(energy, slots)


def _fill_evenness(energy: Floats, slots: EdgeSlots) -> None:
    """Penalise a change of curvature that differs along the edge, within its spans and from span to span."""
    unit = EVENNESS * SOFT_STIFFNESS * BENDING * float(slots.widths.sum()) ** 2
    for row, nodes in _uneven_rows(slots):
        energy[np.ix_(nodes, nodes)] += unit * np.outer(row, row)


def _uneven_rows(slots: EdgeSlots) -> Iterator[tuple[Floats, Ints]]:
    """Rows whose squares add up to the integral of u'''^2: slope of u'' in each span, and its jumps between spans."""
    p, t, h = slots.positions, slots.tangents, slots.widths
    for k, w in enumerate(h):
        row = np.array([12.0 / w**3, 6.0 / w**2, -12.0 / w**3, 6.0 / w**2])
        yield _eased(w) * np.sqrt(w) * row, np.array([p[k], t[k], p[k + 1], t[k + 1]])
    for k in range(1, len(h)):
        a, b = h[k - 1], h[k]
        row = np.array([6 / a**2, 2 / a, -6 / a**2 + 6 / b**2, 4 / a + 4 / b, -6 / b**2, 2 / b])
        row *= _eased(min(a, b)) * np.sqrt(2.0 / (a + b))
        yield row, np.array([p[k - 1], t[k - 1], p[k], t[k], p[k + 1], t[k + 1]])


def _eased(width: float) -> float:
    """What a row of a short span counts: its square falls as the stiffness by the fifth power of the width rises."""
    return float(min(1.0, width / LEAST_SPAN_MM) ** 2.5)


def _stiffness(edge: Edge) -> float:
    if edge.straight or edge.role.is_vertical:
        return STRAIGHT_STIFFNESS
    return SOFT_STIFFNESS if edge.role in SOFT_ROLES else 1.0


def _bending(h: float) -> Floats:
    """Integral of u''^2 over a cubic Hermite element of width h (any finite-element handbook: the beam element)."""
    matrix = np.array(
        [
            [12, 6 * h, -12, 6 * h],
            [6 * h, 4 * h * h, -6 * h, 2 * h * h],
            [-12, -6 * h, 12, -6 * h],
            [6 * h, 2 * h * h, -6 * h, 4 * h * h],
        ]
    )
    return np.asarray(matrix / h**3)


def _stretching(h: float) -> Floats:
    """Integral of u'^2 over a cubic Hermite element of width h (the beam element's geometric stiffness)."""
    matrix = np.array(
        [
            [36, 3 * h, -36, 3 * h],
            [3 * h, 4 * h * h, -3 * h, -h * h],
            [-36, -3 * h, 36, -3 * h],
            [3 * h, -h * h, -3 * h, 4 * h * h],
        ]
    )
    return np.asarray(matrix / (30 * h))
