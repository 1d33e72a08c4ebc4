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
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from coutil.sheet._copies import without_holes
from coutil.sheet._drawing import GREY, Line, Moved, Pen, fitted, group, text_box, text_width
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
LONGEST_CAPTION_MM = 90.0
NEIGHBOUR_MM = 2.2

# A crowded tile bears a smaller name, the first that finds room.
SMALLER_NAMES_MM = (NAME_MM, 4.5, 3.0)

# Places tried for the tile's name, across and down, and for the neighbour's name along a joint.
PLACES = (17, 33)
JOINT_PLACES = np.concatenate([np.linspace(0.3, 0.92, 24), np.linspace(0.27, 0.03, 10)])


@dataclass(frozen=True, slots=True)
class Joint:
    """One side on which a tile is joined: from `start` to `end` on the page, mm, and the neighbour's name."""

    start: tuple[float, float]
    end: tuple[float, float]
    trimmed: bool
    neighbour: str


@dataclass(frozen=True, slots=True)
class Name:
    """The tile's name at the head of its captions: upper left corner and capital height, mm."""

    corner: tuple[float, float]
    height: float
    captions: tuple[str, ...]


def draw_tile(canvas: Any, sheet: PatternSheet, tile: Tile, captions: Sequence[str]) -> None:
    """Draws the tile on the page; `captions` stand beneath its name."""
    pen, paper = PdfPen(canvas), sheet.paper
    canvas.saveState()
    _clip(canvas, paper)
    with group(pen, "joining"):
        draw_joining(pen, sheet, tile, captions)
    for part in sheet.parts_on(tile):
        left, bottom = tile.box[:2]
        part.drawing.replay(Moved(pen, paper.margin - left, paper.margin - bottom))
    canvas.restoreState()


def draw_joining(pen: Pen, sheet: PatternSheet, tile: Tile, captions: Sequence[str]) -> None:
    """Joints with their crosses and neighbours, name and captions, all clear of what is drawn of pieces."""
    drawn = _drawn_on(sheet, tile)
    shapely.prepare(drawn)
    # Outside the pieces, where there is room; else between their lines.
    pieces = without_holes(drawn)
    lines = tuple(fitted(line, CAPTION_MM, LONGEST_CAPTION_MM, CAPTION_MM)[0] for line in captions)
    name = _name_place(sheet, tile, pieces, lines) or _name_place(sheet, tile, drawn, lines)
    if name is not None:
        _write_name(pen, tile, name)
    for joint in joints_of(sheet, tile):
        _draw_joint(pen, joint, drawn)


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


def _draw_joint(pen: Pen, joint: Joint, drawn: BaseGeometry) -> None:
    start, end = np.array(joint.start), np.array(joint.end)
    along = (end - start) / np.linalg.norm(end - start)
    pen.polyline(np.array([start - CROSS_ARM_MM * along, end + CROSS_ARM_MM * along]), _line(joint))
    for place in (start, (start + end) / 2, end):
        _draw_cross(pen, place)
    _write_neighbour(pen, joint, drawn)


def _line(joint: Joint) -> Line:
    return TRIM if joint.trimmed else LAY_ON


def _draw_cross(pen: Pen, place: NDArray[np.float64]) -> None:
    for arm in (np.array([CROSS_ARM_MM, 0.0]), np.array([0.0, CROSS_ARM_MM])):
        pen.polyline(np.array([place - arm, place + arm]), CROSS)


def _write_neighbour(pen: Pen, joint: Joint, drawn: BaseGeometry) -> None:
    """The neighbour's name in the half strip that is cut away or covered, at the first place that is free."""
    words = f"{'trim, lay on' if joint.trimmed else 'under'} {joint.neighbour}"
    start, end = np.array(joint.start), np.array(joint.end)
    upright = joint.start[0] == joint.end[0]
    angle = 90.0 if upright else 0.0
    middle = shapely.Point((start + end) / 2).buffer(CROSS_ARM_MM)
    for share in JOINT_PLACES:
        place = start + share * (end - start) + _into_strip(joint, upright)
        at = (float(place[0]), float(place[1]))
        room = Polygon(text_box(at, words, NEIGHBOUR_MM, angle))
        if not room.intersects(drawn) and not room.intersects(middle):
            pen.text(at, words, NEIGHBOUR_MM, angle=angle, colour=GREY)
            return


def _into_strip(joint: Joint, upright: bool) -> NDArray[np.float64]:
    """From the joint to the baseline: text leans with the joint, its capitals inside the strip beyond it."""
    low_side = joint.trimmed if upright else not joint.trimmed
    away = np.array([1.0, 0.0]) if upright else np.array([0.0, 1.0])
    away = -away if low_side else away
    capitals_point = np.array([-1.0, 0.0]) if upright else np.array([0.0, 1.0])
    return away * (1.2 if away @ capitals_point > 0 else 1.2 + NEIGHBOUR_MM)


def _name_place(sheet: PatternSheet, tile: Tile, drawn: BaseGeometry, captions: tuple[str, ...]) -> Name | None:
    """Where nothing is drawn: with all captions, with the last, alone, smaller; None where there is no room."""
    for lines in (captions, captions[-1:], ()):
        for height in SMALLER_NAMES_MM:
            corner = _free_place(sheet.paper, drawn, _name_size(tile.label, height, lines))
            if corner is not None:
                return Name(corner, height, lines)
    return None


def _write_name(pen: Pen, tile: Tile, name: Name) -> None:
    x, y = name.corner
    pen.text((x, y - name.height), tile.label, name.height, colour=GREY)
    for i, line in enumerate(name.captions):
        pen.text((x, y - _below_name(name.height) - i * CAPTION_STEP_MM), line, CAPTION_MM, colour=GREY)


def _name_size(label: str, height: float, lines: Sequence[str]) -> tuple[float, float]:
    width = max([text_width(label, height), *(text_width(line, CAPTION_MM) for line in lines)])
    return width, _below_name(height) + len(lines) * CAPTION_STEP_MM


def _below_name(height: float) -> float:
    """From the name's top to the first caption's baseline, a third of the name kept free below it."""
    return height * 4 / 3 + CAPTION_MM + 0.3


def _inset(paper: Paper) -> float:
    """From the sheet's edge to the room between the joining marks."""
    return paper.margin + paper.overlap / 2 + CROSS_ARM_MM + 1


def _free_place(paper: Paper, drawn: BaseGeometry, size: tuple[float, float]) -> tuple[float, float] | None:
    """Where the upper left corner of a block lies clear of all that is drawn: the first from the top."""
    (width, height), inset = size, _inset(paper)
    if width > paper.width - 2 * inset or height > paper.height - 2 * inset:
        return None
    xs = np.linspace(inset, paper.width - inset - width, PLACES[0])
    ys = np.linspace(paper.height - inset, inset + height, PLACES[1])
    places = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    boxes = shapely.box(places[:, 0], places[:, 1] - height, places[:, 0] + width, places[:, 1])
    free = places[~shapely.intersects(drawn, boxes)]
    return (float(free[0, 0]), float(free[0, 1])) if len(free) else None


def _drawn_on(sheet: PatternSheet, tile: Tile) -> BaseGeometry:
    """All that is drawn of parts, in the page's own coordinates."""
    margin, (left, bottom) = sheet.paper.margin, tile.box[:2]
    lying = shapely.union_all([part.shape for part in sheet.parts_on(tile)])
    return translate(lying, margin - left, margin - bottom)
