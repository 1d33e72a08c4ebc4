"""Words and figures of the workroom sheet: a section holds notes and tables of words, for any printed form."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from coutil.measure import Unit, fine_figure, format_figure, format_length
from coutil.sheet._bone_plan import Picture

MM_PER_SIXTEENTH = 25.4 / 16
MM_PER_YARD = 914.4

# What lies this little over a whole step is that step: sums of lengths carry rounding.
ROUNDING_MM = 0.01


@dataclass(frozen=True, slots=True)
class Grid:
    """A table of words: its caption, the heads, the rows; `shares` of the width, figures in `right` columns.

    Cells whose whole text is in `marked` ask for attention.  `wide` is the table's part of the page's width.
    """

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    shares: tuple[float, ...]
    right: frozenset[int] = frozenset()
    marked: frozenset[str] = frozenset()
    wide: float = 1.0


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the sheet: its title, sentences in the order of reading, tables and a picture, a list at the end."""

    title: str
    notes: tuple[str, ...] = ()
    grids: tuple[Grid, ...] = ()
    steps: tuple[str, ...] = ()
    picture: Picture | None = None


@dataclass(frozen=True, slots=True)
class SheetHead:
    """What stands at the head and foot of every page."""

    title: str
    words: str


def fine(unit: Unit) -> Unit:
    """The unit of small parts: whoever measures in centimetres cuts and marks in millimetres."""
    return "mm" if unit == "cm" else unit


def small(mm: float, unit: Unit) -> str:
    """A small length with its unit."""
    return format_length(mm, fine(unit))


def figure(mm: float, unit: Unit) -> str:
    """The same without its unit, for a column whose head names it."""
    return format_figure(mm, fine(unit))


def aligned(mm: float, unit: Unit) -> str:
    """As `figure`, always with the tenth of a millimetre, so that a column ranges on the point."""
    return f"{mm:z.1f}" if unit != "in" else format_figure(mm, unit)


def to_cut(mm: float, unit: Unit) -> str:
    """A length to cut, rounded up: to whole mm, or to 1/16 in."""
    step = MM_PER_SIXTEENTH if unit == "in" else 1.0
    return figure(math.ceil((mm - ROUNDING_MM) / step) * step, unit)


def bought(mm: float, unit: Unit) -> str:
    """A length bought from a roll: metres to a hundredth; inches, beyond a yard eighths of yards, rounded up, as well.

    12.5 m are 13.67 yards, so 13 3/4.
    """
    metres = f"{mm / 1000:.2f} m"
    if unit != "in":
        return metres
    if mm <= MM_PER_YARD:
        return f"{format_length(mm, 'in')} ({metres})"
    whole, rest = divmod(math.ceil((mm - ROUNDING_MM) / MM_PER_YARD * 8), 8)
    return f"{whole}{f' {Fraction(rest, 8)}' if rest else ''} yd ({metres})"


def width_words(mm: float, unit: Unit) -> str:
    """An allowance; sixteenths of an inch only come near it, so that the mm stand behind."""
    return f"{figure(mm, unit)} ({mm:g} mm)" if unit == "in" else figure(mm, unit)


def with_half(mm: float, unit: Unit) -> str:
    """A full girth with the half in brackets, without the unit."""
    return f"{format_figure(mm, unit)} ({fine_figure(mm / 2, unit)})"


def plain(name: str) -> str:
    """A name of the data as words."""
    return name.replace("_", " ")


def sentence_case(words: str) -> str:
    """The words with a capital at their start."""
    return words[:1].upper() + words[1:]


def listed(words: Sequence[str]) -> str:
    """Words as a list in a sentence."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def joined(words: Iterable[str]) -> str:
    """The words that are not empty, parted by middle dots."""
    return " · ".join(word for word in words if word)


def counted(count: int, word: str) -> str:
    """A number with its word."""
    return f"{count} {word}" if count == 1 else f"{count} {word}s"
