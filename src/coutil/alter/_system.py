"""All rows of one solve as arrays: residuals and their exact derivatives in one call.

The unknown z has 2N numbers: the x of every node, then the y.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Protocol

import numpy as np

from coutil.alter._layout import Floats, Ints, Layout
from coutil.alter._rows import (
    RADIAN,
    RISE,
    AngleRow,
    CollinearRow,
    CrossRow,
    CurvatureRow,
    DistanceRow,
    LengthRow,
    LinearRow,
    Row,
)
from coutil.curves import span_lengths_and_gradient


class System:
    """Rows of one layout, gathered by kind; `rows` is in the order of the residuals."""

    def __init__(self, layout: Layout, rows: Sequence[Row]) -> None:
        kinds = (LinearRow, CrossRow, LengthRow, AngleRow, DistanceRow, CollinearRow, CurvatureRow)
        self.layout = layout
        self.n = len(layout.nodes)
        blocks = [[row for row in rows if isinstance(row, kind)] for kind in kinds]
        self.rows: list[Row] = [row for block in blocks for row in block]
        self.slips = np.array([row.slip for row in self.rows])
        self.base = np.concatenate((layout.nodes[:, 0], layout.nodes[:, 1]))
        linear, cross, lengths, angles, distances, collinear, bends = blocks
        self._parts: list[_Part] = [
            _Linear(linear, self.n),
            _Cross(cross, self.n),
            _Lengths(lengths, layout),
            _Angles(angles, self.n),
            _Distances(distances, self.n),
            _Collinear(collinear, self.n),
            _Bends(bends, layout),
        ]

    def evaluate(self, z: Floats) -> tuple[Floats, Floats]:
        """Residuals (m,) in mm and Jacobian (m, 2N) at displacement z (2N,)."""
        values = self.base + z
        results = [part.evaluate(values) for part in self._parts if part.count]
        residuals = np.concatenate([r for r, _ in results])
        return residuals, np.concatenate([j for _, j in results])


class _Part(Protocol):
    count: int

    def evaluate(self, values: Floats) -> tuple[Floats, Floats]: ...


class _Linear:
    def __init__(self, rows: Sequence[Row], n: int) -> None:
        self.count = len(rows)
        self.matrix = np.zeros((self.count, 2 * n))
        self.target = np.zeros(self.count)
        for i, row in enumerate(rows):
            assert isinstance(row, LinearRow)
            self.target[i] = row.target
            for node, axis, coefficient in row.terms:
                self.matrix[i, axis * n + node] += coefficient

    def evaluate(self, values: Floats) -> tuple[Floats, Floats]:
        return self.matrix @ values - self.target, self.matrix


class _Cross:
    def __init__(self, rows: Sequence[Row], n: int) -> None:
        kept = [row for row in rows if isinstance(row, CrossRow)]
        self.count, self.n = len(kept), n
        self.position = np.array([row.position for row in kept], dtype=np.int64)
        self.tangent = np.array([row.tangent for row in kept], dtype=np.int64)
        self.level = np.array([row.level for row in kept])
        self.target = np.array([row.target for row in kept])

    def evaluate(self, values: Floats) -> tuple[Floats, Floats]:
        x, y = values[self.position], values[self.n + self.position]
        along, across = values[self.n + self.tangent], values[self.tangent]
        slope, slip = across / along, y - self.level
        residual = x - slope * slip - self.target
        jacobian = np.zeros((self.count, 2 * self.n))
        at = np.arange(self.count)
        jacobian[at, self.position] = 1.0
        jacobian[at, self.n + self.position] = -slope
        jacobian[at, self.tangent] = -slip / along
        jacobian[at, self.n + self.tangent] = slope * slip / along
        return residual, jacobian


class _Lengths:
    def __init__(self, rows: Sequence[Row], layout: Layout) -> None:
        kept = [row for row in rows if isinstance(row, LengthRow)]
        self.count, self.layout = len(kept), layout
        self.target = np.array([row.target for row in kept])
        used = sorted({span for row in kept for span, _ in row.spans})
        index = {span: i for i, span in enumerate(used)}
        self.incidence = np.zeros((self.count, len(used)))
        for i, row in enumerate(kept):
            for span, sign in row.spans:
                self.incidence[i, index[span]] += sign
        # Control points of the spans in use, as a linear map of the nodes: (4 * spans, N).
        spans = np.array(used, dtype=np.int64)
        self.spans = spans
        self.map = layout.to_points[layout.span_points[spans].ravel()] if used else np.zeros((0, 0))
        self.points = layout.points[layout.span_points[spans]] if used else np.zeros((0, 4, 2))
        self.base = np.concatenate((layout.nodes[:, 0], layout.nodes[:, 1]))
        # incidence (rows, spans) spread over the four control points of each span.
        self.spread = np.repeat(self.incidence, 4, axis=1)

    def evaluate(self, values: Floats) -> tuple[Floats, Floats]:
        n = len(self.layout.nodes)
        shift = values - self.base
        moved = self.map @ np.stack((shift[:n], shift[n:]), axis=1)
        lengths, gradient = span_lengths_and_gradient(self.points + moved.reshape(-1, 4, 2))
        flat = gradient.reshape(-1, 2)
        along_x = (self.spread * flat[:, 0]) @ self.map
        along_y = (self.spread * flat[:, 1]) @ self.map
        return self.incidence @ lengths - self.target, np.hstack((along_x, along_y))


class _Angles:
    def __init__(self, rows: Sequence[Row], n: int) -> None:
        kept = [row for row in rows if isinstance(row, AngleRow)]
        self.count, self.n = len(kept), n
        self.target = np.array([row.target for row in kept])
        pairs = [(i, node, sign) for i, row in enumerate(kept) for node, sign in row.tangents]
        self.row = np.array([p[0] for p in pairs], dtype=np.int64)
        self.node = np.array([p[1] for p in pairs], dtype=np.int64)
        self.sign = np.array([p[2] for p in pairs])

    def evaluate(self, values: Floats) -> tuple[Floats, Floats]:
        x, y = values[self.node], values[self.n + self.node]
        angles = np.zeros(self.count)
        np.add.at(angles, self.row, self.sign * np.arctan2(y, x))
        residual = np.remainder(angles - self.target + math.pi, 2 * math.pi) - math.pi
        square = x * x + y * y
        jacobian = np.zeros((self.count, 2 * self.n))
        np.add.at(jacobian, (self.row, self.node), -RADIAN * self.sign * y / square)
        np.add.at(jacobian, (self.row, self.n + self.node), RADIAN * self.sign * x / square)
        return RADIAN * residual, jacobian


class _Distances:
    def __init__(self, rows: Sequence[Row], n: int) -> None:
        kept = [row for row in rows if isinstance(row, DistanceRow)]
        self.count, self.n = len(kept), n
        self.first = np.array([row.first for row in kept], dtype=np.int64)
        self.second = np.array([row.second for row in kept], dtype=np.int64)
        self.target = np.array([row.target for row in kept])

    def evaluate(self, values: Floats) -> tuple[Floats, Floats]:
        n, at = self.n, np.arange(self.count)
        dx = values[self.second] - values[self.first]
        dy = values[n + self.second] - values[n + self.first]
        distance = np.hypot(dx, dy)
        jacobian = np.zeros((self.count, 2 * n))
        for node, sign in ((self.first, -1.0), (self.second, 1.0)):
            jacobian[at, node] += sign * dx / distance
            jacobian[at, n + node] += sign * dy / distance
        return distance - self.target, jacobian


class _Collinear:
    """Distance of a position from the chord, or the part of a tangent that stands across it."""

    def __init__(self, rows: Sequence[Row], n: int) -> None:
        kept = [row for row in rows if isinstance(row, CollinearRow)]
        self.count, self.n = len(kept), n
        self.node = np.array([row.node for row in kept], dtype=np.int64)
        self.start = np.array([row.start for row in kept], dtype=np.int64)
        self.end = np.array([row.end for row in kept], dtype=np.int64)
        # A tangent is a free vector: nothing is taken from it.
        self.from_start = np.array([0.0 if row.is_tangent else 1.0 for row in kept])

    def evaluate(self, values: Floats) -> tuple[Floats, Floats]:
        n, at = self.n, np.arange(self.count)
        cx, cy = values[self.end] - values[self.start], values[n + self.end] - values[n + self.start]
        vx = values[self.node] - self.from_start * values[self.start]
        vy = values[n + self.node] - self.from_start * values[n + self.start]
        chord = np.hypot(cx, cy)
        ux, uy = cx / chord, cy / chord
        residual = ux * vy - uy * vx
        along = (ux * vx + uy * vy) / chord
        jacobian = np.zeros((self.count, 2 * n))
        jacobian[at, self.node] += -uy
        jacobian[at, n + self.node] += ux
        self._add_chord(jacobian, at, ux, uy, along)
        return residual, jacobian

    def _add_chord(self, jacobian: Floats, at: Ints, ux: Floats, uy: Floats, along: Floats) -> None:
        """d residual / d chord = along * (uy, -ux); the start also carries the vector's own origin."""
        n = self.n
        jacobian[at, self.end] += along * uy
        jacobian[at, n + self.end] += -along * ux
        jacobian[at, self.start] += -along * uy + self.from_start * uy
        jacobian[at, n + self.start] += along * ux - self.from_start * ux


