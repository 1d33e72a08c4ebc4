"""One page a tile: the pieces clipped at the printable area, joining marks and the tile's name.

Neighbours share a strip.  Its middle line is drawn on both: solid on the tile that is trimmed there (the one
to the right, the one below), dashed on the tile it is laid upon.  The crosses on it then meet.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from coutil.sheet._drawing import GREY, Line, Moved, Pen, text_width
from coutil.sheet._paper import Paper
from coutil.sheet._pattern_sheet import PatternSheet
from coutil.sheet._pdf_pen import POINTS_PER_MM, PdfPen
from coutil.sheet._tiles import Tile

TRIM = Line("trim", 0.15, (), GREY)
LAY_ON = Line("lay on", 0.15, (2.0, 2.0), GREY)
CROSS = Line("cross", 0.2)
CROSS_ARM_MM = 2.5

NAME_MM = 7.0
CAPTION_MM = 2.0
CAPTION_STEP_MM = 3.6
NEIGHBOUR_MM = 2.2

# Places tried for the tile's name, across and down.
PLACES = (9, 17)


@dataclass(frozen=True, slots=True)
class Joint:
    """One side on which a tile is joined: from `start` to `end` on the page, mm, and the neighbour's name."""

    start: tuple[float, float]
    end: tuple[float, float]
    trimmed: bool
    neighbour: str


def draw_tile(canvas: Any, sheet: PatternSheet, tile: Tile, captions: Sequence[str]) -> None:
    """Draws the tile on the page; `captions` stand beneath its name."""
    pen, paper = PdfPen(canvas), sheet.paper
    canvas.saveState()
    _clip(canvas, paper)
    _write_name(pen, sheet, tile, captions)
    for joint in joints_of(sheet, tile):
        _draw_joint(pen, joint)
    for i in sheet.copies_on(tile):
        (x, y), (left, bottom) = sheet.packing.corners[i], tile.box[:2]
        sheet.copies[i].drawing.replay(Moved(pen, paper.margin + x - left, paper.margin + y - bottom))
    canvas.restoreState()


def _clip(canvas: Any, paper: Paper) -> None:
    path, margin = canvas.beginPath(), paper.margin * POINTS_PER_MM
    path.rect(margin, margin, *(side * POINTS_PER_MM for side in paper.printable))
    canvas.clipPath(path, stroke=0, fill=0)


def joints_of(sheet: PatternSheet, tile: Tile) -> Iterator[Joint]:
    """The joints with those neighbours that are printed."""
    (width, height), half = sheet.paper.printable, sheet.paper.overlap / 2
    low_x = low_y = sheet.paper.margin + half
    high_x, high_y = low_x + width - 2 * half, low_y + height - 2 * half
    corners = ((low_x, low_y), (low_x, high_y), (high_x, low_y), (high_x, high_y))
    sides = {(0, -1): (0, 1), (-1, 0): (1, 3), (0, 1): (2, 3), (1, 0): (0, 2)}
    for other in sheet.printed:
        ends = sides.get((other.row - tile.row, other.column - tile.column))
        if ends is not None:
            before = (other.row, other.column) < (tile.row, tile.column)
            yield Joint(corners[ends[0]], corners[ends[1]], before, other.label)


def _draw_joint(pen: Pen, joint: Joint) -> None:
    start, end = np.array(joint.start), np.array(joint.end)
    along = (end - start) / np.linalg.norm(end - start)
    pen.polyline(np.array([start - CROSS_ARM_MM * along, end + CROSS_ARM_MM * along]), _line(joint))
    for place in (start, (start + end) / 2, end):
        _draw_cross(pen, place)
    _write_neighbour(pen, joint, start + 0.3 * (end - start), along)


def _line(joint: Joint) -> Line:
    return TRIM if joint.trimmed else LAY_ON


