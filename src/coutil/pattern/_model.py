"""The file model of a style: what stands in a style file, field by field, and nothing else.

The JSON Schema is made from these; each class's docstring becomes its description there.  Unknown fields are
refused, so that a misspelt word is found on reading.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from coutil.measure import How
from coutil.pattern._values import Part, Role

Point = tuple[float, float]
Points = Annotated[
    tuple[Point, ...],
    msgspec.Meta(min_length=4, description="3n+1 points [x, y]: knot, handle, handle, knot, ..."),
]


class FileModel(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The ground of every part of a file: no field beside the named ones."""


class EdgeModel(FileModel, frozen=True):
    """A named smooth run of a piece's outline; `points` in mm, y up, from start corner to end."""

    name: str
    points: Points
    role: Role
    straight: bool = False
    allowance: float | None = None


class LevelMarkModel(FileModel, frozen=True):
    """Where an edge meets a level: at knot number `knot`; `point` repeats that knot's coordinates."""

    level: str
    edge: str
    knot: int
    point: Point | None = None


class LandmarkModel(FileModel, frozen=True):
    """A named point of the body at a knot of an edge; `point` repeats that knot's coordinates."""

    name: str
    edge: str
    knot: int
    point: Point | None = None


class NotchModel(FileModel, frozen=True):
    """A mark across the cut edge, `along` mm from the edge's start, of `count` strokes."""

    name: str
    edge: str
    along: float
    count: int = 1


class CutFromModel(FileModel, frozen=True):
    """How often a piece is cut from one layer; a mirrored pair counts as two."""

    layer: str
    count: int
    mirrored: bool


class PieceModel(FileModel, frozen=True):
    """One shape to cut: a closed anticlockwise loop of edges; `levels` are heights in the piece's own y."""

    name: str
    title: str
    part: Part
    edges: tuple[EdgeModel, ...]
    levels: dict[str, float]
    level_marks: tuple[LevelMarkModel, ...] = ()
    landmarks: tuple[LandmarkModel, ...] = ()
    notches: tuple[NotchModel, ...] = ()
    grain_deg: float = 90.0
    cut: tuple[CutFromModel, ...] = ()
    centre_cut: Literal["open", "fold"] | None = None
    eyelets: bool = False


class EdgeRefModel(FileModel, frozen=True):
    """An edge as a seam runs along it; `backward` where it runs against the outline."""

    piece: str
    edge: str
    backward: bool = False


class PointRefModel(FileModel, frozen=True):
    """A knot of an edge of a piece; knot 0 is the edge's start."""

    piece: str
    edge: str
    knot: int


class MatchModel(FileModel, frozen=True):
    """Two knots sewn upon each other; `b` is null where the point of A falls on B by arc length."""

    name: str
    a: PointRefModel
    b: PointRefModel | None


class SeamModel(FileModel, frozen=True):
    """Two chains of edges sewn together, both in the direction of sewing; B is longer than A by `ease` mm."""

    name: str
    a: tuple[EdgeRefModel, ...]
    b: tuple[EdgeRefModel, ...]
    matches: tuple[MatchModel, ...] = ()
    ease: float = 0.0


class LevelModel(FileModel, frozen=True):
    """A horizontal body line; `depth` mm below the waist, minus above; `measure` its measurements' stem."""

    name: str
    depth: float | None
    measure: str | None


class LayerModel(FileModel, frozen=True):
    """A layer of cloth, mm: turn of cloth, thickness, and how much larger a cup piece is cut to lie over foam."""

    name: str
    turn: float = 0.0
    turn_at_edges: float = 0.0
    allowance: bool = True
    thickness: Annotated[float, msgspec.Meta(ge=0, le=20)] = 0.0
    over_foam: Annotated[float, msgspec.Meta(ge=0, le=20)] = 0.0


class ReadingModel(FileModel, frozen=True):
    """One measurement in mm, how it came and, where it differs from the chart's, when."""

    value: float
    how: How = "measured"
    taken: str | None = None
    repeats: tuple[float, ...] = ()


class ChartModel(FileModel, frozen=True):
    """The body measurements the pattern was drafted for."""

    name: str
    readings: dict[str, ReadingModel]
    worn: str = ""
    taken: str = ""
    invented: bool = False


