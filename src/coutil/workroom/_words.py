"""How figures and dates stand on the pages, and what the trade calls what the records keep."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime
from fractions import Fraction
from typing import Any

from coutil.check import Verdict
from coutil.measure import Reading, Unit, fine_figure, format_figure, format_length, title
from coutil.speech import SMALL_MM, sentence

MM_PER_INCH = 25.4
FINEST_FRACTION = 32
AS_TYPED_MM = 0.002  # Two roundings to the thousandth: nearer than this the fraction is what was typed.
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

FIELD_TITLES: Mapping[str, str] = {
    "name": "name",
    "contact": "contact",
    "note": "note",
    "taken": "date taken",
    "worn": "worn while measuring",
    "title": "what is made",
    "base": "base pattern",
    "chart_id": "chart",
    "wear": "wear",
    "due": "due",
    "price": "price",
    "state": "state",
    "held": "date",
    "revision_id": "revision tried on",
    "remarks": "remarks",
    "pattern": "pattern",
    "marks": "marks",
    "wishes.reduction": "waist reduction",
    "wishes.lacing_gap": "lacing gap",
    "wishes.depth_share": "share of the cup depth",
    "wishes.exact_centre_top": "centre top met exactly",
    "wishes.take_heights": "wanted heights taken",
    "wishes.leave_small": "small differences left",
}


def written(mm: float | None, unit: Unit) -> str:
    """A length as one would type it: 34 1/2 where it is one, else every decimal that counts; nothing for None."""
    if mm is None:
        return ""
    if unit == "in":
        return _inches(mm)
    per, decimals = (10.0, 4) if unit == "cm" else (1.0, 3)
    return _short(mm / per, decimals)


def _inches(mm: float) -> str:
    parts = round(abs(mm) / MM_PER_INCH * FINEST_FRACTION)
    if abs(parts * MM_PER_INCH / FINEST_FRACTION - abs(mm)) > AS_TYPED_MM:
        return _short(mm / MM_PER_INCH, 5)
    whole, rest = divmod(parts, FINEST_FRACTION)
    shown = " ".join(str(part) for part in (whole, Fraction(rest, FINEST_FRACTION)) if part) or "0"
    return f"-{shown}" if mm < 0 and parts else shown


def _short(figure: float, decimals: int) -> str:
    text = f"{figure:.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def reading_written(reading: Reading | None, unit: Unit) -> str:
    """A reading as one would type it; several readings of one measurement are parted by strokes.

    Inches are in thirty-seconds, the nearest where it was taken in centimetres; centimetres show the millimetre, or
    the tenth of it where that is what was read.
    """
    if reading is None:
        return ""
    values = reading.repeats or (reading.value,)
    return " | ".join(_as_read(value, unit) for value in values)


def _as_read(mm: float, unit: Unit) -> str:
    """As a tape shows it: 970.756 mm, which was read in inches, are 97.1 cm; 345.5 mm stay 34.55."""
    if unit == "in":
        return fine_figure(mm, unit)
    return written(mm, unit) if abs(10 * mm - round(10 * mm)) < 1e-6 else format_figure(mm, unit)


def length(mm: float | None, unit: Unit) -> str:
    """A length with its unit, a dash where there is none."""
    return "–" if mm is None else format_length(mm, unit)


def signed(mm: float | None, unit: Unit) -> str:
    """A difference with its sign and unit, a dash where there is none."""
    if mm is None:
        return "–"
    # A maker who thinks in centimetres still draws small amounts in millimetres.
    spoken: Unit = "mm" if unit == "cm" and abs(mm) < SMALL_MM else unit
    figure = format_figure(abs(mm), spoken)
    sign = "±" if figure in ("0", "0.0") else "+" if mm > 0 else "−"
    return f"{sign}{figure} {spoken}"


def day(text: str) -> str:
    """An ISO date or time as 14 Nov 2026; a time is shown by the day of this machine's clock."""
    if not text:
        return ""
    found = date.fromisoformat(text) if len(text) == 10 else _here(text).date()
    return f"{found.day} {MONTHS[found.month - 1]} {found.year}"


def moment(text: str) -> str:
    """A kept time as 14 Nov 2026, 15:04."""
    return f"{day(text)}, {_here(text):%H:%M}" if text else ""


def _here(text: str) -> datetime:
    found = datetime.fromisoformat(text)
    return (found if found.tzinfo else found.replace(tzinfo=UTC)).astimezone()


def field_title(name: str) -> str:
    """What a field of a conflict is called on the screen."""
    head, _, rest = name.partition(".")
    if head == "readings":
        return title(rest)
    if head == "amounts":
        seam, side, level = [*rest.split("."), "", ""][:3]
        return ", ".join(word for word in (named(seam), side, level) if word)
    if name.startswith("wishes.rows."):
        return f"row {named(name.removeprefix('wishes.rows.'))}"
    return FIELD_TITLES.get(name, named(name.removeprefix("making.")))


def shown(name: str, value: object, unit: Unit) -> str:
    """A field's value as it is told to a second writer."""
    if value is None or value == "":
        return "nothing"
    if isinstance(value, Reading):
        how = "" if value.how == "measured" else f", {value.how}"
        return f"{reading_written(value, unit)} {unit}{how}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        state, amount, why = value
        return f"{state}{'' if amount is None else ' ' + format_length(amount, unit)} ({why})"
    lengths = name.startswith("amounts.") or name in ("wishes.reduction", "wishes.lacing_gap")
    if isinstance(value, float) and lengths:
        return format_length(value, unit)
    return str(value)[:300]


def named(key: str) -> str:
    """A key as words."""
    return key.replace("_", " ")


def said(text: str, unit: Unit) -> str:
    """A sentence of the program in the maker's unit."""
    return sentence(text, unit)


VERDICT_WORDS: Mapping[Verdict, str] = {
    Verdict.PASS: "holds",
    Verdict.WARN: "to look at",
    Verdict.DECISION: "yours to decide",
    Verdict.EXPLAINED: "explained",
    Verdict.FAIL: "does not hold",
}


FILTERS: dict[str, Callable[..., Any]] = {
    # Not `length`, which counts.
    "size": length,
    "signed": signed,
    "written": written,
    "reading": reading_written,
    "day": day,
    "moment": moment,
    "named": named,
    "said": said,
    "title_of": title,
    "verdict": VERDICT_WORDS.__getitem__,
}
