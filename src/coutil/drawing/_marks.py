"""The marks file as values: what the maker says of a drawing, or what was proposed.

Lengths are millimetres.  `inside` and `origin` are places on the drawing (y up from its lower edge); all other
places count from the piece's own origin, so that y is the height above the waist.
"""

from __future__ import annotations

from typing import Literal

import msgspec

from coutil.pattern import FileModel, Part, Role, Sharing

Point = tuple[float, float]


class EdgeMarks(FileModel, frozen=True):
    """An edge: the corner it begins at, its role, whether it stays straight, its allowance."""

    begins: Point | None = msgspec.field(name="from", default=None)
    role: Role | None = None
    straight: bool = False
    allowance: float | None = None


class LandmarkMarks(FileModel, frozen=True):
    """A named point on an edge."""

    edge: str
    at: Point


class LevelMarkMarks(FileModel, frozen=True):
    """Where an edge meets a level, if not simply where it crosses it."""

    level: str
    edge: str
    at: Point


class CutMarks(FileModel, frozen=True):
    """How often the piece is cut from one layer; a mirrored pair counts as two."""

    layer: str
    count: int
    mirrored: bool


class PieceMarks(FileModel, frozen=True, kw_only=True):
    """A piece; `edges` are all its edges, anticlockwise.  `use` false leaves it out.

    `turn` in degrees, anticlockwise, sets a piece upright that was drawn lying.
    """

    use: bool = True
    inside: Point | None = None
    origin: Point | None = None
    turn: float | None = None
    title: str | None = None
    part: Part | None = None
    grain: float | None = None
    centre_cut: Literal["open", "fold", "none"] | None = None
    eyelets: bool | None = None
    levels: dict[str, float] | None = None
    cut: tuple[CutMarks, ...] | None = None
    edges: dict[str, EdgeMarks] | None = None
    landmarks: dict[str, LandmarkMarks] | None = None
    level_marks: tuple[LevelMarkMarks, ...] | None = None


class MatchMarks(FileModel, frozen=True):
    """Two points sewn upon each other, each as `piece.edge` and a place; without B by arc length."""

    name: str
    a: str
    a_at: Point
    b: str | None = None
    b_at: Point | None = None


class SeamMarks(FileModel, frozen=True):
    """Two chains of `piece.edge` in the direction of sewing; `backward` after it where it runs against the outline."""

    a: tuple[str, ...]
    b: tuple[str, ...]
    ease: float = 0.0
    matches: tuple[MatchMarks, ...] | None = None


class LevelMarks(FileModel, frozen=True):
    """A level: mm below the waist (minus above), and the stem of its measurements."""

    depth: float | None = None
    measure: str | None = None


class LayerMarks(FileModel, frozen=True):
    """A layer of cloth with its turn of cloth, mm."""

    name: str
    turn: float = 0.0
    turn_at_edges: float = 0.0
    allowance: bool = True


class FitMarks(FileModel, frozen=True):
    """What was added to or taken from the body, full mm; ease by level is measured off the pattern if not given."""

    lacing_gap: float = 0.0
    closure_gap: float = 0.0
    reduction: float | None = None
    ease: dict[str, float] | None = None


class Marks(FileModel, frozen=True, kw_only=True):
    """Everything a marks file may state; what is None is proposed."""

    style: str | None = None
    title: str | None = None
    drawn: Literal["stitching", "cut"] | None = None
    half: bool | None = None
    flip: bool = False
    scale: float = 1.0
    contact: bool = False
    construction: Literal["single", "mounted", "sandwich", "floating_lining"] = "single"
    workroom_step: float = 1.0
    provenance: str = ""
    revision: str = ""
    invented: bool = False
    fit: FitMarks | None = None
    levels: dict[str, LevelMarks] | None = None
    layers: tuple[LayerMarks, ...] | None = None
    pieces: dict[str, PieceMarks] = msgspec.field(default_factory=dict)
    seams: dict[str, SeamMarks] | None = None
    sharing: Sharing | None = None
    chart: dict[str, object] | None = None
