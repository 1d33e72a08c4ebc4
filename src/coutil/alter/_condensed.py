"""Linear rows taken out once for a base: what is left free, piece by piece, in numbers of unit energy.

The energy and the linear rows never join nodes of two pieces, so the unknowns fall into groups (one a piece, mostly).
In each group, with energy H (soft linear rows included) and hard linear rows C, every displacement that meets C is
z = z0 + Z w with C Z = 0 and Z'HZ = 1: z0, the smoothest one, is linear in what the rows want, and the energy is
that of z0 plus w'w / 2.  Only the other rows are left for the steps of the solve, and each touches few groups.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from coutil.alter._layout import Floats, Ints, Layout
from coutil.alter._system import RowSet

# Relative to the largest singular value: below it a linear row repeats others.
RANK_TOLERANCE = 1e-10


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """Variables that no energy joins to others (d,), the free directions Z (d, k), and the rows that touch them (r,).

    Its first derivatives are `slopes` (r, d) of all groups' in one array, its second ones `bends` (d, d); `place` is
    its part of w, `columns` its rows and one past the last row of all, for the right side.
    """

    variables: Ints
    free: Floats
    rows: Ints
    slopes: slice
    bends: slice
    place: slice
    columns: Ints


@dataclass(frozen=True, slots=True, eq=False)
class Condensed:
    """A set of rows with its linear ones taken out.

    z0 = `response` @ (what the linear rows want less what the base has), z = z0 + `spread` @ w (2N, K), and w =
    `gather` @ (z - z0).  `slope_at` and `bend_at` are the places of the derivatives in the groups' arrays, `small_at`
    those of the groups' sums in the small system and, as its last column, its right side.
    """

    set: RowSet
    response: Floats
    offset: Floats
    spread: Floats
    gather: Floats
    groups: tuple[Group, ...]
    slope_at: Ints
    bend_at: Ints
    small_at: Ints
    n_slopes: int
    n_bends: int


def condense(layout: Layout, rows: RowSet) -> Condensed:
    """Take the linear rows out of a set, once for a base."""
    if ("condensed", rows) not in layout.condensed:
        layout.condensed["condensed", rows] = _condense(layout, rows)
    found: Condensed = layout.condensed["condensed", rows]
    return found


def _condense(layout: Layout, rows: RowSet) -> Condensed:
    labels = _labels(layout, rows)
    names = np.unique(labels)
    freed = [_seen(_known_free(layout, rows, np.flatnonzero(labels == name)), rows) for name in names]
    widths = np.cumsum([0, *(one.free.shape[1] for one in freed)])
    response = np.zeros((2 * rows.n, len(rows.linear_slips)))
    spread, gather = np.zeros((2 * rows.n, widths[-1])), np.zeros((widths[-1], 2 * rows.n))
    for one, start, stop in zip(freed, widths[:-1], widths[1:], strict=True):
        response[np.ix_(one.variables, one.linear)] = one.response
        spread[one.variables, start:stop] = one.free
        gather[start:stop, one.variables] = one.gather
    groups, slope_at, bend_at = _placed(rows, labels, names, freed, widths)
    offset = response @ (rows.matrix @ rows.base)
    small_at = [(group.rows[:, None] * (rows.count + 1) + group.columns).ravel() for group in groups]
    ends = groups[-1].slopes.stop, groups[-1].bends.stop
    places = slope_at, bend_at, np.concatenate(small_at)
    return Condensed(rows, response, offset, spread, gather, groups, *places, *ends)


def _labels(layout: Layout, rows: RowSet) -> Ints:
    """The group of every variable: its piece's, as energy stays within a piece, and pieces that rows join are one."""
    labels = np.zeros(rows.n, dtype=np.int64)
    names = [piece.name for piece in layout.style.pieces]
    for slots in layout.edges.values():
        labels[slots.positions] = labels[slots.tangents] = names.index(slots.piece)
    labels = np.tile(labels, 2)
    row, variable = np.nonzero(rows.matrix)
    same = row[1:] == row[:-1]
    first = np.concatenate((variable[:-1][same], rows.bend_slots[0]))
    second = np.concatenate((variable[1:][same], rows.bend_slots[1]))
    apart = labels[first] != labels[second]
    for one, other in zip(first[apart], second[apart], strict=True):
        labels[labels == labels[other]] = labels[one]
    return labels


