"""The pattern as a PDF at true size: test page, pages of words, one page for each tile with a line on it."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

from coutil.alter import Plan
from coutil.check import Finding
from coutil.pattern import Style
from coutil.sheet._drawing import GREY
from coutil.sheet._flow import flow
from coutil.sheet._paper import Paper, paper_of
from coutil.sheet._pattern_sheet import PatternSheet, pattern_sheet
from coutil.sheet._pdf_pen import POINTS_PER_MM, PdfPen
from coutil.sheet._piece_label import PrintOptions, head_words
from coutil.sheet._report import report
from coutil.sheet._test_page import PageCount, draw_test_page
from coutil.sheet._tile_pages import draw_tile

FOOT_TEXT_MM = 1.9

NO_OPTIONS = PrintOptions()


def print_pdf(
    style: Style,
    plan: Plan | None = None,
    findings: Sequence[Finding] = (),
    paper: str = "a4",
    options: PrintOptions = NO_OPTIONS,
) -> bytes:
    """The PDF: page 1 to test the printer with, then pieces, chart and checks, then the tiles.

    `paper` is a4 or letter.  The same input gives the same bytes.
    Raises BadInput for a paper or layer that is not known.
    """
    sheet = pattern_sheet(style, paper_of(paper), options)
    count = PageCount(_report_pages(style, plan, findings, sheet, options), len(sheet.printed))
    content = io.BytesIO()
    canvas = _canvas(content, sheet.paper, style, options)
    draw_test_page(canvas, style, sheet, options, count)
    _end_page(canvas, sheet.paper, style, options, count)
    story = report(style, plan, findings, sheet, options)
    flow(canvas, story, sheet.paper, lambda: _end_page(canvas, sheet.paper, style, options, count))
    _draw_tiles(canvas, style, sheet, options, count)
    canvas.save()
    return content.getvalue()


def _report_pages(
    style: Style, plan: Plan | None, findings: Sequence[Finding], sheet: PatternSheet, options: PrintOptions
) -> int:
    """How many pages the words take: set once on a canvas that is thrown away."""
    canvas = _canvas(io.BytesIO(), sheet.paper, style, options)
    return flow(canvas, report(style, plan, findings, sheet, options), sheet.paper, canvas.showPage)


def _canvas(content: io.BytesIO, paper: Paper, style: Style, options: PrintOptions) -> Any:
    from reportlab.pdfgen.canvas import Canvas

    size = (paper.width * POINTS_PER_MM, paper.height * POINTS_PER_MM)
    # Invariant: without the clock and random marks the same pattern always gives the same file.
    canvas = Canvas(content, pagesize=size, pageCompression=1, invariant=1, trimBox=(0, 0, *size))
    canvas.setTitle(" · ".join(word for word in (style.title, head_words(options)) if word))
    canvas.setCreator("coutil")
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas


def _draw_tiles(canvas: Any, style: Style, sheet: PatternSheet, options: PrintOptions, count: PageCount) -> None:
    heads = (style.title, head_words(options))
    for i, tile in enumerate(sheet.printed):
        place = f"row {tile.label.rstrip('0123456789')}, column {tile.column + 1}"
        page = f"page {count.first_tile + i} of {count.total}"
        draw_tile(canvas, sheet, tile, [word for word in (*heads, place, page) if word])
        canvas.showPage()


def _end_page(canvas: Any, paper: Paper, style: Style, options: PrintOptions, count: PageCount) -> None:
    """The foot of a page of words, inside the printable area; then the next page."""
    pen, y = PdfPen(canvas), paper.margin + 1.0
    words = " · ".join(word for word in (style.title, head_words(options)) if word)
    pages = f"page {canvas.getPageNumber()} of {count.total}"
    pen.text((paper.margin, y), words, FOOT_TEXT_MM, colour=GREY)
    pen.text((paper.width - paper.margin, y), pages, FOOT_TEXT_MM, anchor="end", colour=GREY)
    canvas.showPage()
