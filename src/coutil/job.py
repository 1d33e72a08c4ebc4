"""The one door: a client's chart and a base in, a finished job out.  Files and screens are its callers'.

Command line, workroom, batch and notebook all go through here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Literal

from coutil.alter import Alteration, Alterer, Wishes
from coutil.check import CAUTIONS, Finding, Verdict, check_style
from coutil.draft import PLAIN, STYLES, Variant, style_kind
from coutil.errors import BadChart
from coutil.measure import Chart, ChartFinding, Unit, complete_chart, inspect_chart
from coutil.pattern import Style
from coutil.result_file import result_to_json
from coutil.sheet import Heading, PrintOptions, overview_svg, print_pdf

SIZES: tuple[tuple[int, ...], ...] = STYLES["cupped"].sizes


@dataclass(frozen=True, slots=True)
class Order:
    """What is to be made: the base, the client's chart and wishes, and the unit the maker speaks in."""

    base: Style
    client: Chart
    wishes: Wishes
    unit: Unit


@dataclass(frozen=True, slots=True)
class Job:
    """A finished job; `remarks` is what was noticed about the client's chart."""

    order: Order
    remarks: tuple[ChartFinding, ...]
    alteration: Alteration
    findings: tuple[Finding, ...]


def run(order: Order, report: Callable[[str], None] | None = None) -> Job:
    """Inspect the chart, alter the base step by step, check the outcome.

    `report` is told the name of each step before it is worked on.  Raises BadChart, with the first reason,
    where the chart cannot be worked from.
    """
    remarks = inspect_chart(order.client, _missing(order.base, order.client), order.unit)
    require_usable(order.client.name, remarks)
    alterer = Alterer(order.base)
    outcome = alterer.alter(order.client, order.wishes)
    alteration = replace(outcome, frames=alterer.frames(outcome.plan, report))
    return Job(order, remarks, alteration, check_alteration(alteration))


def check_alteration(alteration: Alteration) -> tuple[Finding, ...]:
    """Every check of an altered style against its base, its plan and the client's chart."""
    style = alteration.style
    return check_style(
        style,
        base=alteration.base,
        plan=alteration.plan,
        conflicts=alteration.conflicts,
        chart=style.base_chart,
    )


def check_base(style: Style) -> tuple[Finding, ...]:
    """Every check of a style against the chart it was drafted for."""
    return check_style(style, chart=style.base_chart)


def draft(chart: Chart, style: str = "cupped", variant: Variant = PLAIN) -> Style:
    """A style drafted for the chart; raises CannotDraft outside the style's range, BadInput for an unknown style."""
    kind = style_kind(style)
    require_usable(chart.name, inspect_chart(chart))
    return kind.draft(chart, None, variant)


def draft_size(*size: int, style: str = "cupped", variant: Variant = PLAIN) -> Style:
    """One of the project's own bases; its size in cm as in its name."""
    kind = style_kind(style)
    return kind.draft(kind.chart(size), None, variant)


def nearest_base(chart: Chart, style: str = "cupped") -> str:
    """The name of the shipped base that needs the least redrawing; raises BadChart where a reading is missing."""
    kind = style_kind(style)
    return kind.base_name(kind.nearest(chart)[0])


def size_name(underbust_cm: int, cup_cm: int) -> str:
    """How a cupped base of the project is called: underbust and cup difference in cm, as 90-14."""
    return STYLES["cupped"].base_name((underbust_cm, cup_cm))


def nearest_sizes(chart: Chart) -> tuple[tuple[int, ...], ...]:
    """All sizes of the cupped overbust, the nearest first: by underbust, then by cup difference, never by bust alone.

    Raises BadChart where bust or underbust is missing.
    """
    return STYLES["cupped"].nearest(chart)


def has_failed(findings: Iterable[Finding]) -> bool:
    """Whether some check failed without a declared reason."""
    return any(finding.verdict is Verdict.FAIL for finding in findings)


def failed_words(findings: Iterable[Finding]) -> tuple[str, ...]:
    """The failed checks in short: name, figure and limit."""
    return tuple(
        f"{finding.name} {finding.figure:.2f} {finding.unit}, limit {finding.limit:g}"
        for finding in findings
        if finding.verdict is Verdict.FAIL and finding.limit is not None
    )


def require_usable(name: str, remarks: Iterable[ChartFinding]) -> None:
    """Raises BadChart, with the first reason and how many more, where a remark stops the work."""
    stops = [remark for remark in remarks if remark.severity == "stop"]
    if stops:
        more = f"  ({len(stops) - 1} more such remarks.)" if len(stops) > 1 else ""
        raise BadChart(f"The chart of {name} cannot be worked from: {stops[0].sentence}{more}")


def result_text(job: Job) -> str:
    """The result file."""
    return result_to_json(job.alteration, job.findings)


def overview_text(alteration: Alteration) -> str:
    """The overview drawing as SVG: base dashed, result solid."""
    chart = alteration.style.base_chart
    heading = Heading(client=chart.name, date=chart.taken)
    return overview_svg(alteration.base, alteration.style, alteration.plan, alteration.style.title, heading)


def pattern_pdf(
    alteration: Alteration, findings: tuple[Finding, ...], paper: Literal["a4", "letter"], unit: Unit
) -> bytes:
    """The pattern at true size, tiled on paper, with its alteration chart and checks."""
    style, chart = alteration.style, alteration.style.base_chart
    options = PrintOptions(
        reference=chart.name,
        date=chart.taken,
        revision=style.provenance.revision,
        unit=unit,
        cautions=CAUTIONS,
    )
    return print_pdf(style, alteration.plan, findings, paper, options)


def _missing(base: Style, client: Chart) -> tuple[str, ...]:
    """Girths at the style's levels that were neither taken nor can be estimated."""
    depths = {level.measure: level.depth for level in base.levels if level.measure is not None}
    known = complete_chart(client, base.base_chart, depths).chart
    girths = (f"{measure}_girth" for measure in depths)
    return tuple(key for key in girths if key in base.base_chart and key not in known)
