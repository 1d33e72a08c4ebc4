"""The overview: all pieces side by side, the base dashed beneath the altered pattern, levels in one line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from coutil.alter import GirthOrder, Plan
from coutil.cut import CutPiece, cut_outline
from coutil.pattern import Piece, Style
from coutil.sheet._drawing import (
    BASE,
    CUT,
    FRAME,
    GRAIN,
    LEVEL,
    STITCHING,
    Bounds,
    Line,
    Moved,
    Pen,
    Recorder,
    group,
    text_width,
)
from coutil.sheet._piece_drawing import PieceOptions, draw_piece
from coutil.sheet._svg import svg_text

GAP_MM = 25.0
MARGIN_MM = 20.0
LABEL_MM = 4.0
HEAD_MM = 7.0
LEGEND_MM = 3.2
LEGEND_STEP = 1.8
SAMPLE_MM = 22.0

LEGEND: tuple[tuple[Line, str], ...] = (
    (BASE, "base pattern"),
    (STITCHING, "stitching line"),
    (CUT, "cut line"),
    (LEVEL, "level"),
    (GRAIN, "grain, notches"),
)


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands at the head of a sheet: client or reference, date as the maker writes it, short revision mark."""

    client: str = ""
    date: str = ""
    revision: str = ""

    @property
    def words(self) -> tuple[str, ...]:
        """Those of its facts that are known, as they are printed."""
        marked = f"revision {self.revision}" if self.revision else ""
        return tuple(word for word in (self.client, marked, self.date) if word)


NO_HEADING = Heading()


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A piece drawn in its own frame, and where that frame goes on the wall."""

    drawing: Recorder
    dx: float
    dy: float


def overview_svg(
    base: Style, style: Style, plan: Plan | None, title: str, heading: Heading = Heading()
) -> str:
    """The overview as an SVG file at true size, mm.

    Pieces stand in the style's order, pieces with a waist below and cups above; each lies over the base's
    piece of the same name, in the same frame. With a plan the ordered girths are listed beside the legend.
    """
    drawing = overview(base, style, plan, title, heading)
    bounds = Bounds()
    drawing.replay(bounds)
    xmin, ymin, xmax, ymax = bounds.box
    box = (xmin - MARGIN_MM, ymin - MARGIN_MM, xmax + MARGIN_MM, ymax + MARGIN_MM)
    return svg_text(drawing, box, title)


def overview(base: Style, style: Style, plan: Plan | None, title: str, heading: Heading) -> Recorder:
    """The same as a recorded drawing, for any pen."""
    sheet = Recorder()
    for placed in _laid_out(base, style):
        placed.drawing.replay(Moved(sheet, placed.dx, placed.dy))
    top = _box_of(sheet)[3] + GAP_MM
    with group(sheet, "legend"):
        _draw_head(sheet, top, title, heading)
        _draw_girths(sheet, top, plan)
    return sheet


def _laid_out(base: Style, style: Style) -> list[Placed]:
    """Cups above, panels below; every row shares one frame height, so that its levels line up."""
    drawings = [(piece, _drawn(piece, base, style)) for piece in style.pieces]
    panels = _row([drawing for piece, drawing in drawings if "waist" in piece.levels], 0.0)
    cups = [drawing for piece, drawing in drawings if "waist" not in piece.levels]
    if not cups or not panels:
        return panels or _row(cups, 0.0)
    top = max(_box_of(placed.drawing)[3] for placed in panels)
    lowest = min(_box_of(drawing)[1] for drawing in cups)
    return [*_row(cups, top + GAP_MM - lowest), *panels]


def _row(drawings: Iterable[Recorder], dy: float) -> list[Placed]:
    placed, cursor = [], 0.0
    for drawing in drawings:
        left, _, right, _ = _box_of(drawing)
        placed.append(Placed(drawing, cursor - left, dy))
        cursor += right - left + GAP_MM
    return placed


def _box_of(drawing: Recorder) -> tuple[float, float, float, float]:
    bounds = Bounds()
    drawing.replay(bounds)
    return bounds.box


def _drawn(piece: Piece, base: Style, style: Style) -> Recorder:
    recorder = Recorder()
    under = next((p for p in base.pieces if p.name == piece.name), None)
    options = PieceOptions(_label(piece, style), LABEL_MM, _first_cut(piece, style), under)
    draw_piece(recorder, piece, options)
    return recorder


def _first_cut(piece: Piece, style: Style) -> tuple[CutPiece, ...]:
    """The cut line on the first layer the piece is cut from; none for a piece that is cut from nothing."""
    wanted = {source.layer for source in piece.cut}
    first = next((layer for layer in style.layers if layer.name in wanted), None)
    return () if first is None else (cut_outline(piece, first),)


def _label(piece: Piece, style: Style) -> tuple[str, ...]:
    return (piece.title, *(_cut_words(c.layer, c.count, c.mirrored) for c in piece.cut))


def _cut_words(layer: str, count: int, mirrored: bool) -> str:
    return f"{count} × {layer.replace('_', ' ')}" + (", mirrored" if mirrored else "")


def _draw_head(pen: Pen, top: float, title: str, heading: Heading) -> None:
    """Title, client, date and what the lines mean, downwards from `top` at the left edge."""
    rows = len(LEGEND)
    bottom = top + rows * LEGEND_MM * LEGEND_STEP
    words = " · ".join((*heading.words, "true size, mm"))
    pen.text((0.0, bottom + HEAD_MM * 1.6), title, HEAD_MM)
    pen.text((0.0, bottom + HEAD_MM * 0.3), words, LEGEND_MM * 1.2)
    for i, (line, name) in enumerate(LEGEND):
        y = bottom - (i + 1) * LEGEND_MM * LEGEND_STEP
        pen.polyline(np.array([(0.0, y + LEGEND_MM / 2), (SAMPLE_MM, y + LEGEND_MM / 2)]), line)
        pen.text((SAMPLE_MM + 4.0, y), name, LEGEND_MM)


def _draw_girths(pen: Pen, top: float, plan: Plan | None) -> None:
    """Ordered girths of the pieces, full first and half in brackets, beside the legend."""
    if plan is None or not plan.girths:
        return
    left = SAMPLE_MM + 12.0 + max(text_width(name, LEGEND_MM) for _, name in LEGEND)
    bottom = top + len(LEGEND) * LEGEND_MM * LEGEND_STEP
    pen.polyline(np.array([(left - 5, top), (left - 5, bottom)]), FRAME)
    for i, order in enumerate(plan.girths):
        column, row = divmod(i, len(LEGEND))
        y = bottom - (row + 1) * LEGEND_MM * LEGEND_STEP
        pen.text((left + column * 80.0, y), _girth_words(order), LEGEND_MM)


def _girth_words(order: GirthOrder) -> str:
    level = order.level.replace("_", " ")
    return f"{level}: pieces {order.garment:.0f} mm ({order.garment / 2:.0f})"
