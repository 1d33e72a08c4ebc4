"""The one door: a client's chart and a base in, a finished job out.  Files and screens are its callers'.

Command line, workroom, batch and notebook all go through here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coutil.alter import Alteration, Alterer, Wishes
from coutil.check import CAUTIONS, Finding, Verdict, check_style
from coutil.cut import (
    LayPlan,
    Making,
    OrderOptions,
    channel_rules,
    find_channels,
    is_toile,
    opened_front,
    panel_middles,
    plan_making,
)
from coutil.draft import PLAIN, STYLES, Variant, style_kind
from coutil.errors import BadChart, BadInput
from coutil.measure import Chart, ChartFinding, Unit, complete_chart, format_length, inspect_chart, title
from coutil.pattern import Fit, Style, revision_mark
from coutil.result_file import result_to_json
from coutil.sheet import (
    Heading,
    PrintOptions,
    guide_html,
    guide_pdf,
    overview_svg,
    pieces_dxf,
    pieces_svg,
    print_pdf,
    workroom_html,
    workroom_pdf,
)

# Channels are drawn as strokes this near to their curve, far below a pen's width.
CHANNEL_LOOK_MM = 0.02

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


@dataclass(frozen=True, slots=True)
class ChartCheck:
    """A style checked against a chart: what was noticed about the chart, what was estimated, and every check."""

    remarks: tuple[ChartFinding, ...]
    estimates: tuple[str, ...]
    findings: tuple[Finding, ...]


def run(order: Order, report: Callable[[str], None] | None = None) -> Job:
    """Inspect the chart, alter the base step by step, check the outcome.

    `report` is told the name of each step before it is worked on.  Raises BadChart, with the first reason,
    where the chart cannot be worked from.
    """
    remarks = require_workable(order)
    alterer = Alterer(base_to_alter(order))
    outcome = alterer.alter(order.client, order.wishes)
    alteration = replace(outcome, frames=alterer.frames(outcome.plan, report))
    return Job(order, remarks, alteration, check_alteration(alteration))


def base_to_alter(order: Order) -> Style:
    """The order's base; its front opened where a closure gap is wished for, since a busk needs two centre fronts."""
    return order.base if order.wishes.closure_gap is None else opened_front(order.base)


def as_ordered(wishes: Wishes, making: OrderOptions) -> Wishes:
    """The wishes with the closure gap that the ordered closure needs; one that was wished for by itself stands.

    Worked case: a busk stands open 4 mm, so the front of a waist of 590 has 586 of cloth in all.
    """
    if wishes.closure_gap is not None or making.closure != "busk":
        return wishes
    return replace(wishes, closure_gap=making.closure_gap)


def require_closure(style: Style, making: OrderOptions) -> None:
    """Raises BadInput where an order's busk would make a pattern too large that was altered for a closed front."""
    if making.closure == "busk" and not style.base_fit.closure_gap:
        raise BadInput(
            f"The order has a busk, and this pattern was altered for a closed front: its girths would come out "
            f"{making.closure_gap:g} mm too large.  Alter it again with the order, coutil alter BASE CLIENT --order "
            "ORDER.toml, then make the papers."
        )


def rework(order: Order, alterer: Alterer) -> Job:
    """As `run` on an alterer that was made ready for the order's base before, and without the step frames.

    For whoever changes an order again and again and wants to see it at once.
    """
    remarks = require_workable(order)
    alteration = alterer.alter(order.client, order.wishes)
    return Job(order, remarks, alteration, check_alteration(alteration))


def require_workable(order: Order) -> tuple[ChartFinding, ...]:
    """What was noticed about the chart; raises BadChart or BadInput for an order that cannot be worked from."""
    remarks = inspect_chart(order.client, _missing(order.base, order.client), order.unit)
    require_usable(order.client.name, remarks)
    _require_wearable(order)
    return remarks


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


def check_for(style: Style, client: Chart, unit: Unit, base: Style | None = None) -> ChartCheck:
    """Every check of a style against another client's chart, as the style stands: nothing is altered.

    The fit stays the style's own, its waist reduction in per cent of this client's waist; what the chart lacks is
    estimated as for an alteration.  `base` is what the lines are compared with.  Raises BadChart, with the first
    reason, where the chart cannot be worked from.
    """
    remarks = inspect_chart(client, _missing(style, client), unit)
    require_usable(client.name, remarks)
    completed = complete_chart(client, style.base_chart, _depths(style))
    worn = replace(style, base_chart=completed.chart, base_fit=_fit_for(style, completed.chart))
    return ChartCheck(remarks, completed.sentences, check_style(worn, base=base, chart=completed.chart))


