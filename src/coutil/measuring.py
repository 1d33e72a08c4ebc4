"""What a pattern itself measures, as a table and as a chart it can be given."""

from __future__ import annotations

from dataclasses import dataclass, replace

from coutil.drawing import own_chart
from coutil.measure import MEASUREMENTS, Chart, Unit, format_length, title
from coutil.pattern import Fit, Style, girth, measure_style

Row = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Measured:
    """The pattern's own measurements by key, mm, and the chart of the body it fits with the given fit."""

    values: dict[str, float]
    chart: Chart
    fit: Fit


def measure_pattern(style: Style, fit: Fit) -> Measured:
    """The tape laid on every piece: net girths, heights, distances."""
    name = f"as {style.name} measures"[:80]
    return Measured(measure_style(style), own_chart(style, fit, name), fit)


def with_own_chart(style: Style, measured: Measured) -> Style:
    """The style with what it measures as its base chart, and that fit."""
    return replace(style, base_chart=measured.chart, base_fit=measured.fit)


def girth_rows(style: Style, fit: Fit, unit: Unit) -> tuple[Row, ...]:
    """Head and one row a level: the pieces' full girth, its half, front, back, and what it laces to inside."""
    rows: list[Row] = [("level", "full", "half", "front", "back", "laced inside")]
    for level in style.levels:
        if not any(level.name in piece.levels for piece in style.pieces):
            continue
        net = girth(style, level.name)
        figures = (net.full, net.full / 2, net.front, net.back, net.full + fit.lacing_gap + fit.closure_gap)
        rows.append((level.name.replace("_", " "), *(format_length(figure, unit) for figure in figures)))
    return tuple(rows)


def length_rows(measured: Measured, unit: Unit) -> tuple[Row, ...]:
    """Head and one row a height or distance: what it is, how long, and its key."""
    kept = {
        key: value
        for key, value in measured.values.items()
        if key in MEASUREMENTS and not key.endswith(("_girth", "_front"))
    }
    rows = ((title(key), format_length(kept[key], unit), key) for key in MEASUREMENTS if key in kept)
    return (("measurement", "length", "key"), *rows)
