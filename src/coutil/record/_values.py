"""What is kept: clients, charts, orders, own bases, revisions, fittings.  Frozen; lengths in mm; dates as ISO text.

Every kept thing has an `id` and, where it can be changed, a `version` that grows by one with every change.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from types import MappingProxyType
from typing import Any, Literal

from coutil.alter import Wishes
from coutil.errors import BadInput
from coutil.measure import Chart, Reading, split_key

NO_WISHES = Wishes()
LONGEST_LINE = 200
LONGEST_TEXT = 20_000
LARGEST_PHOTO = 8_000_000
MOST_PHOTOS = 40  # Of one fitting.
MOST_AMOUNTS = 200  # Of one fitting.
LARGEST_AMOUNT_MM = 300.0

Side = Literal["both", "left", "right"]
PhotoKind = Literal["image/jpeg", "image/png", "image/webp"]


class NoRoom(BadInput):
    """The disk is full."""


class NotKept(BadInput):
    """What was asked for is not in the records, or no more."""


class OrderState(StrEnum):
    """How far an order has come."""

    ASKED = "asked"
    MEASURED = "measured"
    PATTERN = "pattern"
    CUT = "cut"
    FITTING = "fitting"
    FINISHED = "finished"
    HANDED_OVER = "handed over"
    CALLED_OFF = "called off"

    @property
    def is_open(self) -> bool:
        """Whether something is still to be done."""
        return self not in (OrderState.HANDED_OVER, OrderState.CALLED_OFF)


@dataclass(frozen=True, slots=True)
class Client:
    """A person something is made for.  `contact` and `note` are free text."""

    id: int
    version: int
    name: str
    contact: str = ""
    note: str = ""
    created: str = ""
    changed: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "name", one_line(self.name, "name"))
        if not self.name:
            raise BadInput("Give the client a name, or a word by which you will know whom you mean.")
        object.__setattr__(self, "contact", free_text(self.contact, "contact"))
        object.__setattr__(self, "note", free_text(self.note, "note"))


@dataclass(frozen=True, slots=True)
class ChartRecord:
    """A client's measurements of one day; every reading with how it came."""

    id: int
    version: int
    client_id: int
    taken: str = ""
    worn: str = ""
    note: str = ""
    readings: Mapping[str, Reading] = field(default_factory=dict)
    created: str = ""
    changed: str = ""

    def __post_init__(self) -> None:
        for key in self.readings:
            split_key(key)
        object.__setattr__(self, "readings", MappingProxyType(dict(self.readings)))
        object.__setattr__(self, "taken", iso_day(self.taken, "date"))
        object.__setattr__(self, "worn", one_line(self.worn, "what was worn"))
        object.__setattr__(self, "note", free_text(self.note, "note"))

    def __reduce__(self) -> tuple[Any, ...]:
        # A read-only view cannot be copied; a plain dict can.
        return ChartRecord, (
            self.id, self.version, self.client_id, self.taken, self.worn, self.note, dict(self.readings),
            self.created, self.changed,
        )  # fmt: skip

    @property
    def is_empty(self) -> bool:
        """Whether nothing was measured (yet): then it is no chart to work from."""
        return not self.readings

    @property
    def is_blank(self) -> bool:
        """Whether nobody has written anything on it since it was begun."""
        return self.version == 1 and not (self.readings or self.worn or self.note)

    def chart(self, name: str) -> Chart:
        """The chart to work from, under the client's name."""
        return Chart(name, self.readings, self.worn, self.taken)


@dataclass(frozen=True, slots=True)
class OrderRecord:
    """What a client ordered.

    `base` is the key of a base pattern (see BaseHead), empty while none is chosen; `chart_id` the chart it is made
    from.  `making` holds how it is to be made, by the fields of an order file.  `price` is text as she writes it.
    """

    id: int
    version: int
    client_id: int
    title: str = ""
    base: str = ""
    chart_id: int | None = None
    wishes: Wishes = NO_WISHES
    making: Mapping[str, str] = field(default_factory=dict)
    wear: str = ""
    due: str = ""
    price: str = ""
    state: OrderState = OrderState.ASKED
    note: str = ""
    created: str = ""
    changed: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "title", one_line(self.title, "title"))
        object.__setattr__(self, "wear", one_line(self.wear, "wear"))
        object.__setattr__(self, "price", one_line(self.price, "price"))
        object.__setattr__(self, "due", iso_day(self.due, "date it is due"))
        object.__setattr__(self, "note", free_text(self.note, "note"))
        object.__setattr__(self, "making", MappingProxyType(dict(self.making)))
        if self.state not in list(OrderState):
            raise BadInput(f"An order is {', '.join(OrderState)}, not {str(self.state)[:40]}.")
        object.__setattr__(self, "state", OrderState(self.state))

    def __reduce__(self) -> tuple[Any, ...]:
        return OrderRecord, (
            self.id, self.version, self.client_id, self.title, self.base, self.chart_id, self.wishes,
            dict(self.making), self.wear, self.due, self.price, self.state, self.note, self.created, self.changed,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Amount:
    """What a fitting takes in or lets out: mm at the seam, positive lets out; `level` empty means all along it."""

    seam: str
    side: Side
    level: str
    mm: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "seam", one_line(self.seam, "seam"))
        object.__setattr__(self, "level", one_line(self.level, "level"))
        if not self.seam:
            raise BadInput("Say at which seam the amount is taken in or let out.")
        if self.side not in ("both", "left", "right"):
            raise BadInput(f"A side is both, left or right, not {str(self.side)[:40]}.")
        if not abs(self.mm) <= LARGEST_AMOUNT_MM:
            raise BadInput(f"{self.mm:g} mm at {self.seam} is more than any fitting moves: look at figure and unit.")


