"""The bone plan: every panel small, with its bones by their numbers, the eyelets and the busk."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from coutil.cut import Bone, EyeletLine, Making
from coutil.pattern import Piece, Role
from coutil.sheet._drawing import FRAME, LEVEL, TEAL, Colour, Floats, Line, Recorder, group

WAIST = "waist"
GAP_MM = 30.0
TITLE_MM = 2.2
NUMBER_MM = 2.0
OUTLINE = Line("outline", 0.3)
FLAT: Colour = (176, 176, 176)
SPIRAL: Colour = (120, 186, 192)
BUSK: Colour = (222, 160, 130)
# Panels stand no larger than this, and no higher than this on the page; more than so many in rows of their own.
LARGEST_SCALE = 0.4
HIGHEST_MM = 110.0
HIGHEST_OF_ROWS_MM = 80.0
MOST_IN_A_ROW = 6
# An eyelet's hole, mm (size 00), as a ring of so many corners.
HOLE_MM = 5.0
CORNERS = 16
LOOK_MM = 0.1
# Numbers stand at these heights of their bone in turn, so that neighbours do not collide.
NUMBER_AT = (0.5, 0.62)
# A number that would come this near to the waist line stands higher by so much of the bone.
WAIST_CLEAR_MM, HIGHER = 3.0, 0.14


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """A drawing with its lower left corner at (0, 0) and its size in mm; `words` say what it shows."""

    drawing: Recorder
    size: tuple[float, float]
    title: str
    words: str


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a panel's frame goes on the page, how much smaller it is drawn, and where its row ends below."""

    scale: float
    dx: float
    dy: float
    foot: float

    def put(self, points: Floats) -> Floats:
        """Points (m, 2) of the panel on the page."""
        return np.asarray(points * self.scale + np.array([self.dx, self.dy]))


def bone_plan(making: Making, width: float) -> Picture | None:
    """All panels side by side on a strip `width` mm wide; None where there is nothing to show."""
    pieces = [piece for piece in making.style.pieces if WAIST in piece.levels]
    if not pieces or not making.bones:
        return None
    places, height = _laid_out(pieces, width)
    drawing = Recorder()
    with group(drawing, "bone plan"):
        for piece, place in zip(pieces, places, strict=True):
            _draw_panel(drawing, piece, place, making)
    return Picture(drawing, (width, height), _title(making, places[0].scale), _words(making))


def _title(making: Making, scale: float) -> str:
    side = "the wearer's left half" if making.style.half else "all panels"
    return f"Bone plan, {side}, 1 : {1 / scale:.1f}"


def _words(making: Making) -> str:
    kinds = {bone.kind.name for bone in making.bones}
    said = [
        *(["flat steel grey"] if making.options.flat.name in kinds else []),
        *(["spiral steel blue-green"] if making.options.spiral.name in kinds else []),
        *(["busk red"] if making.busk is not None and making.busk.length else []),
        *(["rings are eyelets"] if making.eyelets else []),
    ]
    return f"Numbers as in the list of bones; {', '.join(said)}.  A bone astride a seam is drawn on one of its pieces."


def _laid_out(pieces: Sequence[Piece], width: float) -> tuple[list[_Place], float]:
    """The panels in as few rows as need be, the waists of a row in one line; their places, and how high all is."""
    boxes = [_box(piece) for piece in pieces]
    count = math.ceil(len(boxes) / math.ceil(len(boxes) / MOST_IN_A_ROW))
    rows = [boxes[i : i + count] for i in range(0, len(boxes), count)]
    wide = max(sum(box[2] - box[0] for box in row) + GAP_MM * len(row) for row in rows)
    tall = [max(box[3] for box in row) - min(box[1] for box in row) for row in rows]
    highest = HIGHEST_MM if len(rows) == 1 else HIGHEST_OF_ROWS_MM
    scale = min(LARGEST_SCALE, width / wide, highest / max(tall))
    height = sum(tall) * scale + len(rows) * (2 * TITLE_MM + 2.0)
    places, top = [], height
    for row, high in zip(rows, tall, strict=True):
        foot = top - 1.0 - high * scale
        places += _row_of_panels(row, scale, foot)
        top = foot - 2 * TITLE_MM - 1.0
    return places, height


def _row_of_panels(boxes: Sequence[tuple[float, float, float, float]], scale: float, foot: float) -> list[_Place]:
    """Side by side from the left, the lowest standing `foot` mm above the drawing's lower edge."""
    low, x = min(box[1] for box in boxes), GAP_MM / 2
    places = []
    for box in boxes:
        places.append(_Place(scale, (x - box[0]) * scale, foot - low * scale, foot))
        x += box[2] - box[0] + GAP_MM
    return places


