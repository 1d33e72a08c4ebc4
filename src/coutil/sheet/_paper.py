"""Sheets of paper that a home printer takes, and how much of each one carries the pattern.  Millimetres."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from coutil.errors import BadInput

# Few printers print nearer to the edge than this; marks in the margin would vanish (common practice).
MARGIN_MM = 10.0

# Neighbouring tiles share a strip this wide (common practice: 10 to 20).
OVERLAP_MM = 10.0


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet, upright.  Tiles are clipped at its printable area, `margin` inside every edge."""

    name: str
    width: float
    height: float
    margin: float = MARGIN_MM
    overlap: float = OVERLAP_MM

    @property
    def printable(self) -> tuple[float, float]:
        """Width and height of what is printed on one sheet."""
        return self.width - 2 * self.margin, self.height - 2 * self.margin

    @property
    def step(self) -> tuple[float, float]:
        """How far neighbouring tiles lie apart, across and down."""
        width, height = self.printable
        return width - self.overlap, height - self.overlap


# ISO 216 and the sizes of North American paper.
PAPERS: Mapping[str, Paper] = MappingProxyType(
    {"a4": Paper("A4", 210.0, 297.0), "letter": Paper("Letter", 215.9, 279.4)}
)


def paper_of(name: str) -> Paper:
    """The paper of that name in either case; raises BadInput for any other name."""
    paper = PAPERS.get(name.lower())
    if paper is None:
        raise BadInput(f"There is no paper {name[:40]!r}: name one of {', '.join(PAPERS)}.")
    return paper
