"""What is mended on a solved pattern: widths that slipped, places tighter than ordered, curves to be redrawn.

Each becomes rows of its own; solved again from where it stands, the pattern keeps everything that is measured.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from coutil.alter._crossings import missed_crossings, with_corrections
from coutil.alter._dart import Dart
from coutil.alter._layout import Floats, Layout
from coutil.alter._narrows import Bands, holding_rows
from coutil.alter._redraw import look_at, redraw_rows
from coutil.alter._rows import CurvatureRow, LinearRow, Row
from coutil.alter._solve import Solution, solve
from coutil.pattern import MARK_LOST_MM

# A pattern is mended at most so often.
ROUNDS = 7
# Crossings off by less than this in all make no difference to a girth that a tape could see.
SEEN_MM = 0.05
# A mark that leaves its level by more has all but lost it, and no line is worth that.
LOST_MM = MARK_LOST_MM - 0.1
Faults = tuple[int, int, int, int, int]


class Mender:
    """One base as it looks; mends any number of patterns altered from it."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.look = look_at(layout, layout.points)
        self.bands = Bands(layout)
        self.own_narrows = self.bands.narrows(layout.points)
        cup = layout.style.sharing.cup
        self.dart = None if cup is None else Dart(layout, cup)
        self.marks = {
            int(node)
            for slots in layout.edges.values()
            for node, level in zip(slots.positions, slots.marked, strict=True)
            if level is not None
        }

    def mended(self, solution: Solution, planned: Sequence[Row]) -> tuple[Solution, tuple[Row, ...]]:
        """The pattern with everything mended that can be, and the rows it meets.

        Of all tries the best is kept: no level lost before exact widths before a dart within limits before nothing too
        narrow before curves that run well.
        """
        mends = _Mends(self)
        rows = tuple(planned)
        tries: list[tuple[Faults, Solution, tuple[Row, ...]]] = []
        for _ in range(ROUNDS):
            if not solution.is_met:
                break
            faults = mends.look(solution, planned)
            tries.append((faults, solution, rows))
            if not any(faults) or (len(tries) > 1 and faults == tries[-2][0] and not mends.found_places):
                break
            rows = mends.rows(planned)
            met, solution = solution, solve(self.layout, rows, solution.z, _with_new(solution.pulls, rows))
            if not solution.is_met and mends.bends:
                # Curves that run well cannot all be had: widths and narrow places are mended without them.
                mends.bends.clear()
                rows = mends.rows(planned)
                solution = solve(self.layout, rows, met.z, _with_new(met.pulls, rows))
        if not tries:
            return solution, rows
        _, solution, rows = min(reversed(tries), key=lambda one: one[0])
        return solution, rows

    def points(self, solution: Solution) -> Floats:
        """Control points (P, 2) of a solution."""
        return self.layout.points + self.layout.to_points @ solution.z.reshape(2, -1).T

    def nodes(self, solution: Solution) -> Floats:
        """Nodes (N, 2) of a solution."""
        return self.layout.nodes + solution.z.reshape(2, -1).T


class _Mends:
    """Everything found so far: what was mended once stays mended."""

    def __init__(self, mender: Mender) -> None:
        self.mender = mender
        self.bends: dict[tuple[int, float], CurvatureRow] = {}
        self.corrections: dict[int, float] = {}
        self.held: list[LinearRow] = []
        self.dart: list[LinearRow] = []
        self.found_places = True

    def look(self, solution: Solution, planned: Sequence[Row]) -> Faults:
        """Look once more and keep what is found: how far heights, widths, dart, narrow places and curves are off.

        Widths and curves are counted in SEEN_MM.
        """
        mender, points, nodes = self.mender, self.mender.points(solution), self.mender.nodes(solution)
        bends, off = redraw_rows(mender.layout, mender.look, points, {span for span, _ in self.bends})
        missed = missed_crossings(mender.layout, points, planned)
        held = holding_rows(mender.bands, points, mender.own_narrows)
        dart = [] if mender.dart is None else mender.dart.rows(nodes)
        self.dart = dart or self.dart
        known = len(self.bends)
        self.bends |= {(row.span, row.place): row for row in bends}
        self.found_places = len(self.bends) > known
        self.corrections |= {knot: self.corrections.get(knot, 0.0) + off for knot, off in missed.items()}
        self.held += held
        widths = int(sum(abs(off) for off in missed.values()) / SEEN_MM)
        return self._lost(planned, nodes), widths, len(dart), len(held), round(off / SEEN_MM) if bends else 0

    def rows(self, planned: Sequence[Row]) -> tuple[Row, ...]:
        return (*with_corrections(planned, self.corrections), *self.dart, *self.held, *self.bends.values())

    def _lost(self, planned: Sequence[Row], nodes: Floats) -> int:
        """How far level marks have left their heights beyond LOST_MM, mm in all."""
        rows = [row for row in planned if isinstance(row, LinearRow) and row.slip > 0.0 and len(row.terms) == 1]
        marks = self.mender.marks
        heights = [(node, row.target) for row in rows for node, axis, _ in row.terms if axis == 1 and node in marks]
        if not heights:
            return 0
        places, targets = zip(*heights, strict=True)
        off = np.abs(nodes[list(places), 1] - np.array(targets)) - LOST_MM
        return int(np.ceil(off[off > 0.0].sum()))


def _with_new(pulls: Floats, rows: Sequence[Row]) -> Floats:
    """The pulls of a solution for rows that have linear ones and, behind all others, curvature rows more or less."""
    count = sum(not isinstance(row, LinearRow) for row in rows)
    return np.concatenate((pulls[:count], np.zeros(max(count - len(pulls), 0))))
