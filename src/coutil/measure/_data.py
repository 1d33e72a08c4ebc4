"""Charts as plain data: the shape that the JSON and TOML forms share.

    {name, unit, worn, taken, invented, measurements: {key: entry}}

`unit` is mm, cm or in and is required.  An entry is a number, a written length such as "34 1/2", or a table
with one of {value}, {readings = [...]} or {left, right}, and optionally {how, taken}.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any, cast

from coutil.errors import BadChart, BadInput
from coutil.measure._chart import HOWS, Chart, How, Reading, iso_date
from coutil.measure._definitions import MEASUREMENTS
from coutil.measure._keys import nearest_words, split_key
from coutil.measure._units import LONGEST_MM, MM_PER, Unit, exact_figure, parse_length, parse_unit
from coutil.texts import LONGEST_NAME, require_printed

FIELDS = ("name", "unit", "worn", "taken", "invented", "measurements")
ENTRY_FIELDS = ("value", "readings", "left", "right", "how", "taken")
_MOST_REPEATS = 20  # Nobody lays the tape oftener, and a longer list is a slip.


def chart_from_data(data: object, unit: Unit | None = None) -> Chart:
    """The chart from plain data as read from JSON or TOML; `unit` holds where the data name none.

    Raises BadChart, naming the key, for anything that cannot be read.
    """
    head = _table(data, "the chart", FIELDS)
    measure_in = unit_of(head.get("unit"), unit)
    entries = head.get("measurements", {})
    readings: dict[str, Reading] = {}
    for key, entry in _table(entries, "measurements", None).items():
        for stored, reading in _readings(key, entry, measure_in):
            add_reading(readings, stored, reading, key)
    return Chart(
        name=_text(head.get("name", "unnamed"), "name"),
        readings=with_any(readings),
        worn=_text(head.get("worn", ""), "worn"),
        taken=date_of(head["taken"], "taken") if head.get("taken", "") != "" else "",
        invented=_truth(head.get("invented", False)),
    )


def chart_to_data(chart: Chart, unit: Unit = "mm") -> dict[str, Any]:
    """The chart as plain data; figures are exact to 0.001 mm in any unit."""
    return {
        "name": chart.name,
        "unit": unit,
        "worn": chart.worn,
        "taken": chart.taken,
        "invented": chart.invented,
        "measurements": {key: _entry(reading, unit) for key, reading in chart.readings.items()},
    }


def unit_of(written: object, given: Unit | None) -> Unit:
    """The unit that the file or else the caller names; raises BadChart where neither does."""
    if written is None and given is None:
        raise BadChart("The chart does not say its unit: add unit = mm, cm or in.")
    try:
        return given if written is None and given else parse_unit(_text(written, "unit"))
    except BadInput as error:
        raise BadChart(str(error)) from None


def length_of(value: object, unit: Unit, place: str) -> float:
    """A number or written length in mm, not negative; raises BadChart with the place."""
    try:
        size = parse_length(value, unit) if isinstance(value, str) else _number(value) * float(MM_PER[unit])
        if not 0 <= size <= LONGEST_MM:
            raise BadInput(f"{_shown(value)} {unit} is below 0 or longer than any tape.")
    except BadInput as error:
        raise BadChart(f"{place}: {error}") from None
    return size


def how_of(value: object, place: str) -> How:
    """Measured, repeated or estimated; raises BadChart with the place."""
    if value not in HOWS:
        raise BadChart(f"{place}: a reading is measured, repeated or estimated, not {_shown(value)}.")
    return cast(How, value)


def date_of(value: object, place: str) -> str:
    """An ISO date, as text or as TOML's own; raises BadChart with the place."""
    try:
        return iso_date(value.isoformat() if type(value) is date else _text(value, "the date"))
    except BadChart as error:
        raise BadChart(f"{place}: {error}") from None


def add_reading(readings: dict[str, Reading], key: str, reading: Reading, place: str) -> None:
    """Enter a reading under its key; raises BadChart where that key already has one or is unknown."""
    try:
        split_key(key)
    except BadChart as error:
        raise BadChart(f"{place}: {error}") from None
    if key in readings:
        raise BadChart(f"{place}: {key} is given twice; keep one of them.")
    readings[key] = reading


