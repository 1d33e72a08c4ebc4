"""Sentences as the maker reads them: figures in her unit, a capital to begin with and a full stop to end.

Inside, every sentence carries millimetres; here, at the edge of the program, they become centimetres or inches.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from coutil.measure import INCH_FRACTION, Unit, inch_figure

MM_PER_INCH = 25.4

# A maker who thinks in centimetres still draws small amounts in millimetres.
SMALL_MM = 20.0

# Half the finest division of a tailor's inch tape: below it a fraction would read as nothing or as twice as much.
SMALLEST_FRACTION_MM = MM_PER_INCH / 32

# A limit this small is told apart from its figure in hundredths of a millimetre.
FINE_LIMIT_MM = 2.0

# Divisions of the inch a maker reads: of the tape, of a rule, of a fine rule.
DIVISIONS = (INCH_FRACTION, 32, 64)

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
    of a millimetre and leave small amounts in millimetres; inches are sixteenths, or finer fractions where sixteenths
    would hide the difference.
    """
    if unit == "mm":
        return text
    return "".join(_clause_in(part, unit) for part in _CLAUSES.split(text))


def figure_in(mm: float, unit: Unit, limit: float | None = None) -> str:
    """A figure of the check list with its unit: millimetres to a tenth, beside a tolerance to a hundredth.

    Inches are fractions, as on the tape, fine enough to tell the figure from its limit.  Where the limit is a
    tolerance that no ruler shows, both are thousandths.
    """
    if unit != "in":
        return f"{mm:z.2f} mm" if limit is not None and abs(limit) <= FINE_LIMIT_MM else f"{mm:z.1f} mm"
    if limit is not None and not is_drawn(limit):
        return f"{mm / MM_PER_INCH:z.3f} in"
    figures = [mm] if limit is None else [mm, limit]
    return f"{_fraction(mm, _finest(figures))} in"


def limit_in(mm: float, unit: Unit, figure: float | None = None) -> str:
    """A limit of the check list with its unit, without needless zeros, as fine as its figure."""
    if unit != "in":
        return f"{mm:g} mm"
    figures = [mm] if figure is None else [mm, figure]
    return f"{_fraction(mm, _finest(figures)) if is_drawn(mm) else f'{round(mm / MM_PER_INCH, 3):g}'} in"


def is_drawn(limit: float) -> bool:
    """Whether a limit is a length that can be drawn: at least the finest division of a tailor's inch tape."""
    return abs(limit) >= MM_PER_INCH / INCH_FRACTION - 1e-9


def _clause_in(clause: str, unit: Unit) -> str:
    figures = [float(figure) for found in _LENGTH.finditer(clause) for figure in found.groups() if figure]
    if not figures or (unit == "cm" and max(map(abs, figures)) < SMALL_MM):
        return clause
    finest = _finest(figures)

    def written(found: re.Match[str]) -> str:
        whole, half = (_figure(figure, unit, finest) if figure else "" for figure in found.groups())
        return f"{whole} {unit}{f' ({half})' if half else ''}"

    return _LENGTH.sub(written, clause)


def _finest(figures: Sequence[float]) -> int:
    """The coarsest division of the inch that shows each figure, and figures that differ as different."""
    seen = {round(abs(figure), 6) for figure in figures}
    for parts in DIVISIONS:
        shown = [round(size * parts / MM_PER_INCH) for size in seen]
        if len(set(shown)) == len(seen) and all(part or not size for part, size in zip(shown, seen, strict=True)):
            return parts
    return DIVISIONS[-1]


def _figure(figure: str, unit: Unit, finest: int) -> str:
    mm, sign = float(figure), "+" if figure.startswith("+") else ""
    if unit == "cm":
        return f"{sign}{mm / 10:z.2f}".removesuffix("0")
    return f"{sign}{_fraction(mm, finest)}"


def _fraction(mm: float, parts: int) -> str:
    """The length in inches with a fraction; what is less than half of the finest division is told as less than it."""
    if 0.0 < abs(mm) < MM_PER_INCH / parts / 2:
        return f"less than 1/{parts}"
    return inch_figure(mm, parts)
