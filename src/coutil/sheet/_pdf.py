"""The pattern as a PDF at true size: test page, map, pages of words, one page for each tile with a line on it."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from coutil.alter import Plan
from coutil.check import Finding
from coutil.pattern import Style
from coutil.sheet._flow import Setting, draw_foot, draw_pages, lay_out
from coutil.sheet._map_page import draw_map_page
from coutil.sheet._paper import Paper, office_paper, paper_of, rescaled
from coutil.sheet._pattern_sheet import PatternSheet, pattern_sheet
from coutil.sheet._pdf_pen import LAYERS, POINTS_PER_MM, with_layers
from coutil.sheet._piece_label import PrintOptions, head_words
from coutil.sheet._report import report
from coutil.sheet._test_page import PageCount, draw_test_page
from coutil.sheet._tile_pages import draw_tile
from coutil.sheet._tiles import Tile

NO_OPTIONS = PrintOptions()


def print_pdf(
    style: Style,
    plan: Plan | None = None,
    findings: Sequence[Finding] = (),
    paper: str = "a4",
    options: PrintOptions = NO_OPTIONS,
    base: Style | None = None,
) -> bytes:
    """The PDF: page 1 to test the printer with, then map, pieces, chart and checks, then the tiles.

    `paper` is a4, letter, a3, a0, roll: with a width in mm, or single.  The pieces of `base` are drawn dashed
    beneath.  The same input gives the same bytes.  Raises BadInput for a paper or layer that is not known.
    """
    sheet = pattern_sheet(style, paper_for(paper, options), options, base)
    return sheet_pdf(style, sheet, options, plan, findings)


def paper_for(paper: str, options: PrintOptions) -> Paper:
    """The paper, rescaled by what the test square measured; raises BadInput for one that is not known."""
    wanted = paper_of(paper)
    return wanted if options.measured == (100.0, 100.0) else rescaled(wanted, options.measured)


def sheet_pdf(
    style: Style, sheet: PatternSheet, options: PrintOptions, plan: Plan | None, findings: Sequence[Finding]
) -> bytes:
    """The PDF of a sheet that is laid already."""
    content = io.BytesIO()
    words = office_paper(sheet.paper, options.unit == "in")
    canvas = _canvas(content, style, options)
    story = lay_out(canvas, report(style, plan, findings, sheet, options, words.printable[0]), words)
    told = ", ".join(word for word, has in (("pieces", True), ("chart", plan), ("checks", findings)) if has)
    book = _Book(canvas, style, sheet, options, PageCount(len(story), len(sheet.printed), told), words)
    book.draw_words(story)
    book.draw_tiles()
    book.canvas.save()
    return with_layers(content.getvalue(), LAYERS)


def _canvas(content: io.BytesIO, style: Style, options: PrintOptions) -> Any:
    from reportlab.pdfgen.canvas import Canvas

    # Invariant: without the clock and random marks the same pattern always gives the same file.
    # Nothing is packed yet: `with_layers` does that, in a tenth of the time and without a detour through text.
    canvas = Canvas(content, pageCompression=0, invariant=1)
    canvas.setTitle(" · ".join(word for word in (style.title, head_words(options)) if word))
    canvas.setCreator("coutil")
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas


@dataclass(frozen=True, slots=True)
class _Book:
    """The pages in their order: those of words on paper of an office, tiles on the sheet's own paper."""

    canvas: Any
    style: Style
    sheet: PatternSheet
    options: PrintOptions
    count: PageCount
    words: Paper

    def draw_words(self, story: Sequence[Sequence[Setting]]) -> None:
        """Test page, map and report."""
        self._begin(self.words)
        draw_test_page(self.canvas, self.style, self.sheet, self.options, self.count, self.words)
        self._end_words()
        self._begin(self.words)
        pages = {tile: self.count.first_tile + i for i, tile in enumerate(self.sheet.printed)}
        draw_map_page(self.canvas, self.sheet, pages, self.words)
        self._end_words()
        draw_pages(self.canvas, story, self._end_words, lambda: self._begin(self.words))

    def draw_tiles(self) -> None:
        """One page a printed tile."""
        heads = (self.style.title, head_words(self.options))
        for i, tile in enumerate(self.sheet.printed):
            page = f"page {self.count.first_tile + i} of {self.count.total}"
            words = (*heads, _place_words(tile) if len(self.sheet.tiles) > 1 else "", page)
            self._begin(self.sheet.paper)
            draw_tile(self.canvas, self.sheet, tile, [word for word in words if word])
            self.canvas.showPage()

    def _begin(self, paper: Paper) -> None:
        """A page of that paper, on which all that follows is in pattern millimetres."""
        across, down = paper.enlarged
        size = (paper.width * across * POINTS_PER_MM, paper.height * down * POINTS_PER_MM)
        self.canvas.setPageSize(size)
        self.canvas.setTrimBox((0, 0, *size))
        if (across, down) != (1.0, 1.0):
            self.canvas.scale(across, down)

    def _end_words(self) -> None:
        """The foot of a page of words, inside the printable area; then the next page."""
        words = " · ".join(word for word in (self.style.title, head_words(self.options)) if word)
        pages = f"page {self.canvas.getPageNumber()} of {self.count.total}"
        draw_foot(self.canvas, self.words, words, pages)
        self.canvas.showPage()


def _place_words(tile: Tile) -> str:
    return f"row {tile.label.rstrip('0123456789')}, column {tile.column + 1}"
