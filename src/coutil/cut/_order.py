"""What the order says about making: cloths, construction, closure, bones, lacing, finish.  Millimetres.

Every default is the trade's usual amount; where one was published its source stands beside it, the rest is
common practice.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, get_args

from coutil.errors import BadInput
from coutil.texts import LONGEST_NAME, LONGEST_TEXT

Construction = Literal["single", "mounted", "sandwich", "floating_lining"]
Closure = Literal["busk", "closed"]
Finish = Literal["bound", "turned"]
Casings = Literal["strips", "allowances", "between"]
PutOn = Literal["stepped_into", "over_the_head"]

# Busks are sold in these lengths (supplier lists, from memory); a busk is never cut.
BUSK_LENGTHS: tuple[float, ...] = (200, 230, 250, 280, 300, 330, 350, 380)

# Sums of lengths carry rounding; a bone is not made a step shorter for it.
ROUNDING_MM = 1e-6

# What an order may ask for, lowest and highest, mm.  Beyond, the figures stop being a corset's.
RANGES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "binding": (4, 30),
        "edge_depth": (0, 20),
        "play": (0, 10),
        "cradle_clear": (0, 30),
        "busk_top": (5, 60),
        "busk_bottom": (5, 60),
        "closure_gap": (3, 6),
        "eyelet_spacing": (10, 40),
        "eyelet_line": (16, 18),
        "eyelet_inset": (12, 15),
        "eyelet_waist": (12, 15),
        "facing": (45, 50),
        "widest_gap": (0, 300),
        "donning_gap": (50, 350),
        "foam": (0, 10),
        "widest_between_bones": (40, 200),
        "waist_tape_width": (10, 40),
        "tape_short": (1, 3),
    }
)


def _require(name: str, value: float, low: float, high: float, unit: str = " mm") -> None:
    if not (math.isfinite(value) and low <= value <= high):
        words = name.replace("_", " ")
        raise BadInput(f"The order's {words} is {value:g}{unit}: give {low:g} to {high:g}{unit}.")


def _require_short(name: str, text: str, longest: int = LONGEST_NAME) -> None:
    if len(text) > longest:
        raise BadInput(f"The order's {name} has {len(text)} letters, and at most {longest} fit: shorten it.")


@dataclass(frozen=True, slots=True)
class Cloth:
    """The cloth for one layer: usable width and thickness in mm, price of one metre where known.

    `turn` replaces the construction's turn of cloth, as for brocade, which needs 1 mm.  `nap` where pile, sheen or
    print runs one way, so that every piece lies the same way up.
    """

    layer: str
    name: str = ""
    width: float = 1400.0
    thickness: float = 0.5
    price: float | None = None
    turn: float | None = None
    nap: bool = False

    def __post_init__(self) -> None:
        """Raises BadInput for amounts no cloth has."""
        _require(f"width of {self.layer}", self.width, 100, 5000)
        _require(f"thickness of {self.layer}", self.thickness, 0, 10)
        if self.price is not None:
            _require(f"price of {self.layer}", self.price, 0, 1e6, "")
        if self.turn is not None:
            _require(f"turn of {self.layer}", self.turn, -3, 3)


@dataclass(frozen=True, slots=True)
class BoneKind:
    """A steel as it is sold: its width, and its lengths as steps of `step` mm or the list `sold`."""

    name: str
    width: float = 7.0
    step: float = 5.0
    sold: tuple[float, ...] = ()
    tipped: bool = False

    def __post_init__(self) -> None:
        """Raises BadInput for amounts no steel has."""
        _require(f"width of the {self.name} bone", self.width, 3, 20)
        _require(f"step of the {self.name} bone", self.step, 0.5, 100)
        for length in self.sold:
            _require(f"length of the {self.name} bone", length, 20, 1000)

    @property
    def channel(self) -> float:
        """The width of its channel: 2 mm more than the bone (common practice), mm."""
        return self.width + 2.0

    def next_below(self, room: float) -> float:
        """The longest sold length that is no longer than the room, mm; 0 where none is so short."""
        if self.sold:
            return max((length for length in self.sold if length <= room + ROUNDING_MM), default=0.0)
        return max(0.0, math.floor((room + ROUNDING_MM) / self.step) * self.step)


FLAT = BoneKind("flat steel")
SPIRAL = BoneKind("spiral steel", tipped=True)


@dataclass(frozen=True, slots=True)
class OrderOptions:
    """How a garment is to be made.  None leaves what the style says.

    `edge_depth` is how deep the finished edge reaches onto the bones' channel, `play` the room a bone keeps
    at each end beyond it, `cradle_clear` how far below the cradle front bones end.  `widest_gap` is how far
    the lacing may stand open when worn; `donning_gap` how far it opens for putting on where a busk opens too.
    `put_on` says what must pass through the opening: the hips, or the shoulders.
    `foam` is the thickness of the cups' foam, over which the cover is cut larger unless `measured_over_foam`.
    """

    reference: str = ""
    due: str = ""
    wear: str = ""
    remarks: tuple[str, ...] = ()
    construction: Construction | None = None
    closure: Closure | None = None
    put_on: PutOn = "stepped_into"
    cloths: tuple[Cloth, ...] = ()
    currency: str = ""
    finish: Finish = "bound"
    binding: float = 12.0
    edge_depth: float = 8.0
    play: float = 4.0
    cradle_clear: float = 8.0
    casings: Casings | None = None
    flat: BoneKind = FLAT
    spiral: BoneKind = SPIRAL
    widest_between_bones: float = 90.0
    busk_lengths: tuple[float, ...] = BUSK_LENGTHS
    busk_top: float = 19.0
    busk_bottom: float = 20.0
    closure_gap: float = 4.0
    facing: float = 50.0
    eyelet_spacing: float = 22.0
    eyelet_line: float = 17.0
    eyelet_inset: float = 13.0
    eyelet_waist: float = 13.0
    widest_gap: float = 100.0
    donning_gap: float = 200.0
    modesty_panel: bool = True
    waist_tape: bool = True
    waist_tape_width: float = 20.0
    tape_short: float = 2.0
    stay_tape: bool = True
    loops: bool = True
    foam: float | None = None
    measured_over_foam: bool = False

    def __post_init__(self) -> None:
        """Raises BadInput, naming the field and its limits, for what cannot be made."""
        for name, (low, high) in RANGES.items():
            value = getattr(self, name)
            if value is not None:
                _require(name, value, low, high)
        for name, choices in CHOICES.items():
            _require_choice(name, getattr(self, name), choices)
        for length in self.busk_lengths:
            _require("busk_lengths", length, 50, 1000)
        for name in ("reference", "due", "wear", "currency"):
            _require_short(name, getattr(self, name))
        for remark in self.remarks:
            _require_short("remarks", remark, LONGEST_TEXT)
        for cloth in self.cloths:
            _require_short(f"cloth for {cloth.layer[:40]}", cloth.name)
        if len({cloth.layer for cloth in self.cloths}) < len(self.cloths):
            raise BadInput("The order names two cloths for one layer: give each layer one cloth.")

    def cloth(self, layer: str) -> Cloth:
        """The cloth ordered for that layer, or the usual one."""
        return next((cloth for cloth in self.cloths if cloth.layer == layer), Cloth(layer))


CHOICES: Mapping[str, tuple[str | None, ...]] = MappingProxyType(
    {
        "construction": (*get_args(Construction), None),
        "closure": (*get_args(Closure), None),
        "put_on": get_args(PutOn),
        "finish": get_args(Finish),
        "casings": (*get_args(Casings), None),
    }
)


def _require_choice(name: str, value: str | None, choices: tuple[str | None, ...]) -> None:
    if value not in choices:
        known = ", ".join(choice for choice in choices if choice is not None)
        raise BadInput(f"The order's {name} is {str(value)[:40]!r}: name one of {known}.")
