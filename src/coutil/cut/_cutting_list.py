"""The cutting list: every piece from every layer with its grain and allowances, and the cloth it needs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from coutil.cut._cut_set import CutItem, cut_set
from coutil.cut._order import Cloth, OrderOptions
from coutil.cut._small_parts import SmallPart
from coutil.cut._widths import OUTER_ROLES, Allowances, edge_width
from coutil.pattern import Layer, Role, Style

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


@dataclass(frozen=True, slots=True)
class ClothNeed:
    """An estimate made before a lay plan: length to buy in mm, and what it costs where a price is known."""

    cloth: Cloth
    length: float
    cost: float | None


def cutting_rows(style: Style, allowances: Allowances) -> tuple[CuttingRow, ...]:
    """The pieces of the ordered style, layer by layer."""
    layers = {layer.name: layer for layer in style.layers}
    return tuple(_row(style, layers[item.cut.layer], item, allowances) for item in cut_set(style, allowances))


def cloth_needs(
    style: Style, rows: Sequence[CuttingRow], parts: Sequence[SmallPart], options: OrderOptions
) -> tuple[ClothNeed, ...]:
    """What to buy for each layer: 1.15 x the area of all its pieces / the cloth's width, up to 10 cm.

    Example: 0.8 square metres at 1.4 m wide: 1.15 x 0.8 / 1.4 = 0.657, so 0.7 m.
    """
    return tuple(_need(layer, rows, parts, options.cloth(layer.name)) for layer in style.layers)


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
    )


def _need(layer: Layer, rows: Sequence[CuttingRow], parts: Sequence[SmallPart], cloth: Cloth) -> ClothNeed:
    area = sum(row.area * row.count for row in rows if row.layer == layer.name)
    area += sum(part.area for part in parts if part.layer == layer.name)
    length = math.ceil(LAY_FACTOR * area / cloth.width / METRE_STEP_MM - 1e-9) * METRE_STEP_MM
    return ClothNeed(cloth, length, None if cloth.price is None else cloth.price * length / 1000.0)


def raw_edges(row: CuttingRow) -> tuple[EdgeAllowance, ...]:
    """The garment's own edges that are cut without allowance, to be bound."""
    return tuple(edge for edge in row.allowances if edge.role in OUTER_ROLES and edge.width == 0)
