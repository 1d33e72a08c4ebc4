"""Drafts: what the page may change, turned into a chart and wishes, and two drafts compared field by field."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from coutil.alter import Override, State, Wishes
from coutil.errors import BadInput
from coutil.measure import Chart, Unit, format_length, parse_length, title
from coutil.tables import STATE_WORDS, drawing_unit
from coutil.workroom._alteration_wire import Change, Draft, RowChoice, Written

# A reading that agrees with the stored one to this is the stored one, with its date and its repeats.
SAME_READING_MM = 0.0005

# While she is still typing or dragging, a row has no reason yet; nothing is kept without one.
TRYING = "being tried"

TITLES = {
    "reduction": "waist reduction",
    "lacing_gap": "lacing gap",
    "depth_share": "part of the cup depth",
    "exact_centre_top": "centre top by its exact distance",
    "take_heights": "heights as wanted",
    "leave_small": "small differences left as in the base",
}


class FieldError(BadInput):
    """Bad input in one field of the page; `field` is its path in the draft."""

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.field = field


def draft_of(chart: Chart, wishes: Wishes) -> Draft:
    """The draft that stands for a chart and wishes."""
    return Draft(
        chart={key: reading.value for key, reading in chart.readings.items()},
        rows={o.row: _choice_of(o) for o in wishes.overrides},
        reduction=wishes.reduction,
        lacing_gap=wishes.lacing_gap,
        depth_share=wishes.depth_share,
        exact_centre_top=wishes.exact_centre_top,
        take_heights=wishes.take_heights,
        leave_small=wishes.leave_small,
    )


def _choice_of(override: Override) -> RowChoice:
    return RowChoice(override.state.value, override.why, override.amount)  # type: ignore[arg-type]


def chart_of(draft: Draft, stored: Chart, unit: Unit) -> Chart:
    """The chart a draft describes.  Readings that were not touched stay as stored; raises FieldError."""
    chart = stored.without([key for key in stored if draft.chart.get(key) is None])
    for key, written in draft.chart.items():
        value = length(written, unit, f"chart.{key}")
        if value is not None:
            chart = _with(chart, key, value)
    return chart


def _with(chart: Chart, key: str, value: float) -> Chart:
    known = chart.readings.get(key)
    if known is not None and abs(known.value - value) <= SAME_READING_MM:
        return chart
    try:
        if value <= 0:
            raise BadInput(f"The {title(key)} is above 0.")
        return chart.with_value(key, value)
    except BadInput as error:
        raise FieldError(f"chart.{key}", str(error)) from error


def wishes_of(draft: Draft, unit: Unit, trying: bool) -> Wishes:
    """The wishes of a draft; raises FieldError.  While `trying`, a row may still be without its reason."""
    return Wishes(
        reduction=_size(draft.reduction, unit, "reduction"),
        lacing_gap=_size(draft.lacing_gap, unit, "lacing_gap"),
        depth_share=_share(draft.depth_share),
        exact_centre_top=draft.exact_centre_top,
        take_heights=draft.take_heights,
        leave_small=draft.leave_small,
        overrides=tuple(_override(row, choice, unit, trying) for row, choice in draft.rows.items()),
    )


def length(written: Written, unit: Unit, field: str) -> float | None:
    """A length in mm from a number of mm or written words; None where nothing is written.  Raises FieldError."""
    if written is None or (isinstance(written, str) and not written.strip()):
        return None
    try:
        return parse_length(written, unit) if isinstance(written, str) else _checked(written)
    except BadInput as error:
        raise FieldError(field, str(error)) from error


def _checked(number: float) -> float:
    return parse_length(f"{number:.6f}", "mm")


def _size(written: Written, unit: Unit, field: str) -> float | None:
    value = length(written, unit, field)
    if value is not None and value < 0:
        raise FieldError(field, f"The {TITLES[field]} is 0 or more.")
    return value


def _share(share: float | None) -> float | None:
    if share is not None and not 0 <= share <= 1:
        raise FieldError("depth_share", "The part of the cup depth to apply is between 0 and 1.")
    return share


def _override(row: str, choice: RowChoice, unit: Unit, trying: bool) -> Override:
    drawing = drawing_unit(unit)
    amount = length(choice.amount, drawing, f"rows.{row}.amount")
    why = " ".join(choice.why.split())
    if not why and not trying:
        raise FieldError(f"rows.{row}.why", "Say why: a reason is kept with every row decided by hand.")
    if choice.state == "overruled" and amount is None:
        raise FieldError(f"rows.{row}.amount", "Give the amount that is to be applied instead.")
    return Override(row, State(choice.state), why or TRYING, None if choice.state == "left" else amount)


def changes(before: Draft, after: Draft, unit: Unit, rows: Mapping[str, str]) -> tuple[Change, ...]:
    """Every field that differs, in words; `rows` gives the titles of rows by key."""
    return tuple(_changes(before, after, unit, rows))


def _changes(before: Draft, after: Draft, unit: Unit, rows: Mapping[str, str]) -> Iterator[Change]:
    for key in dict.fromkeys((*before.chart, *after.chart)):
        pair = (before.chart.get(key), after.chart.get(key))
        if pair[0] != pair[1]:
            yield Change(f"chart.{key}", title(key).capitalize(), *(_length_words(v, unit) for v in pair))
    for row in dict.fromkeys((*before.rows, *after.rows)):
        choices = (before.rows.get(row), after.rows.get(row))
        if choices[0] != choices[1]:
            name = rows.get(row, row.replace("_", " "))
            yield Change(f"rows.{row}", name, *(choice_words(choice, unit) for choice in choices))
    for field, name in TITLES.items():
        values = (getattr(before, field), getattr(after, field))
        if values[0] != values[1]:
            yield Change(field, name.capitalize(), *(_wish_words(field, v, unit) for v in values))


def choice_words(choice: RowChoice | None, unit: Unit) -> str:
    """`overruled at 4 mm: the side seam sat well`; as computed where nobody decided."""
    if choice is None:
        return "as computed"
    state = STATE_WORDS[State(choice.state)]
    amount = "" if choice.amount is None else f" at {_length_words(choice.amount, drawing_unit(unit))}"
    return f"{state}{amount}" + (f": {choice.why}" if choice.why else "")


def _length_words(written: Written, unit: Unit) -> str:
    if written is None or written == "":
        return "not given"
    return written if isinstance(written, str) else format_length(written, unit)


def _wish_words(field: str, value: Any, unit: Unit) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if field == "depth_share":
        return "by the style" if value is None else f"{value:.0%}"
    return "as in the base" if value is None else _length_words(value, unit)
