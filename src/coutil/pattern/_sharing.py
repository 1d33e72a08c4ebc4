"""Sharing rules: which edges take which part of each difference.  Data, so that another maker can share differently."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal


@dataclass(frozen=True, slots=True)
class EdgeShare:
    """One edge's weight in a shared difference."""

    piece: str
    edge: str
    weight: float


@dataclass(frozen=True, slots=True)
class LengthRule:
    """The band let in or taken out: everything from level `above` upwards moves by the difference in `measure`.

    `shape` parallel moves all pieces alike; wedge is full at the centre front and nothing at side and centre back.
    """

    above: str = "underbust"
    place: Literal["midway", "waist"] = "midway"
    shape: Literal["parallel", "wedge"] = "parallel"
    measure: str = "underbust_to_waist"


@dataclass(frozen=True, slots=True)
class CentreRule:
    """The centre edges that move by half the difference in bust point separation.

    `giving` edges give way by as much, in equal parts: a seam over the bust point is then shifted, and no girth
    changes.  Without them the centre takes part of every level's difference.
    """

    edges: tuple[tuple[str, str], ...] = ()
    giving: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class SideRule:
    """Edges that move parallel, front and back; `basis` says which difference they take.

    underbust: the underbust difference of that half less the centre row.  common: the part common to all levels.
    """

    front: tuple[tuple[str, str], ...] = ()
    back: tuple[tuple[str, str], ...] = ()
    basis: Literal["underbust", "common"] = "underbust"


@dataclass(frozen=True, slots=True)
class CupRule:
    """The cup: its two pieces and the edges its rows move.

    `cup_seam` names the edge over the bust point on both pieces; `cradle_seam` names their lower edge and the seam
    that joins it to the panels.  `depth_share` is the part of a depth difference to go for; `dart_limits` in degrees.
    """

    inner: str
    outer: str
    cup_seam: str
    cradle_seam: str
    centre_edge: str
    neckline: str
    armhole: str
    depth_share: float = 1.0
    dart_limits: tuple[float, float] = (25.0, 75.0)


@dataclass(frozen=True, slots=True)
class Caps:
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


@dataclass(frozen=True, slots=True)
class Sharing:
    """All rules of one style.  `curves` is keyed by part, `reduction` lists the edges that take a changed reduction.

    `bands` are further length rules above the first, from below upwards: each takes what those below it have not.
    `heights` names the heights of the top edge that a client's chart decides; the others are the style's own.
    """

    length: LengthRule
    centre: CentreRule
    side: SideRule
    curves: Mapping[str, tuple[EdgeShare, ...]]
    reduction: tuple[EdgeShare, ...]
    surplus: tuple[EdgeShare, ...] = ()
    cup: CupRule | None = None
    caps: Caps = field(default_factory=Caps)
    bands: tuple[LengthRule, ...] = ()
    heights: tuple[str, ...] = ("side_height", "centre_front_height", "centre_back_height")
