"""The cutting list: every piece from every layer with its grain and allowances, and the cloth it needs."""

from __future__ import annotations

import math
from collections.abc import Sequence, Set
from dataclasses import dataclass, replace

import numpy as np

from coutil.cut._cut_set import CutItem, cut_set
from coutil.cut._order import Cloth, OrderOptions
from coutil.cut._small_parts import SmallPart
from coutil.cut._widths import OUTER_ROLES, Allowances, edge_width
from coutil.cut.lay._values import LayPlan
from coutil.pattern import Layer, Piece, Role, Style

# Cloth for one direction of lay: a seventh more than the pieces' area, to 10 cm (common practice).
LAY_FACTOR = 1.15
METRE_STEP_MM = 100.0


@dataclass(frozen=True, slots=True)
class EdgeAllowance:
    """What is left beyond the stitching line at one edge of a cut piece, mm; turn of cloth is not counted."""

    edge: str
    role: Role
    width: float


@dataclass(frozen=True, slots=True)
class CuttingRow:
    """One piece from one layer: `count` in all, half of them mirrored where `mirrored`.

    `on_fold` where it is cut on the fold, `turn` is the turn of cloth at sewn edges and at the garment's
    edges, `size` (across, along the grain) and `area` of one cut piece in mm and square mm.
    `at_busk`: the busk is set into it where there is one, studs on the wearer's left, loops on the right.
    """

    piece: str
    title: str
    layer: str
    count: int
    mirrored: bool
    on_fold: bool
    grain_deg: float
    turn: tuple[float, float]
    allowances: tuple[EdgeAllowance, ...]
    size: tuple[float, float]
    area: float
    at_busk: bool = False


@dataclass(frozen=True, slots=True)
class ClothNeed:
    """The cloth of one layer: length to buy in mm, and what it costs where a price is known.

    `laid` where the length is that of a lay plan, else it is an estimate; `small_laid` where that plan holds the
    layer's small parts too, else they are estimated on top.  `laid_with` names the layer in whose length this one
    lies: the length here is then 0.
    """

    cloth: Cloth
    length: float
    cost: float | None
    laid: bool = False
    small_laid: bool = False
    laid_with: str = ""


def cutting_rows(style: Style, allowances: Allowances) -> tuple[CuttingRow, ...]:
    """The pieces of the ordered style, layer by layer."""
    layers = {layer.name: layer for layer in style.layers}
    return tuple(_row(style, layers[item.cut.layer], item, allowances) for item in cut_set(style, allowances))


def cloth_needs(
    style: Style,
    rows: Sequence[CuttingRow],
    parts: Sequence[SmallPart],
    options: OrderOptions,
    lays: Sequence[LayPlan] = (),
) -> tuple[ClothNeed, ...]:
    """What to buy for each layer: by its lay plan, else 1.15 x the area of all its pieces / the width, up to 10 cm.

    Example: 0.8 square metres at 1.4 m wide: 1.15 x 0.8 / 1.4 = 0.657, so 0.7 m; laid on 612 mm it is 0.62 m.
    An estimate is never shorter than the longest piece: two cups 184 high need 0.2 m of the widest foam.
    """
    return tuple(_needed(layer, rows, parts, options.cloth(layer.name), lays) for layer in style.layers)


def _row(style: Style, layer: Layer, item: CutItem, allowances: Allowances) -> CuttingRow:
    piece = style.piece(item.cut.piece)
    plain = replace(layer, turn=0.0, turn_at_edges=0.0, over_foam=0.0)
    widths = tuple(EdgeAllowance(e.name, e.role, edge_width(piece, e, plain, allowances)) for e in piece.edges)
    turn = math.radians(90.0 - piece.grain_deg)
    upright = item.cut.outline @ np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    across, along = np.ptp(upright, axis=0).tolist()
    return CuttingRow(
        piece.name,
        item.title,
        layer.name,
        item.count,
        item.mirrored,
        item.cut.fold is not None,
        piece.grain_deg,
        (layer.turn, layer.turn_at_edges),
        tuple(width for width in widths if not (width.role is Role.CENTRE and item.cut.fold == width.edge)),
        (across, along),
        item.cut.area,
        _is_at_busk(piece),
    )


def _is_at_busk(piece: Piece) -> bool:
    """A panel that ends in the front closure, and is not laced."""
    opens = any(edge.role is Role.CLOSURE for edge in piece.edges)
    return opens and piece.part == "front" and "waist" in piece.levels and not piece.eyelets


def _needed(
    layer: Layer, rows: Sequence[CuttingRow], parts: Sequence[SmallPart], cloth: Cloth, lays: Sequence[LayPlan]
) -> ClothNeed:
    small = sum(part.area for part in parts if part.layer == layer.name)
    plan = next((plan for plan in lays if layer.name in layers_laid(plan)), None)
    if plan is not None:
        return _laid(layer, small, {row.piece for row in rows}, cloth, plan)
    own = [row for row in rows if row.layer == layer.name]
    longest = max((row.size[1] for row in own), default=0.0)
    length = max(_estimated(sum(row.area * row.count for row in own) + small, cloth.width), _sold(longest))
    return ClothNeed(cloth, length, _cost(cloth.price, length))


def _laid(layer: Layer, small: float, pieces: Set[str], cloth: Cloth, plan: LayPlan) -> ClothNeed:
    """The plan's length; small parts that it leaves out are estimated on top."""
    used = replace(cloth, width=plan.cloth.width)
    own = [size for size in plan.parts if size.layer == layer.name]
    holds_small = not small or any(size.piece not in pieces for size in own)
    extra = 0.0 if holds_small else _estimated(small, plan.cloth.width)
    first = layers_laid(plan)[0]
    length = extra if first != layer.name else plan.sold_length + extra
    price = cloth.price if plan.cloth.price is None else plan.cloth.price
    return ClothNeed(used, length, _cost(price, length), True, holds_small, "" if first == layer.name else first)


def layers_laid(plan: LayPlan) -> tuple[str, ...]:
    """The layers a lay plan lays, in its own order."""
    return tuple(dict.fromkeys(size.layer for size in plan.parts))


def _estimated(area: float, width: float) -> float:
    return _sold(LAY_FACTOR * area / width)


def _sold(length: float) -> float:
    return math.ceil(length / METRE_STEP_MM - 1e-9) * METRE_STEP_MM


def _cost(price: float | None, length: float) -> float | None:
    return None if price is None else price * length / 1000.0


def raw_edges(row: CuttingRow) -> tuple[EdgeAllowance, ...]:
    """The garment's own edges that are cut without allowance, to be bound."""
    return tuple(edge for edge in row.allowances if edge.role in OUTER_ROLES and edge.width == 0)
