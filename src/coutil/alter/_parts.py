"""Rows of one kind as arrays: what they miss, their exact first and second derivatives, all at one go.

`values` are the absolute coordinates of all nodes, x of every node and then y, (2N,).  A part names the places of its
derivatives once (`slots`: row and variable; `bend_slots`: two variables) and afterwards only gives their values, so
that a step of the solve builds no Python object for a row.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Protocol

import numpy as np

from coutil.alter._layout import Floats, Ints, Layout
from coutil.alter._rows import RADIAN, RISE, AngleRow, CollinearRow, CrossRow, CurvatureRow, DistanceRow, LengthRow
from coutil.curves import HermiteLengths

# What a part worked out at a point and needs again for its second derivatives there.
Seen = tuple[Any, ...]
Pairs = tuple[Ints, Ints]


class Part(Protocol):
    """Rows of one kind."""

    slots: Pairs
    bend_slots: Pairs

    def wanted(self, rows: Sequence[Any]) -> Floats:
        """What rows of this form want, as one array with a row of its own for each."""

    def evaluate(self, values: Floats, wanted: Floats) -> tuple[Floats, Floats, Seen]:
        """Residuals in mm, first derivatives at `slots`, and what is needed for the second ones."""

    def bends(self, seen: Seen, weights: Floats) -> Floats:
        """Second derivatives at `bend_slots` of the sum of weight * residual."""


def _ints(numbers: Sequence[int]) -> Ints:
    return np.array(numbers, dtype=np.int64)


def sums_at(places: Ints, values: Floats, count: int) -> Floats:
    """The values summed by their places, (count,)."""
    return np.asarray(np.bincount(places, values, count), dtype=np.float64)


def _targets(rows: Sequence[Any]) -> Floats:
    return np.array([row.target for row in rows])


class Crossings:
    """x at which an edge crosses a height: x - slope * (y - height), the slope by the tangent at the knot."""

    def __init__(self, rows: Sequence[CrossRow], layout: Layout) -> None:
        n, at = len(layout.nodes), np.arange(len(rows))
        self.x, self.across = _ints([row.position for row in rows]), _ints([row.tangent for row in rows])
        self.y, self.along = self.x + n, self.across + n
        self.slots = (np.tile(at, 4), np.concatenate((self.x, self.y, self.across, self.along)))
        first, second, both = (self.across, self.along), (self.across, self.y), (self.along, self.y)
        pairs = (first, first[::-1], second, second[::-1], both, both[::-1], (self.along, self.along))
        self.bend_slots = (np.concatenate([a for a, _ in pairs]), np.concatenate([b for _, b in pairs]))

    def wanted(self, rows: Sequence[CrossRow]) -> Floats:
        """(2, m): x and height."""
        return np.array([(row.target, row.level) for row in rows]).reshape(-1, 2).T

    def evaluate(self, values: Floats, wanted: Floats) -> tuple[Floats, Floats, Seen]:
        """Slots by x, y, the tangent's x, the tangent's y."""
        along = values[self.along]
        slope, slip = values[self.across] / along, values[self.y] - wanted[1]
        lever = slip / along
        residuals = values[self.x] - slope * slip - wanted[0]
        first = np.concatenate((np.ones(len(slope)), -slope, -lever, slope * lever))
        return residuals, first, (slope, lever, along)

    def bends(self, seen: Seen, weights: Floats) -> Floats:
        """In the order of `bend_slots`."""
        slope, lever, along = seen
        scaled = weights / along
        first, second, third = scaled * lever, -scaled, scaled * slope
        return np.concatenate((first, first, second, second, third, third, -2 * first * slope))


class Lengths:
    """Sums of signed span lengths."""

    def __init__(self, rows: Sequence[LengthRow], layout: Layout) -> None:
        n = len(layout.nodes)
        used = sorted({span for row in rows for span, _ in row.spans})
        index = {span: i for i, span in enumerate(used)}
        terms = [(i, index[span], sign) for i, row in enumerate(rows) for span, sign in row.spans]
        self.row, self.span = _ints([i for i, _, _ in terms]), _ints([s for _, s, _ in terms])
        self.sign = np.array([sign for _, _, sign in terms])
        self.count, self.n_spans, self.n = len(rows), len(used), n
        self.nodes = layout.span_nodes[used]
        self.base = np.concatenate((layout.nodes[:, 0], layout.nodes[:, 1]))
        self.measure = HermiteLengths(layout.points[layout.span_points[used]], layout.span_widths[used])
        variables = np.concatenate((self.nodes, self.nodes + n), axis=1)
        self.slots = (np.repeat(self.row, 8), variables[self.span].ravel())
        self.bend_slots = (np.repeat(variables, 8, axis=1).ravel(), np.tile(variables, (1, 8)).ravel())

    def wanted(self, rows: Sequence[LengthRow]) -> Floats:
        """(m,): mm."""
        return _targets(rows)

    def evaluate(self, values: Floats, wanted: Floats) -> tuple[Floats, Floats, Seen]:
        """Slots term by term: the span's four nodes in x, then in y."""
        shift = values - self.base
        lengths, gradient, seen = self.measure.evaluate(shift[self.nodes], shift[self.nodes + self.n])
        sums = sums_at(self.row, self.sign * lengths[self.span], self.count)
        return sums - wanted, (self.sign[:, None] * gradient[self.span]).ravel(), (seen,)

    def bends(self, seen: Seen, weights: Floats) -> Floats:
        """Span by span an (8, 8) block."""
        of_span = sums_at(self.span, self.sign * weights[self.row], self.n_spans)
        return self.measure.bends(seen[0], of_span).ravel()


