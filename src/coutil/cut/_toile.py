"""The toile pack: one layer, wide inlays where a toile is let out, and everything to mark on it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from coutil.cut._bones import Bone, bones_for
from coutil.cut._channels import laced_edges, panel_middles
from coutil.cut._cutting_list import CuttingRow, cutting_rows
from coutil.cut._order import OrderOptions
from coutil.cut._ribbons import Floats
from coutil.cut._small_parts import SmallPart
from coutil.cut._widths import Allowances
from coutil.pattern import CutFrom, Edge, Layer, Piece, Role, Style

TOILE = "toile"
# Where a toile is let out at a fitting, and everywhere else, mm (common practice).
WIDE_INLAY_MM = 25.0
INLAY_MM = 15.0
WIDE_ROLES = frozenset({Role.SIDE_SEAM, Role.TOP, Role.NECKLINE, Role.ARMHOLE})
# A strip of eyelets to sew to the centre back: 5 in wide, over a 1911 toile 18 in long (common practice).
STRIP_WIDTH_MM = 127.0
STRIP_LONGER_MM = 20.0


@dataclass(frozen=True, slots=True, eq=False)
class MarkedLine:
    """A level to draw on a toile's piece, from its left to its right side, (2, 2)."""

    piece: str
    level: str
    ends: Floats


@dataclass(frozen=True, slots=True, eq=False)
class MarkedPoint:
    """A point to mark on a toile's piece, such as the bust point, (2,)."""

    piece: str
    name: str
    point: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Toile:
    """A style to be cut as a toile, its list, marks, one bone up the middle of every panel, lacing strips."""

    style: Style
    rows: tuple[CuttingRow, ...]
    levels: tuple[MarkedLine, ...]
    points: tuple[MarkedPoint, ...]
    bones: tuple[Bone, ...]
    strips: tuple[SmallPart, ...]


def make_toile(style: Style, options: OrderOptions) -> Toile:
    """The toile pack of a style: single layer, 25 mm inlay at side seams, centre back and top, 15 elsewhere."""
    toile = toile_style(style)
    return Toile(
        toile,
        cutting_rows(toile, Allowances()),
        tuple(line for piece in toile.pieces for line in _levels(piece)),
        tuple(_bust_points(toile)),
        bones_for(panel_middles(toile), options),
        tuple(_strips(toile)),
    )


def is_toile(style: Style) -> bool:
    """Whether a style is cut as a toile."""
    return [layer.name for layer in style.layers] == [TOILE]


def toile_style(style: Style) -> Style:
    """The style cut once from one layer with a toile's inlays on every edge; it stays what it is if it is one."""
    if is_toile(style):
        return style
    pieces = tuple(_inlaid(style, piece) for piece in style.pieces)
    title = f"{style.title}, toile"
    return replace(style, title=title, pieces=pieces, layers=(Layer(TOILE),), construction="single")


def _inlaid(style: Style, piece: Piece) -> Piece:
    edges = tuple(replace(edge, allowance=_inlay(piece, edge)) for edge in piece.edges)
    mirrored = style.half and piece.centre_cut != "fold"
    return replace(piece, edges=edges, cut=(CutFrom(TOILE, style.sides if mirrored else 1, mirrored),))


def _inlay(piece: Piece, edge: Edge) -> float:
    centre_back = piece.part == "back" and edge.role.is_vertical
    return WIDE_INLAY_MM if centre_back or edge.role in WIDE_ROLES else INLAY_MM


def _levels(piece: Piece) -> Iterator[MarkedLine]:
    """Each level between the outermost points at which the outline meets it."""
    for level, y in piece.levels.items():
        xs = [crossing.x for edge in piece.edges for crossing in edge.curve.crossings(y)]
        xs += [float(piece.point(at)[0]) for at in piece.marks_of(level)]
        if len(xs) >= 2 and max(xs) > min(xs):
            yield MarkedLine(piece.name, level, np.array([(min(xs), y), (max(xs), y)]))


def _bust_points(style: Style) -> Iterator[MarkedPoint]:
    for piece in style.pieces:
        for mark in piece.landmarks:
            if mark.name == "bust_point":
                yield MarkedPoint(piece.name, mark.name, piece.point(mark.at))


def _strips(style: Style) -> Iterator[SmallPart]:
    for piece in style.pieces:
        for edge in laced_edges(piece):
            length = edge.curve.length
            cut = length + 2 * STRIP_LONGER_MM
            note = "with eyelets; sewn to the centre back and used again for the next toile"
            yield SmallPart(
                "lacing strip", style.sides, cut, STRIP_WIDTH_MM, TOILE, "straight", length, note
            )