def _draw_cross(pen: Pen, place: NDArray[np.float64]) -> None:
    for arm in (np.array([CROSS_ARM_MM, 0.0]), np.array([0.0, CROSS_ARM_MM])):
        pen.polyline(np.array([place - arm, place + arm]), CROSS)


def _write_neighbour(pen: Pen, joint: Joint, place: NDArray[np.float64], along: NDArray[np.float64]) -> None:
    """The neighbour's name in the half strip that is cut away or covered."""
    across = np.array([along[1], along[0]])
    away = -across if _is_low_side(joint) else across
    upright = bool(abs(along[1]) > 0.5)
    # Text leans with the joint; its baseline is the strip's outer or inner side, whichever is lower for it.
    base = 1.2 if (away @ _up(upright)) > 0 else 1.2 + NEIGHBOUR_MM
    x, y = place + away * base
    words = f"{'trim, lay on' if joint.trimmed else 'under'} {joint.neighbour}"
    angle = 90.0 if upright else 0.0
    pen.text((float(x), float(y)), words, NEIGHBOUR_MM, angle=angle, colour=GREY)


def _up(upright: bool) -> NDArray[np.float64]:
    """Where capitals point, of text along an upright joint or a level one."""
    return np.array([-1.0, 0.0]) if upright else np.array([0.0, 1.0])


def _is_low_side(joint: Joint) -> bool:
    """Whether the strip beyond the joint lies to its left or below it: left neighbours, neighbours below."""
    upright = joint.start[0] == joint.end[0]
    return joint.trimmed if upright else not joint.trimmed


def _write_name(pen: Pen, sheet: PatternSheet, tile: Tile, captions: Sequence[str]) -> None:
    """The name and the captions where nothing is drawn; without captions where there is no room for them."""
    drawn = _drawn_on(sheet, tile)
    for lines in (captions, captions[-1:], ()):
        place = _free_place(sheet.paper, drawn, _name_size(tile.label, lines))
        if place is not None:
            break
    x, y = place or _first_place(sheet.paper)
    pen.text((x, y - NAME_MM), tile.label, NAME_MM, colour=GREY)
    for i, line in enumerate(lines):
        pen.text((x, y - NAME_MM - (i + 1) * CAPTION_STEP_MM), line, CAPTION_MM, colour=GREY)


def _name_size(label: str, lines: Sequence[str]) -> tuple[float, float]:
    width = max([text_width(label, NAME_MM), *(text_width(line, CAPTION_MM) for line in lines)])
    return width, NAME_MM + len(lines) * CAPTION_STEP_MM + 1


def _first_place(paper: Paper) -> tuple[float, float]:
    """The upper left corner of the room between the joining marks."""
    inset = paper.margin + paper.overlap / 2 + CROSS_ARM_MM + 1
    return inset, paper.height - inset


def _free_place(paper: Paper, drawn: BaseGeometry, size: tuple[float, float]) -> tuple[float, float] | None:
    """Where the upper left corner of a block lies clear of all that is drawn: the first from the top."""
    (width, height), (left, top) = size, _first_place(paper)
    xs = np.linspace(left, paper.width - left - width, PLACES[0])
    ys = np.linspace(top, paper.height - top + height, PLACES[1])
    places = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    boxes = shapely.box(places[:, 0], places[:, 1] - height, places[:, 0] + width, places[:, 1])
    free = places[~shapely.intersects(boxes, drawn)]
    return (float(free[0, 0]), float(free[0, 1])) if len(free) else None


def _drawn_on(sheet: PatternSheet, tile: Tile) -> BaseGeometry:
    """All that is drawn of pieces, in the page's own coordinates."""
    margin, (left, bottom) = sheet.paper.margin, tile.box[:2]
    corners = sheet.packing.corners
    return shapely.union_all(
        [
            translate(sheet.copies[i].shape, corners[i][0] - left + margin, corners[i][1] - bottom + margin)
            for i in sheet.copies_on(tile)
        ]
    )
