"""One piece on a pen: outlines, levels, grain, notches, landmarks, fold and label, each a named group."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from coutil.cut import CutPiece, is_fold
from coutil.pattern import Piece
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
    find_place,
    free_room,
    level_names,
    write_block,
)
from coutil.sheet._marks import (
    BUST_POINT_RADIUS_MM,
    circle,
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

# A label that fits nowhere inside is written this far beside the piece.
BESIDE_MM = 6.0


@dataclass(frozen=True, slots=True)
class PieceOptions:
    """What to draw: the label's lines, its capital height (mm), the cut lines, the base under the piece."""

    label: tuple[str, ...] = ()
    height: float = 4.0
    cuts: tuple[CutPiece, ...] = ()
    base: Piece | None = None
    stitching: Line = STITCHING


def draw_piece(pen: Pen, piece: Piece, options: PieceOptions) -> None:
    """Draws the piece in its own frame as group `piece:<name>`; the label lies inside and over no line."""
    with group(pen, f"piece:{piece.name}"):
        _draw_cuts(pen, options.cuts)
        _draw_base(pen, options.base)
        _draw_outline(pen, piece, "stitching", options.stitching)
        _draw_marks(pen, piece, options)


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


def _draw_marks(pen: Pen, piece: Piece, options: PieceOptions) -> None:
    levels, grain, folds = level_lines(piece), grain_line(piece), _folds(piece)
    notches = _notches(piece, options.cuts)
    lines = [*folds, *notches, *_base_lines(options.base), *([] if grain is None else [grain])]
    names = level_names(net_outline(piece), levels, [*lines, *_rounds(piece)])
    _draw_levels(pen, levels, names)
    if grain is not None:
        draw_grain(pen, grain)
    for bracket in folds:
        draw_fold(pen, bracket)
    draw_notches(pen, notches)
    _draw_landmarks(pen, piece)
    lines = [
        *levels.values(),
        *folds,
        *notches,
        *_base_lines(options.base),
        *([] if grain is None else [grain]),
    ]
    _draw_label(pen, piece, options, lines, [name.area for name in names])


def _folds(piece: Piece) -> list[Floats]:
    return [fold_bracket(edge) for edge in piece.edges if is_fold(piece, edge)]


def _rounds(piece: Piece) -> list[Floats]:
    """The room that landmarks take, each as a ring of points."""
    return [circle(piece.point(mark.at), BUST_POINT_RADIUS_MM * 1.5) for mark in piece.landmarks]


def _base_lines(base: Piece | None) -> list[Floats]:
    return [] if base is None else [edge.curve.flatten(0.1) for edge in base.edges]


def _notches(piece: Piece, cuts: tuple[CutPiece, ...]) -> list[Floats]:
    widths = cuts[0].widths if cuts else {}
    return [
        stroke
        for notch in piece.notches
        for stroke in notch_strokes(piece, notch, widths.get(notch.edge, 0.0))
    ]


def _draw_levels(pen: Pen, levels: dict[str, Floats], names: list[LevelName]) -> None:
    with group(pen, "levels"):
        for line in levels.values():
            draw_level(pen, line)
        for name in names:
            pen.text(name.position, name.string, name.height, colour=TEAL)


def _draw_landmarks(pen: Pen, piece: Piece) -> None:
    with group(pen, "landmarks"):
        for mark in piece.landmarks:
            draw_landmark(pen, piece, mark)


def _draw_label(
    pen: Pen, piece: Piece, options: PieceOptions, lines: list[Floats], taken: list[Floats]
) -> None:
    if not options.label:
        return
    outline = net_outline(piece)
    room = free_room(outline, lines, [*taken, *_rounds(piece)])
    place = find_place(room, options.label, options.height) or _beside(outline, options)
    with group(pen, "label"):
        write_block(pen, options.label, place)


def _beside(outline: Floats, options: PieceOptions) -> Place:
    height = max(options.height / 2, SMALLEST_TEXT_MM)
    width = max(text_width(line, height) for line in options.label)
    furthest = max([outline[:, 0].max(), *(cut.outline[:, 0].max() for cut in options.cuts)])
    middle = float(outline[:, 1].mean())
    return Place((float(np.float64(furthest)) + BESIDE_MM + width / 2, middle), height, 0.0)
