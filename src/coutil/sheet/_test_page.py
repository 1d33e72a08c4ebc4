"""The first page: squares to measure, how to print and join, the map of the tiles, cautions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from coutil.pattern import Style
from coutil.sheet._drawing import GREY, Colour, Floats, Line, Pen, text_width
from coutil.sheet._flow import paragraph, set_in_box
from coutil.sheet._paper import Paper
from coutil.sheet._pattern_sheet import PatternSheet
from coutil.sheet._pdf_pen import POINTS_PER_MM, PdfPen
from coutil.sheet._piece_label import PrintOptions, head_words, size_words
from coutil.sheet._tiles import Tile

SQUARE = Line("test square", 0.2)
TICK = Line("tick", 0.2)
OUTLINE = Line("map outline", 0.15)
CELL = Line("map tile", 0.15, (), GREY)
# Tiles that are not printed, in the map; about a fifth black.
LEFT_OUT = 0.82
# Beneath the outlines: legible, but lighter than any line.
FAINT: Colour = (120, 165, 172)

SQUARE_MM, INCH_MM = 100.0, 25.4
TICK_MM = 3.0
GAP_MM = 7.0
# Squares and map stand so far inside the printable area that their whole line is printed.
INSET_MM = 1.0
HEAD_MM = 24.0
# At most, so that cautions find room below the map.
MAP_HEIGHT_MM = 92.0
CELL_TEXT_MM = 2.6

TOLERANCE_MM = 0.2

HEADS_PT, WORDS_PT, NOTES_PT = 11.0, 8.5, 7.0


@dataclass(frozen=True, slots=True)
class PageCount:
    """How the pages of the file are shared out: one test page, then reports, then tiles."""

    reports: int
    tiles: int

    @property
    def total(self) -> int:
        """All pages."""
        return 1 + self.reports + self.tiles

    @property
    def first_tile(self) -> int:
        """The number of the page with the first tile."""
        return 2 + self.reports


def draw_test_page(canvas: Any, style: Style, sheet: PatternSheet, options: PrintOptions, count: PageCount) -> None:
    """Draws everything on the canvas's current page."""
    pen, paper = PdfPen(canvas), sheet.paper
    left, top = paper.margin + INSET_MM, paper.height - paper.margin
    _draw_head(canvas, style, paper, options, count)
    upper, lower = top - HEAD_MM - SQUARE_MM, top - HEAD_MM - SQUARE_MM - GAP_MM - 4 * INCH_MM
    _draw_square(pen, left, upper, SQUARE_MM, 10.0)
    _draw_square(pen, left, lower, 4 * INCH_MM, INCH_MM)
    _write(canvas, _measuring(), left, upper + SQUARE_MM)
    _write(canvas, _joining(paper), left, lower + 4 * INCH_MM)
    side = left + 4 * INCH_MM + GAP_MM
    _draw_side(canvas, sheet, options, count, side)


def _draw_head(canvas: Any, style: Style, paper: Paper, options: PrintOptions, count: PageCount) -> None:
    words = [head_words(options), size_words(style.base_chart), f"{paper.name}, {count.total} pages"]
    line = " · ".join(word for word in words if word)
    story = [paragraph(style.title, 15.0), paragraph(line, 9.0), paragraph(_contents(count), 7.5)]
    set_in_box(canvas, story, paper.margin, paper.height - paper.margin, paper.printable[0])


def _contents(count: PageCount) -> str:
    last = count.total
    return (
        f"Page 1: test squares and map.  Pages {_span(2, 1 + count.reports)}: pieces, chart, checks.  "
        f"Pages {_span(count.first_tile, last)}: the pattern at true size, {count.tiles} tiles."
    )


def _span(first: int, last: int) -> str:
    return str(first) if first == last else f"{first} to {last}"


def _draw_square(pen: Pen, left: float, bottom: float, side: float, step: float) -> None:
    """A square from (left, bottom) with a tick inside at every step on all four sides."""
    corner = np.array([left, bottom])
    pen.polyline(_rectangle(side, side) + corner, SQUARE, closed=True)
    for place in np.arange(step, side - step / 2, step):
        for start, end in _ticks(float(place), side):
            pen.polyline(corner + np.array([start, end]), TICK)


def _rectangle(width: float, height: float) -> Floats:
    return np.array([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)])


def _ticks(place: float, side: float) -> tuple[tuple[tuple[float, float], tuple[float, float]], ...]:
    inner = side - TICK_MM
    return (
        ((place, 0.0), (place, TICK_MM)),
        ((place, side), (place, inner)),
        ((0.0, place), (TICK_MM, place)),
        ((side, place), (inner, place)),
    )


def _write(canvas: Any, story: Sequence[Any], left: float, top: float) -> None:
    """Words inside a square, clear of its ticks."""
    inset = TICK_MM + 4.0
    set_in_box(canvas, story, left + inset, top - inset, SQUARE_MM - 2 * inset)


