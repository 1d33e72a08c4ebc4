"""The long sheet: every piece to print at true size, grain upright, packed, and the tiles that carry it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import translate
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from coutil.curves import Curve
from coutil.cut import cut_outline
from coutil.errors import BadInput, BadStyle
from coutil.pattern import Layer, Piece, Style
from coutil.sheet._drawing import Bounds, Moved, Recorder, Stroke, Writing, text_box
from coutil.sheet._paper import Paper
from coutil.sheet._piece_drawing import PieceOptions, draw_piece
from coutil.sheet._piece_label import PrintOptions, cut_words, label_lines
from coutil.sheet._shelves import Packing, pack
from coutil.sheet._tiles import Tile, tile_grid, tiles_by_shape

# Room between pieces, enough to cut each out with a strip of paper around it.
GAP_MM = 8.0

LABEL_MM = 4.0

# Curves are only looked at here, to see which tile they touch: finer than a pen's width.
LOOK_MM = 0.05

GRAIN_UPRIGHT = 90.0


@dataclass(frozen=True, slots=True, eq=False)
class Copy:
    """One piece on one layer as it is printed, its lower left corner at (0, 0).

    `cut` says in words what is cut by it; `shape` is all that is drawn of it; `outline` (m, 2) is its
    stitching line, for small maps.
    """

    piece: Piece
    layer: Layer | None
    cut: str
    drawing: Recorder
    size: tuple[float, float]
    shape: BaseGeometry
    outline: NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class PatternSheet:
    """Copies, where their corners lie on the sheet, every tile of the grid, and which tile holds which copy.

    `holds` is (tiles, copies).  Tiles that hold nothing are part of the grid, but are not printed.
    """

    copies: tuple[Copy, ...]
    packing: Packing
    paper: Paper
    tiles: tuple[Tile, ...]
    holds: NDArray[np.bool_]

    @property
    def printed(self) -> tuple[Tile, ...]:
        """The tiles that hold a line of some piece, in reading order."""
        return tuple(tile for tile, held in zip(self.tiles, self.holds, strict=True) if held.any())

    def tiles_of(self, copy: int) -> tuple[Tile, ...]:
        """The tiles that hold a line of that copy."""
        return tuple(tile for tile, held in zip(self.tiles, self.holds[:, copy], strict=True) if held)

    def copies_on(self, tile: Tile) -> list[int]:
        """Which copies have a line on that tile."""
        return [int(i) for i in np.flatnonzero(self.holds[self.tiles.index(tile)])]


def pattern_sheet(style: Style, paper: Paper, options: PrintOptions) -> PatternSheet:
    """All copies on the sheet width that needs the fewest tiles.

    Raises BadInput for a layer the style has not, and BadStyle for one that no piece is cut from.
    """
    copies = copies_to_print(style, options)
    widest = max(copy.size[0] for copy in copies)
    in_a_row = sum(copy.size[0] + GAP_MM for copy in copies)
    tried = [_laid(copies, paper, width) for width in _sheet_widths(widest, in_a_row, paper)]
    return min(tried, key=lambda sheet: (len(sheet.printed), sheet.packing.width))


def _sheet_widths(widest: float, in_a_row: float, paper: Paper) -> list[float]:
    """Whole numbers of tiles, from one that carries the widest piece to one that carries all in a row."""
    step = paper.step[0]
    fewest = max(1, int(np.ceil((widest - paper.overlap) / step)))
    most = max(fewest, int(np.ceil((in_a_row - paper.overlap) / step)))
    return [columns * step + paper.overlap for columns in range(fewest, most + 1)]


def _laid(copies: tuple[Copy, ...], paper: Paper, width: float) -> PatternSheet:
    packing = pack([copy.size for copy in copies], width, GAP_MM)
    tiles = tile_grid(packing.width, packing.height, paper)
    shapes = [translate(c.shape, *corner) for c, corner in zip(copies, packing.corners, strict=True)]
    return PatternSheet(copies, packing, paper, tiles, tiles_by_shape(tiles, shapes))


def copies_to_print(style: Style, options: PrintOptions) -> tuple[Copy, ...]:
    """What is printed, layer by layer in the style's order; see PrintOptions for `layer`."""
    chosen = [(piece, layers_to_print(style, piece, options.layer)) for piece in style.pieces]
    if not any(layers for _, layers in chosen):
        raise BadStyle(f"no piece of {style.name} is cut from {options.layer}: choose another layer to print")
    order = {layer.name: i for i, layer in enumerate(style.layers)}
    copies = [_copy(style, piece, layer, layers, options) for piece, layers in chosen for layer in layers]
    return tuple(sorted(copies, key=lambda c: order[c.layer.name] if c.layer else -1))