def _fit_for(style: Style, client: Chart) -> Fit:
    """The style's fit with its reduction in per cent of the client's waist, where both waists are known."""
    own, waist = style.base_chart.get("waist_girth"), client.get("waist_girth")
    if not own or waist is None:
        return style.base_fit
    return replace(style.base_fit, reduction=style.base_fit.reduction * waist / own)


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
    """The name of the size nearest to the chart, in whole centimetres; raises BadChart where a reading is missing."""
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
        rest = len(stops) - 1
        more = f" (And {rest} more such remark{'s' if rest > 1 else ''}.)" if rest else ""
        raise BadChart(f"The chart of {name} cannot be worked from: {_missed(stops) or stops[0].sentence + more}")


def _missed(stops: Sequence[ChartFinding]) -> str:
    """All missing readings in one sentence, where nothing worse stops the work."""
    if any(stop.code != "missing" for stop in stops) or len(stops) == 1:
        return ""
    *titles, last = (title(key) for stop in stops for key in stop.keys)
    keys = " ".join(key for stop in stops for key in stop.keys)
    return f"{', '.join(titles)} and {last} are missing; coutil measures tells how to take {keys}."


def result_text(job: Job) -> str:
    """The result file."""
    return result_to_json(job.alteration, job.findings)


def overview_text(alteration: Alteration) -> str:
    """The overview drawing as SVG: base dashed, result solid."""
    heading = heading_of(alteration.style)
    return overview_svg(alteration.base, alteration.style, alteration.plan, alteration.style.title, heading)


def heading_of(style: Style) -> Heading:
    """Whom the pattern is for, when the chart was taken, and the pattern's mark."""
    return Heading(style.base_chart.name, style.base_chart.taken, revision_mark(style))


def print_options(alteration: Alteration, unit: Unit, making: OrderOptions | None = None) -> PrintOptions:
    """What stands on every printed piece, from the chart and the style; bone channels off the seams are marked.

    `making` says how the garment is made where that is known: where bones and eyelets then run.
    """
    style, chart = alteration.style, alteration.style.base_chart
    return PrintOptions(
        reference=chart.name,
        date=chart.taken,
        revision=revision_mark(style),
        unit=unit,
        cautions=CAUTIONS,
        channels=_channels_to_mark(style, making or OrderOptions()),
    )


def pattern_pdf(
    alteration: Alteration,
    findings: tuple[Finding, ...],
    paper: str,
    unit: Unit,
    options: PrintOptions | None = None,
    overlay: bool = False,
) -> bytes:
    """The pattern at true size on paper (see `print_pdf`), with its alteration chart and checks.

    `options` replaces what `print_options` gives; `overlay` draws the base dashed beneath every piece.
    """
    chosen = print_options(alteration, unit) if options is None else options
    under = alteration.base if overlay else None
    return print_pdf(alteration.style, alteration.plan, findings, paper, chosen, under)


def pattern_svg(alteration: Alteration, options: PrintOptions, overlay: bool = False) -> str:
    """The pieces as SVG at true size; `overlay` draws the base dashed beneath every piece."""
    return pieces_svg(alteration.style, options, alteration.base if overlay else None)


def pattern_dxf(alteration: Alteration, options: PrintOptions, kind: Literal["r12", "r2000"]) -> bytes:
    """The pieces as DXF in mm: `r2000` with splines, `r12` with polylines."""
    return pieces_dxf(alteration.style, options, kind)


def _channels_to_mark(style: Style, making: OrderOptions) -> dict[str, list[NDArray[np.float64]]]:
    """The middle lines of channels by piece, without those that run along a seam, where the seam itself shows them.

    A toile has its bones up the middle of the panels.
    """
    found: dict[str, list[NDArray[np.float64]]] = {}
    channels = panel_middles(style) if is_toile(style) else find_channels(style, channel_rules(making))
    for channel in channels:
        if channel.place in ("closure", "panel"):
            found.setdefault(channel.piece, []).append(channel.curve.flatten(CHANNEL_LOOK_MM))
    return found


def making_of(alteration: Alteration, options: OrderOptions, lays: Sequence[LayPlan] = ()) -> Making:
    """Everything the altered pattern implies for cutting and making, with lengths of cloth by the plans in `lays`.

    Raises BadInput for what cannot be made.
    """
    return plan_making(alteration.style, alteration.style.base_chart, options, lays)