class FitModel(FileModel, frozen=True):
    """What is added to or taken from the body, full girth in mm; `ease` is keyed by level."""

    ease: dict[str, float] = {}
    reduction: float = 0.0
    lacing_gap: float = 0.0
    closure_gap: float = 0.0


class EdgeShareModel(FileModel, frozen=True):
    """One edge's weight in a shared difference."""

    piece: str
    edge: str
    weight: float


class LengthRuleModel(FileModel, frozen=True):
    """The band let in or taken out: everything from level `above` upwards moves by the difference in `measure`."""

    above: str = "underbust"
    place: Literal["midway", "waist"] = "midway"
    shape: Literal["parallel", "wedge"] = "parallel"
    measure: str = "underbust_to_waist"


class CentreRuleModel(FileModel, frozen=True):
    """The centre edges, as [piece, edge], that move by half the difference in bust point separation.

    `giving` edges give way by as much, in equal parts.
    """

    edges: tuple[tuple[str, str], ...] = ()
    giving: tuple[tuple[str, str], ...] = ()


class SideRuleModel(FileModel, frozen=True):
    """Edges, as [piece, edge], that move parallel, and which difference they take."""

    front: tuple[tuple[str, str], ...] = ()
    back: tuple[tuple[str, str], ...] = ()
    basis: Literal["underbust", "common"] = "underbust"


class CupRuleModel(FileModel, frozen=True):
    """The cup: its two pieces, its seams and the edges its rows move."""

    inner: str
    outer: str
    cup_seam: str
    cradle_seam: str
    centre_edge: str
    neckline: str
    armhole: str
    depth_share: float = 1.0
    dart_limits: tuple[float, float] = (25.0, 75.0)


class CapsModel(FileModel, frozen=True):
    """How far a row may go before another size is the better answer, mm and degrees.

    A row of lengths goes no further than `length`, nor than `length_share` of the base's own length; a band that
    moves all above it alike has `band` and `band_share`, and no end of the lower edge goes further than `hem`.
    """

    side_edge: float = 20.0
    edge: float = 12.0
    seam: float = 25.0
    level_girth: float = 60.0
    slope_warns: float = 20.0
    slope_refuses: float = 25.0
    panel_width: float = 30.0
    eyelet_panel_width: float = 40.0
    length: float = 45.0
    length_share: float = 0.4
    band: float = 60.0
    band_share: float = 0.65
    hem: float = 15.0


class SharingModel(FileModel, frozen=True):
    """Which edges take which part of each difference; `curves` is keyed by front and back.

    `bands` are further length rules above the first; `heights` are the top edge's heights that a client decides.
    """

    length: LengthRuleModel
    centre: CentreRuleModel
    side: SideRuleModel
    curves: dict[str, tuple[EdgeShareModel, ...]]
    reduction: tuple[EdgeShareModel, ...]
    surplus: tuple[EdgeShareModel, ...] = ()
    cup: CupRuleModel | None = None
    caps: CapsModel = CapsModel()
    bands: tuple[LengthRuleModel, ...] = ()
    heights: tuple[str, ...] = ("side_height", "centre_front_height", "centre_back_height")


class ProvenanceModel(FileModel, frozen=True):
    """Where a style comes from."""

    text: str
    revision: str = ""
    invented: bool = False


class StyleModel(FileModel, frozen=True, kw_only=True):
    """A whole pattern as data; a half style holds the wearer's left half, a whole one every piece."""

    name: str
    title: str
    half: bool
    pieces: tuple[PieceModel, ...]
    seams: tuple[SeamModel, ...]
    levels: tuple[LevelModel, ...]
    layers: tuple[LayerModel, ...]
    construction: Literal["single", "mounted", "sandwich", "floating_lining"]
    base_chart: ChartModel
    base_fit: FitModel
    sharing: SharingModel
    provenance: ProvenanceModel
    contact: bool = False
    workroom_step: float = 1.0


class StyleFile(StyleModel, frozen=True, kw_only=True):
    """A style file: a whole pattern as data, in mm, with the name and version of this format."""

    format: Literal["coutil-style"]
    version: Literal[1]
