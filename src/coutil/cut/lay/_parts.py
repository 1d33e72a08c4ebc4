"""Parts to lay: a style's cut pieces of some layers, both hands of each, and small parts as rectangles."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from coutil.cut._cut_set import CutItem
from coutil.cut._outline import cut_outline
from coutil.cut._small_parts import SmallPart
from coutil.cut._widths import USUAL, Allowances
from coutil.cut.lay._values import Floats, LayCloth, LayPart
from coutil.errors import BadInput
from coutil.pattern import Piece, Style

# More parts than this on one cloth is a factory's marker, and an entry gone wrong in a workroom.
MOST_COPIES = 500

# Bias strips are joined from lengths that find room between the pieces (common practice, no source).
LONGEST_STRIP_MM = 700.0
JOIN_MM = 10.0
BIAS_DEG = 45.0


def lay_parts(
    style: Style,
    layers: Sequence[str],
    cloth: LayCloth,
    allowances: Allowances = USUAL,
    small: Sequence[LayPart] = (),
) -> tuple[LayPart, ...]:
    """Every piece cut from the named layers, with the small parts after them, ready for that cloth.

    A piece on the fold lies as its half on a folded cloth and opened out on a single one.
    Raises BadInput for a layer the style has not, and where there is nothing to lay.
    """
    _require_layers(style, layers)
    wanted = [layer for layer in style.layers if layer.name in layers]
    parts = (
        *(
            _part(
                CutItem(cut_outline(piece, layer, allowances), piece.title, source.count, source.mirrored), piece, cloth
            )
            for layer in wanted
            for piece in style.pieces
            for source in piece.cut
            if source.layer == layer.name
        ),
        *small,
    )
    count = sum(part.count for part in parts)
    if not count:
        raise BadInput(f"Nothing is cut from {', '.join(layers)}: name another layer.")
    if count > MOST_COPIES:
        raise BadInput(f"{count} parts on one cloth are more than the {MOST_COPIES} a lay plan takes.")
    return parts


def rectangle(
    piece: str, layer: str, along: float, across: float, count: int, title: str = "", grain_deg: float = 0.0
) -> LayPart:
    """A small part: `along` x `across` mm, its length at `grain_deg` to the grain (45: cut on the bias).

    Raises BadInput for a size or count that cannot be cut.
    """
    if not (0 < along < math.inf and 0 < across < math.inf and count >= 1):
        raise BadInput(f"{piece}: a small part needs a length and a width above 0 and a count of 1 or more.")
    corners = np.array([(0.0, 0.0), (along, 0.0), (along, across), (0.0, across)])
    outline = _turned(corners, grain_deg)
    return LayPart(piece, title or piece.replace("_", " ").capitalize(), layer, outline, count, either_hand=True)


def small_lay_parts(small: Sequence[SmallPart], layer: str) -> tuple[LayPart, ...]:
    """The small parts that are cut from the cloth of that layer, as rectangles.

    A strip longer than LONGEST_STRIP_MM is cut in equal lengths, each with JOIN_MM to join it at both ends.
    """
    wanted = [part for part in small if part.layer == layer and not part.made_with]
    return tuple(
        _strip(part, f"{part.name} {i + 1}" if _repeated(part, wanted) else part.name) for i, part in enumerate(wanted)
    )


def _repeated(part: SmallPart, others: Sequence[SmallPart]) -> bool:
    return sum(other.name == part.name for other in others) > 1


def _strip(part: SmallPart, name: str) -> LayPart:
    lengths = math.ceil(part.length / LONGEST_STRIP_MM)
    joins = 2 * JOIN_MM if lengths > 1 else 0.0
    slant = BIAS_DEG if part.grain == "bias" else 0.0
    return rectangle(name, part.layer, part.length / lengths + joins, part.width, part.count * lengths, grain_deg=slant)


def _require_layers(style: Style, layers: Sequence[str]) -> None:
    known = [layer.name for layer in style.layers]
    for layer in layers:
        if layer not in known:
            raise BadInput(f"The style has no layer {layer[:60]}: name one of {', '.join(known)}.")


def _part(item: CutItem, piece: Piece, cloth: LayCloth) -> LayPart:
    if item.cut.fold is not None:
        return _fold_part(item, piece, cloth)
    outline = _turned(item.cut.outline, -piece.grain_deg)
    mirrored = item.count // 2 if item.mirrored else 0
    return LayPart(piece.name, item.title, item.cut.layer, outline, item.count - mirrored, mirrored)


def _fold_part(item: CutItem, piece: Piece, cloth: LayCloth) -> LayPart:
    """The half with its fold at y = 0, or both halves where the cloth lies single."""
    half = _fold_down(_turned(item.cut.outline, -piece.grain_deg), _fold_line(piece, item.cut.fold))
    outline = half if cloth.folded else _opened(half)
    return LayPart(piece.name, item.title, item.cut.layer, outline, item.count, either_hand=True, on_fold=cloth.folded)


def _fold_line(piece: Piece, edge: str | None) -> Floats:
    curve = piece.edge(edge or "").curve
    return _turned(np.array([curve.start, curve.end]), -piece.grain_deg)


def _fold_down(outline: Floats, fold: Floats) -> Floats:
    """The outline moved and, if need be, flipped so that the fold is its lower edge."""
    below = float(np.mean(fold[:, 1])) <= float(np.mean(outline[:, 1]))
    return outline * (1.0, 1.0 if below else -1.0) + (0.0, (-1.0 if below else 1.0) * float(np.mean(fold[:, 1])))


def _opened(half: Floats) -> Floats:
    both = shapely.union_all([Polygon(half), Polygon(half * (1.0, -1.0))], grid_size=1e-6)
    return np.asarray(shapely.get_coordinates(both.exterior))[:-1]


def _turned(points: Floats, degrees: float) -> Floats:
    """Points turned about (0, 0); quarter turns are exact."""
    quarters = degrees / 90
    if quarters == round(quarters):
        cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarters) % 4]
    else:
        cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.asarray(points @ np.array([[cos, sin], [-sin, cos]]))
