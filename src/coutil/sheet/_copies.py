"""Copies: which piece is printed for which layers of cloth, and how it is drawn before it has a place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
import shapely.affinity
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from coutil.curves import Curve
from coutil.cut import cut_outline
from coutil.errors import BadInput, BadStyle
from coutil.pattern import Layer, Piece, Style
from coutil.sheet._drawing import Moved, Recorder, Stroke, Writing, text_box
from coutil.sheet._piece_drawing import PieceOptions, draw_piece
from coutil.sheet._piece_label import PrintOptions, cut_words, label_words

LABEL_MM = 4.0

# Curves are only looked at here, to see which tile they touch: finer than a pen's width.
LOOK_MM = 0.05

GRAIN_UPRIGHT = 90.0

# A text is taken to stand inside even where rounding puts its room over the edge by this much.
TEXT_SLACK_MM = 0.3


@dataclass(frozen=True, slots=True, eq=False)
class Copy:
    """One piece on one layer as it is printed.

    `cut` says in words what is cut by it; `turn` is what makes its grain stand upright, in degrees.  `drawing`
    is in the upright frame, its label where it fits best; `shape` is all that is drawn, `outline` (m, 2) the
    stitching line, for small maps.
    """

    piece: Piece
    layer: Layer | None
    cut: str
    options: PieceOptions
    turn: float
    drawing: Recorder
    shape: BaseGeometry
    outline: NDArray[np.float64]

    @property
    def layer_name(self) -> str:
        """The layer's name, "" for a piece that is cut from nothing."""
        return self.layer.name if self.layer else ""

    def redrawn(self, turned: float, dx: float, dy: float, room: BaseGeometry, fallback: BaseGeometry) -> Recorder:
        """The copy turned and shifted from the upright frame; texts keep to `room`, at worst to `fallback`.

        Drawn anew only where a text as it stands would leave the room.
        """
        lying = Recorder()
        self.drawing.replay(Moved(lying, dx, dy, turned))
        if all(room.contains(text_shape(writing)) for writing in lying.writings):
            return lying
        total = self.turn + turned
        rooms = tuple(_brought_back(shape, total, dx, dy) for shape in (room, fallback))
        drawing = self._drawn(total, dx, dy, rooms)
        # Where the kept room has driven the label out of the piece, it goes back to where it was packed.
        inside = shapely.affinity.translate(shapely.affinity.rotate(self.shape, turned, origin=(0, 0)), dx, dy)
        filled = without_holes(inside)
        kept = all(filled.contains(text_shape(writing).buffer(-TEXT_SLACK_MM)) for writing in drawing.writings)
        return drawing if kept else self._drawn(total, dx, dy, ())

    def _drawn(self, turned: float, dx: float, dy: float, rooms: tuple[BaseGeometry, ...]) -> Recorder:
        drawing = Recorder()
        draw_piece(Moved(drawing, dx, dy, turned), self.piece, replace(self.options, rooms=rooms))
        return drawing


def _brought_back(shape: BaseGeometry, turned: float, dx: float, dy: float) -> BaseGeometry:
    """What lies on the sheet, seen from a frame that is turned and then shifted there."""
    shifted = shapely.affinity.translate(shape, -dx, -dy)
    return shapely.affinity.rotate(shifted, -turned, origin=(0, 0))


def copies_to_print(style: Style, options: PrintOptions, base: Style | None = None) -> tuple[Copy, ...]:
    """What is printed, layer by layer in the style's order; see PrintOptions for `layers`.

    The piece of the same name in `base` is drawn dashed beneath each.  Raises BadInput for a layer the style
    has not, and BadStyle where no piece is cut from the layers asked for.
    """
    chosen = [(piece, layers_to_print(style, piece, options.layers)) for piece in style.pieces]
    if not any(layers for _, layers in chosen):
        wanted = " or ".join(options.layers)
        raise BadStyle(f"no piece of {style.name} is cut from {wanted}: choose another layer to print")
    order = {layer.name: i for i, layer in enumerate(style.layers)}
    under = {piece.name: piece for piece in base.pieces} if base else {}
    copies = [
        _copy(style, piece, layer, layers, options, under.get(piece.name))
        for piece, layers in chosen
        for layer in layers
    ]
    return tuple(sorted(copies, key=lambda c: order[c.layer.name] if c.layer else -1))


