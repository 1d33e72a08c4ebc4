"""The shipped bases made ready once, charts that differ from a base's own, and small readers of what was moved."""

from __future__ import annotations

import csv
import os
from functools import cache
from pathlib import Path

import numpy as np

from coutil.alter import Alterer
from coutil.measure import Chart, chart_from_survey_row
from coutil.pattern import Style
from coutil.shipped import shipped_base

# The whole sets take minutes; without this a handful of each is run.
LONG = os.environ.get("COUTIL_LONG_TESTS") == "1"

LEVELS = ("bust", "underbust", "waist", "high_hip", "hem")
Size = tuple[int, int]


@cache
def base_of(under: int = 85, cup: int = 14) -> Style:
    return shipped_base(f"{under}-{cup}")


@cache
def alterer_of(under: int = 85, cup: int = 14) -> Alterer:
    return Alterer(base_of(under, cup))


def client_of(base: Style, **changes: float) -> Chart:
    """The base's own chart with some readings changed by so many mm."""
    chart = base.base_chart
    for key, change in changes.items():
        chart = chart.with_value(key, chart[key] + change)
    return chart


def everywhere(girth: float, front: float) -> dict[str, float]:
    """The same change of full girth and of its front at every level, mm."""
    return {f"{level}_girth": girth for level in LEVELS} | {f"{level}_front": front for level in LEVELS}


def moved(before: Style, after: Style, piece: str, edge: str) -> np.ndarray:
    """How far each knot of an edge moved, (k, 2), mm."""
    old, new = (style.piece(piece).edge(edge).curve.knots for style in (before, after))
    return np.asarray(new - old)


def length(style: Style, piece: str, edge: str) -> float:
    return style.piece(piece).edge(edge).curve.length


def most_moved(before: Style, after: Style) -> float:
    """The largest move of any control point, mm."""
    return max(
        float(np.abs(edge.curve.points - after.piece(piece.name).edge(edge.name).curve.points).max())
        for piece in before.pieces
        for edge in piece.edges
    )


def survey_charts(file: Path) -> list[Chart]:
    """The bodies of a survey that the cupped style is drafted for: underbust 62 to 108, cup difference 8 to 26 cm."""
    with file.open(newline="", encoding="utf-8") as rows:
        charts = [chart_from_survey_row(row) for row in csv.DictReader(rows)]
    return [chart for chart in charts if _in_range(chart)]


def _in_range(chart: Chart) -> bool:
    under = chart["underbust_girth"]
    return 620.0 <= under <= 1080.0 and 80.0 <= chart["bust_girth"] - under <= 260.0