@dataclass(frozen=True, slots=True)
class Fitting:
    """One session on the body; `revision_id` is the revision that was tried on."""

    id: int
    version: int
    order_id: int
    held: str = ""
    revision_id: int | None = None
    remarks: str = ""
    amounts: tuple[Amount, ...] = ()
    created: str = ""
    changed: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "held", iso_day(self.held, "date of the fitting"))
        object.__setattr__(self, "remarks", free_text(self.remarks, "remarks"))
        object.__setattr__(self, "amounts", tuple(self.amounts))
        if len(self.amounts) > MOST_AMOUNTS:
            raise BadInput(f"A fitting holds at most {MOST_AMOUNTS} amounts.")


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo of a fitting without its bytes (see `photo_bytes`)."""

    id: int
    fitting_id: int
    kind: PhotoKind
    size: int
    caption: str = ""
    created: str = ""


@dataclass(frozen=True, slots=True)
class RevisionHead:
    """A revision without its result.  `short` is the number printed on every piece, such as r7."""

    id: int
    order_id: int
    number: int
    author: str
    note: str
    base: str
    passed: bool
    failed_checks: int
    created: str

    @property
    def short(self) -> str:
        """The short revision number."""
        return f"r{self.number}"


@dataclass(frozen=True, slots=True)
class Revision:
    """A saved state of an order: the wishes and the chart it was made from, and everything that came of it."""

    head: RevisionHead
    wishes: Wishes
    chart: Chart
    result_text: str


@dataclass(frozen=True, slots=True)
class BaseHead:
    """A base pattern in a list.

    `key` is what an order names: 80-18 for a shipped base, own-3 for an own one.  `style` is the title of what is
    shipped in several sizes, `title` names the size too.
    """

    key: str
    title: str
    own: bool
    style: str = ""
    id: int | None = None
    version: int = 0
    created: str = ""


@dataclass(frozen=True, slots=True)
class OwnBase:
    """A maker's own base: its style file, and the drawing and marks it was read from, where it was."""

    id: int
    version: int
    name: str
    title: str
    style_text: str
    marks_text: str = ""
    drawing: bytes = b""
    suffix: str = ""
    created: str = ""
    changed: str = ""

    @property
    def key(self) -> str:
        """What an order names."""
        return f"own-{self.id}"


@dataclass(frozen=True, slots=True)
class FieldChange:
    """One field two writers disagree about: as it was, as this writer wants it, as the other has saved it."""

    name: str
    before: object
    mine: object
    theirs: object

    @property
    def clashes(self) -> bool:
        """Whether both changed it, to different values."""
        return self.mine != self.before and self.theirs not in (self.before, self.mine)


@dataclass(frozen=True, slots=True)
class Conflict:
    """The second writer's answer: nothing was written, since `version` is newer than the one she started from.

    `fields` holds every field that either changed; `current` is what is saved now.
    """

    version: int
    fields: tuple[FieldChange, ...]
    current: Client | ChartRecord | OrderRecord | Fitting | OwnBase


@dataclass(frozen=True, slots=True)
class ClientRow:
    """A client in a list."""

    id: int
    name: str
    contact: str
    n_orders: int
    last_order: str
    changed: str


@dataclass(frozen=True, slots=True)
class OrderRow:
    """An order in a list."""

    id: int
    client_id: int
    client: str
    title: str
    base: str
    due: str
    state: OrderState
    last_revision: int
    changed: str


def one_line(text: object, what: str) -> str:
    """The text on one line with single spaces; raises BadInput for what cannot be printed or is too long."""
    if not isinstance(text, str):
        raise BadInput(f"The {what} is to be text.")
    line = " ".join(text.split())
    if any(unicodedata.category(c) in ("Cc", "Cs") for c in line):
        raise BadInput(f"The {what} holds a character that cannot be printed.")
    if len(line) > LONGEST_LINE:
        raise BadInput(f"The {what} is longer than {LONGEST_LINE} characters: shorten it.")
    return line


def free_text(text: object, what: str) -> str:
    """Text of several lines; raises BadInput for what cannot be printed or is too long."""
    if not isinstance(text, str):
        raise BadInput(f"The {what} is to be text.")
    plain = text.replace("\r\n", "\n").replace("\r", "\n")
    if any(unicodedata.category(c) in ("Cc", "Cs") and c not in "\n\t" for c in plain):
        raise BadInput(f"The {what} holds a character that cannot be printed.")
    if len(plain) > LONGEST_TEXT:
        raise BadInput(f"The {what} is longer than {LONGEST_TEXT} characters: shorten it.")
    return plain


def iso_day(text: object, what: str) -> str:
    """A date as YYYY-MM-DD, or nothing; raises BadInput for anything else."""
    shown = str(text).strip()
    if not shown:
        return ""
    try:
        if date.fromisoformat(shown).isoformat() == shown:
            return shown
    except ValueError:
        pass
    raise BadInput(f"The {what} is written as year-month-day, like 2026-10-01, not {shown[:40]!r}.")
