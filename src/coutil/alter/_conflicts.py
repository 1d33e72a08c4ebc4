"""Wishes that cannot both be kept: found, measured, named; never a silent compromise.

Where the rows cannot all be met, the plan's rows are made to give (structure and sewing never do), and then each
is left out in turn: those whose omission heals the pattern are the conflict.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from coutil.alter._crossings import missed_crossings
from coutil.alter._differences import Differences
from coutil.alter._goals import outward
from coutil.alter._layout import SOFT_ROLES, Layout
from coutil.alter._plan import Conflict, Plan, PlanRow, State, Wishes
from coutil.alter._rows import CrossRow, LinearRow, Row
from coutil.alter._solve import Solution, solve, solve_gradually
from coutil.alter._stages import Staged, Stages, moved_points

# A plan row that gives by a millimetre costs as much as so many units of energy: stiff, yet softer than structure.
# Where that does not arrive, rows give more and more easily, until at last the base itself is a solution.
GIVES = (1e-3, 1e-1, 1e1, 1e3)
# A row that gives less than this is kept.
KEPT_MM = 0.05
LITTLE = GIVES[1]
# A seam that crosses a level further from where its row reads the crossing has folded or run off sideways.
SLIPPED_MM = 2.0
ELASTIC_PARTS = 6
# The held length of the cradle follows from the plan, so it gives with the plan's rows.
HELD = "cradle"
# More rows than this are not a name but a list.
MOST_NAMED = 3
OTHER_SIZE = "Start from another size, or go half the way."


@dataclass(frozen=True, slots=True)
class Healed:
    """What can be sewn: the stage's outcome, the conflicts found, and the keys of the rows that gave."""

    staged: Staged
    conflicts: tuple[Conflict, ...] = ()
    gave: frozenset[str] = frozenset()


def heal(stages: Stages, staged: Staged, plan: Plan) -> Healed:
    """Nothing to do for rows that are met; otherwise the nearest pattern that can be sewn, and why."""
    if staged.solution.is_met:
        return Healed(staged)
    layout = staged.layout
    elastic, give = _elastic(layout, staged.rows)
    gaps = _gaps(layout, elastic, plan)
    healing = _healing_rows(stages, plan.rows, gaps)
    if healing and give > LITTLE:
        # All rows had to give so easily that none is met: better that only those give which are in the way.
        alone, _ = _elastic(layout, staged.rows, healing)
        elastic = alone if _is_true(layout, alone) else elastic
        gaps = _gaps(layout, elastic, plan)
    gave = frozenset(key for key, gap in gaps.items() if gap >= KEPT_MM)
    return Healed(replace(staged, solution=elastic), (_conflict(plan, gaps, healing),), gave)


def out_of_reach(found: Differences, wishes: Wishes, plan: Plan) -> tuple[Conflict, ...]:
    """A distance that no point of the centre line has: half the separation is the least.

    Worked case (80 from the bust point, separation 192): 192 / 2 - 80 = 16 mm apart.
    """
    row, separation = plan.row("centre_top"), found.value("bust_point_separation")
    asked = row is not None and row.measurement == "bust_point_to_centre_top" and row.state is State.COMPUTED
    if row is None or separation is None or not (asked and wishes.exact_centre_top):
        return ()
    half = separation[1] / 2
    if row.client >= half:
        return ()
    sentence = (
        f"{row.title}: no point of the centre line lies {row.client:.0f} mm from the bust point, as half the "
        f"separation is {half:.0f} mm; {half - row.client:.1f} mm apart."
    )
    heal_by = f"Measure both again, or leave this as in the base: {row.title}."
    return (Conflict((row.key,), half - row.client, sentence, heal_by),)


def _elastic(layout: Layout, rows: Sequence[Row], keys: Collection[str] | None = None) -> tuple[Solution, float]:
    """Let the plan's rows give a little, or as much as it takes: those of these keys, or all.  And how easily."""
    best: Solution | None = None
    give = GIVES[0]
    for give in GIVES:
        giving = [replace(row, slip=give) if _gives(row, keys) else row for row in rows]
        solution = solve(layout, giving)
        if not solution.is_met:
            solution = solve_gradually(layout, giving, ELASTIC_PARTS)
        if _is_true(layout, solution):
            return solution, give
        if best is None or solution.residual < best.residual:
            best = solution
    assert best is not None
    return best, give


