"""Shapes for the drawing: path data, where the pieces lie on the table, and where a row's arrows stand.

A screen's y runs down, a pattern's up: every y is turned here and nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coutil.alter import Move
from coutil.curves import Curve
from coutil.cut import cut_outline
from coutil.pattern import Edge, Layer, Piece, Style

Floats = NDArray[np.float64]
Box = tuple[float, float, float, float]

GAP_MM = 46.0  # Two cut lines of usual width between neighbours still leave room for a label.
DECIMALS = 2  # A hundredth of a millimetre: far below a screen's dot at any zoom.


@dataclass(frozen=True, slots=True)
class Spot:
    """Where an arrow stands on a piece, and the unit vector of a positive move, mm with y up."""

    point: Floats
    direction: Floats


def edge_path(curve: Curve) -> str:
    """The curve as path data of its own."""
    points = _turned(curve.points)
    return f"M{_pair(points[0])}{_cubics(points)}"


def outline_path(piece: Piece) -> str:
    """The piece's outline as one closed path."""
    runs = [_turned(edge.curve.points) for edge in piece.edges]
    return f"M{_pair(runs[0][0])}{''.join(_cubics(points) for points in runs)}Z"


def polygon_path(points: Floats) -> str:
    """A closed polyline (m, 2), as of a cut line."""
    turned = _turned(points)
    return f"M{'L'.join(_pair(point) for point in turned)}Z"


def cut_path(piece: Piece, layers: Iterable[Layer]) -> str | None:
    """The cut line on the first layer the piece is cut from; None for a piece that is cut from nothing."""
    wanted = {source.layer for source in piece.cut}
    first = next((layer for layer in layers if layer.name in wanted), None)
    return None if first is None else polygon_path(cut_outline(piece, first).outline)


def boxes(style: Style) -> dict[str, Box]:
    """The extent of every piece, y down, mm: left, top, right, bottom."""
    return {piece.name: _box(piece) for piece in style.pieces}


def places(style: Style, extents: Mapping[str, Box]) -> dict[str, tuple[float, float]]:
    """Where each piece's frame lies on the table: cups above, panels below with their levels in one line."""
    panels = [piece.name for piece in style.pieces if "waist" in piece.levels]
    cups = [piece.name for piece in style.pieces if "waist" not in piece.levels]
    placed = _row(panels, extents, 0.0)
    if not panels or not cups:
        return placed or _row(cups, extents, 0.0)
    top = min(extents[name][1] for name in panels)
    lowest = max(extents[name][3] for name in cups)
    return {**placed, **_row(cups, extents, top - GAP_MM - lowest)}


def whole_box(extents: Mapping[str, Box], placed: Mapping[str, tuple[float, float]]) -> Box:
    """The extent of all pieces on the table."""
    moved = np.array([(*(np.array(extents[n]) + np.array([*at, *at])),) for n, at in placed.items()])
    return (
        float(moved[:, 0].min()), float(moved[:, 1].min()), float(moved[:, 2].max()), float(moved[:, 3].max()),
    )  # fmt: skip


def spot_of(piece: Piece, move: Move) -> Spot:
    """Where that move acts on the piece, and which way a positive amount goes."""
    edge = piece.edge(move.edge)
    knot = _knot_of(piece, edge, move.level)
    point = middle_of(edge.curve) if knot is None else edge.curve.knots[knot]
    return Spot(point, _direction(piece, edge, move.kind, point))


def middle_of(curve: Curve) -> Floats:
    """A point near the middle of the curve: half-way through its middle span, or its middle knot."""
    if curve.n_spans % 2 == 0:
        return np.asarray(curve.knots[curve.n_spans // 2])
    return np.asarray(curve.spans[curve.n_spans // 2].T @ (np.array([1.0, 3.0, 3.0, 1.0]) / 8))


def level_ends(piece: Piece, level: str) -> tuple[float, float] | None:
    """Left and right x of a level line: where the outline meets it; None where it does not."""
    height = piece.levels[level]
    found = [float(piece.point(at)[0]) for at in piece.marks_of(level)]
    if len(found) < 2:
        found += [crossing.x for edge in piece.edges for crossing in edge.curve.crossings(height)]
    return (min(found), max(found)) if found else None


def _row(names: Iterable[str], extents: Mapping[str, Box], dy: float) -> dict[str, tuple[float, float]]:
    placed, cursor = {}, 0.0
    for name in names:
        left, _, right, _ = extents[name]
        placed[name] = (cursor - left, dy)
        cursor += right - left + GAP_MM
    return placed


def _box(piece: Piece) -> Box:
    found = np.array([edge.curve.bounds() for edge in piece.edges])
    return (
        float(found[:, 0].min()), float(-found[:, 3].max()), float(found[:, 2].max()), float(-found[:, 1].min()),
    )  # fmt: skip


def _knot_of(piece: Piece, edge: Edge, level: str | None) -> int | None:
    """The knot a move names: a level mark, a landmark, or the upper end of the edge; None for the whole edge."""
    if level is None:
        return None
    for mark in piece.level_marks:
        if mark.level == level and mark.at.edge == edge.name:
            return mark.at.knot
    at = piece.landmark(level)
    if at is not None and at.edge == edge.name:
        return at.knot
    ends = edge.curve.knots[[0, -1], 1]
    return (edge.curve.n_spans if ends[1] > ends[0] else 0) if level == "top" else None


def _direction(piece: Piece, edge: Edge, kind: str, point: Floats) -> Floats:
    if kind == "sideways":
        # On an anticlockwise outline outwards is to the right of an edge that runs up.
        return np.array([1.0 if edge.curve.end[1] >= edge.curve.start[1] else -1.0, 0.0])
    if kind == "upwards":
        return np.array([0.0, 1.0])
    away = point - _bust_point(piece)
    size = float(np.linalg.norm(away))
    return np.asarray(away / size) if size > 0 else np.array([0.0, 1.0])


def _bust_point(piece: Piece) -> Floats:
    at = piece.landmark("bust_point")
    if at is not None:
        return np.asarray(piece.point(at))
    return np.asarray(np.mean([edge.curve.start for edge in piece.edges], axis=0))


def _turned(points: Floats) -> Floats:
    return np.asarray(np.round(points * np.array([1.0, -1.0]), DECIMALS) + 0.0)


def _cubics(points: Floats) -> str:
    return "C" + " ".join(_pair(point) for point in points[1:])


def _pair(point: Floats) -> str:
    return f"{point[0]:g} {point[1]:g}"
