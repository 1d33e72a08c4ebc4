"""A client's charts: over time, two compared, and the form a chart is taken with."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING, cast

from coutil.errors import BadInput
from coutil.measure import (
    MEASUREMENTS,
    Chart,
    ChartFinding,
    How,
    Measurement,
    Reading,
    Unit,
    inspect_chart,
    parse_length,
    split_key,
    title,
)
from coutil.record import (
    ChartRecord,
    Conflict,
    ReadingChange,
    add_chart,
    change_chart,
    compare_charts,
    find_chart,
    find_client,
    list_charts,
)
from coutil.workroom._clients import each_field
from coutil.workroom._http import (
    FieldErrors,
    Saving,
    conflict_json,
    got,
    kept_json,
    number,
    posted,
    saved,
    see,
    text,
    whole,
)
from coutil.workroom._render import page, unit_of
from coutil.workroom._state import AppState
from coutil.workroom._words import reading_written, signed

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route

SHOWN = 6  # Charts side by side: more do not fit a page.
MOST_REPEATS = 20
HEAD_FIELDS = ("taken", "worn", "note")
HOWS = ("measured", "repeated", "estimated")
SIDES = ("", "left", "right")
# Without these the bases that come with the program cannot be altered; everything else can be estimated.
LEAST = (
    "bust_girth", "underbust_girth", "waist_girth", "high_hip_girth", "waist_to_high_hip", "hip_girth",
    "waist_to_hip",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class FormRow:
    """One measurement of the form: its readings as typed, what was read last time, what is noticed about it."""

    measurement: Measurement
    values: Mapping[str, str]
    hows: Mapping[str, str]
    sided: bool
    least: bool
    last: str
    change: str
    remarks: tuple[ChartFinding, ...]


@dataclass(frozen=True, slots=True)
class FormGroup:
    """Measurements that are taken together."""

    title: str
    rows: tuple[FormRow, ...]


@dataclass(frozen=True, slots=True)
class TimeRow:
    """One measurement in several charts: each reading, mm, and what it differs from the chart before it."""

    title: str
    cells: tuple[tuple[float | None, ReadingChange | None], ...]


def routes(state: AppState) -> list[Route]:
    """The pages of charts."""
    return [
        got(state, "/clients/{id}/charts", over_time),
        posted(state, "/clients/{id}/charts", add),
        got(state, "/clients/{id}/charts/compare", compared),
        got(state, "/charts/{id}", chart_form),
        saved(state, "/api/charts/{id}", save),
    ]


def over_time(state: AppState, request: Request) -> Response:
    """The newest charts side by side, each with what changed since the one before."""
    client = find_client(state.records, number(request))
    kept = [chart for chart in list_charts(state.records, client.id) if not chart.is_blank]
    shown = tuple(reversed(kept[:SHOWN]))
    rows = time_rows([record.chart(client.name) for record in shown])
    return page(state, request, "charts.html", here="clients", client=client, kept=kept, shown=shown, rows=rows)


def add(state: AppState, request: Request, form: FormData) -> Response:
    """A new chart of today; its form opens."""
    client_id = number(request)
    today, worn = date.today().isoformat(), text(form, "worn")
    begun = (chart for chart in list_charts(state.records, client_id) if chart.is_blank and chart.taken == today)
    # Whoever begins a chart twice, or looks and leaves, has one sheet on the table and not several.
    made = next(begun, None) if not worn else None
    made = made or add_chart(state.records, client_id, taken=today, worn=worn)
    return see(f"/charts/{made.id}")


def compared(state: AppState, request: Request) -> Response:
    """Two charts of a client, measurement by measurement."""
    client = find_client(state.records, number(request))
    a, b = (find_chart(state.records, whole(request.query_params.get(name, ""))) for name in ("a", "b"))
    if {a.client_id, b.client_id} != {client.id}:
        raise BadInput("These charts are not this client's.")
    changes = compare_charts(a.chart(client.name), b.chart(client.name))
    return page(
        state, request, "charts_compared.html", here="clients", client=client, earlier=a, later=b, changes=changes
    )


def chart_form(state: AppState, request: Request) -> Response:
    """The form of one chart."""
    record = find_chart(state.records, number(request))
    client = find_client(state.records, record.client_id)
    unit = unit_of(request)
    chart, last = record.chart(client.name), last_before(list_charts(state.records, client.id), record)
    remarks = inspect_chart(chart, unit=unit)
    groups = form_groups(chart, last.chart(client.name) if last else None, remarks, unit)
    return page(
        state,
        request,
        "chart.html",
        here="clients",
        client=client,
        chart=record,
        last=last,
        groups=groups,
        general=tuple(remark for remark in remarks if not remark.keys),
        missing=still_missing(chart),
        hows=HOWS,
    )


def save(state: AppState, request: Request, saving: Saving) -> Response:
    """Saves what was typed, and tells what is noticed about the chart as it now is."""
    unit, fields = saving.unit, saving.fields
    outcome = change_chart(state.records, number(request), saving.version, lambda old: edited(old, fields, unit))
    if isinstance(outcome, Conflict):
        return conflict_json(outcome, unit)
    chart = outcome.chart("chart")
    last = last_before(list_charts(state.records, outcome.client_id), outcome)
    return kept_json(
        outcome,
        values=typed_values(chart, unit),
        remarks=remarks_json(inspect_chart(chart, unit=unit)),
        missing=still_missing(chart),
        changes=changes_json(last, outcome, unit),
    )


def edited(old: ChartRecord, fields: Mapping[str, str], unit: Unit) -> ChartRecord:
    """The chart with fields as typed; raises FieldErrors with a sentence for each that cannot be read.

    `m.KEY` is a reading, several of one measurement parted by strokes; `how.KEY` how it came.
    """
    errors: dict[str, str] = {}
    readings = dict(old.readings)
    # How a reading came can be said only of one that is there, so the readings are taken first.
    for name in sorted(fields, key=lambda name: not name.startswith("m.")):
        try:
            readings = _with_field(readings, name, fields[name], unit)
        except BadInput as error:
            errors[name] = str(error)
    try:
        head = each_field(old, {name: {name: fields[name]} for name in HEAD_FIELDS if name in fields})
    except FieldErrors as error:
        errors |= error.errors
    if errors:
        raise FieldErrors(errors)
    made: ChartRecord = replace(head, readings=readings)
    return made


def _with_field(readings: dict[str, Reading], name: str, typed: str, unit: Unit) -> dict[str, Reading]:
    kind, _, key = name.partition(".")
    if kind not in ("m", "how"):
        return readings
    split_key(key)
    if kind == "how":
        return readings if key not in readings else {**readings, key: _came(readings[key], typed)}
    if not typed.strip():
        return {k: reading for k, reading in readings.items() if k != key}
    old = readings.get(key)
    if typed.strip() == reading_written(old, unit):
        # What the field showed may be rounded to a fraction: the reading itself stays.
        return readings
    reading = reading_of(typed, unit, old)
    return dict(Chart("", readings).with_reading(key, reading).readings)


def reading_of(typed: str, unit: Unit, old: Reading | None = None) -> Reading:
    """A reading as typed; several parted by strokes are repeats.  Raises BadInput for what is no length."""
    values = [parse_length(part, unit) for part in typed.split("|") if part.strip()]
    if not 0 < len(values) <= MOST_REPEATS:
        raise BadInput(f"Give one reading, or up to {MOST_REPEATS} parted by strokes: 27 | 27 1/4.")
    if min(values) < 0:
        raise BadInput(f"{typed.strip()[:40]} is below nothing: look at the figure.")
    if len(values) > 1:
        return Reading.of_repeats(values)
    how = "estimated" if old is not None and old.how == "estimated" else "measured"
    return Reading(values[0], "estimated" if how == "estimated" else "measured")


def _came(reading: Reading, how: str) -> Reading:
    if how not in HOWS:
        raise BadInput("A reading is measured, repeated or estimated.")
    return Reading(reading.value, cast(How, how), reading.taken, reading.repeats if how == "repeated" else ())


def last_before(charts: tuple[ChartRecord, ...], record: ChartRecord) -> ChartRecord | None:
    """The client's chart before that one, by date."""
    earlier = [kept for kept in charts if (kept.taken, kept.id) < (record.taken, record.id)]
    return max(earlier, key=lambda kept: (kept.taken, kept.id), default=None)


