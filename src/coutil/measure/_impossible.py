"""Readings that no body can have, whatever its shape."""

from __future__ import annotations

from collections.abc import Iterator

from coutil.measure._chart import Chart
from coutil.measure._definitions import MEASUREMENTS
from coutil.measure._findings import ChartFinding
from coutil.measure._keys import split_key, title
from coutil.measure._units import Unit, format_length

UNDERBUST_OVER_MM = 10.0  # The tape's error on two girths; a chest without a bust difference is ordinary.
_PARTS = {  # What lies within what; the bust points lie within the front of the bust.
    "bust_front": "bust_girth",
    "underbust_front": "underbust_girth",
    "waist_front": "waist_girth",
    "high_hip_front": "high_hip_girth",
    "hip_front": "hip_girth",
    "hem_front": "hem_girth",
    "bust_point_separation": "bust_front",
}


# No living body has a girth, or a length of the torso, outside these (mm): a slip of the pen or of the unit.
GIRTH_MM = (200.0, 3000.0)
LONGEST_TORSO_MM = 1000.0
TALLEST_MM = 2800.0
_LONG = frozenset({"top_edge_run"})  # Runs round the body though it is no girth.


def find_impossible(chart: Chart, unit: Unit) -> tuple[ChartFinding, ...]:
    """One finding for each contradiction; all of them stop the work."""
    return (
        *_not_above_zero(chart),
        *_beyond_any_body(chart, unit),
        *_parts(chart, unit),
        *_girths(chart, unit),
        *_depths(chart, unit),
    )


def _not_above_zero(chart: Chart) -> Iterator[ChartFinding]:
    for key, reading in chart.readings.items():
        if reading.value <= 0:
            yield _stop((key,), f"The {title(key)} is not above 0.")


def _beyond_any_body(chart: Chart, unit: Unit) -> Iterator[ChartFinding]:
    for key, reading in chart.readings.items():
        stem, _ = split_key(key)
        least, most = _bounds(stem)
        if reading.value > most or 0 < reading.value < least:
            shown = format_length(reading.value, unit)
            sentence = f"The {title(key)}, {shown}, is no body's: look at the figure and its unit."
            yield ChartFinding("impossible", (key,), sentence, (key,), "stop")


def _bounds(stem: str) -> tuple[float, float]:
    kind = MEASUREMENTS[stem].kind
    if kind == "girth":
        return GIRTH_MM
    if kind == "front_arc" or stem in _LONG:
        return 0.0, GIRTH_MM[1]
    return 0.0, TALLEST_MM if stem == "height" else LONGEST_TORSO_MM


def _parts(chart: Chart, unit: Unit) -> Iterator[ChartFinding]:
    for part, whole in _PARTS.items():
        inner, outer = chart.get(part), chart.get(whole)
        if inner is not None and outer is not None and inner >= outer > 0:
            than = f"is not less than the {title(whole)}, {format_length(outer, unit)}"
            yield _stop((part, whole), f"The {title(part)}, {format_length(inner, unit)}, {than}.")


def _girths(chart: Chart, unit: Unit) -> Iterator[ChartFinding]:
    yield from _greater(chart, ("underbust_girth", "bust_girth"), UNDERBUST_OVER_MM, unit)
    yield from _greater(chart, ("waist_girth_compressed", "waist_girth"), 0.0, unit)


def _depths(chart: Chart, unit: Unit) -> Iterator[ChartFinding]:
    yield from _greater(chart, ("waist_to_high_hip", "waist_to_hip"), 0.0, unit)


def _greater(chart: Chart, keys: tuple[str, str], by: float, unit: Unit) -> Iterator[ChartFinding]:
    more, less = chart.get(keys[0]), chart.get(keys[1])
    if more is not None and less is not None and more > less + by:
        shown = f"{format_length(more, unit)}, is more than the {title(keys[1])}, {format_length(less, unit)}"
        yield _stop(keys, f"The {title(keys[0])}, {shown}.")


def _stop(keys: tuple[str, ...], sentence: str) -> ChartFinding:
    return ChartFinding("impossible", keys, f"{sentence[:-1]}: measure again.", keys, "stop")