def layers_to_print(style: Style, piece: Piece, wanted: Sequence[str]) -> tuple[Layer | None, ...]:
    """The layers for which that piece is printed; (None,) for a piece that is cut from nothing."""
    names = [_known_layer(style, name) for name in wanted if name != "all"]
    cut_from = {source.layer for source in piece.cut}
    own = [layer for layer in style.layers if layer.name in cut_from]
    if "all" in wanted:
        return tuple(own)
    if not names:
        return tuple(own[:1] + [layer for layer in own[1:] if not layer.allowance]) or (None,)
    return tuple(layer for layer in own if layer.name in names)


def _known_layer(style: Style, wanted: str) -> str:
    """The layer's own name; a low line may stand for a space."""
    known = {layer.name.replace("_", " "): layer.name for layer in style.layers}
    plain = wanted.replace("_", " ")
    if plain not in known:
        names = ", ".join(known.values())
        raise BadInput(f"Style {style.name} has no layer {wanted[:40]!r}: name one of {names}, or all.")
    return known[plain]


def _copy(
    style: Style,
    piece: Piece,
    layer: Layer | None,
    layers: Sequence[Layer | None],
    options: PrintOptions,
    under: Piece | None,
) -> Copy:
    others = _sharing(piece, layer, layers)
    drawn = PieceOptions(
        label=label_words(style, piece, layer, others, options),
        height=LABEL_MM,
        cuts=() if layer is None else (cut_outline(piece, layer),),
        base=under,
        marks=options.marks,
        channels=tuple(options.channels.get(piece.name, ())),
    )
    turn = GRAIN_UPRIGHT - piece.grain_deg
    drawing = Recorder()
    drawn = replace(drawn, usual=draw_piece(Moved(drawing, turned=turn), piece, drawn))
    outline = np.concatenate([flat(stroke) for stroke in drawing.strokes_in("stitching")])
    words = " ".join(cut_words(piece, layer, others))
    return Copy(piece, layer, words, drawn, turn, drawing, drawn_shape(drawing), outline)


def _sharing(piece: Piece, layer: Layer | None, layers: Sequence[Layer | None]) -> set[str]:
    """The layers that are cut with the first copy, since they have none of their own."""
    printed = {own.name for own in layers if own is not None}
    return {source.layer for source in piece.cut} - printed if layer is layers[0] else set()


def drawn_shape(drawing: Recorder) -> BaseGeometry:
    """Everything that is drawn, as one shape: strokes with their widths, and the room of the texts."""
    strokes = [_stroke_shape(stroke) for stroke in drawing.strokes]
    return shapely.union_all(strokes + [text_shape(writing) for writing in drawing.writings])


def _stroke_shape(stroke: Stroke) -> BaseGeometry:
    return LineString(flat(stroke)).simplify(LOOK_MM / 2).buffer(stroke.line.width / 2, quad_segs=2)


def flat(stroke: Stroke) -> NDArray[np.float64]:
    """A stroke as points (m, 2), closed ones with their first point repeated."""
    points = Curve(stroke.points).flatten(LOOK_MM) if stroke.cubic else stroke.points
    return np.concatenate([points, points[:1]]) if stroke.closed else points


def text_shape(writing: Writing) -> Polygon:
    """The room a text takes."""
    return Polygon(text_box(writing.position, writing.string, writing.height, writing.angle, writing.anchor))


def without_holes(shape: BaseGeometry) -> BaseGeometry:
    """The shape with everything inside its outlines filled."""
    parts = shape.geoms if isinstance(shape, MultiPolygon) else [shape]
    return shapely.union_all([Polygon(part.exterior) for part in parts if isinstance(part, Polygon)])
