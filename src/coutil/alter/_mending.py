"""What is mended on a solved pattern: widths that slipped, places tighter than ordered, curves to be redrawn.

Each becomes rows of its own; solved again from where it stands, the pattern keeps everything that is measured.
"""

from __future__ import annotations

from collections.abc import Sequence

from coutil.alter._crossings import missed_crossings, with_corrections
from coutil.alter._layout import Floats, Layout
from coutil.alter._narrows import Bands, holding_rows
from coutil.alter._redraw import look_at, redraw_rows
from coutil.alter._rows import CurvatureRow, LinearRow, Row
from coutil.alter._solve import Solution, solve

# A pattern is mended at most so often.
ROUNDS = 6


class Mender:
    """One base as it looks; mends any number of patterns altered from it."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.look = look_at(layout, layout.points)
        self.bands = Bands(layout)
        self.own_narrows = self.bands.narrows(layout.points)

    def mended(self, solution: Solution, planned: Sequence[Row]) -> tuple[Solution, tuple[Row, ...]]:
        """The pattern with everything mended that can be, and the rows it meets."""
        mends = _Mends(self)
        rows = tuple(planned)
        for _ in range(ROUNDS):
            if not solution.is_met or not mends.add(self.points(solution), planned):
                break
            more = mends.rows(planned)
            better = solve(self.layout, more, solution.z)
            if not better.is_met:
                break
            solution, rows = better, more
        return solution, rows

    def points(self, solution: Solution) -> Floats:
        """Control points (P, 2) of a solution."""
        return self.layout.points + self.layout.to_points @ solution.z.reshape(2, -1).T


class _Mends:
    """Everything found so far: what was mended once stays mended."""

    def __init__(self, mender: Mender) -> None:
        self.mender = mender
        self.bends: dict[tuple[int, float], CurvatureRow] = {}
        self.corrections: dict[int, float] = {}
        self.held: list[LinearRow] = []

    def add(self, points: Floats, planned: Sequence[Row]) -> bool:
        """Look once more; whether anything was found."""
        mender = self.mender
        bends = redraw_rows(mender.layout, mender.look, points)
        missed = missed_crossings(mender.layout, points, planned)
        held = holding_rows(mender.bands, points, mender.own_narrows)
        self.bends |= {(row.span, row.place): row for row in bends}
        self.corrections |= {knot: self.corrections.get(knot, 0.0) + off for knot, off in missed.items()}
        self.held += held
        return bool(bends or missed or held)

    def rows(self, planned: Sequence[Row]) -> tuple[Row, ...]:
        return (*with_corrections(planned, self.corrections), *self.held, *self.bends.values())
