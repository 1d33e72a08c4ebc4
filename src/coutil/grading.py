"""A run of sizes: one base altered to its own chart plus the steps of a table, size by size.

The table is CSV: a head `size` and measurement keys, then one line a size.  `+2` and `-2` are steps from the base's
chart, a figure without a sign is the body measurement itself, an empty cell leaves it as it is.  Lines that begin
with # are remarks; `# unit: in` says in what the figures are.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from coutil.alter import Alteration, Alterer, Wishes
from coutil.check import Finding, check_style
from coutil.errors import BadInput
from coutil.measure import Chart, Unit, measurement, parse_length, parse_unit
from coutil.pattern import Style

MOST_SIZES = 60
SIZE = "size"


@dataclass(frozen=True, slots=True)
class Size:
    """One line of the table: its name, and by key the step or the measurement itself, mm."""

    name: str
    steps: Mapping[str, float]
    fixed: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Graded:
    """One size made: its chart, the alteration and every check."""

    size: Size
    chart: Chart
    alteration: Alteration
    findings: tuple[Finding, ...]


def sizes_from_csv(text: str, unit: Unit) -> tuple[Size, ...]:
    """The sizes of a table; `unit` holds where the text names none.  Raises BadInput naming line and cell."""
    lines = [(number, line) for number, line in enumerate(text.splitlines(), start=1) if line.strip()]
    remarks = [line.lstrip("# ").strip() for _, line in lines if line.startswith("#")]
    said = [remark.split(":", 1)[1] for remark in remarks if remark.lower().startswith("unit:")]
    rows = [(number, line) for number, line in lines if not line.startswith("#")]
    if len(rows) < 2:
        raise BadInput("The table of sizes needs a head line, size and measurement keys, and a line for every size.")
    if len(rows) > MOST_SIZES + 1:
        raise BadInput(f"The table has {len(rows) - 1} sizes, and at most {MOST_SIZES} are made in one run.")
    return _sizes(rows, parse_unit(said[0]) if said else unit)


def _sizes(rows: Sequence[tuple[int, str]], unit: Unit) -> tuple[Size, ...]:
    head, *cells = [(number, next(csv.reader([line]))) for number, line in rows]
    keys = [key.strip() for key in head[1]]
    if keys[0] != SIZE:
        raise BadInput(f"The head of the table of sizes begins with {keys[0][:30]!r}, and it should begin with size.")
    for key in keys[1:]:
        measurement(key)
    sizes = tuple(_size(number, line, keys, unit) for number, line in cells)
    names = [size.name for size in sizes]
    for name in names:
        if names.count(name) > 1:
            raise BadInput(f"The table of sizes has size {name} twice: keep one of them.")
    return sizes


def _size(number: int, cells: Sequence[str], keys: Sequence[str], unit: Unit) -> Size:
    if len(cells) != len(keys) or not cells[0].strip():
        raise BadInput(f"Line {number} of the table of sizes has {len(cells)} cells, and its head has {len(keys)}.")
    steps: dict[str, float] = {}
    fixed: dict[str, float] = {}
    for key, cell in zip(keys[1:], cells[1:], strict=True):
        if not cell.strip():
            continue
        try:
            value = parse_length(cell, unit)
        except BadInput as error:
            raise BadInput(f"Line {number} of the table of sizes, {key}: {error}") from error
        (steps if cell.strip()[0] in "+-−" else fixed)[key] = value
    return Size(cells[0].strip(), steps, fixed)


def known_steps(base: Style, sizes: Sequence[Size]) -> tuple[Size, ...]:
    """The sizes without steps of what the base's chart lacks: a waist corset has no bust to step."""
    known = base.base_chart
    return tuple(
        replace(size, steps={key: step for key, step in size.steps.items() if key in known}) for size in sizes
    )


def size_chart(base: Style, size: Size) -> Chart:
    """The base's chart at another size; front arcs follow their girths in the base's proportion.

    Raises BadInput for a step of what the base's chart lacks.
    """
    chart = base.base_chart
    for key, step in size.steps.items():
        if key not in base.base_chart:
            raise BadInput(
                f"Size {size.name} steps {key}, which the base's chart does not have: give the figure itself."
            )
        chart = chart.with_value(key, base.base_chart[key] + step)
    for key, value in size.fixed.items():
        chart = chart.with_value(key, value)
    for key in {**size.steps, **size.fixed}:
        chart = _with_front(chart, base.base_chart, key, size)
    return replace(chart, name=f"{base.name} size {size.name}"[:80])


def _with_front(chart: Chart, before: Chart, key: str, size: Size) -> Chart:
    front = key.replace("_girth", "_front")
    given = front in size.steps or front in size.fixed
    if not key.endswith("_girth") or given or front not in before or key not in before:
        return chart
    return chart.with_value(front, before[front] * chart[key] / before[key], "estimated")


def grade(
    base: Style, sizes: Sequence[Size], wishes: Wishes, report: Callable[[str], None] | None = None
) -> tuple[Graded, ...]:
    """Every size by the same solve with its own chart, each checked; `report` is told each size's name."""
    alterer = Alterer(base)
    made = []
    for size in sizes:
        if report is not None:
            report(size.name)
        chart = size_chart(base, size)
        alteration = alterer.alter(chart, wishes)
        findings = check_style(
            alteration.style,
            base=alteration.base,
            plan=alteration.plan,
            conflicts=alteration.conflicts,
            chart=alteration.style.base_chart,
        )
        made.append(Graded(size, chart, alteration, findings))
    return tuple(made)


def grade_table(made: Sequence[Graded]) -> tuple[tuple[str, ...], ...]:
    """Head and rows: size, girths of the garment at each level in mm, failed checks."""
    levels = tuple(order.level for order in made[0].alteration.plan.girths) if made else ()
    head = ("size", *levels, "warnings", "failed checks")
    return (head, *(_row(graded, levels) for graded in made))


def _row(graded: Graded, levels: Sequence[str]) -> tuple[str, ...]:
    found = {order.level: order.garment for order in graded.alteration.plan.girths}
    warned = len({warning for row in graded.alteration.plan.rows for warning in row.warnings})
    failed = sum(finding.verdict == "fail" for finding in graded.findings)
    girths = (f"{found[level]:.1f}" if level in found else "" for level in levels)
    return (graded.size.name, *girths, str(warned), str(failed))
