"""Readings written in another unit than the chart's, like an inch figure among centimetres."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from coutil.measure._chart import Chart
from coutil.measure._contradicted import COST, contradicted
from coutil.measure._definitions import MEASUREMENTS
from coutil.measure._distribution import expectations, scaled, surveyed
from coutil.measure._findings import ChartFinding, Severity
from coutil.measure._keys import title
from coutil.measure._ranges import USUAL_MM
from coutil.measure._units import Unit, format_length

_Mend = tuple[tuple[str, ...], float]  # which readings, multiplied by what
FACTORS = (2.54, 1 / 2.54, 10.0, 0.1)
_GUESS = {
    2.54: "an inch figure in a column of centimetres",
    1 / 2.54: "centimetres in a column of inches",
    10.0: "centimetres in a column of millimetres",
    0.1: "millimetres in a column of centimetres",
}
LIKELY = 3.5  # Residual standard deviations within which a reading is likely.
WHOLE_CHART = 3  # Girths with the same slip that are no slips of single readings any more.
# High hip girth less waist, by the depth: 2.2 is the most of 150 surveyed bodies; an inch figure makes it 2.54 times
# as much.
STEEPEST = 2.4
DEPTH = "waist_to_high_hip"
UNLIKELY = 4.0  # Beyond these it is doubted; the gap to LIKELY spares a borderline reading.


def find_wrong_units(chart: Chart, unit: Unit) -> tuple[ChartFinding, ...]:
    """One finding for each reading that would be likely in another unit and is not as it stands.

    Where the girths share one slip the whole chart is in another unit: that stops the work.
    """
    factors = wrong_factors(surveyed(chart)) | _out_of_range(chart)
    girths = Counter(factor for key, factor in factors.items() if MEASUREMENTS[key].kind == "girth")
    return tuple(
        _finding(chart, key, factor, unit, "stop" if girths[factor] >= WHOLE_CHART else "warn")
        for key, factor in factors.items()
    )


def wrong_factors(values: Mapping[str, float]) -> dict[str, float]:
    """By which factor each wrongly written reading (mm, by stem) would have to be multiplied.

    A whole column is easily written in another unit, so groups of readings are tried first; then each reading that the
    others contradict.
    """
    keys, factor = min(_columns(values), key=lambda column: _cost(values, column))
    mended = scaled(values, keys, factor)
    blamed, _ = contradicted(mended)
    factors = {key: factor for key in keys if key not in blamed}
    rest = {key: value for key, value in mended.items() if key not in blamed}
    for key in blamed:
        single = _likely_factor(key, values[key], rest)
        if single is not None:
            factors[key] = single
            rest[key] = values[key] * single
    return {key: factors[key] for key in values if key in factors and _was_unlikely(key, values[key], rest)}


def _columns(values: Mapping[str, float]) -> Iterator[_Mend]:
    """Nothing, all girths and arcs, all lengths, and all readings."""
    yield (), 1.0
    round_body = tuple(key for key in values if MEASUREMENTS[key].kind in ("girth", "front_arc"))
    along_body = tuple(key for key in values if key not in round_body)
    for group in (round_body, along_body, tuple(values)):
        if len(group) > 1:
            yield from ((group, factor) for factor in FACTORS)


def _cost(values: Mapping[str, float], column: _Mend) -> float:
    """What the readings cost with a column mended: it is one slip, yet a rarer one than a single reading's."""
    keys, factor = column
    return contradicted(scaled(values, keys, factor))[1] + (2 * COST if keys else 0.0)


def _likely_factor(key: str, value: float, rest: Mapping[str, float]) -> float | None:
    """The factor that makes a reading the likeliest among the rest; None where none makes it likely."""
    off = {factor: abs(expectations({**rest, key: value * factor})[key].off) for factor in FACTORS}
    best = min(off, key=lambda factor: off[factor])
    return best if off[best] < LIKELY else None


def _was_unlikely(key: str, value: float, rest: Mapping[str, float]) -> bool:
    return abs(expectations({**rest, key: value})[key].off) > UNLIKELY


def _out_of_range(chart: Chart) -> dict[str, float]:
    found: dict[str, float] = {}
    for key, (least, most) in USUAL_MM.items():
        value = chart.get(key)
        # What the program worked out itself, it did not write in another unit.
        if value is not None and not chart.estimated(key) and not least <= value <= most:
            fits = [f for f in FACTORS if least <= value * f <= most]
            found |= {key: fits[0]} if fits else {}
    return found | _too_steep(chart)


def _too_steep(chart: Chart) -> dict[str, float]:
    """A depth in inches among centimetres, told by a girth that grows faster below the waist than any body's."""
    depth, grows = chart.get(DEPTH), [chart.get(key) for key in ("waist_girth", "high_hip_girth")]
    if depth is None or depth <= 0 or chart.estimated(DEPTH) or None in grows:
        return {}
    waist, high_hip = (float(girth or 0.0) for girth in grows)
    is_slip = high_hip - waist > STEEPEST * depth and depth * FACTORS[0] <= USUAL_MM[DEPTH][1]
    return {DEPTH: FACTORS[0]} if is_slip else {}


def _finding(chart: Chart, key: str, factor: float, unit: Unit, severity: Severity) -> ChartFinding:
    found, mended = chart[key], chart[key] * factor
    sentence = (
        f"The {title(key)} reads {format_length(found, unit)} and would be likely as "
        f"{format_length(mended, unit)}: it may be {_GUESS[factor]}."
    )
    return ChartFinding("wrong_unit", (key,), sentence, (key,), severity)
