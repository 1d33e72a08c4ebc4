"""What passes between the alteration page and the program: the document it draws, and the draft it sends back.

Lengths named `..._mm` are numbers in mm; every other length is words in the maker's unit.  Coordinates are mm with
y down, in the frame of their piece; `dx` and `dy` of a piece say where that frame lies on the table.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from coutil.measure import Unit

Written = float | str | None
Words = Annotated[str, msgspec.Meta(max_length=400)]
Key = Annotated[str, msgspec.Meta(max_length=120)]


class Value(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The ground of all parts: no field beside the named ones."""


class RowChoice(Value, frozen=True):
    """What the maker decided about one row; `amount` in mm, or as she wrote it with its unit."""

    state: Literal["overruled", "left", "locked"]
    why: Words = ""
    amount: Written = None


class Draft(Value, frozen=True):
    """Everything the page can change: the chart's readings, the wishes, and the rows decided by hand."""

    chart: dict[Key, Written]
    rows: dict[Key, RowChoice] = {}
    reduction: Written = None
    lacing_gap: Written = None
    depth_share: float | None = None
    exact_centre_top: bool = False
    take_heights: bool = False
    leave_small: bool = False


class Edge(Value, frozen=True):
    """One edge, base and result, with its length on both and what is sewn to it."""

    id: str
    piece: str
    title: str
    base: str
    result: str
    base_mm: float
    result_mm: float
    length: str
    seam: str | None
    mates: tuple[str, ...]


class LevelLine(Value, frozen=True):
    """A level line across a piece, on the result."""

    name: str
    title: str
    y: float
    left: float
    right: float


class Point(Value, frozen=True):
    """A named point on a piece of the result."""

    title: str
    x: float
    y: float


class Piece(Value, frozen=True):
    """One piece: both outlines as path data, the cut line where asked for, its levels and points."""

    name: str
    title: str
    part: str
    dx: float
    dy: float
    box: tuple[float, float, float, float]
    base: str
    result: str
    cut: str | None
    levels: tuple[LevelLine, ...]
    points: tuple[Point, ...]


class Arrow(Value, frozen=True):
    """One move of a row: where it acts on the result, the unit vector of a positive move, and how much.

    `share` is the part of the row's amount that goes here: moving the arrow by 1 mm changes the row by 1/share.
    """

    edge: str
    piece: str
    level: str | None
    kind: str
    x: float
    y: float
    ux: float
    uy: float
    amount_mm: float
    amount: str
    share: float


class Row(Value, frozen=True):
    """One row of the alteration chart, in words, with its arrows and the edges it moves."""

    key: str
    group: str
    title: str
    measurement: str
    base: str
    client: str
    difference: str
    wanted_mm: float
    wanted: str
    amount_mm: float
    amount: str
    where: str
    state: str
    by_hand: bool
    why: str
    reason: str
    missing: str
    decision: bool
    estimated: bool
    warnings: tuple[str, ...]
    edges: tuple[str, ...]
    arrows: tuple[Arrow, ...]


class Measure(Value, frozen=True):
    """One line of the chart: the reading, the base's, the difference, and which rows it goes to."""

    key: str
    title: str
    how: str
    base: str
    client_mm: float | None
    client: str
    estimate: str
    difference: str
    rows: tuple[str, ...]
    remarks: tuple[str, ...]


class Check(Value, frozen=True):
    """One line of the check list; `edges` are those of the seam it looks at, where it looks at one."""

    code: str
    name: str
    figure: str
    limit: str
    verdict: str
    pieces: tuple[str, ...]
    edges: tuple[str, ...]
    advice: str


class Segment(Value, frozen=True):
    """A seam between two match points, both sides."""

    name: str
    lengths: str


class Seam(Value, frozen=True):
    """A seam with both its sides as walked, on the result and on the base."""

    name: str
    title: str
    a: tuple[str, ...]
    b: tuple[str, ...]
    result: str
    base: str
    segments: tuple[Segment, ...]


class Girth(Value, frozen=True):
    """The ordered girth at one level: full, with the half in brackets."""

    level: str
    body: str
    ease: str
    reduction: str
    gap: str
    garment: str


class Document(Value, frozen=True):
    """Everything the page shows for one draft."""

    unit: Unit
    drawing_unit: Unit
    step_mm: float
    style: str
    client: str
    has_cup: bool
    box: tuple[float, float, float, float]
    pieces: tuple[Piece, ...]
    edges: tuple[Edge, ...]
    seams: tuple[Seam, ...]
    rows: tuple[Row, ...]
    measures: tuple[Measure, ...]
    girths: tuple[Girth, ...]
    checks: tuple[Check, ...]
    conflicts: tuple[str, ...]
    remarks: tuple[str, ...]
    reduction: str
    reduction_mm: float
    lacing_gap: str
    lacing_gap_mm: float
    engine_ms: float


class TapePoint(Value, frozen=True):
    """A point the maker touched on an edge of the result, mm with y down in its piece's frame."""

    edge: Key
    x: float
    y: float


class TapeReading(Value, frozen=True):
    """One length the tape reads: where, and how long."""

    name: str
    length_mm: float
    length: str


class TapeLine(Value, frozen=True):
    """Where the tape lies on one piece of the result; `mate` for the side sewn to it."""

    piece: str
    path: str
    mate: bool


class Tape(Value, frozen=True):
    """What the tape reads between two points."""

    title: str
    readings: tuple[TapeReading, ...]
    lines: tuple[TapeLine, ...]


class FrameView(Value, frozen=True):
    """The pattern after one more row: outlines by piece, and of the row itself its edges (path data) and arrows."""

    row: str
    title: str
    reason: str
    where: str
    pieces: dict[str, str]
    edges: dict[str, str]
    arrows: tuple[Arrow, ...]


class FrameState(Value, frozen=True):
    """How far the frames are: `done` of `total` worked out, the frames once all are, or what went wrong."""

    done: int
    total: int
    frames: tuple[FrameView, ...] | None
    problem: str = ""


class Change(Value, frozen=True):
    """One field that differs between two drafts: where, what it is called, and both sides in words."""

    path: str
    title: str
    before: str
    after: str
