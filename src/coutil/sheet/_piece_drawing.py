"""One piece on a pen: outlines, levels, grain, notches, landmarks, fold and label, each a named group."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry.base import BaseGeometry

from coutil.cut import CutPiece, is_fold
from coutil.pattern import Landmark, Piece
from coutil.sheet._drawing import (
    BASE,
    CUT,
    FOLD,
    STITCHING,
    TEAL,
    Floats,
    Line,
    Pen,
    group,
    text_width,
)
from coutil.sheet._labels import (
    SMALLEST_TEXT_MM,
    LevelName,
    Place,
    covers,
    find_places,
    free_room,
    level_names,
    wrapped,
    write_block,
)
from coutil.sheet._marks import (
    BUST_POINT_RADIUS_MM,
    circle,
    draw_channels,
    draw_fold,
    draw_grain,
    draw_landmark,
    draw_level,
    draw_notches,
    fold_bracket,
    grain_line,
    level_lines,
    net_outline,
    notch_strokes,
)
from coutil.sheet._piece_label import MARKS

# A label that fits nowhere inside is written this far beside the piece.
BESIDE_MM = 6.0


@dataclass(frozen=True, slots=True)
class PieceOptions:
    """What to draw: the label's facts, its capital height (mm), the cut lines, the base under the piece.

    `marks` are some of MARKS; `channels` the middle lines of bone channels.  Texts keep to the first of
    `rooms` (shapes in the piece's own frame) in which they fit; without rooms they stand anywhere inside.
    `usual` is where the label stood before there were rooms: it stays there if it can.
    """

    label: tuple[str, ...] = ()
    height: float = 4.0
    cuts: tuple[CutPiece, ...] = ()
    base: Piece | None = None
    stitching: Line = STITCHING
    marks: frozenset[str] = frozenset(MARKS)
    channels: tuple[Floats, ...] = ()
    rooms: tuple[BaseGeometry, ...] = ()
    usual: tuple[Place, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class _Marks:
    """The strokes of the marks that are asked for, in the piece's own frame."""

    levels: dict[str, Floats]
    grain: Floats | None
    folds: list[Floats]
    notches: list[Floats]
    channels: list[Floats]
    points: tuple[Landmark, ...]

    @property
    def strokes(self) -> list[Floats]:
        """All but the level lines, which bear names of their own."""
        grain = [] if self.grain is None else [self.grain]
        return [*self.folds, *self.notches, *self.channels, *grain]


def draw_piece(pen: Pen, piece: Piece, options: PieceOptions) -> tuple[Place, ...]:
    """Draws the piece in its own frame as group `piece:<name>`; its texts lie inside and over no line.

    Gives the places of the label's blocks.
    """
    marks = _marks(piece, options)
    with group(pen, f"piece:{piece.name}"):
        _draw_cuts(pen, options.cuts)
        _draw_base(pen, options.base)
        _draw_outline(pen, piece, "stitching", options.stitching)
        _draw_marks(pen, piece, marks)
        return _write(pen, piece, options, marks)


def _draw_cuts(pen: Pen, cuts: tuple[CutPiece, ...]) -> None:
    for cut in cuts:
        with group(pen, f"cut:{cut.layer}"):
            pen.polyline(cut.outline, CUT, closed=True)


def _draw_base(pen: Pen, base: Piece | None) -> None:
    if base is not None:
        _draw_outline(pen, base, "base", BASE)


def _draw_outline(pen: Pen, piece: Piece, name: str, line: Line) -> None:
    with group(pen, name):
        for edge in piece.edges:
            pen.curve(edge.curve.points, FOLD if is_fold(piece, edge) else line)


def _marks(piece: Piece, options: PieceOptions) -> _Marks:
    wanted = options.marks
    folded = [edge for edge in piece.edges if is_fold(piece, edge)]
    return _Marks(
        levels=level_lines(piece) if "levels" in wanted else {},
        grain=grain_line(piece, options.channels) if "grain" in wanted else None,
        folds=[fold_bracket(edge) for edge in folded] if "fold" in wanted else [],
        notches=_notches(piece, options.cuts) if "notches" in wanted else [],
        channels=list(options.channels) if "bones" in wanted else [],
        points=piece.landmarks if "points" in wanted else (),
    )


def _draw_marks(pen: Pen, piece: Piece, marks: _Marks) -> None:
    with group(pen, "levels"):
        for line in marks.levels.values():
            draw_level(pen, line)
    if marks.grain is not None:
        draw_grain(pen, marks.grain)
    for bracket in marks.folds:
        draw_fold(pen, bracket)
    draw_channels(pen, marks.channels)
    draw_notches(pen, marks.notches)
    with group(pen, "landmarks"):
        for mark in marks.points:
            draw_landmark(pen, piece, mark)


def _notches(piece: Piece, cuts: tuple[CutPiece, ...]) -> list[Floats]:
    widths = cuts[0].widths if cuts else {}
    return [
        stroke
        for notch in piece.notches
        for stroke in notch_strokes(piece, notch, widths.get(notch.edge, 0.0))
    ]


def _rounds(piece: Piece, marks: _Marks) -> list[Floats]:
    """The room that landmarks take, each as a ring of points."""
    return [circle(piece.point(mark.at), BUST_POINT_RADIUS_MM * 1.5) for mark in marks.points]


def _base_lines(base: Piece | None) -> list[Floats]:
    return [] if base is None else [edge.curve.flatten(0.1) for edge in base.edges]


def _write(pen: Pen, piece: Piece, options: PieceOptions, marks: _Marks) -> tuple[Place, ...]:
    """Names of levels, then the label in the room they leave."""
    outline, rounds = net_outline(piece), _rounds(piece, marks)
    lines = [*marks.strokes, *_base_lines(options.base)]
    names = level_names(outline, marks.levels, [*lines, *rounds], options.rooms)
    if names:
        _write_level_names(pen, names)
    if not options.label:
        return ()
    taken = [*(name.area for name in names), *rounds]
    free = free_room(outline, [*lines, *marks.levels.values()], taken)
    places = _label_places(free, options) or [_beside(outline, options)]
    with group(pen, "label"):
        for place in places:
            write_block(pen, place)
    return tuple(places)


def _write_level_names(pen: Pen, names: list[LevelName]) -> None:
    with group(pen, "level names"):
        for name in names:
            pen.text(name.position, name.string, name.height, colour=TEAL)


def _label_places(free: BaseGeometry, options: PieceOptions) -> list[Place]:
    kept = [*(free.intersection(room) for room in options.rooms), free]
    if options.usual and covers(kept[0], options.usual):
        return list(options.usual)
    found = (find_places(room, options.label, options.height) for room in kept)
    return next((places for places in found if places), [])


def _beside(outline: Floats, options: PieceOptions) -> Place:
    height, lines = max(options.height / 2, SMALLEST_TEXT_MM), wrapped(options.label)
    width = max(text_width(line, height) for line in lines)
    furthest = max([outline[:, 0].max(), *(cut.outline[:, 0].max() for cut in options.cuts)])
    middle = float(outline[:, 1].mean())
    return Place(lines, (float(np.float64(furthest)) + BESIDE_MM + width / 2, middle), height, 0.0)
