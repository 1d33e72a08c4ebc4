"""Wishes that cannot both be kept: found, measured, named; never a silent compromise.

Where the rows cannot all be met, the plan's rows are made to give (structure and sewing never do), and then each
is left out in turn: those whose omission heals the pattern are the conflict.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from coutil.alter._plan import Conflict, Plan, PlanRow
from coutil.alter._rows import Row
from coutil.alter._solve import Solution, solve, solve_gradually
from coutil.alter._stages import Staged, Stages

# A plan row that gives by a millimetre costs as much as one unit of energy: stiff, yet softer than structure.
GIVE = 1e-3
# A row that gives less than this is kept.
KEPT_MM = 0.05
ELASTIC_PARTS = 6


@dataclass(frozen=True, slots=True)
class Healed:
    """What can be sewn: the stage's outcome, the plan with its rests, and the conflicts found."""

    staged: Staged
    plan: Plan
    conflicts: tuple[Conflict, ...]


def heal(stages: Stages, staged: Staged, plan: Plan) -> Healed:
    """Nothing to do for rows that are met; otherwise the nearest pattern that can be sewn, and why."""
    if staged.solution.is_met:
        return Healed(staged, plan, ())
    elastic = _elastic(stages, staged.rows)
    gaps = _gaps(elastic, plan)
    healing = _healing_rows(stages, plan.rows, gaps)
    conflict = _conflict(plan, gaps, healing)
    rests = {key: gap for key, gap in gaps.items() if gap >= KEPT_MM}
    rows = tuple(_with_gap(row, rests.get(row.key, 0.0)) for row in plan.rows)
    return Healed(replace(staged, solution=elastic), replace(plan, rows=rows), (conflict,))


def _elastic(stages: Stages, rows: Sequence[Row]) -> Solution:
    """Let every row of the plan give a little."""
    giving = [replace(row, slip=GIVE) if row.rank == "plan" and not row.slip else row for row in rows]
    solution = solve(stages.layout, giving)
    return solution if solution.is_met else solve_gradually(stages.layout, giving, ELASTIC_PARTS)


def _gaps(elastic: Solution, plan: Plan) -> dict[str, float]:
    """How far each row of the plan gave, mm: the length over its x and y rows."""
    keys = {row.key for row in plan.rows}
    gaps: dict[str, float] = {}
    for row, residual in zip(elastic.rows, elastic.residuals, strict=True):
        if row.rank != "plan":
            continue
        for key in row.key.split("+"):
            if key in keys:
                gaps[key] = float(np.hypot(gaps.get(key, 0.0), residual))
    return gaps


def _healing_rows(stages: Stages, rows: Sequence[PlanRow], gaps: dict[str, float]) -> tuple[str, ...]:
    """Rows whose omission lets all others be met."""
    suspects = [row for row in rows if gaps.get(row.key, 0.0) >= KEPT_MM]
    return tuple(
        row.key for row in suspects if stages.run([r for r in rows if r.key != row.key]).solution.is_met
    )


def _conflict(plan: Plan, gaps: dict[str, float], healing: tuple[str, ...]) -> Conflict:
    by_size = sorted((key for key, gap in gaps.items() if gap >= KEPT_MM), key=lambda key: -gaps[key])
    rows = healing or tuple(by_size[:3])
    gap = max((gaps.get(key, 0.0) for key in rows), default=0.0)
    titles = [row.title for row in plan.rows if row.key in rows]
    named = ", ".join(titles) if titles else "the base's own shape and this client"
    sentence = f"{named}: cannot all be kept; {gap:.1f} mm apart"
    if healing:
        words = " or ".join(row.title for row in plan.rows if row.key in healing)
        return Conflict(rows, gap, sentence, f"leave one of these as in the base: {words}")
    return Conflict(rows, gap, sentence, "start from another size, or go half the way")


def _with_gap(row: PlanRow, gap: float) -> PlanRow:
    if not gap:
        return row
    return replace(row, remainder=row.remainder + gap, warnings=(*row.warnings, f"still missing {gap:.1f} mm"))
