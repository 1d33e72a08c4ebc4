"""Readings written in another unit than the chart's, like an inch figure among centimetres."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping

from coutil.measure._chart import Chart
from coutil.measure._definitions import MEASUREMENTS
from coutil.measure._distribution import expectations, scaled, strangeness, surveyed
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
GAIN_NEEDED = 12.0  # About 3.5 squared: ordinary bodies differ by as much in squared distance.
LIKELY = 3.5  # Residual standard deviations within which a reading is likely.
WHOLE_CHART = 3  # Girths with the same slip that are no slips of single readings any more.
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

    Groups of readings are tried as well as single ones: a whole column is easily written in another unit.
    """
    mended = dict(values)
    factors: dict[str, float] = {}
    while (best := _best_mend(mended, factors)) is not None:
        keys, factor = best
        mended = scaled(mended, keys, factor)
        factors |= dict.fromkeys(keys, factor)
    return {key: factor for key, factor in factors.items() if _is_cleared(values[key], key, mended)}


def _best_mend(values: Mapping[str, float], done: Mapping[str, float]) -> _Mend | None:
    before = strangeness(values)
    gains = {
        (keys, factor): before - strangeness(scaled(values, keys, factor)) - _needed(keys)
        for keys in _groups(values, done)
        for factor in FACTORS
    }
    best = max(gains, key=lambda mend: gains[mend], default=None)
    return best if best is not None and gains[best] > 0 else None


def _needed(keys: Collection[str]) -> float:
    """The least gain that speaks for a mend; a whole column is one slip, yet a rarer one."""
    return GAIN_NEEDED if len(keys) == 1 else 2 * GAIN_NEEDED


def _groups(values: Mapping[str, float], done: Mapping[str, float]) -> Iterator[tuple[str, ...]]:
    """Every reading alone, all girths and arcs, all lengths, and all readings; none mended before."""
    left = [key for key in values if key not in done]
    yield from ((key,) for key in left)
    round_body = tuple(key for key in left if MEASUREMENTS[key].kind in ("girth", "front_arc"))
    along_body = tuple(key for key in left if key not in round_body)
    yield from (group for group in (round_body, along_body, tuple(left)) if len(group) > 1)


def _is_cleared(original: float, key: str, mended: Mapping[str, float]) -> bool:
    """Whether the mended reading is likely among the others, and the original is not."""
    after = expectations(mended)[key]
    before = (original - after.expected) / after.deviation
    return abs(after.off) < LIKELY and abs(before) > UNLIKELY


def _out_of_range(chart: Chart) -> dict[str, float]:
    found: dict[str, float] = {}
    for key, (least, most) in USUAL_MM.items():
        value = chart.get(key)
        if value is not None and not least <= value <= most:
            fits = [f for f in FACTORS if least <= value * f <= most]
            found |= {key: fits[0]} if fits else {}
    return found


def _finding(chart: Chart, key: str, factor: float, unit: Unit, severity: Severity) -> ChartFinding:
    found, mended = chart[key], chart[key] * factor
    sentence = (
        f"The {title(key)} reads {format_length(found, unit)} and would be likely as "
        f"{format_length(mended, unit)}: it may be {_GUESS[factor]}."
    )
    return ChartFinding("wrong_unit", (key,), sentence, (key,), severity)
