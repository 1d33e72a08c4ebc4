"""Paper that a printer or plotter takes, how much of it carries the pattern, and what a printer makes of it.

Millimetres on the pattern.  A printer that shrinks is answered by a page of fewer pattern millimetres, drawn larger.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from coutil.errors import BadInput

# Few printers print nearer to the edge than this; marks in the margin would vanish (common practice).
MARGIN_MM = 10.0

# Neighbouring tiles share a strip this wide (common practice: 10 to 20).
OVERLAP_MM = 10.0

# A PDF page is at most 14 400 points long, 5080 mm (ISO 32000-1, annex C); a roll is parted before that.
LONGEST_MM = 5000.0

NARROWEST_ROLL_MM, WIDEST_ROLL_MM = 150.0, 2000.0

# A printed test square off by more than this on 100 mm is printed again or rescaled.
TOLERANCE_MM = 0.2

# Farther off than this, something else than the printer's scale was measured.
WRONG_BEYOND_PER_CENT = 20.0

INCH_MM = 25.4
ROLL = re.compile(r"roll:([0-9]+(?:\.[0-9]+)?)\s*(mm|cm|in)?")
UNITS = {"mm": 1.0, "cm": 10.0, "in": INCH_MM, None: 1.0}


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet, upright.  Tiles are clipped at its printable area, `margin` inside every edge.

    A roll has no height of its own, and a single page neither height nor width: they are infinite until the
    pieces are laid (`around`).  `enlarged` (across, down) is what the page is drawn larger by, for a printer
    that shrinks; all other figures are pattern millimetres.
    """

    name: str
    width: float
    height: float
    margin: float = MARGIN_MM
    overlap: float = OVERLAP_MM
    enlarged: tuple[float, float] = (1.0, 1.0)

    @property
    def printable(self) -> tuple[float, float]:
        """Width and height of what is printed on one sheet."""
        return self.width - 2 * self.margin, self.height - 2 * self.margin

    @property
    def step(self) -> tuple[float, float]:
        """How far neighbouring tiles lie apart, across and down."""
        width, height = self.printable
        return width - self.overlap, height - self.overlap

    @property
    def is_large(self) -> bool:
        """Whether it goes to a plotter: words are then printed on office paper, test squares on both."""
        return self.width > 500.0

    def around(self, width: float, height: float) -> Paper:
        """The paper that takes a drawing of that size: what it has no measure of becomes as long as needed."""
        across = width + 2 * self.margin if math.isinf(self.width) else self.width
        down = min(height + 2 * self.margin, LONGEST_MM) if math.isinf(self.height) else self.height
        return replace(self, width=min(across, LONGEST_MM), height=down)


# ISO 216 and the sizes of North American paper.
PAPERS: Mapping[str, Paper] = MappingProxyType(
    {
        "a4": Paper("A4", 210.0, 297.0),
        "letter": Paper("Letter", 215.9, 279.4),
        "a3": Paper("A3", 297.0, 420.0),
        "a0": Paper("A0", 841.0, 1189.0),
    }
)
SINGLE = Paper("single page", math.inf, math.inf)


def paper_of(name: str) -> Paper:
    """The paper of that name in either case, `roll:` with a width, or `single`; raises BadInput for any other."""
    plain = name.strip().lower()
    roll = ROLL.fullmatch(plain)
    if roll is not None:
        return _roll(float(roll[1]) * UNITS[roll[2]])
    if plain == "single":
        return SINGLE
    paper = PAPERS.get(plain)
    if paper is None:
        raise BadInput(f"There is no paper {name[:40]!r}: name one of {', '.join(PAPERS)}, roll:WIDTH or single.")
    return paper


def _roll(width: float) -> Paper:
    if not NARROWEST_ROLL_MM <= width <= WIDEST_ROLL_MM:
        limits = f"{NARROWEST_ROLL_MM:g} to {WIDEST_ROLL_MM:g} mm"
        raise BadInput(f"A roll of {width:g} mm cannot be printed: give its width in mm, {limits}, as in roll:900.")
    return Paper(f"roll {width:g} mm", width, math.inf)


def office_paper(paper: Paper, inches: bool) -> Paper:
    """What the pages of words are printed on: the paper itself, or office paper where it goes to a plotter."""
    if not paper.is_large:
        return paper
    usual = PAPERS["letter" if inches else "a4"]
    return usual if paper.enlarged == (1.0, 1.0) else rescaled(usual, _measured(paper))


def _measured(paper: Paper) -> tuple[float, float]:
    across, down = paper.enlarged
    return 100.0 / across, 100.0 / down


def rescaled(paper: Paper, measured: tuple[float, float]) -> Paper:
    """The paper for a printer that makes 100 mm as long as measured, across and down.

    Worked case: a square that came out 99.6 mm is drawn 100 / 99.6 = 1.00402 times larger, and an A4 sheet
    then holds 210 × 0.996 = 209.16 mm of the pattern across.
    """
    across, down = (mm / 100.0 for mm in measured)
    return replace(
        paper,
        width=paper.width * across,
        height=paper.height * down,
        margin=paper.margin * max(across, down),
        enlarged=(1.0 / across, 1.0 / down),
    )


def measured_square(words: str) -> tuple[float, float]:
    """What the 100 mm square measured, across and down, mm: `99.6`, or `99.6x99.8` where both differ.

    With `in` behind it is the 4 in square, and is turned into mm on 100.  Raises BadInput for what is no such
    length, or is farther off than any printer's scale.
    """
    plain = words.strip().lower().replace(",", ".")
    inches = plain.endswith("in")
    parts = re.split(r"[x×]", plain.removesuffix("in").removesuffix("mm").strip())
    try:
        figures = [float(part) * (25.0 if inches else 1.0) for part in parts]
    except ValueError:
        figures = []
    if len(figures) not in (1, 2) or not all(_is_square(mm) for mm in figures):
        raise BadInput(
            f"{words[:40]!r} is no measure of the 100 mm square: give what you read in mm, as 99.6, "
            "across and down as 99.6x99.8, or the 4 in square as 3.98in."
        )
    return figures[0], figures[-1]


def _is_square(mm: float) -> bool:
    return math.isfinite(mm) and abs(mm - 100.0) <= WRONG_BEYOND_PER_CENT


def is_true_to_size(measured: tuple[float, float]) -> bool:
    """Whether the printed square is within TOLERANCE_MM both ways; a rounding's breadth more is forgiven."""
    return all(abs(mm - 100.0) <= TOLERANCE_MM + 1e-9 for mm in measured)
