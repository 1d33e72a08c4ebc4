"""Lengths as a maker writes them: cm, mm, or inches with fractions.  1 in = 25.4 mm exactly."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from types import MappingProxyType
from typing import Literal, cast, get_args

from coutil.errors import BadInput

Unit = Literal["mm", "cm", "in"]
UNITS: tuple[str, ...] = get_args(Unit)
MM_PER: Mapping[Unit, Fraction] = MappingProxyType(
    {"mm": Fraction(1), "cm": Fraction(10), "in": Fraction(254, 10)}
)
LONGEST_MM = 100_000.0  # Longer than any tape, yet wide enough for a girth in mm read as cm to be explained.
INCH_FRACTION = 16  # The finest division of a tailor's inch tape.

_UNIT_WORDS: Mapping[str, Unit] = {
    "mm": "mm", "millimetre": "mm", "millimetres": "mm", "millimeter": "mm", "millimeters": "mm",
    "cm": "cm", "centimetre": "cm", "centimetres": "cm", "centimeter": "cm", "centimeters": "cm",
    "in": "in", "in.": "in", "inch": "in", "inches": "in", '"': "in", "″": "in", "”": "in",
}  # fmt: skip
_VULGAR = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅓": "1/3", "⅔": "2/3",
    "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_LENGTH = re.compile(
    r"(?P<sign>[-−+]?)\s*+"
    r"(?:(?P<decimal>\d{1,9}(?:[.,]\d{1,9})?|[.,]\d{1,9})"
    r"|(?:(?P<whole>\d{1,9})(?:\s++|-))?(?P<over>\d{1,4})\s*+[/⁄]\s*+(?P<under>\d{1,4}))"
    r"\s*+(?P<unit>[a-z]+\.?|[\"″”])?",
    re.IGNORECASE | re.ASCII,
)
_LONGEST_WRITTEN = 40  # Characters; anything longer is no length and is not worth matching.


def parse_unit(word: str) -> Unit:
    """The unit a word stands for; raises BadInput for any other word."""
    unit = _UNIT_WORDS.get(word.strip().lower())
    if unit is None:
        raise BadInput(f"The unit is mm, cm or in, not {word[:40]!r}.")
    return unit


def parse_length(text: str, unit: Unit) -> float:
    """A written length in mm; `unit` holds where the text names none.

    Takes 34 1/2, 34-1/2, 34½, 34.5 and 34,5, each with or without mm, cm, in or an inch mark.  Raises
    BadInput for anything else, and for 1,250, where the comma could mean either thing.
    """
    found = _LENGTH.fullmatch(_with_plain_fractions(text)) if len(text) <= _LONGEST_WRITTEN else None
    if found is None:
        shown = text[:_LONGEST_WRITTEN]
        raise BadInput(f"{shown!r} is not a length: write it like 88.5, 34 1/2 in or 885 mm.")
    size = _size(found, text) * MM_PER[parse_unit(found["unit"]) if found["unit"] else unit]
    if size > LONGEST_MM:
        raise BadInput(f"{text.strip()!r} is longer than any tape: check the figure and its unit.")
    return float(-size if found["sign"] in ("-", "−") else size)


def format_length(mm: float, unit: Unit) -> str:
    """The length with its unit: centimetres to 0.1, millimetres to 0.1, inches to the nearest 1/16."""
    return f"{format_figure(mm, unit)} {unit}"


def format_figure(mm: float, unit: Unit) -> str:
    """As `format_length` without the unit, for a column whose head names it."""
    if unit == "in":
        return inch_figure(mm)
    decimal = f"{mm / float(MM_PER[unit]):.1f}"
    decimal = "0.0" if decimal == "-0.0" else decimal
    return decimal.removesuffix(".0") if unit == "mm" else decimal


def fine_figure(mm: float, unit: Unit) -> str:
    """As `format_figure`, twice as fine: the half of a length as it is written, or a part of it.

    Centimetres show the tenth of a millimetre where there is one, inches are in thirty-seconds.
    """
    if unit == "in":
        return inch_figure(mm, 2 * INCH_FRACTION)
    return format_figure(mm, unit) if unit == "mm" else f"{mm / 10:z.2f}".removesuffix("0")


def exact_figure(mm: float, unit: Unit) -> str:
    """The figure from which 0.001 mm can be read back, without needless zeros."""
    decimals = {"mm": 3, "cm": 4, "in": 6}[unit]
    text = f"{mm / float(MM_PER[unit]):.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def checked_unit(unit: str) -> Unit:
    """The unit itself; raises BadInput for a word that is none."""
    if unit not in UNITS:
        raise BadInput(f"The unit is mm, cm or in, not {str(unit)[:40]!r}.")
    return cast(Unit, unit)


def _with_plain_fractions(text: str) -> str:
    plain = " ".join(text.split())
    for sign, fraction in _VULGAR.items():
        plain = plain.replace(sign, f" {fraction}")
    return " ".join(plain.split())


def _size(found: re.Match[str], text: str) -> Fraction:
    """The figure without its sign and unit."""
    if found["decimal"]:
        if re.fullmatch(r"[1-9]\d{0,2},\d{3}", found["decimal"]):
            raise BadInput(f"{text.strip()!r} may mean thousands or decimals: write it with a point.")
        return Fraction(found["decimal"].replace(",", "."))
    over, under = int(found["over"]), int(found["under"])
    if under == 0 or over >= under:
        raise BadInput(f"{text.strip()!r} holds no proper fraction: write it like 34 1/2.")
    return int(found["whole"] or 0) + Fraction(over, under)


def inch_figure(mm: float, finest: int = INCH_FRACTION) -> str:
    """The length in inches as a whole number and a fraction, to the nearest of `finest` parts: 34 1/2."""
    parts = round(abs(mm) / 25.4 * finest)
    whole, rest = divmod(parts, finest)
    fraction = str(Fraction(rest, finest)) if rest else ""
    figure = " ".join(part for part in (str(whole) if whole or not rest else "", fraction) if part)
    return f"-{figure}" if mm < 0 and parts else figure
