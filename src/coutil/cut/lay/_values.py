"""The values of a lay plan: the cloth, the parts to cut from it, where each one lies, and the plan as a whole.

The cloth runs along x from its cut end at x = 0; y is 0 at one edge and the cloth's width at the other (on a
folded cloth y = 0 is the fold and the lay is half as wide). A part's outline lies with its grain along x, its
top towards larger x. Millimetres and degrees.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coutil.errors import BadInput

Floats = NDArray[np.float64]
Hand = Literal["drawn", "mirrored"]

# A selvedge is woven tighter than the cloth and is left out of the lay (common practice, no source: 1 to 2 cm).
SELVEDGE_MM = 10.0

# Room for the chalk and the blade between two cut lines (common practice, no source).
GAP_MM = 3.0

# Cut lines are exact to 0.01 mm; two of them touch where they lie no deeper in each other than this.
TOUCH_MM = 0.02

# LayCloth is sold and measured off by the centimetre.
SOLD_STEP_MM = 10.0

WIDEST_CLOTH_MM = 10_000.0


@dataclass(frozen=True, slots=True)
class LayCloth:
    """A cloth and how it is laid.  `price` is per metre of length; `grain` False for foam, felt or paper.

    With a nap every part lies the same way up; without, it may be turned by 180 degrees; without a grain by
    quarter turns.  `folded`: doubled along its length, right sides together, so that both hands are cut at once.
    """

    width: float
    selvedge: float = SELVEDGE_MM
    gap: float = GAP_MM
    nap: bool = False
    folded: bool = False
    grain: bool = True
    price: float | None = None

    def __post_init__(self) -> None:
        figures = (self.width, self.selvedge, self.gap, 0.0 if self.price is None else self.price)
        if not all(math.isfinite(figure) and figure >= 0 for figure in figures):
            raise BadInput("A cloth's width, selvedge, gap and price are figures of 0 or more.")
        if not 0 < self.width <= WIDEST_CLOTH_MM:
            raise BadInput(f"A cloth of {self.width:g} mm cannot be laid: give a width up to 10 m.")
        if self.room <= 0:
            raise BadInput(f"Nothing is left of {self.width:g} mm of cloth beside its selvedges: give less selvedge.")
        if self.nap and not self.grain:
            raise BadInput("A cloth with a nap has a grain: leave out one of the two.")

    @property
    def lay_width(self) -> float:
        """How wide the cloth lies on the table."""
        return self.width / 2 if self.folded else self.width

    @property
    def low(self) -> float:
        """The smallest y a part may reach: beside the selvedge, or a gap from the fold."""
        return self.gap if self.folded else self.selvedge

    @property
    def high(self) -> float:
        """The largest y a part may reach."""
        return self.lay_width - self.selvedge

    @property
    def room(self) -> float:
        """How wide a part may be across the lay."""
        return self.high - self.low

    @property
    def turns(self) -> tuple[int, ...]:
        """The angles by which a part may lie turned from its grain."""
        if not self.grain:
            return (0, 90, 180, 270)
        return (0,) if self.nap else (0, 180)


@dataclass(frozen=True, slots=True, eq=False)
class LayPart:
    """One shape to cut and how often: `drawn` times as it is drawn and `mirrored` times the other hand.

    `outline` (m, 2) does not repeat its first point.  `either_hand`: both hands are alike, or it does not
    matter.  `on_fold`: a half whose lower edge, y = 0, lies on the fold of the cloth.
    """

    piece: str
    title: str
    layer: str
    outline: Floats
    drawn: int
    mirrored: int = 0
    either_hand: bool = False
    on_fold: bool = False

    @property
    def size(self) -> tuple[float, float]:
        """Its length along the grain and its width across."""
        along, across = self.outline.max(axis=0) - self.outline.min(axis=0)
        return float(along), float(across)

    @property
    def area(self) -> float:
        """Square mm of one copy, the whole of one that is cut on the fold."""
        x, y = self.outline.T
        half = abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2
        return 2 * half if self.on_fold else half

    @property
    def count(self) -> int:
        """How many are cut in all."""
        return self.drawn + self.mirrored


@dataclass(frozen=True, slots=True)
class Placement:
    """Where one part lies: (x, y) is the lower left corner of the box around it as it lies.

    `rotation` is the angle from its grain, anticlockwise, after mirroring across the grain.  `copies` is 2
    where both plies of a folded cloth are cut, or the whole of a part on the fold counts as one.  `fixed` parts
    were placed by the maker.
    """

    piece: str
    layer: str
    hand: Hand
    x: float
    y: float
    rotation: int = 0
    copies: int = 1
    fixed: bool = False


@dataclass(frozen=True, slots=True)
class PartSize:
    """What a kept plan remembers of a part, so that it is never drawn with another pattern's."""

    piece: str
    layer: str
    drawn: int
    mirrored: int
    along: float
    across: float
    area: float