def with_any(readings: dict[str, Reading]) -> dict[str, Reading]:
    """The readings themselves; raises BadChart where there are none."""
    if not readings:
        raise BadChart("The chart holds no measurements.")
    return readings


def _readings(key: str, entry: object, unit: Unit) -> Iterable[tuple[str, Reading]]:
    if not isinstance(entry, Mapping):
        yield key, Reading(length_of(entry, unit, key))
        return
    fields = _table(entry, key, ENTRY_FIELDS)
    taken = date_of(fields["taken"], key) if "taken" in fields else None
    sides = [side for side in ("left", "right") if side in fields]
    if len(sides) + ("value" in fields) + ("readings" in fields) != max(len(sides), 1):
        raise BadChart(f"{key}: give one of value, readings, or left and right.")
    if "readings" in fields:
        yield key, _repeated(fields, unit, key, taken)
        return
    how = how_of(fields.get("how", "measured"), key)
    for name in sides or ["value"]:
        stored = f"{key}_{name}" if sides else key
        yield stored, Reading(length_of(fields[name], unit, stored), how, taken)


def _repeated(fields: Mapping[str, Any], unit: Unit, key: str, taken: str | None) -> Reading:
    values = fields["readings"]
    if not isinstance(values, list) or not 0 < len(values) <= _MOST_REPEATS:
        raise BadChart(f"{key}: readings is to be a list of 1 to {_MOST_REPEATS} lengths.")
    if how_of(fields.get("how", "repeated"), key) != "repeated":
        raise BadChart(f"{key}: a list of readings is always repeated; leave out how.")
    return Reading.of_repeats([length_of(v, unit, key) for v in values], taken)


def _entry(reading: Reading, unit: Unit) -> float | dict[str, Any]:
    if reading.repeats:
        entry: dict[str, Any] = {"readings": [_figure(r, unit) for r in reading.repeats]}
    else:
        entry = {"value": _figure(reading.value, unit)}
        if reading.how != "measured":
            entry["how"] = reading.how
    if reading.taken:
        entry["taken"] = reading.taken
    return cast(float, entry["value"]) if entry.keys() == {"value"} else entry


def _figure(mm: float, unit: Unit) -> float:
    figure = float(exact_figure(mm, unit))
    return int(figure) if figure.is_integer() else figure


def _table(value: object, place: str, known: Iterable[str] | None) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise BadChart(f"{_start(place)} is to be a table of names and values, not {_shown(value)}.")
    for key in value:
        if known is not None and key not in known:
            hint = nearest_words(str(key), known) or (
                f"; put {key} under measurements." if key in MEASUREMENTS else "."
            )
            raise BadChart(f"{_start(place)} holds an unknown entry {str(key)[:40]!r}{hint}")
    return value


def _start(place: str) -> str:
    return place[:1].upper() + place[1:] if place.startswith("the ") else place


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadInput(f"{_shown(value)} is not a length: write a number or text like 34 1/2.")
    try:
        return float(value)
    except OverflowError:
        raise BadInput("the number is longer than any tape.") from None


def _text(value: object, field: str) -> str:
    if not isinstance(value, str):
        raise BadChart(f"{field} is to be text, not {_shown(value)}.")
    return short_text(value, field)


def short_text(value: str, field: str) -> str:
    """The text of a field; raises BadChart where it is too long for a label or hides a control character."""
    if len(value) > LONGEST_NAME:
        raise BadChart(f"{field} has {len(value)} letters, and at most {LONGEST_NAME} fit on a label: shorten it.")
    try:
        return require_printed(value, f"chart's {field}")
    except BadInput as error:
        raise BadChart(str(error)) from None


def _truth(value: object) -> bool:
    if not isinstance(value, bool):
        raise BadChart(f"invented is to be true or false, not {_shown(value)}.")
    return value


def _shown(value: object) -> str:
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list):
        return "a list"
    return repr(value)[:40] if not isinstance(value, int) or abs(value) < 10**9 else "a very large number"
