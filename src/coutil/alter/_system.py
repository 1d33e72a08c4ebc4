"""All rows of one solve as arrays: which rows there are, apart from what they want.

Clients of one base mostly want different figures of the same rows, so that what depends on the rows alone is worked
out once (`RowSet`) and a solve only brings its own figures (`Wanted`).  The unknown z has 2N numbers: the x of every
node, then the y.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from coutil.alter._layout import Floats, Ints, Layout
from coutil.alter._parts import Angles, Bends, Chords, Crossings, Distances, Lengths, Pairs, Part, Seen, sums_at
from coutil.alter._rows import (
    AngleRow,
    CollinearRow,
    CrossRow,
    CurvatureRow,
    DistanceRow,
    LengthRow,
    LinearRow,
    Row,
)

PARTS: dict[type, Callable[..., Part]] = {
    CrossRow: Crossings,
    LengthRow: Lengths,
    AngleRow: Angles,
    DistanceRow: Distances,
    CollinearRow: Chords,
    CurvatureRow: Bends,
}


@dataclass(frozen=True, slots=True, eq=False)
class Wanted:
    """What the rows of a set want: targets of the linear ones, (m,), and the figures of each part of the others."""

    linear: Floats
    curved: tuple[Floats, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Bent:
    """The rows that are not linear at one point: residuals and first derivatives at the set's `slots`."""

    residuals: Floats
    slopes: Floats
    seen: tuple[Seen, ...]


def by_kind(rows: Sequence[Row]) -> dict[type, list[Row]]:
    """The rows by kind, linear ones first, each kind in its own order."""
    kinds: dict[type, list[Row]] = {LinearRow: [], **{kind: [] for kind in PARTS}}
    for row in rows:
        kinds[type(row)].append(row)
    return kinds


class RowSet:
    """Rows without what they want.  `matrix` (m, 2N) and `linear_slips` are the linear rows', the rest the others'."""

    def __init__(self, layout: Layout, kinds: dict[type, list[Row]]) -> None:
        self.n = len(layout.nodes)
        self.base = np.concatenate((layout.nodes[:, 0], layout.nodes[:, 1]))
        self.matrix, self.linear_slips = _matrix(kinds[LinearRow], self.n), _slips(kinds[LinearRow])
        self.kinds = tuple(kind for kind in PARTS if kinds[kind])
        self.parts: tuple[Part, ...] = tuple(PARTS[kind](kinds[kind], layout) for kind in self.kinds)
        counts = [len(kinds[kind]) for kind in self.kinds]
        self.bounds = np.cumsum([0, *counts])
        self.count = int(self.bounds[-1])
        self.slips = np.concatenate([_slips(kinds[kind]) for kind in self.kinds] or [np.zeros(0)])
        starts = self.bounds[:-1]
        self.slots = _joined([(p.slots[0] + start, p.slots[1]) for p, start in zip(self.parts, starts, strict=True)])
        self.bend_slots = _joined([part.bend_slots for part in self.parts])

    def wanted(self, kinds: dict[type, list[Row]]) -> Wanted:
        """What these rows, of the set's own form, want."""
        linear = np.array([row.target for row in kinds[LinearRow] if isinstance(row, LinearRow)])
        curved = (part.wanted(kinds[kind]) for kind, part in zip(self.kinds, self.parts, strict=True))
        return Wanted(linear, tuple(curved))

    def bent(self, values: Floats, wanted: Wanted) -> Bent:
        """The rows that are not linear at absolute coordinates `values` (2N,)."""
        found = [part.evaluate(values, own) for part, own in zip(self.parts, wanted.curved, strict=True)]
        return Bent(
            np.concatenate([one[0] for one in found] or [np.zeros(0)]),
            np.concatenate([one[1] for one in found] or [np.zeros(0)]),
            tuple(one[2] for one in found),
        )

    def bends(self, bent: Bent, weights: Floats) -> Floats:
        """Second derivatives at `bend_slots` of the sum of weight * residual."""
        pieces = [
            part.bends(seen, weights[start:stop])
            for part, seen, start, stop in zip(
                self.parts, bent.seen, self.bounds[:-1], self.bounds[1:], strict=True
            )
        ]
        return np.concatenate(pieces or [np.zeros(0)])


def row_set(layout: Layout, kinds: dict[type, list[Row]]) -> RowSet:
    """The set these rows belong to; one for all rows that differ in nothing but what they want."""
    forms: Hashable = tuple([tuple([row.form for row in rows]) for rows in kinds.values()])
    if forms not in layout.condensed:
        layout.condensed[forms] = RowSet(layout, kinds)
    found: RowSet = layout.condensed[forms]
    return found


class System:
    """Rows with what they want; `rows` is in the order of the residuals."""

    def __init__(self, layout: Layout, rows: Sequence[Row]) -> None:
        kinds = by_kind(rows)
        self.rows: list[Row] = [row for block in kinds.values() for row in block]
        self.set = row_set(layout, kinds)
        self.wanted = self.set.wanted(kinds)
        self.n = self.set.n

    @property
    def slips(self) -> Floats:
        """Compliance of every row."""
        return np.concatenate((self.set.linear_slips, self.set.slips))

    def evaluate(self, z: Floats) -> tuple[Floats, Floats]:
        """Residuals (m,) in mm and Jacobian (m, 2N) at displacement z (2N,)."""
        values = self.set.base + z
        bent = self.set.bent(values, self.wanted)
        rows, variables = self.set.slots
        flat = sums_at(rows * 2 * self.n + variables, bent.slopes, self.set.count * 2 * self.n)
        return self.residuals(values, bent), np.concatenate((self.set.matrix, flat.reshape(-1, 2 * self.n)))

    def residuals(self, values: Floats, bent: Bent) -> Floats:
        """Residuals of all rows, (m,), at absolute coordinates."""
        return np.concatenate((self.set.matrix @ values - self.wanted.linear, bent.residuals))


def _matrix(rows: Sequence[Any], n: int) -> Floats:
    matrix = np.zeros((len(rows), 2 * n))
    for i, row in enumerate(rows):
        for node, axis, coefficient in row.terms:
            matrix[i, axis * n + node] += coefficient
    return matrix


def _slips(rows: Sequence[Row]) -> Floats:
    return np.array([row.slip for row in rows], dtype=float)


def _joined(pairs: Sequence[Pairs]) -> Pairs:
    none: Ints = np.zeros(0, dtype=np.int64)
    return np.concatenate([none, *(a for a, _ in pairs)]), np.concatenate([none, *(b for _, b in pairs)])
