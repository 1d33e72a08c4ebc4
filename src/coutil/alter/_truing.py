"""Truing: make sewn edges equal and joins smooth without any change of measurements."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from coutil.alter._goals import Goals, cup_rows, level_rows, width_rows
from coutil.alter._layout import Layout, lay_out
from coutil.alter._rows import Row
from coutil.alter._solve import Solution, solve, solve_gradually
from coutil.alter._structure import sewing_rows, structure_rows
from coutil.errors import CannotDraft
from coutil.pattern import Style

# A fresh draft's joins may be far from smooth before they are trued.
DRAFT_POINT_DEG = 60.0
# Parts in which a change is approached that is too large for one go.
GRADUAL_PARTS = (4, 12)


def all_rows(layout: Layout, goals: Goals, point_deg: float) -> list[Row]:
    """Structure, sewing and plan rows of one solve."""
    return [
        *structure_rows(layout, point_deg),
        *sewing_rows(layout, point_deg),
        *level_rows(layout, goals),
        *width_rows(layout, goals),
        *cup_rows(layout, goals),
    ]


def solve_near(layout: Layout, rows: Sequence[Row], near: Solution) -> Solution:
    """Solve from a solution of the same rows for other wishes, or from scratch where that does not arrive."""
    solution = solve(layout, rows, near.z, near.pulls)
    return solution if solution.is_met else solve(layout, rows)


def solve_surely(layout: Layout, rows: Sequence[Row]) -> Solution:
    """Solve at once, and in growing numbers of parts where that does not arrive."""
    solution = solve(layout, rows)
    for parts in GRADUAL_PARTS:
        if solution.is_met:
            break
        again = solve_gradually(layout, rows, parts)
        solution = again if again.residual < solution.residual else solution
    return solution


def trued(
    style: Style, depth: float | None = None, upper: float | None = None, point_deg: float = DRAFT_POINT_DEG
) -> Style:
    """The style with equal seams and smooth joins, its widths and heights unchanged.

    `depth` and `upper` give the cup seam below and above the bust point, mm.  Joins and centre corners that turn by
    more than `point_deg` are points and stay.  Raises CannotDraft where the seams cannot be made equal.
    """
    layout = lay_out(style)
    rows = all_rows(layout, Goals(depth=depth, upper=upper), point_deg)
    solution = solve_surely(layout, rows)
    if not solution.is_met:
        worst = int(np.argmax(np.abs(solution.residuals) * np.array([row.slip == 0 for row in solution.rows])))
        raise CannotDraft(
            f"{style.name}: {solution.rows[worst].key} cannot be made to fit "
            f"(off by {abs(solution.residuals[worst]):.2f} mm): check the chart's readings"
        )
    return layout.moved(as_pairs(layout, solution.z))


def as_pairs(layout: Layout, z: np.ndarray) -> np.ndarray:
    """Displacement (2N,) as (N, 2)."""
    n = len(layout.nodes)
    return np.stack((z[:n], z[n:]), axis=1)
