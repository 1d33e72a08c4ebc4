"""What a pattern itself measures, as the chart it was drafted for: body = garment + gaps + reduction - ease."""

from __future__ import annotations

from dataclasses import replace

from coutil.measure import MEASUREMENTS, Chart, Reading
from coutil.pattern import Fit, Role, Style, girth, measure_style, measured_fit

USUAL_GAP_MM = 50.0  # The most usual gap between laced edges (common practice, 2 in).


def own_chart(style: Style, fit: Fit, name: str) -> Chart:
    """The body that the pattern fits with that fit, every reading marked estimated.

    Front arcs take the closure gap and half the reduction; the lacing gap lies at the back alone.
    Worked case: garment waist 590 (front 330), reduction 80, gap 50 -> body 720, front 370.
    """
    found = {key: value for key, value in measure_style(style).items() if key in MEASUREMENTS and value > 0}
    for level in style.levels:
        if level.measure is None or f"{level.measure}_girth" not in found:
            continue
        net = girth(style, level.name)
        pulled = fit.reduction if level.measure == "waist" else 0.0
        ease = fit.ease.get(level.name, 0.0)
        found[f"{level.measure}_girth"] = net.full + fit.lacing_gap + fit.closure_gap + pulled - ease
        front = net.front + fit.closure_gap + (pulled - ease) / 2
        found.pop(f"{level.measure}_front", None)
        if f"{level.measure}_front" in MEASUREMENTS:
            found[f"{level.measure}_front"] = front
    readings = {key: Reading(value, "estimated") for key, value in found.items()}
    return Chart(name, {key: readings[key] for key in MEASUREMENTS if key in readings})


def usual_gap(style: Style) -> float:
    """50 mm where the back is laced, nothing where it is not."""
    laced = any(piece.part == "back" and edge.role is Role.CLOSURE for piece in style.pieces for edge in piece.edges)
    return USUAL_GAP_MM if laced else 0.0


def fitted(style: Style, lacing_gap: float, closure_gap: float, reduction: float | None) -> Fit:
    """The fit as the tape finds it against the base chart; the reduction is what the waist is laced in by, if not
    stated.
    """
    taken = _reduction(style, lacing_gap + closure_gap) if reduction is None else reduction
    return measured_fit(style, lacing_gap, closure_gap, taken)


def _reduction(style: Style, gaps: float) -> float:
    waist = next((level for level in style.levels if level.measure == "waist"), None)
    body = style.base_chart.get("waist_girth")
    if waist is None or body is None:
        return 0.0
    return max(0.0, body - girth(style, waist.name).full - gaps)


def with_front_arcs(chart: Chart, own: Chart) -> tuple[Chart, tuple[str, ...]]:
    """The chart with every front arc it lacks, in the pattern's own proportion, and which those are."""
    added = {}
    for stem in [key.removesuffix("_girth") for key in own if key.endswith("_girth")]:
        front, whole = own.get(f"{stem}_front"), own.get(f"{stem}_girth")
        body = chart.get(f"{stem}_girth")
        if body is not None and f"{stem}_front" not in chart and front is not None and whole:
            added[f"{stem}_front"] = Reading(body * front / whole, "estimated")
    return replace(chart, readings={**chart.readings, **added}), tuple(added)