def result_text_of(alteration: Alteration, style: Style) -> str:
    """A result file of another making of the altered pattern, as ordered or as a toile, checked anew, without steps."""
    made = replace(alteration, style=style, frames=())
    return result_to_json(made, check_alteration(made))


def workroom_sheet_pdf(
    alteration: Alteration, findings: tuple[Finding, ...], making: Making, paper: Literal["a4", "letter"], unit: Unit
) -> bytes:
    """The workroom sheet to print."""
    return workroom_pdf(alteration, findings, making, CAUTIONS, paper, unit)


def workroom_sheet_html(alteration: Alteration, findings: tuple[Finding, ...], making: Making, unit: Unit) -> str:
    """The workroom sheet to read on a screen."""
    return workroom_html(alteration, findings, making, CAUTIONS, unit)


def with_steps(alteration: Alteration, report: Callable[[str], None] | None = None) -> Alteration:
    """The alteration with the pattern after every row, made now where it came without.

    `report` is told the key of each row before it is worked on.
    """
    moving = any(move.amount for row in alteration.plan.rows for move in row.moves)
    if alteration.frames or not moving:
        return alteration
    return replace(alteration, frames=Alterer(alteration.base).frames(alteration.plan, report))


def alteration_guide_pdf(alteration: Alteration, paper: Literal["a4", "letter"], unit: Unit) -> bytes:
    """The step-by-step guide to print; the alteration must have its steps (`with_steps`)."""
    return guide_pdf(alteration, CAUTIONS, paper, unit)


def alteration_guide_html(alteration: Alteration, unit: Unit) -> str:
    """The step-by-step guide to read on a screen; the alteration must have its steps (`with_steps`)."""
    return guide_html(alteration, CAUTIONS, unit)


# Beyond these nothing is left to alter: the habit of a first garment, a tenth of the waist, is a warning's business.
LARGEST_REDUCTION = 0.5  # Of the waist.
WIDEST_GAP_MM = 300.0
WIDEST_CLOSURE_MM = 10.0
LARGEST_AMOUNT_MM = 300.0  # Of one row.


class BeyondAnyRow(BadInput):
    """A row overruled by more than any row moves; `row` is its key."""

    def __init__(self, row: str, asked: str) -> None:
        self.row, self.asked = row, asked
        super().__init__(self.sentence(f"Row {row.replace('_', ' ')}"))

    def __reduce__(self) -> tuple[type[BeyondAnyRow], tuple[str, str]]:
        # Read back whole from another process.
        return BeyondAnyRow, (self.row, self.asked)

    def sentence(self, name: str) -> str:
        """What is wrong, by the name under which the maker sees the row."""
        return f"{name} is overruled by {self.asked}, more than any row moves: look at the unit."


def _require_wearable(order: Order) -> None:
    """Raises BadInput for a reduction, a lacing gap or an overruled amount that no body can wear."""
    waist, wishes, unit = order.client.get("waist_girth"), order.wishes, order.unit
    if waist is not None and (wishes.reduction or 0.0) > LARGEST_REDUCTION * waist:
        asked, has = format_length(wishes.reduction or 0.0, unit), format_length(waist, unit)
        raise BadInput(f"A reduction of {asked} is more than half of the waist, {has}: look at figure and unit.")
    if (wishes.lacing_gap or 0.0) > WIDEST_GAP_MM:
        asked, most = format_length(wishes.lacing_gap or 0.0, unit), format_length(WIDEST_GAP_MM, unit)
        raise BadInput(f"A lacing gap of {asked} is wider than {most}: look at the figure and its unit.")
    if wishes.closure_gap is not None and not 0 <= wishes.closure_gap <= WIDEST_CLOSURE_MM:
        most = format_length(WIDEST_CLOSURE_MM, unit)
        raise BadInput(f"A closed busk stands open 0 to {most}: look at the closure gap and its unit.")
    for override in wishes.overrides:
        if abs(override.amount or 0.0) > LARGEST_AMOUNT_MM:
            raise BeyondAnyRow(override.row, format_length(override.amount or 0.0, unit))


def _missing(base: Style, client: Chart) -> tuple[str, ...]:
    """Girths at the style's levels that were neither taken nor can be estimated."""
    depths = _depths(base)
    known = complete_chart(client, base.base_chart, depths).chart
    girths = (f"{measure}_girth" for measure in depths)
    return tuple(key for key in girths if key in base.base_chart and key not in known)


def _depths(style: Style) -> dict[str, float | None]:
    """Depth below the waist of every level that is measured, by the stem of its measurements."""
    return {level.measure: level.depth for level in style.levels if level.measure is not None}