class _Bends:
    """Curvature at one parameter of a span, as the rise of its arc over 100 mm."""

    def __init__(self, rows: Sequence[Row], layout: Layout) -> None:
        kept = [row for row in rows if isinstance(row, CurvatureRow)]
        self.count, self.layout = len(kept), layout
        self.target = np.array([row.target for row in kept])
        spans = np.array([row.span for row in kept], dtype=np.int64)
        t = np.array([row.place for row in kept])
        maps = layout.to_points[layout.span_points[spans]] if kept else np.zeros((0, 4, len(layout.nodes)))
        # Velocity and its change as linear maps of the nodes, (rows, N): the Bernstein form's derivatives.
        first = 3 * np.stack((-((1 - t) ** 2), (1 - t) * (1 - 3 * t), t * (2 - 3 * t), t**2), axis=1)
        second = 6 * np.stack((1 - t, 3 * t - 2, 1 - 3 * t, t), axis=1)
        self.velocity = np.einsum("ri,rin->rn", first, maps)
        self.bend = np.einsum("ri,rin->rn", second, maps)
        points = layout.points[layout.span_points[spans]] if kept else np.zeros((0, 4, 2))
        self.velocity_base = np.einsum("ri,rix->rx", first, points)
        self.bend_base = np.einsum("ri,rix->rx", second, points)
        self.base = np.concatenate((layout.nodes[:, 0], layout.nodes[:, 1]))

    def evaluate(self, values: Floats) -> tuple[Floats, Floats]:
        n = len(self.layout.nodes)
        shift = np.stack(((values - self.base)[:n], (values - self.base)[n:]), axis=1)
        vx, vy = (self.velocity_base + self.velocity @ shift).T
        bx, by = (self.bend_base + self.bend @ shift).T
        speed = np.hypot(vx, vy)
        curvature = (vx * by - vy * bx) / speed**3
        pull = 3 * curvature / speed**2
        along_x = (by / speed**3 - pull * vx)[:, None] * self.velocity - (vy / speed**3)[:, None] * self.bend
        along_y = (-bx / speed**3 - pull * vy)[:, None] * self.velocity + (vx / speed**3)[:, None] * self.bend
        return RISE * (curvature - self.target), RISE * np.hstack((along_x, along_y))
