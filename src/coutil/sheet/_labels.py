"""Where a piece's label goes: inside, over no line, as large as fits."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.affinity import rotate, translate
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

# Outlines are only looked at here: a tenth of a pen's width is near enough.
LOOK_MM = 0.05

# Lines of a label are this many capital heights apart.
LINE_STEP = 1.7

# Tried in this order: a little smaller and level reads better than full size and upright.
TRIES = ((1.0, 0.0), (0.8, 0.0), (1.0, 90.0), (0.8, 90.0), (0.65, 0.0), (0.65, 90.0), (0.55, 0.0), (0.55, 90.0))

# Smaller still in one block, before it is parted.
SMALLER_TRIES = ((0.5, 0.0), (0.5, 90.0), (0.45, 0.0), (0.45, 90.0))

# A label that finds no room in one block is written in two or three, small.
BLOCKS = (2, 3)
SMALL_TRIES = ((0.65, 0.0), (0.65, 90.0), (0.5, 0.0), (0.5, 90.0))

# Lines are broken at so many letters; where that finds no room, sooner, for a narrow panel.
LINE_LETTERS = (30, 21)

# Far beyond every piece, mm.
BEYOND_MM = 1e5

# The space before a fraction of an inch belongs to the figure: 1 3/4.
_FRACTION = re.compile(r"(?<=\d) (?=\d+/\d)")

# Places tried each way across the free room.
PLACES = 24


@dataclass(frozen=True, slots=True)
class Place:
    """The lines of a label, its middle, the height of its capitals and its angle in degrees."""

    lines: tuple[str, ...]
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


def level_names(
    outline: Floats, levels: Mapping[str, Floats], lines: Iterable[Floats], rooms: Iterable[BaseGeometry] = ()
) -> list[LevelName]:
    """A name for each level line, as far left as it crosses nothing: above, else below, else smaller.

    It stands inside the first of `rooms` that has room for it; where none has, it is left out.
    """
    inside = shapely.make_valid(Polygon(outline)).simplify(LOOK_MM)
    obstacles = shapely.union_all([LineString(line).simplify(LOOK_MM) for line in [*lines, *levels.values()]])
    free = inside.difference(obstacles.buffer(LEVEL_TEXT_GAP_MM / 2))
    kept = [free.intersection(room) for room in rooms] or [free]
    for room in kept:
        shapely.prepare(room)
    found = (_first(_level_name(name.replace("_", " "), line, room) for room in kept) for name, line in levels.items())
    return [name for name in found if name is not None]


def _first(found: Iterable[LevelName | None]) -> LevelName | None:
    return next((name for name in found if name is not None), None)


def _level_name(string: str, line: Floats, room: BaseGeometry) -> LevelName | None:
    for height in (LEVEL_TEXT_MM, 0.8 * LEVEL_TEXT_MM, SMALLEST_TEXT_MM):
        for y in (line[0, 1] + LEVEL_TEXT_GAP_MM + height / 3, line[0, 1] - LEVEL_TEXT_GAP_MM - height):
            places = np.linspace((line[0, 0] + 1, y), (line[1, 0], y), LEVEL_PLACES)
            areas = shapely.polygons(places[:, None, :] + text_box((0.0, 0.0), string, height))
            fitting = np.flatnonzero(shapely.contains(room, areas))
            if len(fitting):
                return LevelName(tuple(places[fitting[0]].tolist()), string, height)
    return None


def free_room(outline: Floats, lines: Iterable[Floats], taken: Iterable[Floats]) -> BaseGeometry:
    """The inside of the outline (m, 2) that keeps clear of it, of lines and of taken areas (text boxes)."""
    inside = shapely.make_valid(Polygon(outline)).simplify(LOOK_MM).buffer(-2 * CLEARANCE_MM, quad_segs=2)
    obstacles = [LineString(line).simplify(LOOK_MM) for line in lines] + [Polygon(area) for area in taken]
    return inside.difference(shapely.union_all(obstacles).buffer(CLEARANCE_MM, quad_segs=2))


def find_places(room: BaseGeometry, words: tuple[str, ...], height: float) -> list[Place]:
    """The label in one block, or in as few as find room, in reading order; [] where none do."""
    whole = find_place(room, words, height, (*TRIES, *SMALLER_TRIES))
    if whole is not None:
        return [whole]
    for blocks in BLOCKS[: len(words) - 1]:
        for scale, angle in SMALL_TRIES:
            places = _in_blocks(room, _parted(words, blocks), height * scale, angle)
            if places:
                return places
    return []


def _parted(words: tuple[str, ...], blocks: int) -> list[tuple[str, ...]]:
    return [tuple(part) for part in np.array_split(np.array(words, dtype=object), blocks)]


def _in_blocks(room: BaseGeometry, parts: Sequence[tuple[str, ...]], height: float, angle: float) -> list[Place]:
    """A place for every part, each below the one before or beside it to the right; [] where one has none."""
    places: list[Place] = []
    for words in parts:
        place = _place(room, words, height, angle)
        if place is None:
            return []
        places.append(place)
        room = room.intersection(_read_next(place))
    return places


def _read_next(place: Place) -> BaseGeometry:
    """Where the eye goes on after a block: all that lies below it, or to its right no higher than its top."""
    _, bottom, right, top = _block(place.lines, place.height).buffer(CLEARANCE_MM).bounds
    below = box(-BEYOND_MM, -BEYOND_MM, BEYOND_MM, bottom)
    beside = box(right, -BEYOND_MM, BEYOND_MM, top)
    turned = rotate(below.union(beside), place.angle, origin=(0, 0))
    return translate(turned, *place.middle)


def find_place(
    room: BaseGeometry, words: tuple[str, ...], height: float, tries: Sequence[tuple[float, float]] = TRIES
) -> Place | None:
    """The place with most air around it at the largest size that fits in one block; None where none does."""
    tried = (_place(room, words, height * scale, angle) for scale, angle in tries)
    return next((place for place in tried if place is not None), None)


def _place(room: BaseGeometry, words: tuple[str, ...], height: float, angle: float) -> Place | None:
    for letters in LINE_LETTERS:
        lines = wrapped(words, letters)
        middle = _roomiest(room, rotate(_block(lines, height), angle, origin=(0, 0)))
        if middle is not None:
            return Place(lines, middle, height, angle)
    return None


def covers(room: BaseGeometry, places: Sequence[Place]) -> bool:
    """Whether every block lies inside the room."""
    return all(room.contains(_turned_block(place)) for place in places)


def _turned_block(place: Place) -> BaseGeometry:
    return translate(rotate(_block(place.lines, place.height), place.angle, origin=(0, 0)), *place.middle)


def wrapped(words: Iterable[str], letters: int = LINE_LETTERS[0]) -> tuple[str, ...]:
    """One line a fact, broken where it is longer than so many letters, never between a figure and its unit."""
    return tuple(line for word in words for part in _facts(word, letters) for line in _broken(part, letters))


def _facts(word: str, letters: int) -> list[str]:
    return [word] if len(word) <= letters else word.split(" · ")


def _broken(words: str, letters: int) -> list[str]:
    bound = words.replace(" mm", "\u00a0mm").replace(" ×", "\u00a0×").replace("× ", "×\u00a0")
    bound = _FRACTION.sub("\u00a0", bound).replace(" in ", "\u00a0in ").replace(" in,", "\u00a0in,")
    return [line.replace("\u00a0", " ") for line in textwrap.wrap(bound, letters)]


def _block(lines: tuple[str, ...], height: float) -> Polygon:
    """The label's outline around (0, 0)."""
    width = max(text_width(line, height) for line in lines) / 2
    tall = block_height(len(lines), height) / 2
    return box(-width, -tall, width, tall)


