"""Sentences as the maker reads them: figures in her unit, a capital to begin with and a full stop to end.

Inside, every sentence carries millimetres; here, at the edge of the program, they become centimetres or inches.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from coutil.measure import Unit, format_figure

MM_PER_INCH = 25.4

# A maker who thinks in centimetres still draws small amounts in millimetres.
SMALL_MM = 20.0

# Half the finest division of a tailor's inch tape: below it a fraction would read as nothing or as twice as much.
SMALLEST_FRACTION_MM = MM_PER_INCH / 32

_NUMBER = r"\d++(?:\.\d++)?+"
_LENGTH = re.compile(rf"(?<![\d.])([+-]?{_NUMBER}) mm\b(?: \(([+-]?{_NUMBER})\))?")
_CLAUSES = re.compile(r"([:;]\s*+)")


def sentence(text: str, unit: Unit) -> str:
    """The text with its lengths in `unit`, a capital at its start and a full stop at its end; nothing stays nothing."""
    plain = in_unit(text.strip(), unit)
    if not plain:
        return ""
    start = plain[0] if _is_name(plain.split()[0]) else plain[0].upper()
    return start + plain[1:] + ("" if plain.endswith((".", "!", "?", ".)")) else ".")


def _is_name(word: str) -> bool:
    """Names of files and of rows are written as they are."""
    return any(mark in word.rstrip(".,:;") for mark in "/\\._")


def in_unit(text: str, unit: Unit) -> str:
    """Every length in millimetres in the text, with the half in brackets behind it, written in `unit`.

    What is compared in one clause is written in one form: `Wanted 98.0 cm, has 97.6 cm`.  Centimetres keep the tenth
    of a millimetre and leave small amounts in millimetres; inches are sixteenths, or hundredths where sixteenths
    would hide the difference.
    """
    if unit == "mm":
        return text
    return "".join(_clause_in(part, unit) for part in _CLAUSES.split(text))


def figure_in(mm: float, unit: Unit) -> str:
    """A figure of the check list with its unit: millimetres to a hundredth, inches to a thousandth."""
    return f"{mm / MM_PER_INCH:z.3f} in" if unit == "in" else f"{mm:z.2f} mm"


def limit_in(mm: float, unit: Unit) -> str:
    """A limit of the check list with its unit, without needless zeros."""
    return f"{round(mm / MM_PER_INCH, 3):g} in" if unit == "in" else f"{mm:g} mm"


def _clause_in(clause: str, unit: Unit) -> str:
    figures = [float(figure) for found in _LENGTH.finditer(clause) for figure in found.groups() if figure]
    if not figures or (unit == "cm" and max(map(abs, figures)) < SMALL_MM):
        return clause
    decimals = unit == "in" and not _told_apart(figures)

    def written(found: re.Match[str]) -> str:
        whole, half = (_figure(figure, unit, decimals) if figure else "" for figure in found.groups())
        return f"{whole} {unit}{f' ({half})' if half else ''}"

    return _LENGTH.sub(written, clause)


def _told_apart(figures: Sequence[float]) -> bool:
    """Whether sixteenths of an inch show each figure, and figures that differ as different."""
    if any(0.0 < abs(figure) < SMALLEST_FRACTION_MM for figure in figures):
        return False
    return len({format_figure(figure, "in") for figure in figures}) == len(set(figures))


def _figure(figure: str, unit: Unit, decimals: bool) -> str:
    mm, sign = float(figure), "+" if figure.startswith("+") else ""
    if unit == "cm":
        return f"{sign}{mm / 10:z.2f}".removesuffix("0")
    return f"{sign}{_decimal_inches(mm) if decimals else format_figure(mm, 'in')}"


def _decimal_inches(mm: float) -> str:
    inches = mm / MM_PER_INCH
    return f"{inches:z.2f}" if not mm or abs(inches) >= 0.01 else f"{inches:z.3f}"
