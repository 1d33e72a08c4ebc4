"""The values a pattern is made of: edge, piece, seam, level, style.

Millimetres and degrees; y up, x towards the wearer's left on a half front; the waist is y = 0 on every body
panel. A cup piece has its bust point at (0, 0), so y = 0 is the bust level there.
A piece's edges run anticlockwise, each from one corner to the next. Everything is frozen: a change makes a new value.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Literal

import numpy as np

from coutil.curves import Curve
from coutil.errors import BadStyle
from coutil.measure import Chart
from coutil.pattern._sharing import Sharing

Part = Literal["front", "back"]


class Role(StrEnum):
    """What an edge is on the garment."""

    PANEL_SEAM = "panel_seam"
    SIDE_SEAM = "side_seam"
    CUP_SEAM = "cup_seam"
    CRADLE = "cradle"
    CENTRE = "centre"
    CLOSURE = "closure"
    TOP = "top"
    NECKLINE = "neckline"
    ARMHOLE = "armhole"
    HEM = "hem"

    @property
    def is_vertical(self) -> bool:
        """Centre and closure lines are straight and stand upright."""
        return self in (Role.CENTRE, Role.CLOSURE)


@dataclass(frozen=True, slots=True)
class Edge:
    """A named smooth run of a piece's outline.  `allowance` is None where the role's usual width applies."""

    name: str
    curve: Curve
    role: Role
    straight: bool = False
    allowance: float | None = None


@dataclass(frozen=True, slots=True)
class KnotRef:
    """A knot of an edge within one piece; knot 0 is the edge's start."""

    edge: str
    knot: int


@dataclass(frozen=True, slots=True)
class LevelMark:
    """Where an edge meets a level: always at a knot."""

    level: str
    at: KnotRef


@dataclass(frozen=True, slots=True)
class Landmark:
    """A named point of the body on a piece, at a knot: `bust_point`, `upper_corner`, `armhole_middle`, `foot`..."""

    name: str
    at: KnotRef


@dataclass(frozen=True, slots=True)
class Notch:
    """A mark across the cut edge, `along` mm from the edge's start; `count` strokes (two on the back of a pair)."""

    name: str
    edge: str
    along: float
    count: int = 1


@dataclass(frozen=True, slots=True)
class CutFrom:
    """How often a piece is cut from one layer of cloth; `mirrored` pairs count as two."""

    layer: str
    count: int
    mirrored: bool


@dataclass(frozen=True, slots=True)
class Piece:
    """One shape to cut.  `levels` gives the height (mm, in the piece's own y) of each level line it carries."""

    name: str
    title: str
    part: Part
    edges: tuple[Edge, ...]
    levels: Mapping[str, float]
    level_marks: tuple[LevelMark, ...] = ()
    landmarks: tuple[Landmark, ...] = ()
    notches: tuple[Notch, ...] = ()
    grain_deg: float = 90.0
    cut: tuple[CutFrom, ...] = ()
    centre_cut: Literal["open", "fold"] | None = None
    eyelets: bool = False

    def edge(self, name: str) -> Edge:
        """The edge of that name; raises BadStyle where there is none."""
        for edge in self.edges:
            if edge.name == name:
                return edge
        known = ", ".join(e.name for e in self.edges)
        raise BadStyle(f"piece {self.name} has no edge {name}: name one of {known}")

    def point(self, at: KnotRef) -> np.ndarray:
        """The knot's coordinates, shape (2,), mm."""
        return np.asarray(self.edge(at.edge).curve.points[3 * at.knot])

    def landmark(self, name: str) -> KnotRef | None:
        """Where that landmark lies, or None."""
        return next((mark.at for mark in self.landmarks if mark.name == name), None)

    def marks_of(self, level: str) -> tuple[KnotRef, ...]:
        """The knots at which the outline meets that level."""
        return tuple(mark.at for mark in self.level_marks if mark.level == level)

    def with_curves(self, curves: Mapping[str, Curve]) -> Piece:
        """The same piece with other curves under the same edge names."""
        edges = tuple(replace(e, curve=curves.get(e.name, e.curve)) for e in self.edges)
        return replace(self, edges=edges)


@dataclass(frozen=True, slots=True)
class EdgeRef:
    """An edge as a seam runs along it; `backward` where the seam runs against the outline."""

    piece: str
    edge: str
    backward: bool = False


