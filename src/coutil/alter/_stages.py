"""The stages of one alteration: panels first, then everything with the cradle held, then the cup's depth.

Stage 0 fixes the length of the cradle: only length, centre, side and underbust rows may change it.  Then all rows
are met with the cradle held at that length and the cup's depth at the base's; at last the depth is released and
goes as far as no new hollow appears in the cup's lower edges.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from coutil.alter._condensed import condense
from coutil.alter._cup_shape import has_new_hollow, lower_edges
from coutil.alter._depth import greatest_part
from coutil.alter._goals import HEM, TOP, Goals, cup_rows, cup_seam_spans, level_rows, width_rows
from coutil.alter._layout import Floats, Layout, lay_out
from coutil.alter._mending import Mender
from coutil.alter._plan import Move, Plan, PlanRow
from coutil.alter._recut import Recut, recut
from coutil.alter._rows import LengthRow, Row
from coutil.alter._solve import Solution
from coutil.alter._structure import seam_length_rows, sewing_rows, structure_rows
from coutil.alter._system import by_kind, row_set
from coutil.alter._truing import as_pairs, solve_near, solve_surely
from coutil.curves import span_lengths
from coutil.pattern import CupRule, Style

# The row that holds the cup seam below the bust point.
CUP_DEPTH = "cup_depth"
# A rest smaller than this is met.
DEPTH_MET_MM = 0.05

# Piece, edge, and at which line it ends.
EndOfEdge = tuple[str, str, str | None]


@dataclass(frozen=True, slots=True)
class Staged:
    """Displacement z (2N,) of `layout`, its rows and residual, and the cup depth that could not be reached (mm)."""

    layout: Layout
    solution: Solution
    rows: tuple[Row, ...]
    missing_depth: float
    goals: Goals


class Stages:
    """One base laid out once; solves any number of plans on it."""

    def __init__(
        self, layout: Layout, uncut: Layout | None = None, left: Mapping[EndOfEdge, float] | None = None
    ) -> None:
        """Of a base whose seams were cut to other heights, `uncut` is the base itself: its corners keep their angles.

        `left` is the part of each end's move that was not cut and is solved for.
        """
        self.layout, self.uncut, self.left = layout, uncut or layout, left or {}
        self.cup = layout.style.sharing.cup
        self.structure = structure_rows(self.uncut)
        self.sewing = sewing_rows(self.uncut)
        self._last_cut: tuple[tuple[Move, ...], Stages] | None = None
        cradle = self._cradle_seam_rows()
        self.sewing_without_cradle = [row for row in self.sewing if row not in cradle]
        self.mender = Mender(layout)
        self.base_edges = lower_edges(layout.style, self.cup) if self.cup is not None else ()

    def _cradle_seam_rows(self) -> list[Row]:
        if self.cup is None:
            return []
        seam = next(seam for seam in self.layout.style.seams if seam.name == self.cup.cradle_seam)
        return seam_length_rows(self.layout, seam)

    def make_ready(self) -> None:
        """Take the linear rows out of both sets of rows that clients need, before the first client comes."""
        for rows in self._base_rows():
            condense(self.layout, row_set(self.layout, by_kind(rows)))

    def _base_rows(self) -> Iterator[list[Row]]:
        """The rows of the stages, for the base's own figures."""
        if self.cup is None:
            yield self.rows(Goals())
            return
        depth, upper = self._cup_lengths(self.cup)
        held = {edge: self._edge_length(edge, None) for edge in self._panel_cradle_edges()}
        yield self.rows(Goals((), depth, upper), cradle_free=True)
        yield self.rows(Goals((), depth, upper, held))

    def rows(self, goals: Goals, cradle_free: bool = False) -> list[Row]:
        """All rows for these goals; `cradle_free` leaves out that cup and panels agree on the cradle."""
        sewing = self.sewing_without_cradle if cradle_free else self.sewing
        return [
            *self.structure,
            *sewing,
            *level_rows(self.layout, goals),
            *width_rows(self.layout, goals),
            *cup_rows(self.uncut, goals),
        ]

    def run(self, plan_rows: Sequence[PlanRow]) -> Staged:
        """All stages for the given rows of the plan, from the base with its seams cut to the heights they ask for."""
        return self._cut_for(plan_rows)._run(plan_rows)

    def _cut_for(self, plan_rows: Sequence[PlanRow]) -> Stages:
        """The stages of the base cut along its seams; the last cut is remembered, as clients come back to theirs."""
        moves = tuple(move for row in plan_rows for move in row.moves if move.level in (TOP, HEM) and move.amount)
        if not moves:
            return self
        if self._last_cut is None or self._last_cut[0] != moves:
            self._last_cut = (moves, self._cut(recut(self.layout.style, moves)))
        return self._last_cut[1]

    def _cut(self, found: Recut | None) -> Stages:
        return self if found is None else Stages(lay_out(found.style), self.layout, found.left)

    def _left(self, move: Move) -> Move:
        """What a move still has to do where its seam is cut already."""
        end = (move.piece, move.edge, move.level)
        return replace(move, amount=move.amount * self.left[end]) if end in self.left else move

    def _run(self, plan_rows: Sequence[PlanRow]) -> Staged:
        moves = tuple((row.key, self._left(move)) for row in plan_rows for move in row.moves)
        if self.cup is None:
            return self._mended(self._finished(Goals(moves), 0.0))
        depth, upper = self._cup_lengths(self.cup)
        along = {mark: _along(plan_rows, mark) for mark in ("foot", "upper_corner")}
        held = self._held_cradle(plan_rows, depth, upper)
        goals = Goals(moves, depth, upper + along["upper_corner"], held)
        return self._mended(self._with_depth(goals, along["foot"]))

    def _mended(self, staged: Staged) -> Staged:
        solution, rows = self.mender.mended(staged.solution, staged.rows)
        return replace(staged, solution=solution, rows=rows)

    def _finished(self, goals: Goals, missing: float) -> Staged:
        rows = self.rows(goals)
        return Staged(self.layout, solve_surely(self.layout, rows), tuple(rows), missing, goals)

    def _cup_lengths(self, cup: CupRule) -> tuple[float, float]:
        """Cup seam of the base below and above the bust point, mm (the inner cup's; both are equal)."""
        below, above = cup_seam_spans(self.layout, cup, self.layout.style.piece(cup.inner))
        lengths = span_lengths(self.layout.points[self.layout.span_points])
        return float(lengths[below].sum()), float(lengths[above].sum())

    def _held_cradle(self, plan_rows: Sequence[PlanRow], depth: float, upper: float) -> dict[tuple[str, str], float]:
        """Stage 0: lengths of the panels' cradle edges after the rows that may change them."""
        moves = tuple((row.key, self._left(move)) for row in plan_rows if names_cradle(row) for move in row.moves)
        edges = self._panel_cradle_edges()
        if not moves:
            return {edge: self._edge_length(edge, None) for edge in edges}
        solution = solve_surely(self.layout, self.rows(Goals(moves, depth, upper), cradle_free=True))
        return {edge: self._edge_length(edge, solution.z) for edge in edges}

    def _panel_cradle_edges(self) -> list[tuple[str, str]]:
        assert self.cup is not None
        cups = {self.cup.inner, self.cup.outer}
        seam = next(seam for seam in self.layout.style.seams if seam.name == self.cup.cradle_seam)
        return [(r.piece, r.edge) for r in (*seam.a, *seam.b) if r.piece not in cups]

    def _edge_length(self, edge: tuple[str, str], z: Floats | None) -> float:
        slots = self.layout.slots(*edge)
        spans = np.arange(slots.first_span, slots.first_span + len(slots.widths))
        return float(span_lengths(moved_points(self.layout, z)[self.layout.span_points[spans]]).sum())

    def _with_depth(self, goals: Goals, change: float) -> Staged:
        """Release the cup's depth: the whole change, or the last part of it that keeps the cup sound.

        Where no part does, the whole change is made unless the dart stands better without it.
        """
        assert goals.depth is not None
        base = goals.depth
        whole = self._finished(replace(goals, depth=base + change), 0.0)
        if abs(change) < DEPTH_MET_MM or self._is_sound(whole.solution):
            return whole

        def at(part: float, near: Solution | None) -> Solution:
            rows = rows_with_depth(whole.rows, base + part * change)
            # A part that is not reached from its neighbours is mostly beyond reach: no gradual way is sought for it.
            return solve_surely(self.layout, rows) if near is None else solve_near(self.layout, rows, near)

        part, solution = greatest_part(whole.solution, at, self._is_sound)
        if not part and self._dart_excess(whole.solution) < self._dart_excess(solution):
            return whole
        rows = tuple(rows_with_depth(whole.rows, base + part * change))
        return Staged(self.layout, solution, rows, (1.0 - part) * change, replace(goals, depth=base + part * change))

    def _is_sound(self, solution: Solution) -> bool:
        """Rows met, the dart within its limits (or no further out than the base's), and no new hollow below."""
        if self.cup is None or not solution.is_met:
            return solution.is_met
        if self._dart_excess(solution) > 0.0:
            return False
        moved = self.layout.moved(as_pairs(self.layout, solution.z), (self.cup.inner, self.cup.outer))
        return not has_new_hollow(self.base_edges, lower_edges(moved, self.cup))

    def _dart_excess(self, solution: Solution) -> float:
        """Degrees beyond the limits; endless for rows that are not met."""
        dart = self.mender.dart
        return dart.excess(self.mender.nodes(solution)) if dart is not None and solution.is_met else math.inf