@dataclass(frozen=True, slots=True)
class LayPlan:
    """A checked lay plan.  `length` is that of the cloth it takes, `area` that of all parts cut, mm and mm^2.

    `method` says in words how it was found; `remarks` what went otherwise than asked.
    """

    style: str
    cloth: LayCloth
    parts: tuple[PartSize, ...]
    placements: tuple[Placement, ...]
    length: float
    area: float
    method: str
    remarks: tuple[str, ...] = ()

    @property
    def use(self) -> float:
        """Per cent of the cloth that ends up in parts, selvedges counted as cloth."""
        return 100 * self.area / (self.cloth.width * self.length) if self.length else 0.0

    @property
    def sold_length(self) -> float:
        """The length to buy: up to the next whole centimetre, mm."""
        return SOLD_STEP_MM * math.ceil(self.length / SOLD_STEP_MM - 1e-9)

    @property
    def cost(self) -> float | None:
        """What the length to buy costs, None without a price."""
        return None if self.cloth.price is None else self.cloth.price * self.sold_length / 1000


def part_sizes(parts: tuple[LayPart, ...]) -> tuple[PartSize, ...]:
    """What a plan keeps of its parts."""
    return tuple(PartSize(p.piece, p.layer, p.drawn, p.mirrored, *p.size, p.area) for p in parts)


def oriented(outline: Floats, hand: Hand, rotation: int) -> Floats:
    """The outline mirrored across its grain if so, turned by quarter turns, the corner of its box at (0, 0)."""
    points = outline * (1.0, -1.0) if hand == "mirrored" else outline
    x, y = points.T
    turned = {0: (x, y), 90: (-y, x), 180: (-x, -y), 270: (y, -x)}[rotation % 360]
    placed = np.stack(turned, axis=1)
    return np.asarray(placed - placed.min(axis=0))


def outline_at(part: LayPart, placement: Placement) -> Floats:
    """The part's outline where it lies on the cloth, (m, 2)."""
    corner = np.array((placement.x, placement.y))
    return np.asarray(oriented(part.outline, placement.hand, placement.rotation) + corner)


def outlines_of(parts: tuple[LayPart, ...], placements: tuple[Placement, ...]) -> Iterator[Floats]:
    """Every placed outline in the plan's order; raises BadInput for a part that is not there."""
    return (outline_at(part_of(parts, placement), placement) for placement in placements)


def part_of(parts: tuple[LayPart, ...], placement: Placement) -> LayPart:
    """The part a placement speaks of; raises BadInput where there is none."""
    for part in parts:
        if (part.piece, part.layer) == (placement.piece, placement.layer):
            return part
    known = ", ".join(dict.fromkeys(f"{part.piece} ({part.layer})" for part in parts))
    raise BadInput(f"There is no {placement.piece[:60]} of {placement.layer[:60]} to lay: name one of {known}.")