def _box(piece: Piece) -> tuple[float, float, float, float]:
    bounds = np.array([edge.curve.bounds() for edge in piece.edges])
    waist = piece.levels[WAIST]
    low, high = float(bounds[:, 1].min()) - waist, float(bounds[:, 3].max()) - waist
    return float(bounds[:, 0].min()), low, float(bounds[:, 2].max()), high


def _draw_panel(pen: Recorder, piece: Piece, place: _Place, making: Making) -> None:
    numbered = [(i + 1, bone) for i, bone in enumerate(making.bones) if bone.channel.piece == piece.name]
    for _, bone in numbered:
        _draw_bone(pen, bone, place, making)
    _draw_busk(pen, piece, place, making)
    for edge in piece.edges:
        pen.curve(place.put(edge.curve.points), OUTLINE)
    _draw_waist(pen, piece, place)
    for line in making.eyelets:
        if line.piece == piece.name:
            _draw_eyelets(pen, line, place)
    for turn, (number, bone) in enumerate(numbered):
        part = _clear_of_waist(NUMBER_AT[turn % len(NUMBER_AT)], piece, bone, place)
        _draw_number(pen, number, bone, place, (part, _number_shift(piece, bone, place.scale)))
    middle = place.put(np.array([[(_box(piece)[0] + _box(piece)[2]) / 2, 0.0]]))[0, 0]
    title = (float(middle), place.foot - 2 * TITLE_MM)
    pen.text(title, piece.title, TITLE_MM, anchor="middle")


def _clear_of_waist(part: float, piece: Piece, bone: Bone, place: _Place) -> float:
    """The part of the bone's channel at which its number crosses no waist line."""
    y = float(bone.channel.curve.point_at(part * bone.channel.length)[1])
    near = abs(y - piece.levels[WAIST]) * place.scale < WAIST_CLEAR_MM
    return part + HIGHER if near else part


def _draw_bone(pen: Recorder, bone: Bone, place: _Place, making: Making) -> None:
    """The steel itself in its place: above what the lower end keeps free, with the rounding left at the top."""
    points = bone.channel.curve.points_at(np.linspace(bone.off_lower, bone.off_lower + bone.length, 40))
    colour = FLAT if bone.kind.name == making.options.flat.name else SPIRAL
    pen.polyline(place.put(points), Line("bone", bone.kind.width * place.scale, (), colour))


def _draw_busk(pen: Recorder, piece: Piece, place: _Place, making: Making) -> None:
    busk = making.busk
    if busk is None or not busk.length or piece.part != "front" or piece.eyelets:
        return
    for edge in piece.edges:
        if edge.role is Role.CLOSURE:
            curve = edge.curve if edge.curve.start[1] < edge.curve.end[1] else edge.curve.reversed()
            top = min(busk.above_hem + busk.length, curve.length)
            points = curve.points_at(np.linspace(busk.above_hem, top, 2))
            pen.polyline(place.put(points), Line("busk", 12.0 * place.scale, (), BUSK))


def _draw_waist(pen: Recorder, piece: Piece, place: _Place) -> None:
    y = piece.levels[WAIST]
    xs = sorted(crossing.x for edge in piece.edges for crossing in edge.curve.crossings(y))
    ends = place.put(np.array([(xs[0], y), (xs[-1], y)]))
    pen.polyline(ends, LEVEL)
    left = (float(ends[0, 0]) + 2.0, float(ends[0, 1]) + 0.7)
    pen.text(left, WAIST, 1.5, colour=TEAL)


def _draw_eyelets(pen: Recorder, line: EyeletLine, place: _Place) -> None:
    turns = np.linspace(0, 2 * np.pi, CORNERS, endpoint=False)
    ring = HOLE_MM / 2 * np.stack((np.cos(turns), np.sin(turns)), axis=1)
    for point in line.points:
        pen.polyline(place.put(point + ring), FRAME, closed=True)


def _number_shift(piece: Piece, bone: Bone, scale: float) -> float:
    """How far right of its bone a number stands, mm: nothing on a panel, inside the piece along an edge."""
    if bone.channel.place not in ("seam", "centre"):
        return 0.0
    left, _, right, _ = _box(piece)
    middle = bone.channel.curve.point_at(bone.channel.length / 2)[0]
    away = bone.kind.width * scale / 2 + NUMBER_MM
    return away if middle < (left + right) / 2 else -away


def _draw_number(pen: Recorder, number: int, bone: Bone, place: _Place, at: tuple[float, float]) -> None:
    """`at` is the part of the bone's channel below the number, and how far right of it the number stands, mm."""
    part, shift = at
    x, y = place.put(bone.channel.curve.points_at([part * bone.channel.length]))[0].tolist()
    pen.text((x + shift, y - NUMBER_MM / 2), str(number), NUMBER_MM, anchor="middle")
