"""A base pattern as a drawing to look at and to point at: pieces side by side, each edge a shape of its own."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coutil.pattern import Piece, Style

GAP_MM = 40.0
MARGIN_MM = 30.0
LABEL_MM = 8.0

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class EdgeShape:
    """An edge: its path, where its label stands and how it is turned (degrees), where it begins (a corner).

    All in the drawing's mm, y down.
    """

    name: str
    role: str
    path: str
    label: tuple[float, float]
    turn: float
    corner: tuple[float, float]


@dataclass(frozen=True, slots=True)
class PieceShape:
    """A piece: `shift` turns its own mm (y up) into the drawing's: x + shift[0], shift[1] - y."""

    name: str
    title: str
    outline: str
    edges: tuple[EdgeShape, ...]
    levels: tuple[tuple[str, float, float, float], ...]
    middle: tuple[float, float]
    shift: tuple[float, float]


@dataclass(frozen=True, slots=True)
class PatternShape:
    """All pieces, and how wide and high the drawing is, mm."""

    pieces: tuple[PieceShape, ...]
    width: float
    height: float


def pattern_shape(style: Style) -> PatternShape:
    """The pieces in a row, cups above the panels they are sewn to as they stand in the style."""
    boxes = [_box(piece) for piece in style.pieces]
    tallest = max(box[3] - box[1] for box in boxes)
    x, shapes = MARGIN_MM, []
    for piece, box in zip(style.pieces, boxes, strict=True):
        top = MARGIN_MM + (tallest - (box[3] - box[1])) / 2
        shapes.append(_piece(piece, (x - box[0], top + box[3])))
        x += box[2] - box[0] + GAP_MM
    return PatternShape(tuple(shapes), x - GAP_MM + MARGIN_MM, tallest + 2 * MARGIN_MM)


def _box(piece: Piece) -> tuple[float, float, float, float]:
    points = np.concatenate([edge.curve.flatten(0.5) for edge in piece.edges])
    (left, low), (right, high) = points.min(axis=0), points.max(axis=0)
    return float(left), float(low), float(right), float(high)


def _piece(piece: Piece, shift: tuple[float, float]) -> PieceShape:
    edges = tuple(
        EdgeShape(edge.name, edge.role.value, _path(placed), *_label(placed), _pair(placed[0]))
        for edge, placed in ((edge, _placed(edge.curve.points, shift)) for edge in piece.edges)
    )
    box = _box(piece)
    levels = tuple(
        (name, shift[1] - y, shift[0] + box[0] - 6, shift[0] + box[2] + 6) for name, y in piece.levels.items()
    )
    middle = (shift[0] + (box[0] + box[2]) / 2, shift[1] - (box[1] + box[3]) / 2)
    outline = " ".join(_path(_placed(edge.curve.points, shift)) for edge in piece.edges)
    return PieceShape(piece.name, piece.title, outline.replace(" M", " L") + " Z", edges, levels, middle, shift)


def _placed(points: Points, shift: tuple[float, float]) -> Points:
    return np.column_stack((points[:, 0] + shift[0], shift[1] - points[:, 1]))


def _path(points: Points) -> str:
    rest = " ".join(_spot(point) for point in points[1:])
    return f"M{_spot(points[0])} C{rest}"


def _spot(point: Sequence[float] | Points) -> str:
    return f"{point[0]:.2f},{point[1]:.2f}"


def _label(points: Points) -> tuple[tuple[float, float], float]:
    """Beside the middle of an edge, within the piece, and the edge's own direction there, never upside down."""
    middle, along = _middle(points)
    along = along / max(float(np.hypot(*along)), 1e-9)
    # The outline runs anticlockwise and y points down here, so the piece lies to the left: (y, -x).
    place = middle + LABEL_MM * np.array([along[1], -along[0]])
    turn = math.degrees(math.atan2(along[1], along[0]))
    return _pair(place), round((turn + 90.0) % 180.0 - 90.0, 1)


def _middle(points: Points) -> tuple[Points, Points]:
    """The middle of an edge's middle span, and its direction there."""
    first = 3 * (((len(points) - 1) // 3) // 2)
    p = points[first : first + 4]
    return (p[0] + 3 * p[1] + 3 * p[2] + p[3]) / 8, (p[3] + p[2] - p[1] - p[0])


def _pair(point: Points) -> tuple[float, float]:
    return round(float(point[0]), 2), round(float(point[1]), 2)
