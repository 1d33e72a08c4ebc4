"""The cut set: every piece from every layer it is cut from, with its count."""

from __future__ import annotations

from dataclasses import dataclass

from coutil.cut._outline import CutPiece, cut_outline
from coutil.cut._widths import USUAL, Allowances
from coutil.errors import BadStyle
from coutil.pattern import CutFrom, Layer, Piece, Style


@dataclass(frozen=True, slots=True, eq=False)
class CutItem:
    """One line of the cutting list: what to cut, how often, and whether half of them are mirrored."""

    cut: CutPiece
    title: str
    count: int
    mirrored: bool


def cut_set(style: Style, allowances: Allowances = USUAL) -> tuple[CutItem, ...]:
    """Every piece of the style from every layer it is cut from, layer by layer in the style's order.

    Raises BadStyle where a piece names a layer that the style does not have.
    """
    _require_layers(style)
    return tuple(
        CutItem(cut_outline(piece, layer, allowances), piece.title, source.count, source.mirrored)
        for layer in style.layers
        for piece in style.pieces
        for source in _sources(piece, layer)
    )


def _sources(piece: Piece, layer: Layer) -> tuple[CutFrom, ...]:
    return tuple(source for source in piece.cut if source.layer == layer.name)


def _require_layers(style: Style) -> None:
    known = [layer.name for layer in style.layers]
    for piece in style.pieces:
        for source in piece.cut:
            if source.layer not in known:
                names = ", ".join(known) or "none"
                raise BadStyle(
                    f"piece {piece.name} is cut from {source.layer}, a layer the style has not ({names})"
                )