def rows_with_depth(rows: Sequence[Row], depth: float) -> list[Row]:
    """The rows with another length of the cup seam below the bust point, mm."""
    return [
        replace(row, target=depth) if row.key == CUP_DEPTH and isinstance(row, LengthRow) else row for row in rows
    ]


def names_cradle(row: PlanRow) -> bool:
    """Rows that may change the cradle's length: length, centre, side and what is shared at the underbust."""
    return row.group in ("length", "centre", "side") or row.key.startswith("curves_underbust")


def _along(rows: Sequence[PlanRow], mark: str) -> float:
    found: list[Move] = [m for row in rows for m in row.moves if m.kind == "along" and m.level == mark]
    return found[0].amount if found else 0.0


def moved_points(layout: Layout, z: Floats | None) -> Floats:
    """Control points (P, 2) at a displacement (2N,), or the base's."""
    if z is None:
        return layout.points
    n = len(layout.nodes)
    return layout.points + layout.to_points @ np.stack((z[:n], z[n:]), axis=1)


def moved_style(layout: Layout, z: Floats) -> Style:
    """The base's pieces at a displacement (2N,)."""
    n = len(layout.nodes)
    return layout.moved(np.stack((z[:n], z[n:]), axis=1))


def plan_with_rest(plan: Plan, missing_depth: float) -> Plan:
    """Declare the cup depth that could not be reached."""
    rows = tuple(
        replace(row, remainder=row.difference - row.amount + missing_depth) if row.key == "cup_depth" else row
        for row in plan.rows
    )
    return replace(plan, rows=rows)