def form_groups(
    chart: Chart, last: Chart | None, remarks: tuple[ChartFinding, ...], unit: Unit
) -> tuple[FormGroup, ...]:
    """All measurements in the order they are taken."""
    titles = dict.fromkeys(m.group for m in MEASUREMENTS.values())
    return tuple(
        FormGroup(name, tuple(_row(m, chart, last, remarks, unit) for m in MEASUREMENTS.values() if m.group == name))
        for name in titles
    )


def _row(m: Measurement, chart: Chart, last: Chart | None, remarks: tuple[ChartFinding, ...], unit: Unit) -> FormRow:
    keys = dict(zip(SIDES, side_keys(m.key), strict=True))
    before, now = last.get(m.key) if last else None, chart.get(m.key)
    readings = {side: chart.readings.get(key) for side, key in keys.items()}
    return FormRow(
        m,
        {side: reading_written(reading, unit) for side, reading in readings.items()},
        {side: reading.how if reading else "measured" for side, reading in readings.items()},
        readings["left"] is not None or readings["right"] is not None,
        m.key in LEAST,
        reading_written(Reading(before), unit) if before is not None else "",
        signed(round(now - before, 3), unit) if before is not None and now is not None else "",
        tuple(remark for remark in remarks if remark.keys and split_key(remark.keys[0])[0] == m.key),
    )