@dataclass(frozen=True, slots=True, eq=False)
class _Freed:
    """One group by itself; `linear` are its linear rows."""

    variables: Ints
    linear: Ints
    free: Floats
    response: Floats
    gather: Floats


def _free(layout: Layout, rows: RowSet, variables: Ints) -> _Freed:
    # Here and not above: papers are made from results without solving anything, and this takes long to load.
    from scipy import linalg

    linear = np.flatnonzero((rows.matrix[:, variables] != 0).any(axis=1))
    own, slips = rows.matrix[np.ix_(linear, variables)], rows.linear_slips[linear]
    is_hard = slips == 0.0
    hard, soft = own[is_hard], own[~is_hard]
    pull = soft.T / slips[~is_hard]
    energy = _energy(layout, variables) + pull @ soft
    nulls = linalg.null_space(hard, rcond=RANK_TOLERANCE) if len(hard) else np.eye(len(variables))
    factor = np.linalg.cholesky(nulls.T @ energy @ nulls)
    free = linalg.solve_triangular(factor, nulls.T, lower=True).T
    response = np.zeros((len(variables), len(linear)))
    inverse = np.linalg.pinv(hard, rcond=RANK_TOLERANCE)
    response[:, is_hard] = inverse - free @ (free.T @ (energy @ inverse))
    response[:, ~is_hard] = free @ (free.T @ pull)
    return _Freed(variables, linear, free, response, free.T @ energy)


def _known_free(layout: Layout, rows: RowSet, variables: Ints) -> _Freed:
    """One group by its linear rows alone: sets that differ in other rows share it."""
    key = ("freed", rows.matrix.tobytes(), rows.linear_slips.tobytes(), variables.tobytes())
    if key not in layout.condensed:
        layout.condensed[key] = _free(layout, rows, variables)
    found: _Freed = layout.condensed[key]
    return found


def _seen(one: _Freed, rows: RowSet) -> _Freed:
    """Only the free directions that the other rows can see; along the rest the smoothest displacement stays."""
    _, sizes, turned = np.linalg.svd(one.free[np.isin(one.variables, rows.slots[1])])
    rank = int((sizes > RANK_TOLERANCE * sizes.max(initial=0.0)).sum())
    free = np.ascontiguousarray(one.free @ turned[:rank].T)
    return replace(one, free=free, gather=turned[:rank] @ one.gather)


def _energy(layout: Layout, variables: Ints) -> Floats:
    n = len(layout.nodes)
    same_axis = (variables[:, None] < n) == (variables[None, :] < n)
    return np.asarray(np.where(same_axis, layout.energy[np.ix_(variables % n, variables % n)], 0.0))


def _placed(
    rows: RowSet, labels: Ints, names: Ints, freed: list[_Freed], widths: Ints
) -> tuple[tuple[Group, ...], Ints, Ints]:
    """Each group's part of the arrays, and where every derivative goes."""
    inside = np.zeros(2 * rows.n, dtype=np.int64)
    row, variable = rows.slots
    first, second = rows.bend_slots
    slope_at, bend_at = np.zeros(len(row), dtype=np.int64), np.zeros(len(first), dtype=np.int64)
    groups: list[Group] = []
    slopes = bends = 0
    for i, (name, one) in enumerate(zip(names, freed, strict=True)):
        size = len(one.variables)
        inside[one.variables] = np.arange(size)
        of_slopes, of_bends = labels[variable] == name, labels[first] == name
        touching = np.unique(row[of_slopes])
        slope_at[of_slopes] = slopes + np.searchsorted(touching, row[of_slopes]) * size + inside[variable[of_slopes]]
        bend_at[of_bends] = bends + inside[first[of_bends]] * size + inside[second[of_bends]]
        own_slopes = slice(slopes, slopes + len(touching) * size)
        own_bends = slice(bends, bends + size * size)
        place = slice(int(widths[i]), int(widths[i + 1]))
        columns = np.append(touching, rows.count)
        groups.append(Group(one.variables, one.free, touching, own_slopes, own_bends, place, columns))
        slopes, bends = own_slopes.stop, own_bends.stop
    return tuple(groups), slope_at, bend_at
