"""The pages of words: ordered girths, alteration chart, checks, and which tiles carry which piece."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coutil.alter import Plan
from coutil.check import Finding, Verdict
from coutil.measure import Unit
from coutil.pattern import Layer, Style
from coutil.sheet._flow import Column, Part, heading, paragraph, table
from coutil.sheet._pattern_sheet import PatternSheet
from coutil.sheet._piece_label import PrintOptions, allowance_words, head_words, size_words
from coutil.speech import in_unit, sentence
from coutil.tables import chart_note, chart_table, check_table, girth_table

PIECES = (Column(8, True), Column(30), Column(58), Column(58), Column(36))
GIRTHS = (Column(34), *[Column(24, True)] * 4, Column(36, True))
CHART = (Column(29), *[Column(28, True)] * 2, Column(27, True), Column(13, True), Column(16, True), Column(49))
CHECKS = (Column(44), Column(19, True), Column(15, True), Column(17), Column(32), Column(63))

# Verdicts that a reader must not pass over are set in the accent colour.
MARKED = frozenset(verdict.value for verdict in Verdict if verdict is not Verdict.PASS)

GIRTHS_NOTE = "What the pieces add up to: body and ease, less reduction and lacing gap.  Full girth (half)."


def report(
    style: Style,
    plan: Plan | None,
    findings: Sequence[Finding],
    sheet: PatternSheet,
    options: PrintOptions,
    width: float,
) -> list[Part]:
    """The story to set, `width` mm wide, without what there is nothing to say about."""
    title = " · ".join(w for w in (style.title, size_words(style.base_chart), head_words(options)) if w)
    return [
        Part(paragraph(title, 9.0), below=1.0),
        *_pieces(style, sheet, options.unit, width),
        *([] if plan is None else _plan(plan, style.sides, options.unit, width)),
        *([] if not findings else _checks(findings, options.unit, width)),
    ]


def _pieces(style: Style, sheet: PatternSheet, unit: Unit, width: float) -> list[Part]:
    rows = [("no.", "piece", "cut", "allowance", "tiles")]
    for i, copy in enumerate(sheet.copies):
        allowance = "; ".join(allowance_words(copy.piece, copy.layer, unit))
        tiles = " ".join(tile.label for tile in sheet.tiles_of(i))
        rows.append((str(i + 1), copy.piece.title, copy.cut, allowance, tiles))
    notes = [Part(paragraph(note), above=1.0) for note in _shared_lines(style, sheet, unit)]
    return [heading("Pieces and their tiles"), Part(table(rows, PIECES, width)), *notes]


def _shared_lines(style: Style, sheet: PatternSheet, unit: Unit) -> Iterator[str]:
    """By how much the layers that are cut with another layer's printed line differ from it."""
    printed = {copy.layer_name for copy in sheet.copies}
    own = sheet.copies[0].layer if sheet.copies else None
    if own is None or not own.allowance:
        return
    others = [layer for layer in style.layers if layer.allowance and layer.name not in printed]
    words = [f"{layer.name.replace('_', ' ')} {told}" for layer in others if (told := _beside(layer, own, unit))]
    if words:
        yield (
            f"Printed is the cut line of {own.name.replace('_', ' ')}; {'; '.join(words)}.  By itself a layer is "
            "printed with its own line."
        )


def _beside(layer: Layer, own: Layer, unit: Unit) -> str:
    """Where the layer's cut line runs beside the one that is printed; "" where it is the same."""
    at_seams, at_edges = layer.turn - own.turn, layer.turn_at_edges - own.turn_at_edges
    if not at_seams and not at_edges:
        return ""
    if at_seams == at_edges:
        return _aside(at_seams, unit)
    return f"{_aside(at_seams, unit)} at seams, {_aside(at_edges, unit)} at the garment's edges"


def _aside(mm: float, unit: Unit) -> str:
    if not mm:
        return "on it"
    return f"{in_unit(f'{abs(mm):g} mm', unit)} {'inside' if mm < 0 else 'outside'} it"


def _plan(plan: Plan, sides: int, unit: Unit, width: float) -> list[Part]:
    girths = [Part(paragraph(GIRTHS_NOTE), below=1.0), Part(table(girth_table(plan, unit), GIRTHS, width))]
    chart = [row[1:] for row in chart_table(plan, unit, sides)]
    return [
        *([heading("Girths ordered"), *girths] if plan.girths else []),
        heading("Alteration chart"),
        Part(paragraph(chart_note(unit, sides)), below=1.0),
        Part(table(chart, CHART, width)),
        *(Part(paragraph(sentence(warning, unit)), above=1.0) for warning in plan.warnings),
    ]


def _checks(findings: Sequence[Finding], unit: Unit, width: float) -> list[Part]:
    return [heading("Checks"), Part(table(check_table(findings, unit), CHECKS, width, MARKED))]
