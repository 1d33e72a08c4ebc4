"""Pieces laid on paper to save it: each is slid down to where it comes to lie lowest, turned if that helps.

Paper has no grain, so a piece may be turned by quarter turns; its grain arrow turns with it.  Deterministic.
The sheet fills from its upper edge.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.affinity import affine_transform, rotate
from shapely.geometry.base import BaseGeometry

from coutil.sheet._drawing import Floats

# Columns in which the filled height is kept, and points along an outline by which its reach is found.
COLUMN_MM = 2.0
SAMPLE_MM = 0.5

# Two places whose height differs by less are equally good; the one nearer to the left edge is taken.
ALIKE_MM = 0.01


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a shape comes to lie: turned about its own (0, 0) by that many degrees, then shifted, mm."""

    turned: float
    dx: float
    dy: float


@dataclass(frozen=True, slots=True)
class Packing:
    """The spot of each shape, in the order given, and the sheet's size from (0, 0), mm."""

    spots: tuple[Spot, ...]
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Order:
    """One way to lay: which shape is laid first (the largest value), and which turns are tried for it."""

    first: Callable[[BaseGeometry], float]
    turns: tuple[float, ...]


UPRIGHT, UPSIDE_DOWN, QUARTERS = (0.0,), (0.0, 180.0), (0.0, 180.0, 90.0, 270.0)


def _tall(shape: BaseGeometry) -> float:
    xmin, ymin, xmax, ymax = shape.bounds
    return float(max(ymax - ymin, xmax - xmin))


def _large(shape: BaseGeometry) -> float:
    return float(shape.area)


ORDERS = tuple(Order(first, turns) for turns in (UPRIGHT, UPSIDE_DOWN, QUARTERS) for first in (_tall, _large))

# So many shapes fill the paper well in any order; fewer ways are then tried, for the time it takes.
MANY = 20
# Where only one width is tried, there is time for so many orders more.
MIXED = 16
ORDERS_FOR_MANY = (Order(_tall, UPSIDE_DOWN), Order(_tall, QUARTERS))


def _mixed_orders() -> Iterator[Order]:
    """Tallest first, but only about so: sizes are multiplied by a number that is the same in every run."""
    for seed in range(MIXED):
        rng = np.random.default_rng(seed)
        # One number for each shape, by its turn in asking, which is always the same.
        yield Order(lambda shape, rng=rng: _tall(shape) * rng.uniform(0.7, 1.3), QUARTERS)  # type: ignore[misc]


@dataclass(frozen=True, slots=True, eq=False)
class _Turned:
    """A shape turned, with its lowest and highest reach in each column, counted downwards from the sheet's top."""

    degrees: float
    left: float
    right: float
    low: Floats
    high: Floats


def packings(
    shapes: Sequence[BaseGeometry], widths: Sequence[float], gap: float, upright: frozenset[int] = frozenset()
) -> Iterator[Packing]:
    """Every way tried to lay the shapes, at least `gap` mm apart, on sheets of these widths.

    Shapes in `upright` are never turned.  A shape wider than the sheet stands at its left edge and reaches over.
    """
    forms = [
        tuple(_turned(shape, degrees, gap) for degrees in (UPRIGHT if i in upright else QUARTERS))
        for i, shape in enumerate(shapes)
    ]
    orders = ORDERS if len(shapes) <= MANY else ORDERS_FOR_MANY
    if len(widths) == 1 and len(shapes) <= MANY:
        orders = (*orders, *_mixed_orders())
    for width in widths:
        for order in orders:
            yield _packing(shapes, _spots(shapes, forms, width, order))


def _spots(
    shapes: Sequence[BaseGeometry], forms: Sequence[Sequence[_Turned]], width: float, order: Order
) -> list[Spot]:
    filled = np.zeros(max(1, int(width / COLUMN_MM)))
    spots = [Spot(0.0, 0.0, 0.0)] * len(shapes)
    for i in sorted(range(len(shapes)), key=lambda i: (-order.first(shapes[i]), i)):
        spots[i], filled = _laid([form for form in forms[i] if form.degrees in order.turns], filled)
    return spots


def _turned(shape: BaseGeometry, degrees: float, gap: float) -> _Turned:
    """The reach of the shape in the columns, half a gap wider on every side."""
    lines = rotate(shape.simplify(SAMPLE_MM / 5), degrees, origin=(0, 0)).buffer(gap / 2, quad_segs=4).boundary
    points = shapely.get_coordinates(shapely.segmentize(lines, SAMPLE_MM))
    left, right = float(points[:, 0].min()), float(points[:, 0].max())
    columns = ((points[:, 0] - left) / COLUMN_MM).astype(int)
    low, high = np.full(columns.max() + 1, np.inf), np.full(columns.max() + 1, -np.inf)
    # Between two sampled points an outline may reach as much as half a sample farther.
    np.minimum.at(low, columns, -points[:, 1] - SAMPLE_MM / 2)
    np.maximum.at(high, columns, -points[:, 1] + SAMPLE_MM / 2)
    return _Turned(degrees, left, right, low, high)


def _laid(forms: Sequence[_Turned], filled: Floats) -> tuple[Spot, Floats]:
    """The form and place that end highest on the sheet, of several the leftmost; and what is filled then."""
    places = [(form, *_lowest(form, filled)) for form in forms]
    form, column, down = min(places, key=_reach)
    wider = np.zeros(max(len(filled), column + len(form.low)))
    wider[: len(filled)] = filled
    span = slice(column, column + len(form.low))
    wider[span] = np.maximum(wider[span], down + form.high)
    return Spot(form.degrees, column * COLUMN_MM - form.left, -down), wider


def _reach(place: tuple[_Turned, int, float]) -> tuple[int, int]:
    """How far down and how far right a form reaches at its place."""
    form, column, down = place
    return round((down + float(form.high.max())) / ALIKE_MM), column + len(form.low)


def _lowest(form: _Turned, filled: Floats) -> tuple[int, float]:
    """The column, and how far down the form is slid there."""
    count = len(form.low)
    if count >= len(filled):
        return 0, float(np.max(filled - np.resize(form.low, len(filled))))
    rests = (np.lib.stride_tricks.sliding_window_view(filled, count) - form.low).max(axis=1)
    column = int(np.argmin(np.round(rests / ALIKE_MM)))
    return column, float(rests[column])


def _packing(shapes: Sequence[BaseGeometry], spots: Sequence[Spot]) -> Packing:
    """The spots moved so that all shapes together start at (0, 0)."""
    bounds = np.array([placed(shape, spot).bounds for shape, spot in zip(shapes, spots, strict=True)])
    left, bottom = bounds[:, :2].min(axis=0)
    right, top = bounds[:, 2:].max(axis=0)
    moved = tuple(Spot(spot.turned, spot.dx - float(left), spot.dy - float(bottom)) for spot in spots)
    return Packing(moved, float(right - left), float(top - bottom))


def placed(shape: BaseGeometry, spot: Spot) -> BaseGeometry:
    """The shape as it lies on the sheet."""
    turn = np.radians(spot.turned)
    cos, sin = round(float(np.cos(turn)), 12), round(float(np.sin(turn)), 12)
    return affine_transform(shape, (cos, -sin, sin, cos, spot.dx, spot.dy))
