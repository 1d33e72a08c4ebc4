"""What is still missing after a conflict, read off the pattern with the tape."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace

from coutil.alter._plan import GirthOrder, Plan, PlanRow
from coutil.alter._words import level_word
from coutil.pattern import Girth, Style, girth, measure_style

# Less than this no tape reads.
READ_MM = 0.05


def plan_with_measured_rests(plan: Plan, style: Style, gave: Collection[str]) -> Plan:
    """The rows that gave with what the tape finds missing, positive where the pattern is too small, in full mm.

    At each level the last row of a part answers for the whole of it; what no row answers for is said of the plan.
    """
    if not gave:
        return plan
    rests = dict(_girth_rests(plan, style)) | dict(_length_rests(plan, style, gave))
    answering = {row.measurement: row.key for row in plan.rows if row.measurement in rests}
    rows = tuple(_with_rest(row, rests, answering) for row in plan.rows)
    silent = tuple(_said(key, mm) for key, mm in rests.items() if key not in answering)
    return replace(plan, rows=rows, warnings=(*plan.warnings, *silent))


def _with_rest(row: PlanRow, rests: dict[str, float], answering: dict[str, str]) -> PlanRow:
    if row.measurement not in rests:
        return row
    if answering[row.measurement] != row.key:
        return replace(row, remainder=0.0)
    rest = rests[row.measurement]
    word = "missing" if rest * (row.wanted or rest) > 0 else "too much"
    return replace(row, remainder=rest, warnings=(*row.warnings, f"Still {word}: {abs(rest):.1f} mm."))


def _girth_rests(plan: Plan, style: Style) -> Iterator[tuple[str, float]]:
    measures = {level.name: level.measure for level in style.levels}
    for order in plan.girths:
        found = girth(style, order.level)
        for part, rest in _parts(order, found):
            if abs(rest) >= READ_MM:
                yield f"{measures[order.level]}_{part}", rest


def _parts(order: GirthOrder, found: Girth) -> tuple[tuple[str, float], ...]:
    return ("front", order.garment_front - found.front), ("back", order.garment_back - found.back)


def _length_rests(plan: Plan, style: Style, gave: Collection[str]) -> Iterator[tuple[str, float]]:
    measured = measure_style(style)
    for row in plan.rows:
        if row.key in gave and row.measurement in plan.targets and row.measurement in measured:
            yield row.measurement, plan.targets[row.measurement] - measured[row.measurement]


def _said(measurement: str, rest: float) -> str:
    level, _, part = measurement.rpartition("_")
    words = level_word(level)
    return f"{words[:1].upper()}{words[1:]}, {part}: {abs(rest):.1f} mm {'too small' if rest > 0 else 'too large'}."