def _is_true(layout: Layout, solution: Solution) -> bool:
    """Whether the rows are met and seams cross their levels where the rows say, not where a slipped mark reads it."""
    if not solution.is_met:
        return False
    missed = missed_crossings(layout, moved_points(layout, solution.z), solution.rows)
    pairs = zip(solution.rows, solution.residuals, strict=True)
    said = {row.position: gap for row, gap in pairs if isinstance(row, CrossRow)}
    return all(abs(off - said[knot]) < SLIPPED_MM for knot, off in missed.items())


def _gives(row: Row, keys: Collection[str] | None) -> bool:
    if row.slip or (row.rank != "plan" and row.key != HELD):
        return False
    return keys is None or not set(row.key.split("+")).isdisjoint(keys)


def _gaps(layout: Layout, elastic: Solution, plan: Plan) -> dict[str, float]:
    """How far each row of the plan gave on the stored pattern, mm.

    Sideways, all its edges together at the level where they gave most; of heights and lengths the worst one.
    """
    sums: dict[tuple[str, str], float] = defaultdict(float)
    worst: dict[str, float] = defaultdict(float)
    at = _places(layout)
    for row, residual in zip(elastic.rows, elastic.residuals, strict=True):
        if row.rank != "plan":
            continue
        for key in row.key.split("+"):
            if (node := _sideways_node(row)) in at:
                level, way = at[node]
                sums[key, level] += way * float(residual)
            elif isinstance(row, LinearRow) and len(row.terms) > 1:
                # A place given along both axes: the way between both places.
                worst[key] = float(np.hypot(worst[key], residual))
            else:
                worst[key] = max(worst[key], abs(float(residual)))
    for (key, _), total in sums.items():
        worst[key] = max(worst[key], abs(total))
    return {row.key: worst[row.key] for row in plan.rows if row.key in worst}


def _sideways_node(row: Row) -> int:
    """The knot that a row places sideways, or -1."""
    if isinstance(row, CrossRow):
        return row.position
    if isinstance(row, LinearRow) and len(row.terms) == 1 and row.terms[0][1] == 0:
        return row.terms[0][0]
    return -1


def _places(layout: Layout) -> dict[int, tuple[str, float]]:
    """By knot of every edge that stands: the level it belongs to, and its outside."""
    return {
        int(node): (level or "", outward(slots))
        for slots in layout.edges.values()
        if slots.edge.role not in SOFT_ROLES
        for node, level in zip(slots.positions, slots.nearest, strict=True)
    }


def _healing_rows(stages: Stages, rows: Sequence[PlanRow], gaps: dict[str, float]) -> tuple[str, ...]:
    """Rows whose omission lets all others be met: of those that gave, or of all where none is seen to give."""
    suspects = [row for row in rows if gaps.get(row.key, 0.0) >= KEPT_MM]
    healing = tuple(_that_heal(stages, rows, suspects))
    return healing or tuple(_that_heal(stages, rows, [row for row in rows if row not in suspects and row.moves]))


def _that_heal(stages: Stages, rows: Sequence[PlanRow], suspects: Sequence[PlanRow]) -> Iterator[str]:
    for row in suspects:
        if stages.run([other for other in rows if other.key != row.key]).solution.is_met:
            yield row.key


def _conflict(plan: Plan, gaps: dict[str, float], healing: tuple[str, ...]) -> Conflict:
    moving = [row for row in plan.rows if row.moves]
    by_size = sorted(moving, key=lambda row: (-gaps.get(row.key, 0.0), -abs(row.amount)))
    given = [row.key for row in by_size if gaps.get(row.key, 0.0) >= KEPT_MM] or [row.key for row in by_size]
    rows = healing or tuple(given[:MOST_NAMED])
    gap = max((gaps.get(key, 0.0) for key in rows), default=0.0)
    if gap < KEPT_MM:
        gap = max((abs(row.amount) for row in moving if row.key in rows), default=0.0)
    titles = [row.title for row in plan.rows if row.key in rows]
    sentence = f"{', '.join(titles)}: cannot all be kept; {gap:.1f} mm apart."
    if not healing:
        return Conflict(rows, gap, sentence, OTHER_SIZE)
    return Conflict(rows, gap, sentence, f"Leave one of these as in the base: {' or '.join(titles)}.")
