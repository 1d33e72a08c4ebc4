"""The pages of words: ordered girths, alteration chart, checks, and which tiles carry which piece."""

from __future__ import annotations

from collections.abc import Sequence

from coutil.alter import Plan
from coutil.check import Finding, Verdict
from coutil.measure import Unit
from coutil.pattern import Style
from coutil.sheet._flow import Column, Part, heading, paragraph, table
from coutil.sheet._pattern_sheet import PatternSheet
from coutil.sheet._piece_label import PrintOptions, allowance_words, head_words, size_words
from coutil.speech import sentence
from coutil.tables import chart_table, check_table, girth_table

PIECES = (Column(8, True), Column(30), Column(58), Column(58), Column(36))
GIRTHS = (Column(34), *[Column(24, True)] * 4, Column(36, True))
CHART = (Column(40), Column(24, True), Column(24, True), Column(24, True), Column(78))
CHECKS = (Column(44), Column(19, True), Column(15, True), Column(17), Column(32), Column(63))

# Verdicts that a reader must not pass over are set in the accent colour.
MARKED = frozenset(verdict.value for verdict in Verdict if verdict is not Verdict.PASS)

GIRTHS_NOTE = "What the pieces add up to: body and ease, less reduction and lacing gap.  Full girth (half)."
CHART_NOTE = "Full girth first, the half in brackets.  What is left or still missing stands with its row."


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
        *_pieces(sheet, options.unit, width),
        *([] if plan is None else _plan(plan, options.unit, width)),
        *([] if not findings else _checks(findings, options.unit, width)),
    ]


def _pieces(sheet: PatternSheet, unit: Unit, width: float) -> list[Part]:
    rows = [("no.", "piece", "cut", "allowance", "tiles")]
    for i, copy in enumerate(sheet.copies):
        allowance = "; ".join(allowance_words(copy.piece, copy.layer, unit))
        tiles = " ".join(tile.label for tile in sheet.tiles_of(i))
        rows.append((str(i + 1), copy.piece.title, copy.cut, allowance, tiles))
    return [heading("Pieces and their tiles"), Part(table(rows, PIECES, width))]


def _plan(plan: Plan, unit: Unit, width: float) -> list[Part]:
    girths = [Part(paragraph(GIRTHS_NOTE), below=1.0), Part(table(girth_table(plan, unit), GIRTHS, width))]
    chart = [row[1:] for row in chart_table(plan, unit)]
    return [
        *([heading("Girths ordered"), *girths] if plan.girths else []),
        heading("Alteration chart"),
        Part(paragraph(CHART_NOTE), below=1.0),
        Part(table(chart, CHART, width)),
        *(Part(paragraph(sentence(warning, unit)), above=1.0) for warning in plan.warnings),
    ]


def _checks(findings: Sequence[Finding], unit: Unit, width: float) -> list[Part]:
    return [heading("Checks"), Part(table(check_table(findings, unit), CHECKS, width, MARKED))]
