"""The same way of laying for sheets of paper: quick, deterministic, without grain."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from coutil.cut.lay._bottom_left import NoFits, Put, lay_in_order, orders
from coutil.cut.lay._poses import Item, make_items
from coutil.cut.lay._values import Floats, LayCloth, LayPart
from coutil.errors import BadInput

# Between cut lines on paper a pair of scissors needs room to turn (common practice, no source).
PAPER_GAP_MM = 5.0

# Paper is cheap and waiting is not: outlines are packed with so much more room at most.
PAPER_TOLERANCE_MM = 2.0


@dataclass(frozen=True, slots=True)
class PaperSpot:
    """Where an outline lies: on sheet `sheet` (from 0), turned, the lower left corner of its box at (x, y)."""

    index: int
    sheet: int
    x: float
    y: float
    rotation: int


def pack_on_paper(
    outlines: Sequence[Floats],
    width: float,
    length: float = math.inf,
    *,
    gap: float = PAPER_GAP_MM,
    turn: bool = True,
) -> tuple[PaperSpot, ...]:
    """A place for every outline (m, 2), in the order given, on a roll or on sheets of one length, mm.

    x runs along the roll or sheet from 0 to `length`, y across it from 0 to `width`; `turn` allows half turns.
    Raises BadInput for an outline larger than the sheet.
    """
    cloth = LayCloth(width, selvedge=0.0, gap=gap, nap=not turn)
    parts = tuple(LayPart(str(i), f"Outline {i + 1}", "paper", outline, 1) for i, outline in enumerate(outlines))
    left = orders(make_items(parts, cloth, PAPER_TOLERANCE_MM))[0]
    no_fits, spots, sheet = NoFits(), list[PaperSpot](), 0
    while left:
        puts, rest = lay_in_order(left, [], cloth, no_fits, length)
        if not puts:
            raise _too_long(rest[0], length)
        spots += [_spot(put, sheet) for put in puts]
        left, sheet = rest, sheet + 1
    return tuple(sorted(spots, key=lambda spot: spot.index))


def _spot(put: Put, sheet: int) -> PaperSpot:
    return PaperSpot(int(put.item.part.piece), sheet, put.x, put.y, put.pose.rotation)


def _too_long(item: Item, length: float) -> BadInput:
    return BadInput(
        f"{item.part.title} is {item.part.size[0]:.0f} mm long, and the sheet takes {length:.0f} mm: "
        "use larger paper or tiles."
    )