class Angles:
    """Sums of signed direction angles of tangents, in units of RADIAN mm."""

    def __init__(self, rows: Sequence[AngleRow], layout: Layout) -> None:
        terms = [(i, node, sign) for i, row in enumerate(rows) for node, sign in row.tangents]
        self.count = len(rows)
        self.row, self.x = _ints([i for i, _, _ in terms]), _ints([node for _, node, _ in terms])
        self.y = self.x + len(layout.nodes)
        self.sign = RADIAN * np.array([sign for _, _, sign in terms])
        self.slots = (np.tile(self.row, 2), np.concatenate((self.x, self.y)))
        self.bend_slots = (
            np.concatenate((self.x, self.y, self.x, self.y)),
            np.concatenate((self.x, self.y, self.y, self.x)),
        )

    def wanted(self, rows: Sequence[AngleRow]) -> Floats:
        """(m,): radians."""
        return _targets(rows)

    def evaluate(self, values: Floats, wanted: Floats) -> tuple[Floats, Floats, Seen]:
        """The angle is compared modulo a whole turn."""
        x, y = values[self.x], values[self.y]
        sums = sums_at(self.row, self.sign * np.arctan2(y, x), self.count)
        residuals = RADIAN * (np.remainder(sums / RADIAN - wanted + math.pi, 2 * math.pi) - math.pi)
        square = x * x + y * y
        return residuals, np.concatenate((-self.sign * y / square, self.sign * x / square)), (x, y, square)

    def bends(self, seen: Seen, weights: Floats) -> Floats:
        """In the order of `bend_slots`."""
        x, y, square = seen
        scaled = self.sign * weights[self.row] / (square * square)
        twice, mixed = 2 * scaled * x * y, scaled * (y * y - x * x)
        return np.concatenate((twice, -twice, mixed, mixed))


