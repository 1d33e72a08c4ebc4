"""Bases drafted once, and small readers of what an alteration moved."""

from __future__ import annotations

from functools import cache

import numpy as np

from coutil.alter import Alterer
from coutil.draft import base_chart, draft_cupped
from coutil.measure import Chart
from coutil.pattern import Style


@cache
def drafted(under: float = 85, cup: float = 14) -> Style:
    return draft_cupped(base_chart(under, cup))


@cache
def alterer(under: float = 85, cup: float = 14) -> Alterer:
    return Alterer(drafted(under, cup))


def client(base: Style, **changes: float) -> Chart:
    """The base's own chart with some readings changed by so many mm."""
    chart = base.base_chart
    for key, change in changes.items():
        chart = chart.with_value(key, chart[key] + change)
    return chart


def shift(before: Style, after: Style, piece: str, edge: str) -> np.ndarray:
    """How far each knot of an edge moved, (k, 2), mm."""
    old, new = (style.piece(piece).edge(edge).curve.knots for style in (before, after))
    return np.asarray(new - old)


def largest_shift(before: Style, after: Style) -> float:
    """The largest move of any control point, mm."""
    return max(
        float(np.abs(edge.curve.points - after.piece(piece.name).edge(edge.name).curve.points).max())
        for piece in before.pieces
        for edge in piece.edges
    )