def side_keys(stem: str) -> tuple[str, str, str]:
    """The keys of the whole, the left and the right."""
    return stem, f"{stem}_left", f"{stem}_right"


def typed_values(chart: Chart, unit: Unit) -> dict[str, str]:
    """Every field of the form as it now is; those that are not here are empty."""
    values = {f"m.{key}": reading_written(reading, unit) for key, reading in chart.readings.items()}
    return values | {f"how.{key}": reading.how for key, reading in chart.readings.items()}


def remarks_json(remarks: tuple[ChartFinding, ...]) -> list[dict[str, str]]:
    """What is noticed, by the measurement it stands beside."""
    return [
        {"key": split_key(remark.keys[0])[0] if remark.keys else "", "words": remark.sentence, "kind": remark.severity}
        for remark in remarks
    ]


def changes_json(last: ChartRecord | None, record: ChartRecord, unit: Unit) -> dict[str, str]:
    """By measurement, how each reading differs from the chart before."""
    if last is None:
        return {}
    earlier, later = last.chart(""), record.chart("")
    stems = (stem for stem in MEASUREMENTS if stem in earlier and stem in later)
    return {stem: signed(round(later[stem] - earlier[stem], 3), unit) for stem in stems}


def still_missing(chart: Chart) -> list[str]:
    """Titles of what no base that comes with the program can do without."""
    return [title(key) for key in LEAST if key not in chart]


def time_rows(charts: list[Chart]) -> tuple[TimeRow, ...]:
    """Every measurement that any of the charts has, from the earliest chart to the latest."""
    stems = [stem for stem in MEASUREMENTS if any(stem in chart for chart in charts)]
    pairs = [{change.key: change for change in compare_charts(a, b)} for a, b in pairwise(charts)]
    return tuple(TimeRow(title(stem), tuple(_cells(stem, charts, pairs))) for stem in stems)


def _cells(
    stem: str, charts: list[Chart], pairs: list[dict[str, ReadingChange]]
) -> Iterator[tuple[float | None, ReadingChange | None]]:
    for i, chart in enumerate(charts):
        change = pairs[i - 1].get(stem) if i else None
        yield chart.get(stem), change if change is not None and change.difference is not None else None
