"""The sections of the workroom sheet that speak of the pattern: order, girths, chart, checks, seams."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coutil.alter import Alteration
from coutil.check import Finding, Verdict
from coutil.cut import Making, SeamRow
from coutil.measure import Unit, en_band, en_cup, format_figure, format_length
from coutil.pattern import SeamSegment, Style
from coutil.sheet._workroom_words import (
    Grid,
    Section,
    aligned,
    figure,
    fine,
    joined,
    listed,
    plain,
    sentence_case,
    with_half,
)
from coutil.speech import sentence
from coutil.tables import chart_note, chart_table, check_table, conflict_remarks, girth_table, plan_remarks

MARKED = frozenset(verdict.value for verdict in Verdict if verdict is not Verdict.PASS)
CONSTRUCTIONS = {
    "single": "single layer",
    "mounted": "outer mounted on the strength layer",
    "sandwich": "outer and strength layer with the bones between",
    "floating_lining": "mounted, with a floating lining",
}


def order_section(alteration: Alteration, making: Making, revision: str, unit: Unit) -> Section:
    """Who, what, when, from which base, of which cloths."""
    rows = tuple((name, words) for name, words in _order_rows(alteration, making, revision, unit) if words)
    return Section("Order", grids=(Grid("The order", ("what", "ordered"), rows, (28, 120)),))


def _order_rows(alteration: Alteration, making: Making, revision: str, unit: Unit) -> Iterator[tuple[str, str]]:
    style, options = alteration.style, making.options
    chart = style.base_chart
    yield "Client", chart.name + (" (invented)" if chart.invented else "")
    yield "Order", options.reference
    yield "Measured", joined((chart.taken, f"worn: {chart.worn}" if chart.worn else ""))
    yield "Ready by", options.due
    yield "Wear", options.wear
    yield "Style", joined((style.title, _size_words(style), f"revision {revision}" if revision else ""))
    yield "Altered from", joined((plain(alteration.base.name), alteration.base.base_chart.name))
    layers = listed([plain(layer.name) for layer in making.style.layers])
    yield "Construction", f"{CONSTRUCTIONS[making.style.construction]}; layers: {layers}"
    yield "Closure", _closure_words(making)
    yield "Edges", _finish_words(making, unit)
    yield "Waist reduction", format_length(alteration.plan.reduction, unit)
    yield "Lacing gap", format_length(style.base_fit.lacing_gap, unit)
    for remark in options.remarks:
        yield "Remark", remark


def _size_words(style: Style) -> str:
    under, bust = style.base_chart.get("underbust_girth"), style.base_chart.get("bust_girth")
    if under is None:
        return ""
    cup = en_cup(bust - under) if bust is not None else None
    return f"size EN {en_band(under)}{cup or ''}"


def _closure_words(making: Making) -> str:
    laced = "laced with eyelets" if making.eyelets else ""
    front = "no busk" if making.busk is None else "busk at the centre front"
    return joined((laced, front))


def _finish_words(making: Making, unit: Unit) -> str:
    options = making.options
    if options.finish == "bound":
        return f"bound, {figure(options.binding, unit)} {fine(unit)} finished"
    return "turned in"


def remark_section(alteration: Alteration, making: Making, unit: Unit) -> Section:
    """What to look at before cutting; empty where there is nothing."""
    plan = alteration.plan
    found = (*making.remarks, *plan_remarks(plan, unit), *conflict_remarks(alteration.conflicts, unit))
    return Section("Before cutting", steps=tuple(sentence(words, unit) for words in found))


def girth_section(alteration: Alteration, making: Making, unit: Unit) -> Section:
    """Closes up to, laced as ordered, lets out to."""
    gap, widest = alteration.style.base_fit.lacing_gap, making.options.widest_gap
    closed, laced = f"closes up to, {unit}", f"laced as ordered, {unit}"
    heads = ("level", f"pieces, {unit}", closed, laced, f"lets out to, {unit}", f"outside, laced, {unit}")
    rows = tuple(
        (
            plain(row.level),
            with_half(row.net, unit),
            format_figure(row.closed, unit),
            format_figure(row.laced, unit),
            format_figure(row.open, unit),
            format_figure(row.outside, unit),
        )
        for row in making.girths
    )
    note = (
        f"Full girths inside the garment; of the pieces the half in brackets.  Laced as ordered leaves a gap of "
        f"{format_length(gap, unit)}, lets out to one of {format_length(widest, unit)}.  Outside counts the cloth."
    )
    grid = Grid("Girth inside at each level", heads, rows, (24, 34, 30, 34, 30, 34), frozenset(range(1, 6)))
    return Section("Closes up to, lets out to", (note,), (grid,))


def chart_section(alteration: Alteration, unit: Unit) -> Section:
    """Ordered girths and the alteration chart."""
    sides = alteration.style.sides
    girths, chart = girth_table(alteration.plan, unit), chart_table(alteration.plan, unit, sides)
    grids = (
        Grid("Girths ordered, full (half)", girths[0], girths[1:], (34, 24, 24, 24, 24, 36), frozenset(range(1, 6))),
        Grid(
            "Alteration chart",
            chart[0][1:],
            tuple(row[1:] for row in chart[1:]),
            (29, 28, 28, 27, 13, 16, 49),
            frozenset(range(1, 6)),
        ),
    )
    return Section("Girths and alteration chart", (chart_note(unit, sides),), grids)


def check_section(findings: Sequence[Finding], unit: Unit) -> Section:
    """Every check with its verdict: those to look at with their advice, then those that pass."""
    telling = [finding for finding in findings if finding.verdict is not Verdict.PASS]
    passed = [finding for finding in findings if finding.verdict is Verdict.PASS]
    note = f"{len(passed)} of {len(findings)} checks pass."
    grids = []
    if telling:
        table = check_table(telling, unit)
        shares = (44, 19, 15, 17, 32, 63)
        grids.append(Grid("To look at or to decide", table[0], table[1:], shares, frozenset((1, 2)), MARKED))
    if passed:
        lines = tuple(line[:4] for line in check_table(passed, unit))
        grids.append(Grid("Passed", lines[0], lines[1:], (124, 24, 20, 22), frozenset((1, 2))))
    return Section("Checks", (note,), tuple(grids))


def seam_section(making: Making, unit: Unit) -> Section:
    """Finished seam lengths, both sides, in all and between match points."""
    name = fine(unit)
    heads = ("seam", "from, to", f"A, {name}", f"B, {name}", f"ease, {name}", f"difference, {name}")
    rows = tuple(line for row in making.seams for line in _seam_lines(row, unit))
    note = "A is the side named first.  The difference is B less A and its ease."
    grid = Grid("Finished seam lengths", heads, rows, (62, 50, 20, 20, 18, 26), frozenset((2, 3, 4, 5)))
    return Section("Finished seam lengths", (note,), (grid,))


def _seam_lines(row: SeamRow, unit: Unit) -> Iterator[tuple[str, ...]]:
    title = sentence_case(
        f"{listed(row.a)} (A) to {listed(row.b)} (B)".lower().replace("(a)", "(A)").replace("(b)", "(B)")
    )
    yield (title, f"{plain(row.start)} to {plain(row.end)}, all", *_lengths(row.total, unit))
    if len(row.segments) > 1:
        for segment in row.segments:
            yield ("", _segment_words(segment.name, row), *_lengths(segment, unit))


def _segment_words(name: str, row: SeamRow) -> str:
    """From where to where, the seam's ends by the edges that lie there."""
    first, _, last = plain(name).partition(" to ")
    return f"{plain(row.start) if first == 'start' else first} to {plain(row.end) if last == 'end' else last}"


def _lengths(segment: SeamSegment, unit: Unit) -> tuple[str, ...]:
    difference = f"{segment.difference / 25.4:z.3f}" if unit == "in" else f"{segment.difference:z.2f}"
    return (*(aligned(mm, unit) for mm in (segment.a, segment.b, segment.ease)), difference)


def caution_section(cautions: Sequence[str]) -> Section:
    """What every wearer is told."""
    return Section("For the wearer", steps=tuple(sentence_case(caution) for caution in cautions))
