"""The alteration chart as values: rows, where each part of a difference goes, frames, truing, the outcome."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from coutil.pattern import Style

Group = Literal["length", "centre", "side", "curves", "cup", "edges"]


class State(StrEnum):
    """Who decided a row's amount."""

    COMPUTED = "computed"
    OVERRULED = "overruled"
    LEFT = "left"
    LOCKED = "locked"


@dataclass(frozen=True, slots=True)
class Move:
    """One part of a row: what it does to one edge.

    `level` names where on the edge (None: the whole edge); `amount` is mm, positive outwards from the piece for
    sideways moves (`sideways`), upwards for `upwards`, longer for `along` and `apart`.
    """

    piece: str
    edge: str
    level: str | None
    kind: Literal["sideways", "upwards", "along", "apart"]
    amount: float


@dataclass(frozen=True, slots=True)
class PlanRow:
    """One row of the alteration chart.

    `base`, `client` and `difference` are the measurement as taken (full girth for girths), mm; `amount` is what the
    row moves in all on the stored half (or whole) pattern.  `wanted` is the amount the sharing rules ask for before
    anyone overruled it.  `remainder` is what is still missing after the solve, in the measurement's own mm.
    """

    key: str
    group: Group
    title: str
    measurement: str
    base: float
    client: float
    difference: float
    wanted: float
    amount: float
    moves: tuple[Move, ...]
    reason: str
    state: State = State.COMPUTED
    why: str = ""
    estimated: bool = False
    decision: bool = False
    remainder: float = 0.0
    warnings: tuple[str, ...] = ()


def brought_by_others(row: PlanRow, sides: int) -> float:
    """What other rows have done of a row's difference when its turn comes, mm as the row's own amount.

    `sides` is how often the pattern makes up the body: 2 for a half.  Of a difference of 14 at the waist's front, 7 on
    a half, centre and side seam have brought 2.5 when the row moves the last 4.5.
    """
    taken_from_difference = row.group != "cup" or row.measurement == "centre_front_height"
    return difference_on_pattern(row, sides) - row.wanted if taken_from_difference else 0.0


def difference_on_pattern(row: PlanRow, sides: int) -> float:
    """A row's difference as its part of the stored pattern, mm as the row's own amount: half a girth on a half."""
    if row.key == "reduction":
        return -row.difference / sides
    if row.group in ("centre", "side"):
        return row.difference / 2  # Each edge moves by its own side's part, also where both sides are stored.
    return row.difference / sides if row.group == "curves" else row.difference


@dataclass(frozen=True, slots=True)
class Override:
    """What the maker's eye says about one row: another amount, left as in the base, or locked at an amount.

    A `why` is required.  `amount` is the row's amount in mm; None keeps the computed one (lock) or means 0 (left).
    """

    row: str
    state: State
    why: str
    amount: float | None = None


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the client ordered beside the measurements.

    `reduction` in mm of full girth, None: the base's reduction in per cent of this client's waist.
    `lacing_gap` and `closure_gap` (how far a closed busk stands open) None: the base's.
    `take_heights` accepts the height decisions instead of leaving them.
    `leave_small` leaves every difference within the tape's error as in the base.
    """

    reduction: float | None = None
    lacing_gap: float | None = None
    closure_gap: float | None = None
    depth_share: float | None = None
    exact_centre_top: bool = False
    take_heights: bool = False
    leave_small: bool = False
    overrides: tuple[Override, ...] = ()


@dataclass(frozen=True, slots=True)
class GirthOrder:
    """Ordered girths at one level, full mm: `garment` = what the pieces must add up to."""

    level: str
    body: float
    ease: float
    reduction: float
    gap: float
    garment_front: float
    garment_back: float

    @property
    def garment(self) -> float:
        """Net girth of the pieces, both sides."""
        return self.garment_front + self.garment_back


@dataclass(frozen=True, slots=True)
class Plan:
    """Ordered rows, the girths they lead to, and what was asked.

    `targets` gives for each measured quantity (a measurement key) what the pattern is to measure, mm.
    """

    rows: tuple[PlanRow, ...]
    girths: tuple[GirthOrder, ...]
    targets: Mapping[str, float]
    reduction: float
    lacing_gap: float
    closure_gap: float
    warnings: tuple[str, ...] = ()

    def row(self, key: str) -> PlanRow | None:
        """The row of that key, or None."""
        return next((row for row in self.rows if row.key == key), None)


@dataclass(frozen=True, slots=True)
class Frame:
    """The pattern after the rows up to and including `row`: a valid, trued pattern."""

    row: str
    style: Style


@dataclass(frozen=True, slots=True)
class TruingNote:
    """What truing moved beyond the planned amounts: the largest extra move on an edge, mm."""

    piece: str
    edge: str
    moved: float
    sentence: str


@dataclass(frozen=True, slots=True)
class Conflict:
    """Wishes that cannot both be kept: the rows, by how much, and what would heal it."""

    rows: tuple[str, ...]
    gap: float
    sentence: str
    heal: str


@dataclass(frozen=True, slots=True)
class Alteration:
    """The outcome: base, new style, plan with remainders, frames, truing, conflicts and the solve's residual (mm)."""

    base: Style
    style: Style
    plan: Plan
    frames: tuple[Frame, ...]
    truing: tuple[TruingNote, ...]
    conflicts: tuple[Conflict, ...]
    residual: float