class Distances:
    """Straight distances between two positions."""

    def __init__(self, rows: Sequence[DistanceRow], layout: Layout) -> None:
        n, at = len(layout.nodes), np.arange(len(rows))
        first, second = _ints([row.first for row in rows]), _ints([row.second for row in rows])
        self.variables = np.stack((first, first + n, second, second + n))
        self.slots = (np.tile(at, 4), self.variables.ravel())
        self.bend_slots = (np.repeat(self.variables, 4, axis=0).ravel(), np.tile(self.variables, (4, 1)).ravel())

    def wanted(self, rows: Sequence[DistanceRow]) -> Floats:
        """(m,): mm."""
        return _targets(rows)

    def evaluate(self, values: Floats, wanted: Floats) -> tuple[Floats, Floats, Seen]:
        """Slots by x, y of the first position, then of the second."""
        ax, ay, bx, by = values[self.variables]
        distance = np.hypot(bx - ax, by - ay)
        ux, uy = (bx - ax) / distance, (by - ay) / distance
        return distance - wanted, np.concatenate((-ux, -uy, ux, uy)), (ux, uy, distance)

    def bends(self, seen: Seen, weights: Floats) -> Floats:
        """weight / distance * (normal normal'), with both ends' signs."""
        ux, uy, distance = seen
        normal = np.stack((uy, -ux, -uy, ux))
        return np.asarray(normal[:, None] * normal[None, :] * (weights / distance)).ravel()


class Chords:
    """Distance of a position from the chord, or the part of a tangent that stands across it.

    Its second derivatives are left out: straight edges are a thousand times softer than seams, and an approximate
    curvature costs a step or two but changes no answer.
    """

    def __init__(self, rows: Sequence[CollinearRow], layout: Layout) -> None:
        n, at = len(layout.nodes), np.arange(len(rows))
        self.node, self.start, self.end = (
            _ints([getattr(row, name) for row in rows]) for name in ("node", "start", "end")
        )
        # A tangent is a free vector: nothing is taken from it.
        self.from_start = np.array([0.0 if row.is_tangent else 1.0 for row in rows])
        self.n = n
        variables = (self.node, self.node + n, self.end, self.end + n, self.start, self.start + n)
        self.slots = (np.tile(at, 6), np.concatenate(variables))
        self.bend_slots = (_ints([]), _ints([]))

    def wanted(self, rows: Sequence[CollinearRow]) -> Floats:
        """(m,): always 0 mm."""
        return np.zeros(len(rows))

    def evaluate(self, values: Floats, wanted: Floats) -> tuple[Floats, Floats, Seen]:
        """d residual / d chord = along * (uy, -ux); the start also carries the vector's own origin."""
        n = self.n
        cx, cy = values[self.end] - values[self.start], values[n + self.end] - values[n + self.start]
        vx = values[self.node] - self.from_start * values[self.start]
        vy = values[n + self.node] - self.from_start * values[n + self.start]
        chord = np.hypot(cx, cy)
        ux, uy = cx / chord, cy / chord
        along = (ux * vx + uy * vy) / chord
        rest = self.from_start - along
        first = np.concatenate((-uy, ux, along * uy, -along * ux, rest * uy, -rest * ux))
        return ux * vy - uy * vx - wanted, first, ()

    def bends(self, seen: Seen, weights: Floats) -> Floats:
        """None are given."""
        return np.zeros(0)