@dataclass(frozen=True, slots=True)
class PointRef:
    """A knot of an edge of a piece."""

    piece: str
    edge: str
    knot: int


@dataclass(frozen=True, slots=True)
class Match:
    """Two knots that are sewn upon each other.  `b` is None where the point of A falls on B by arc length."""

    name: str
    a: PointRef
    b: PointRef | None


@dataclass(frozen=True, slots=True)
class Seam:
    """Two chains of edges sewn together, both named in the direction of sewing; B may be longer by `ease` mm."""

    name: str
    a: tuple[EdgeRef, ...]
    b: tuple[EdgeRef, ...]
    matches: tuple[Match, ...] = ()
    ease: float = 0.0


@dataclass(frozen=True, slots=True)
class Level:
    """A horizontal body line.  `depth` is mm below the waist (negative above); None where the pieces state it alone.

    `measure` is the stem of its measurement keys (`waist` for waist_girth and waist_front), or None where nothing
    is measured there.
    """

    name: str
    depth: float | None
    measure: str | None


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer of cloth; `turn` is the turn of cloth in mm added at every sewn edge (negative inside).

    `thickness` in mm is what the layer takes off the girth inside; 0 where the pattern is drafted for the inside.
    `over_foam` is by how many mm a cup piece of this layer is larger than its stitching line because it lies over
    foam: 1.1 times the foam's thickness, 0 where the cup was measured over the foam.
    """

    name: str
    turn: float = 0.0
    turn_at_edges: float = 0.0
    allowance: bool = True
    thickness: float = 0.0
    over_foam: float = 0.0


@dataclass(frozen=True, slots=True)
class Fit:
    """What is added to or taken from the body, full girth in mm.

    garment = body + ease - reduction - lacing_gap - closure_gap.  `reduction` acts at the waist alone and belongs to
    the client; `ease` is keyed by level.
    """

    ease: Mapping[str, float] = field(default_factory=dict)
    reduction: float = 0.0
    lacing_gap: float = 0.0
    closure_gap: float = 0.0


@dataclass(frozen=True, slots=True)
class Provenance:
    """Where a style comes from: a sentence, a revision word and whether its figures are invented."""

    text: str
    revision: str = ""
    invented: bool = False


@dataclass(frozen=True, slots=True)
class Style:
    """A whole pattern as data.  `half` styles hold the wearer's left half; whole ones hold every piece."""

    name: str
    title: str
    half: bool
    pieces: tuple[Piece, ...]
    seams: tuple[Seam, ...]
    levels: tuple[Level, ...]
    layers: tuple[Layer, ...]
    construction: Literal["single", "mounted", "sandwich", "floating_lining"]
    base_chart: Chart
    base_fit: Fit
    sharing: Sharing
    provenance: Provenance
    contact: bool = False
    workroom_step: float = 1.0

    def piece(self, name: str) -> Piece:
        """The piece of that name; raises BadStyle where there is none."""
        for piece in self.pieces:
            if piece.name == name:
                return piece
        known = ", ".join(p.name for p in self.pieces)
        raise BadStyle(f"style {self.name} has no piece {name}: name one of {known}")

    def level(self, name: str) -> Level:
        """The level of that name; raises BadStyle where there is none."""
        for level in self.levels:
            if level.name == name:
                return level
        known = ", ".join(lv.name for lv in self.levels)
        raise BadStyle(f"style {self.name} has no level {name}: name one of {known}")

    def curve(self, ref: EdgeRef | PointRef) -> Curve:
        """The curve of an edge as the outline runs (never reversed)."""
        return self.piece(ref.piece).edge(ref.edge).curve

    def point(self, ref: PointRef) -> np.ndarray:
        """Coordinates of the knot, shape (2,), mm, in its piece's own frame."""
        return np.asarray(self.curve(ref).points[3 * ref.knot])

    @property
    def sides(self) -> int:
        """How often each stored piece occurs on the body."""
        return 2 if self.half else 1

    def with_pieces(self, pieces: Mapping[str, Piece]) -> Style:
        """The same style with some pieces replaced by name."""
        return replace(self, pieces=tuple(pieces.get(p.name, p) for p in self.pieces))
