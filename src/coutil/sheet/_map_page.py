"""The map: every tile small, with the pieces on it by number and the page that carries it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LinearRing, Polygon
from shapely.geometry.base import BaseGeometry

from coutil.sheet._drawing import GREY, Colour, Floats, Line, text_box, text_width
from coutil.sheet._flow import FOOT_MM, paragraph, set_in_box
from coutil.sheet._labels import find_place, write_block
from coutil.sheet._paper import Paper
from coutil.sheet._pattern_sheet import Part, PatternSheet
from coutil.sheet._pdf_pen import POINTS_PER_MM, PdfPen
from coutil.sheet._test_lines import rectangle
from coutil.sheet._tiles import Tile

OUTLINE = Line("map outline", 0.2)
CELL = Line("map tile", 0.15, (), GREY)
# Tiles that are not printed, in the map; about a fifth black.
LEFT_OUT = 0.82
# Beneath the outlines: legible, but lighter than any line.
FAINT: Colour = (90, 140, 148)

CELL_TEXT_MM = 2.4
NAME_MM = 2.8
# A name keeps this far from the outline it stands in.
CLEAR_MM = 0.7
# A tile's label keeps this far from its cell's edge, and is tried in so many places each way.
LABEL_INSET_MM = 1.0
LABEL_PLACES = 9

HEADS_PT, NOTES_PT = 12.0, 8.0


@dataclass(frozen=True, slots=True)
class TileMap:
    """The tiles, small, with the outlines of the pieces: `corner` is its upper left one on the page, mm.

    A tile's cell shows only the step, half an overlap inside the tile, so that cells do not overlap; what lies
    in the half strip around all cells stands outside them.
    """

    sheet: PatternSheet
    pages: Mapping[Tile, int]
    corner: tuple[float, float]
    scale: float

    @property
    def cell(self) -> Floats:
        """Width and height of one cell, mm."""
        return np.array(self.sheet.paper.step) * self.scale

    def draw(self, canvas: Any) -> None:
        """Cells first, outlines over them, then the tiles' labels and the pieces' names where they are free."""
        for tile in self.sheet.tiles:
            self._draw_cell(canvas, tile)
        outlines = [self._on_page(part.outline) for part in self.sheet.parts]
        for outline in outlines:
            PdfPen(canvas).polyline(outline, OUTLINE, closed=True)
        lines = shapely.union_all([LinearRing(outline) for outline in outlines])
        labels = {tile: self._label_at(tile, lines) for tile in self.pages}
        taken = shapely.union_all([Polygon(self._label_room(tile, at)) for tile, at in labels.items()])
        tests = [Polygon(o) for o, part in zip(outlines, self.sheet.parts, strict=True) if part.copy is None]
        for i, (part, outline) in enumerate(zip(self.sheet.parts, outlines, strict=True)):
            _write_name(canvas, part, i + 1, outline, (shapely.union_all([taken, *tests]), self._cell_lines()))
        for tile, at in labels.items():
            words = _cell_words(tile, self.pages[tile])
            PdfPen(canvas).text(at, words, self._label_height(tile), colour=FAINT)

    def _cell_lines(self) -> BaseGeometry:
        """What a name rather does not cross: the tiles' outlines."""
        cells = [LinearRing(rectangle(*self.cell) + self._cell_corner(tile)) for tile in self.sheet.tiles]
        return shapely.union_all(cells).buffer(CLEAR_MM)

    def _on_page(self, on_sheet: Floats) -> Floats:
        half, height = self.sheet.paper.overlap / 2, self.sheet.height
        shifted = on_sheet + np.array([-half, half - height])
        return np.asarray(shifted * self.scale + np.array(self.corner))

    def _cell_corner(self, tile: Tile) -> Floats:
        """The lower left corner."""
        return np.asarray(np.array(self.corner) + self.cell * np.array([tile.column, -tile.row - 1]))

    def _draw_cell(self, canvas: Any, tile: Tile) -> None:
        width, height = self.cell
        corner = self._cell_corner(tile)
        canvas.setFillGray(1.0 if tile in self.pages else LEFT_OUT)
        canvas.rect(*(side * POINTS_PER_MM for side in (*corner, width, height)), stroke=0, fill=1)
        PdfPen(canvas).polyline(rectangle(width, height) + corner, CELL, closed=True)

    def _label_height(self, tile: Tile) -> float:
        return float(min(CELL_TEXT_MM, self.cell[0] * 0.9 / text_width(_cell_words(tile, self.pages[tile]), 1.0)))

    def _label_at(self, tile: Tile, lines: BaseGeometry) -> tuple[float, float]:
        """The upper left of the cell, or the first place from there on where no outline crosses the label."""
        height, room = self._label_height(tile), self.cell - np.array(LABEL_INSET_MM)
        words = text_width(_cell_words(tile, self.pages[tile]), height)
        xs = np.linspace(LABEL_INSET_MM, max(room[0] - words, LABEL_INSET_MM), LABEL_PLACES)
        ys = np.linspace(max(room[1] - height, LABEL_INSET_MM), LABEL_INSET_MM, LABEL_PLACES)
        corner = self._cell_corner(tile)
        places = [(float(corner[0] + x), float(corner[1] + y)) for y in ys for x in xs]
        near = lines.buffer(CLEAR_MM)
        free = (at for at in places if not Polygon(self._label_room(tile, at)).intersects(near))
        return next(free, places[0])

    def _label_room(self, tile: Tile, at: tuple[float, float]) -> Floats:
        return text_box(at, _cell_words(tile, self.pages[tile]), self._label_height(tile))


def _cell_words(tile: Tile, page: int) -> str:
    return f"{tile.label}, p {page}"


def _write_name(
    canvas: Any, part: Part, number: int, outline: Floats, kept: tuple[BaseGeometry, BaseGeometry]
) -> None:
    """Number and title inside the outline; the number alone where the title has no room.

    Both keep clear of the first of `kept`, and of the second where they can.
    """
    if part.copy is None:
        return
    taken, lines = kept
    room = shapely.make_valid(Polygon(outline)).buffer(-CLEAR_MM).difference(taken)
    title = part.copy.piece.title
    foam = () if part.copy.layer is None or part.copy.layer.allowance else (part.copy.layer_name,)
    for words in ((f"{number} {title}", *foam), (str(number),)):
        for free in (room.difference(lines), room):
            place = find_place(free, words, NAME_MM)
            if place is not None:
                write_block(PdfPen(canvas), place)
                return


def draw_map_page(canvas: Any, sheet: PatternSheet, pages: Mapping[Tile, int], paper: Paper) -> None:
    """The map as large as the page allows; `pages` gives the page of every printed tile."""
    left, top, width = paper.margin, paper.height - paper.margin, paper.printable[0]
    note = (
        "Each tile with the page that carries it, the pieces by their numbers in the list of pieces.  "
        "Grey tiles hold nothing and are not printed."
    )
    y = set_in_box(canvas, [paragraph("Map of the tiles", HEADS_PT), paragraph(note, NOTES_PT)], left, top, width)
    last, (step_x, step_y) = sheet.tiles[-1], sheet.paper.step
    height, overlap = y - 2.0 - paper.margin - FOOT_MM, sheet.paper.overlap
    across, down = (last.column + 1) * step_x + overlap, (last.row + 1) * step_y + overlap
    scale = min((width - 2.0) / across, height / down)
    inset = 1.0 + overlap / 2 * scale
    TileMap(sheet, pages, (left + inset, y - inset), scale).draw(canvas)
