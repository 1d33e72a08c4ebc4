"""The inspection of a chart before it costs cloth: what is missing, impossible, doubtful or written wrongly.

Only what cannot be stops the work.  A body that differs from the surveyed ones is a reason to measure again,
never to refuse: bodies of any gender, and those without a bust difference, are ordinary here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from coutil.measure._bodies import FRONT_SHARES, KEYS
from coutil.measure._chart import Chart
from coutil.measure._contradicted import contradicted
from coutil.measure._definitions import MEASUREMENTS
from coutil.measure._distribution import Expectation, expectations, surveyed
from coutil.measure._findings import ChartFinding
from coutil.measure._impossible import find_impossible
from coutil.measure._keys import split_key, title
from coutil.measure._ranges import USUAL_MM
from coutil.measure._units import Unit, format_length
from coutil.measure._wrong_unit import find_wrong_units

SPREAD_GIRTH_MM = 10.0  # Two readings of a girth that differ by more want a third (trade practice).
SPREAD_LENGTH_MM = 6.0  # A quarter of an inch: the smallest difference of a length that makers act on.
SHARE_MARGIN = 0.03  # Front shares this far outside the surveyed are only another choice of side line.
SIDES_DIFFER_MM = 30.0  # Left and right of one body rarely differ by more; common practice, no source.
# Heights up to an edge of the garment: a waist corset's lies far under the armpit, which no tape got wrong.
CHOSEN_LOWER = frozenset({"side_height"})
EARLIEST_YEAR = 1900
YEARS_AHEAD = 5  # The clock of the machine may be wrong too; a slip of the finger gives 3026 or 2062.
DEPTH_OF = {"high_hip_girth": "waist_to_high_hip", "hip_girth": "waist_to_hip"}


def inspect_chart(
    chart: Chart, needs: Iterable[str] | None = None, unit: Unit = "cm", today: date | None = None
) -> tuple[ChartFinding, ...]:
    """Everything noticed about a chart, what stops the work first; lengths in the sentences are in `unit`.

    `needs` names the keys that must be there; `today` is the machine's where not given.  Codes: missing, impossible,
    wrong_unit, unlikely, arcs, sides, repeated, depth, date, estimated.  Raises BadChart for an unknown key in `needs`.
    """
    wrong = find_wrong_units(chart, unit)
    doubted = {key for finding in wrong for key in finding.keys}
    found = (
        *find_impossible(chart, unit),
        *_missing(chart, needs or ()),
        *wrong,
        *_unlikely(chart, doubted, unit),
        *_arcs(chart, doubted, unit),
        *_sides(chart, unit),
        *_repeated(chart, unit),
        *_depth(chart),
        *_dates(chart, today or date.today()),
        *_estimated(chart),
    )
    order = ("stop", "warn", "note")
    return tuple(sorted(found, key=lambda finding: order.index(finding.severity)))


def _missing(chart: Chart, needs: Iterable[str]) -> Iterator[ChartFinding]:
    for key in dict.fromkeys(needs):
        how = MEASUREMENTS[split_key(key)[0]].how
        if key not in chart:
            sentence = f"The {title(key)} is missing. {how}"
            yield ChartFinding("missing", (key,), sentence, (key,), "stop")


def _unlikely(chart: Chart, doubted: set[str], unit: Unit) -> Iterator[ChartFinding]:
    """The readings that the others contradict, each against all that are not doubted.

    Nobody can measure again what was never measured: estimates are not judged.
    """
    doubted = doubted | {key for key in MEASUREMENTS if chart.estimated(key)}
    left = {key: value for key, value in surveyed(chart).items() if key not in doubted}
    blamed, _ = contradicted(left)
    rest = {key: value for key, value in left.items() if key not in blamed}
    for key in blamed:
        found = expectations({**rest, key: left[key]})[key]
        if key not in CHOSEN_LOWER or found.off > 0:
            yield _unlikely_finding(key, found, unit)
    yield from _outside_usual(chart, doubted, unit)


def _unlikely_finding(key: str, found: Expectation, unit: Unit) -> ChartFinding:
    low, high = (max(found.expected + k * found.deviation, 0.0) for k in (-2, 2))
    return _measure_again(key, found.found, (low, high), unit)


def _outside_usual(chart: Chart, doubted: set[str], unit: Unit) -> Iterator[ChartFinding]:
    for key, usual in USUAL_MM.items():
        value = chart.get(key)
        if value is None or key in doubted or key in KEYS:
            continue
        if not usual[0] <= value <= usual[1]:
            yield _measure_again(key, value, usual, unit)


def _measure_again(key: str, value: float, likely: tuple[float, float], unit: Unit) -> ChartFinding:
    low, high = (format_length(v, unit) for v in likely)
    sentence = (
        f"The {title(key)} reads {format_length(value, unit)}, where {low} to {high} would be likely "
        "on such a body: measure it again."
    )
    return ChartFinding("unlikely", (key,), sentence, (key,), "warn")


def _arcs(chart: Chart, doubted: set[str], unit: Unit) -> Iterator[ChartFinding]:
    """Front arcs that do not go with their girth, and halves that do not add up to the whole."""
    for stem, (least, most) in FRONT_SHARES.items():
        front, girth = chart.get(f"{stem}_front"), chart.get(f"{stem}_girth")
        keys = (f"{stem}_front", f"{stem}_girth")
        if front is None or not girth or doubted & set(keys):
            continue
        share = front / girth
        if not least - SHARE_MARGIN <= share <= most + SHARE_MARGIN and share < 1:
            sentence = (
                f"The front is {100 * share:.0f} % of the {title(keys[1])}, where {100 * least:.0f} to "
                f"{100 * most:.0f} % is usual: check the side line and take both again."
            )
            yield ChartFinding("arcs", keys, sentence, keys, "warn")
    for key in chart.readings:
        yield from _halves(chart, key, unit)


def _halves(chart: Chart, key: str, unit: Unit) -> Iterator[ChartFinding]:
    sides = chart.sides(key) if MEASUREMENTS[split_key(key)[0]].across else None
    if sides is None or abs(sum(sides) - chart[key]) <= SPREAD_GIRTH_MM:
        return
    keys = (key, f"{key}_left", f"{key}_right")
    added, whole = format_length(sum(sides), unit), format_length(chart[key], unit)
    sentence = f"Left and right of the {title(key)} add up to {added}, not to {whole}: take all again."
    yield ChartFinding("arcs", keys, sentence, keys, "warn")


def _sides(chart: Chart, unit: Unit) -> Iterator[ChartFinding]:
    yield from _whole_and_sides(chart, unit)
    for key in MEASUREMENTS:
        sides = chart.sides(key)
        if sides is not None and abs(sides[0] - sides[1]) > SIDES_DIFFER_MM:
            keys = (f"{key}_left", f"{key}_right")
            by = format_length(abs(sides[0] - sides[1]), unit)
            sentence = f"Left and right of the {title(key)} differ by {by}: take both again."
            yield ChartFinding("sides", keys, sentence, keys, "warn")


def _whole_and_sides(chart: Chart, unit: Unit) -> Iterator[ChartFinding]:
    """A length given as a whole and again by side, differently: the whole counts."""
    for key, reading in chart.readings.items():
        stem, side = split_key(key)
        whole = chart.readings.get(stem)
        if side is None or whole is None or MEASUREMENTS[stem].across:
            continue
        if abs(reading.value - whole.value) > SPREAD_LENGTH_MM:
            shown = f"{format_length(whole.value, unit)} and on the {side} as {format_length(reading.value, unit)}"
            sentence = f"The {title(stem)} is given as {shown}: the first counts; keep it, or left and right alone."
            yield ChartFinding("sides", (stem, key), sentence, (stem, key), "warn")


def _repeated(chart: Chart, unit: Unit) -> Iterator[ChartFinding]:
    for key, reading in chart.readings.items():
        round_body = MEASUREMENTS[split_key(key)[0]].kind in ("girth", "front_arc")
        allowed = SPREAD_GIRTH_MM if round_body else SPREAD_LENGTH_MM
        if reading.spread > allowed:
            sentence = (
                f"The readings of the {title(key)} differ by {format_length(reading.spread, unit)}, "
                f"more than {format_length(allowed, unit)}: take another."
            )
            yield ChartFinding("repeated", (key,), sentence, (key,), "warn")


def _depth(chart: Chart) -> Iterator[ChartFinding]:
    for girth, depth in DEPTH_OF.items():
        if girth in chart and depth not in chart:
            sentence = f"The {title(girth)} has no depth: say how far below the waist tape it was taken."
            yield ChartFinding("depth", (girth, depth), sentence, (depth,), "warn")


def _dates(chart: Chart, today: date) -> Iterator[ChartFinding]:
    """Dates on which nobody can have measured, of the chart and of single readings."""
    years = range(EARLIEST_YEAR, today.year + YEARS_AHEAD + 1)
    if chart.taken and date.fromisoformat(chart.taken).year not in years:
        yield ChartFinding("date", (), f"The chart is dated {chart.taken}: correct the date.", (), "warn")
    for key, reading in chart.readings.items():
        if reading.taken and date.fromisoformat(reading.taken).year not in years:
            sentence = f"The reading of the {title(key)} is dated {reading.taken}: correct the date."
            yield ChartFinding("date", (key,), sentence, (), "warn")


def _estimated(chart: Chart) -> Iterator[ChartFinding]:
    keys = tuple(key for key, reading in chart.readings.items() if reading.how == "estimated")
    if keys:
        names = ", ".join(title(key) for key in keys)
        yield ChartFinding("estimated", keys, f"Estimated, not measured: {names}.", keys, "note")