def layers_to_print(style: Style, piece: Piece, wanted: str | None) -> tuple[Layer | None, ...]:
    """The layers for which that piece is printed; (None,) for a piece that is cut from nothing."""
    known = [layer.name for layer in style.layers]
    if wanted not in (None, "all", *known):
        raise BadInput(f"Style {style.name} has no layer {wanted!r}: name one of {', '.join(known)}, or all.")
    cut_from = {source.layer for source in piece.cut}
    own = [layer for layer in style.layers if layer.name in cut_from]
    if wanted is None:
        return tuple(own[:1] + [layer for layer in own[1:] if not layer.allowance]) or (None,)
    return tuple(layer for layer in own if wanted in ("all", layer.name))


def _copy(
    style: Style, piece: Piece, layer: Layer | None, layers: Sequence[Layer | None], options: PrintOptions
) -> Copy:
    others = _sharing(piece, layer, layers)
    label = label_lines(style, piece, layer, others, options)
    cuts = () if layer is None else (cut_outline(piece, layer),)
    upright = Recorder()
    turn = GRAIN_UPRIGHT - piece.grain_deg
    draw_piece(Moved(upright, turned=turn), piece, PieceOptions(label, LABEL_MM, cuts))
    drawing, size = _cornered(upright)
    outline = np.concatenate([_flat(stroke) for stroke in drawing.strokes_in("stitching")])
    words = " ".join(cut_words(piece, layer, others))
    return Copy(piece, layer, words, drawing, size, drawn_shape(drawing), outline)


def _sharing(piece: Piece, layer: Layer | None, layers: Sequence[Layer | None]) -> set[str]:
    """The layers that are cut with the first copy, since they have none of their own."""
    printed = {own.name for own in layers if own is not None}
    return {source.layer for source in piece.cut} - printed if layer is layers[0] else set()


def _cornered(upright: Recorder) -> tuple[Recorder, tuple[float, float]]:
    """The drawing moved so that its lower left corner, line widths included, is (0, 0), and its size."""
    bounds = Bounds()
    upright.replay(bounds)
    xmin, ymin, xmax, ymax = bounds.box
    pen = max(stroke.line.width for stroke in upright.strokes)
    drawing = Recorder()
    upright.replay(Moved(drawing, pen / 2 - xmin, pen / 2 - ymin))
    return drawing, (xmax - xmin + pen, ymax - ymin + pen)


def drawn_shape(drawing: Recorder) -> BaseGeometry:
    """Everything that is drawn, as one shape: strokes with their widths, and the room of the texts."""
    strokes = [LineString(_flat(stroke)).buffer(stroke.line.width / 2) for stroke in drawing.strokes]
    return shapely.union_all(strokes + [_text_shape(writing) for writing in drawing.writings])


def _flat(stroke: Stroke) -> NDArray[np.float64]:
    points = Curve(stroke.points).flatten(LOOK_MM) if stroke.cubic else stroke.points
    return np.concatenate([points, points[:1]]) if stroke.closed else points


def _text_shape(writing: Writing) -> Polygon:
    return Polygon(text_box(writing.position, writing.string, writing.height, writing.angle, writing.anchor))