def _measuring() -> list[Any]:
    words = (
        "Print this page first, at 100 per cent (actual size), never fitted to the page.",
        "Measure the square both ways with a steel rule.  The ticks stand 10 mm apart, in the square below 1 in.",
        f"More than {TOLERANCE_MM:g} mm off on 100 mm: switch off every scaling in the printer's window and "
        "print again, or rescale by 100 divided by what you measured.",
        "Cut nothing before the square is right: 2 mm off on 100 make a waist of 68 cm 13.6 mm wrong.",
    )
    return [paragraph("This square: 100 mm", HEADS_PT), *(paragraph(line, WORDS_PT) for line in words)]


def _joining(paper: Paper) -> list[Any]:
    across, down = paper.step
    words = (
        "Joining: each tile bears its row as a letter, from the top, and its column as a number, from the "
        "left.  Trim a tile at its solid grey lines (left and upper side), lay it upon its neighbour's "
        "dashed line until the crosses meet, and glue.",
        "Check: on joined tiles the crosses at the corners stand "
        f"{across:g} mm apart across and {down:g} mm down, over two tiles {2 * across:g} and "
        f"{2 * down:g} mm.",
        "Thick line: stitching line.  Thin line: cut line.  Dash and dot: level.  Double arrow: grain.  "
        "Crossed circle: bust point.  Short strokes across the edge: notches.",
    )
    return [paragraph("This square: 4 in", HEADS_PT), *(paragraph(line, WORDS_PT) for line in words)]


def _draw_side(canvas: Any, sheet: PatternSheet, options: PrintOptions, count: PageCount, left: float) -> None:
    """The map and, below it, the cautions, in the column right of the squares."""
    paper = sheet.paper
    width, top = paper.width - paper.margin - INSET_MM - left, paper.height - paper.margin - HEAD_MM
    note = "With the page that carries each.  Grey tiles hold nothing and are not printed."
    y = set_in_box(canvas, [paragraph("Map of the tiles", HEADS_PT), paragraph(note, NOTES_PT)], left, top, width)
    tile_map = _map_in(sheet, count, (left, y - 1.0), width)
    tile_map.draw(canvas)
    if options.cautions:
        words = [paragraph(caution, NOTES_PT) for caution in options.cautions]
        set_in_box(canvas, [paragraph("Cautions", HEADS_PT), *words], left, tile_map.bottom - 4.0, width)


@dataclass(frozen=True, slots=True)
class TileMap:
    """The tiles, small, with the outlines of the pieces: `corner` is its upper left one on the page, mm.

    A tile's cell shows only the step, half an overlap inside the tile, so that cells do not overlap.
    """

    sheet: PatternSheet
    pages: Mapping[Tile, int]
    corner: tuple[float, float]
    scale: float

    @property
    def cell(self) -> Floats:
        """Width and height of one cell, mm."""
        return np.array(self.sheet.paper.step) * self.scale

    @property
    def bottom(self) -> float:
        """Where the map ends on the page, mm."""
        return self.corner[1] - (self.sheet.tiles[-1].row + 1) * float(self.cell[1])

    def draw(self, canvas: Any) -> None:
        """Cells first, outlines over them."""
        for tile in self.sheet.tiles:
            self._draw_cell(canvas, tile)
        for copy, place in zip(self.sheet.copies, self.sheet.packing.corners, strict=True):
            PdfPen(canvas).polyline(self._on_page(copy.outline + np.array(place)), OUTLINE)

    def _on_page(self, on_sheet: Floats) -> Floats:
        half, height = self.sheet.paper.overlap / 2, self.sheet.packing.height
        shifted = on_sheet + np.array([-half, half - height])
        return np.asarray(shifted * self.scale + np.array(self.corner))

    def _draw_cell(self, canvas: Any, tile: Tile) -> None:
        width, height = self.cell
        corner = np.array(self.corner) + self.cell * np.array([tile.column, -tile.row - 1])
        canvas.setFillGray(1.0 if tile in self.pages else LEFT_OUT)
        canvas.rect(*(side * POINTS_PER_MM for side in (*corner, width, height)), stroke=0, fill=1)
        PdfPen(canvas).polyline(_rectangle(width, height) + corner, CELL, closed=True)
        if tile in self.pages:
            _write_cell(PdfPen(canvas), f"{tile.label}, p {self.pages[tile]}", corner + self.cell / 2, width)


def _write_cell(pen: Pen, words: str, middle: Floats, width: float) -> None:
    letters = min(CELL_TEXT_MM, width * 0.85 / text_width(words, 1.0))
    x, y = middle
    pen.text((float(x), float(y) - letters / 2), words, letters, anchor="middle", colour=FAINT)


def _map_in(sheet: PatternSheet, count: PageCount, corner: tuple[float, float], width: float) -> TileMap:
    """The map as large as the width and MAP_HEIGHT_MM allow."""
    last, (step_x, step_y) = sheet.tiles[-1], sheet.paper.step
    scale = min(width / ((last.column + 1) * step_x), MAP_HEIGHT_MM / ((last.row + 1) * step_y))
    pages = {tile: count.first_tile + i for i, tile in enumerate(sheet.printed)}
    return TileMap(sheet, pages, corner, scale)