class Bends:
    """Curvature at one parameter of a span, as the rise of its arc over 100 mm."""

    def __init__(self, rows: Sequence[CurvatureRow], layout: Layout) -> None:
        n, at = len(layout.nodes), np.arange(len(rows))
        spans, t = _ints([row.span for row in rows]), np.array([row.place for row in rows])
        self.nodes, widths = layout.span_nodes[spans], layout.span_widths[spans] / 3
        self.n = n
        self.base = np.concatenate((layout.nodes[:, 0], layout.nodes[:, 1]))
        points = layout.points[layout.span_points[spans]]
        first = 3 * np.stack((-((1 - t) ** 2), (1 - t) * (1 - 3 * t), t * (2 - 3 * t), t**2), axis=1)
        second = 6 * np.stack((1 - t, 3 * t - 2, 1 - 3 * t, t), axis=1)
        self.velocity_base = np.einsum("ri,rix->xr", first, points)
        self.bend_base = np.einsum("ri,rix->xr", second, points)
        self.velocity, self.bend = _by_nodes(first, widths), _by_nodes(second, widths)
        variables = np.concatenate((self.nodes, self.nodes + n), axis=1)
        self.slots = (np.repeat(at, 8), variables.ravel())
        self.bend_slots = (np.repeat(variables, 8, axis=1).ravel(), np.tile(variables, (1, 8)).ravel())

    def wanted(self, rows: Sequence[CurvatureRow]) -> Floats:
        """(m,): 1/mm."""
        return _targets(rows)

    def evaluate(self, values: Floats, wanted: Floats) -> tuple[Floats, Floats, Seen]:
        """Slots row by row: the span's four nodes in x, then in y."""
        shift = values - self.base
        x, y = shift[self.nodes], shift[self.nodes + self.n]
        vx, vy = self.velocity_base + np.stack(((self.velocity * x).sum(axis=1), (self.velocity * y).sum(axis=1)))
        bx, by = self.bend_base + np.stack(((self.bend * x).sum(axis=1), (self.bend * y).sum(axis=1)))
        speed = np.hypot(vx, vy)
        curvature = (vx * by - vy * bx) / speed**3
        pull = 3 * curvature / speed**2
        along_x = (by / speed**3 - pull * vx)[:, None] * self.velocity - (vy / speed**3)[:, None] * self.bend
        along_y = (-bx / speed**3 - pull * vy)[:, None] * self.velocity + (vx / speed**3)[:, None] * self.bend
        first = (RISE * np.concatenate((along_x, along_y), axis=1)).ravel()
        return RISE * (curvature - wanted), first, (vx, vy, bx, by)

    def bends(self, seen: Seen, weights: Floats) -> Floats:
        """Row by row an (8, 8) block.

        With the speed s and N = vx by - vy bx, of N / s^3: to vx twice 15 N vx^2 / s^7 - (6 by vx + 3 N) / s^5, to vx
        and vy 15 N vx vy / s^7 + 3 (bx vx - by vy) / s^5, to vx and bx 3 vx vy / s^5, to vx and by
        1 / s^3 - 3 vx^2 / s^5; y alike with the signs of a quarter turn; to the bend twice nothing.
        """
        vx, vy, bx, by = seen
        square = vx * vx + vy * vy
        fifth = RISE * weights * square**-2.5
        crossing = vx * by - vy * bx
        quick, mixed = 15 * crossing / square, 3 * vx * vy
        twice = (quick * vx * vx - 6 * by * vx - 3 * crossing, quick * vy * vy + 6 * bx * vy - 3 * crossing)
        both = quick * vx * vy + 3 * (bx * vx - by * vy)
        blocks = np.empty((len(vx), 2, 4, 2, 4))
        blocks[:, 0, :, 0] = self._block(fifth * twice[0], fifth * mixed, fifth * mixed)
        blocks[:, 1, :, 1] = self._block(fifth * twice[1], -fifth * mixed, -fifth * mixed)
        across = self._block(fifth * both, fifth * (square - 3 * vx * vx), fifth * (3 * vy * vy - square))
        blocks[:, 0, :, 1], blocks[:, 1, :, 0] = across, across.transpose(0, 2, 1)
        return blocks.ravel()

    def _block(self, speeds: Floats, speed_bend: Floats, bend_speed: Floats) -> Floats:
        """(r, 4, 4): two speeds, a speed and a bend, a bend and a speed, each by the nodes they hang on."""
        v, b = self.velocity, self.bend
        left = speeds[:, None] * v + bend_speed[:, None] * b
        return np.asarray(left[:, :, None] * v[:, None, :] + (speed_bend[:, None] * v)[:, :, None] * b[:, None, :])


def _by_nodes(by_points: Floats, thirds: Floats) -> Floats:
    """Weights of the four control points as weights of start, its tangent, end, its tangent."""
    a, b, c, d = by_points.T
    return np.stack((a + b, thirds * b, c + d, -thirds * c), axis=1)