def block_height(count: int, height: float) -> float:
    """How tall a label of so many lines is, with a third of a capital below its last line, mm."""
    return height * (1 + LINE_STEP * (count - 1) + 1 / 3)


def _roomiest(room: BaseGeometry, block: Polygon) -> tuple[float, float] | None:
    low_x, low_y, high_x, high_y = room.bounds if not room.is_empty else (0.0, 0.0, 0.0, 0.0)
    left, bottom, right, top = block.bounds
    if right - left > high_x - low_x or top - bottom > high_y - low_y:
        return None
    middles = _grid((low_x - left, low_y - bottom, high_x - right, high_y - top))
    shapely.prepare(room)
    # Corners first: most places fall away by them, and points are tested faster than areas.
    for corner in shapely.get_coordinates(block)[:4]:
        middles = middles[shapely.contains_xy(room, middles + corner)]
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


def write_block(pen: Pen, place: Place) -> None:
    """Writes the lines centred at the place, the first at the top."""
    turn = np.radians(place.angle)
    down = np.array([np.sin(turn), -np.cos(turn)]) * place.height
    first = np.array(place.middle) - down * (block_height(len(place.lines), 1.0) / 2 - 1)
    for i, line in enumerate(place.lines):
        x, y = first + down * LINE_STEP * i
        pen.text((float(x), float(y)), line, place.height, angle=place.angle, anchor="middle")
