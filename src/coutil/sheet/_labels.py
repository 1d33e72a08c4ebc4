"""Where a piece's label goes: inside, over no line, as large as fits."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.affinity import rotate
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from coutil.sheet._drawing import Floats, Pen, text_box, text_width

# Smaller capitals than this cannot be read on a table at arm's length.
SMALLEST_TEXT_MM = 1.6

LEVEL_TEXT_MM = 2.4

# Above or below its line, a level's name keeps this much distance, mm.
LEVEL_TEXT_GAP_MM = 1.0

# A level's name is tried in this many places along its line.
LEVEL_PLACES = 24

# Room between a label and any line, mm.
CLEARANCE_MM = 1.5

# Lines of a label are this many capital heights apart.
LINE_STEP = 1.7

# Tried in this order: a little smaller and level reads better than full size and upright.
TRIES = ((1.0, 0.0), (0.8, 0.0), (1.0, 90.0), (0.8, 90.0), (0.65, 0.0), (0.65, 90.0), (0.5, 0.0), (0.5, 90.0))

# Places tried each way across the free room.
PLACES = 28


@dataclass(frozen=True, slots=True)
class Place:
    """The middle of a label, the height of its capitals and its angle in degrees."""

    middle: tuple[float, float]
    height: float
    angle: float


@dataclass(frozen=True, slots=True)
class LevelName:
    """A level's name as it is written at its line."""

    position: tuple[float, float]
    string: str
    height: float

    @property
    def area(self) -> Floats:
        """The room it takes, (4, 2)."""
        return text_box(self.position, self.string, self.height)


def level_names(outline: Floats, levels: Mapping[str, Floats], lines: Iterable[Floats]) -> list[LevelName]:
    """A name for each level line, as far left as it crosses nothing: above, else below, else smaller.

    A name that has no room at SMALLEST_TEXT_MM is left out.
    """
    inside = shapely.make_valid(Polygon(outline))
    obstacles = shapely.union_all([LineString(line) for line in [*lines, *levels.values()]])
    room = inside.difference(obstacles.buffer(LEVEL_TEXT_GAP_MM / 2))
    found = (_level_name(name.replace("_", " "), line, room) for name, line in levels.items())
    return [name for name in found if name is not None]


def _level_name(string: str, line: Floats, room: BaseGeometry) -> LevelName | None:
    for height in (LEVEL_TEXT_MM, 0.8 * LEVEL_TEXT_MM, SMALLEST_TEXT_MM):
        for y in (line[0, 1] + LEVEL_TEXT_GAP_MM + height / 3, line[0, 1] - LEVEL_TEXT_GAP_MM - height):
            for x in np.linspace(line[0, 0] + 1, line[1, 0], LEVEL_PLACES):
                name = LevelName((float(x), float(y)), string, height)
                if room.contains(Polygon(name.area)):
                    return name
    return None


def free_room(outline: Floats, lines: Iterable[Floats], taken: Iterable[Floats]) -> BaseGeometry:
    """The inside of the outline (m, 2) that keeps clear of it, of lines and of taken areas (text boxes)."""
    inside = shapely.make_valid(Polygon(outline)).buffer(-2 * CLEARANCE_MM)
    obstacles = [LineString(line) for line in lines] + [Polygon(area) for area in taken]
    return inside.difference(shapely.union_all(obstacles).buffer(CLEARANCE_MM))


def find_place(room: BaseGeometry, lines: tuple[str, ...], height: float) -> Place | None:
    """The place with most air around it at the largest size that fits; None where not even half size does."""
    for scale, angle in TRIES:
        middle = _roomiest(room, rotate(_block(lines, height * scale), angle, origin=(0, 0)))
        if middle is not None:
            return Place(middle, height * scale, angle)
    return None


def _block(lines: tuple[str, ...], height: float) -> Polygon:
    """The label's outline around (0, 0)."""
    width = max(text_width(line, height) for line in lines) / 2
    tall = block_height(len(lines), height) / 2
    return box(-width, -tall, width, tall)


def block_height(count: int, height: float) -> float:
    """How tall a label of so many lines is, with a third of a capital below its last line, mm."""
    return height * (1 + LINE_STEP * (count - 1) + 1 / 3)


def _roomiest(room: BaseGeometry, block: Polygon) -> tuple[float, float] | None:
    if room.is_empty:
        return None
    middles = _grid(room.bounds)
    shapely.prepare(room)
    blocks = shapely.polygons(middles[:, None, :] + shapely.get_coordinates(block))
    fits = shapely.contains_properly(room, blocks)
    if not fits.any():
        return None
    air = shapely.distance(blocks[fits], room.boundary)
    x, y = middles[fits][int(np.argmax(air))]
    return float(x), float(y)


def _grid(bounds: tuple[float, float, float, float]) -> Floats:
    xs, ys = np.linspace(bounds[0], bounds[2], PLACES), np.linspace(bounds[1], bounds[3], 2 * PLACES)
    return np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)


def write_block(pen: Pen, lines: tuple[str, ...], place: Place) -> None:
    """Writes the lines centred at the place, the first at the top."""
    turn = np.radians(place.angle)
    down = np.array([np.sin(turn), -np.cos(turn)]) * place.height
    first = np.array(place.middle) - down * (block_height(len(lines), 1.0) / 2 - 1)
    for i, line in enumerate(lines):
        x, y = first + down * LINE_STEP * i
        pen.text((float(x), float(y)), line, place.height, angle=place.angle, anchor="middle")
