"""The marks on a piece as strokes: level lines, grain, notches, landmarks, fold."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import LineString, MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from coutil.pattern import Edge, Landmark, Notch, Piece
from coutil.sheet._drawing import CHANNEL, FOLD, GRAIN, LANDMARK, LEVEL, NOTCH, Floats, Pen, arrow_head, group

# Net outlines are only looked at here, never cut by, so a tenth of a pen's width is near enough.
LOOK_MM = 0.05

NOTCH_MM = 5.0
NOTCH_STEP_MM = 3.0
BUST_POINT_RADIUS_MM = 4.0
LANDMARK_RADIUS_MM = 0.8
GRAIN_MARGIN_MM = 8.0
# A grain arrow and a bone channel nearer to each other than this are taken for one another.
GRAIN_CLEAR_MM = 5.0

# Tried in this order, as parts of the width from the middle: aside, so that the label keeps the middle.
GRAIN_PLACES = (0.3, 0.25, 0.2, 0.15, 0.1, 0.05, 0.0, -0.05, -0.1, -0.2)

FOLD_INSET_MM = 6.0

# A level that meets the outline at one mark only is shown by a tick this long, towards the inside.
LEVEL_TICK_MM = 15.0

# A cubic quarter circle's handle as part of the radius (the usual value, error 0.03 per cent).
QUARTER_HANDLE = 4 / 3 * (math.sqrt(2) - 1)


def net_outline(piece: Piece) -> Floats:
    """The stitching line as points (m, 2)."""
    return np.concatenate([edge.curve.flatten(LOOK_MM)[:-1] for edge in piece.edges])


def level_lines(piece: Piece) -> dict[str, Floats]:
    """Each level's line, (2, 2) from left to right, where the piece carries it.

    It joins the outermost marks; without marks it is the horizontal at the level's height inside the piece.
    """
    found = {name: _level_line(piece, name) for name in piece.levels}
    found |= {mark.level: _level_line(piece, mark.level) for mark in piece.level_marks}
    return {name: line for name, line in found.items() if line is not None}


def _level_line(piece: Piece, name: str) -> Floats | None:
    marks = [piece.point(at) for at in piece.marks_of(name)]
    if len(marks) > 1:
        marks.sort(key=lambda point: float(point[0]))
        return np.array([marks[0], marks[-1]])
    height = float(marks[0][1]) if marks else piece.levels[name]
    inside = _longest_inside(net_outline(piece), height)
    if inside is None or not marks:
        return inside
    return _tick(marks[0], inside)


def _tick(mark: Floats, inside: Floats) -> Floats:
    """A short line from the mark towards the middle of the piece, left end first."""
    step = math.copysign(LEVEL_TICK_MM, float(inside[:, 0].mean() - mark[0]))
    ends = np.array([mark, mark + np.array([step, 0.0])])
    return ends if step > 0 else ends[::-1]


def _longest_inside(outline: Floats, y: float) -> Floats | None:
    left, right = float(outline[:, 0].min()) - 1, float(outline[:, 0].max()) + 1
    inside = shapely.make_valid(Polygon(outline))
    return _longest_part(inside.intersection(LineString([(left, y), (right, y)])))


def _longest_part(shape: BaseGeometry) -> Floats | None:
    """The longest stroke of a cut line, end to end, (2, 2); None where there is none."""
    parts = list(shape.geoms) if isinstance(shape, MultiLineString) else [shape]
    strokes = [part for part in parts if isinstance(part, LineString) and part.length > LOOK_MM]
    if not strokes:
        return None
    return np.asarray(max(strokes, key=lambda part: float(part.length)).coords)[[0, -1]]


def grain_line(piece: Piece, clear_of: Sequence[Floats] = ()) -> Floats | None:
    """The grain arrow, (2, 2): along the grain, nearly as long as the piece, clear of its outline.

    Where it can be it keeps clear of some lines (m, 2) too.
    """
    outline = net_outline(piece)
    radians = math.radians(piece.grain_deg)
    along = np.array([math.cos(radians), math.sin(radians)])
    across = np.array([along[1], -along[0]])
    room = shapely.make_valid(Polygon(outline)).buffer(-GRAIN_MARGIN_MM)
    middle, reach = outline.mean(axis=0), 2 * float(np.ptp(outline, axis=0).max())
    bases = middle + np.outer(GRAIN_PLACES, across) * float(np.ptp(outline @ across))
    found = [_longest_part(room.intersection(LineString([b - reach * along, b + reach * along]))) for b in bases]
    lines = shapely.union_all([LineString(line) for line in clear_of])
    clear = [chord for chord in found if chord is None or not LineString(chord).dwithin(lines, GRAIN_CLEAR_MM)]
    return _first_long(clear) if any(chord is not None for chord in clear) else _first_long(found)


def _first_long(chords: list[Floats | None]) -> Floats | None:
    """The first chord that is nearly as long as the longest."""
    known = [chord for chord in chords if chord is not None]
    longest = max((_length(chord) for chord in known), default=0.0)
    return next((chord for chord in known if _length(chord) >= 0.9 * longest), None)


def _length(line: Floats) -> float:
    return float(np.linalg.norm(line[1] - line[0]))


def draw_grain(pen: Pen, line: Floats) -> None:
    """The double arrow."""
    with group(pen, "grain"):
        pen.polyline(line, GRAIN)
        for tip, tail in (line, line[::-1]):
            pen.polyline(arrow_head(tip, tip - tail), GRAIN)


def draw_level(pen: Pen, line: Floats) -> None:
    """The level's line without its name."""
    pen.polyline(line, LEVEL)


def notch_strokes(piece: Piece, notch: Notch, width: float) -> list[Floats]:
    """Strokes (2, 2) of one notch: from the cut edge inwards, or across a stitching line without allowance.

    `width` is what lies between stitching and cut line there, mm.
    """
    curve = piece.edge(notch.edge).curve
    point, tangent = curve.point_at(notch.along), curve.tangent_at(notch.along)
    outwards = np.array([tangent[1], -tangent[0]])
    outer = width if width > NOTCH_MM / 2 else NOTCH_MM / 2
    offsets = (np.arange(notch.count) - (notch.count - 1) / 2) * NOTCH_STEP_MM
    return [
        np.array([base + outer * outwards, base + (outer - NOTCH_MM) * outwards])
        for base in (point + offset * tangent for offset in offsets)
    ]


def draw_notches(pen: Pen, strokes: list[Floats]) -> None:
    """All notches of the piece as one group."""
    with group(pen, "notches"):
        for stroke in strokes:
            pen.polyline(stroke, NOTCH)


def draw_channels(pen: Pen, middles: Sequence[Floats]) -> None:
    """The middle line (m, 2) of every bone channel, as one group where there is one."""
    if middles:
        with group(pen, "bones"):
            for middle in middles:
                pen.polyline(middle, CHANNEL)


def circle(middle: Floats, radius: float) -> Floats:
    """A circle as four cubic spans, shape (13, 2)."""
    h = QUARTER_HANDLE
    right = np.array([(1, 0), (1, h), (h, 1), (0, 1), (-h, 1), (-1, h), (-1, 0)], dtype=float)
    return np.asarray(middle + radius * np.concatenate((right, -right[1:])))


def draw_landmark(pen: Pen, piece: Piece, mark: Landmark) -> None:
    """The bust point as a crossed circle, any other point as a small one."""
    middle = piece.point(mark.at)
    if mark.name != "bust_point":
        pen.curve(circle(middle, LANDMARK_RADIUS_MM), LANDMARK)
        return
    pen.curve(circle(middle, BUST_POINT_RADIUS_MM), LANDMARK)
    arm = BUST_POINT_RADIUS_MM * 1.5
    for step in (np.array([arm, 0.0]), np.array([0.0, arm])):
        pen.polyline(np.array([middle - step, middle + step]), LANDMARK)


def fold_bracket(edge: Edge) -> Floats:
    """The bracketed arrow along a fold, (4, 2): from the edge in, along it, and back to the edge."""
    curve = edge.curve
    ends = curve.points_at([curve.length * 0.15, curve.length * 0.85])
    tangent = curve.tangent_at(curve.length / 2)
    inwards = FOLD_INSET_MM * np.array([-tangent[1], tangent[0]])
    return np.array([ends[0], ends[0] + inwards, ends[1] + inwards, ends[1]])


def draw_fold(pen: Pen, bracket: Floats) -> None:
    """The bracket, both of its points on the fold."""
    with group(pen, "fold"):
        pen.polyline(bracket, FOLD)
        for tip, knee in ((bracket[0], bracket[1]), (bracket[3], bracket[2])):
            pen.polyline(arrow_head(tip, tip - knee), FOLD)
