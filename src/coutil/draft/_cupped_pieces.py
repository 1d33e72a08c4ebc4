"""The six pieces of the cupped overbust as first drawn; truing makes their seams equal afterwards."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from coutil.curves import Curve
from coutil.draft._cupped_sizes import HEM_DEPTH, HIGH_HIP_DEPTH, Sizes
from coutil.draft._lines import Point, Profile, direction, through, upright_seam, vertical
from coutil.draft._variants import Variant
from coutil.pattern import CutFrom, Edge, KnotRef, Landmark, LevelMark, Piece, Role

PANEL_CUT = (CutFrom("outer", 2, True), CutFrom("strength", 2, True), CutFrom("lining", 2, True))
CUP_CUT = (*PANEL_CUT, CutFrom("cup foam", 2, True))

CENTRE = "centre"
# Slope of the cradle where it leaves the top of the panel seam, degrees above the horizontal, seen from the seam.
CENTRE_CRADLE_DEG = 21.0
SIDE_CRADLE_DEG = 3.0
# The cup's peak lies a little under the bust level; its side end further down.
CUP_PEAK_SHARE = -0.07
CUP_END_SHARE = -0.38
# Each half of the lower dart stays between these, degrees.
INNER_DART_HALF = (16.0, 38.0)
OUTER_DART_HALF = (-8.0, 36.0)
# How the neckline is drawn from the upper corner to the centre top: its bow, as a share of the chord (negative: up),
# and its direction at the centre, degrees; a sweetheart comes down steeply to its point, a boat runs level.
NECKLINES: Mapping[str, tuple[float, float | None]] = {
    "straight": (-0.06, None),
    "sweetheart": (-0.17, 252.0),
    "boat": (-0.03, 180.0),
}


def front_edge(variant: Variant) -> tuple[str, Role]:
    """Name and role of the edge on the centre line of a front piece: a seam, or the closure of a busk."""
    return ("closure", Role.CLOSURE) if variant.front == "busk" else (CENTRE, Role.CENTRE)


def _marks(edge: str, *levels: str | None) -> tuple[LevelMark, ...]:
    return tuple(LevelMark(level, KnotRef(edge, k)) for k, level in enumerate(levels) if level)


def _down(edge: str, *levels: str | None) -> tuple[LevelMark, ...]:
    return _marks(edge, *reversed(levels))


def _body_levels(sizes: Sizes, bust: bool) -> dict[str, float]:
    levels = {"hem": -HEM_DEPTH, "high_hip": -HIGH_HIP_DEPTH, "waist": 0.0, "underbust": sizes.underbust}
    return {**levels, "bust": sizes.bust_level} if bust else levels


def _seam(sizes: Sizes, xs: dict[str, float], tops: list[Point]) -> Curve:
    below = [(xs["hem"], -HEM_DEPTH), (xs["high_hip"], -HIGH_HIP_DEPTH), (xs["waist"], 0.0)]
    return upright_seam(below, [(xs["waist"], 0.0), (xs["underbust"], sizes.underbust), *tops])


def _xs(sizes: Sizes, part: str, index: int) -> dict[str, float]:
    at = sizes.front_x if part == "front" else sizes.back_x
    return {level: at(level)[index] for level in ("hem", "high_hip", "waist", "underbust")}


def centre_front(sizes: Sizes) -> Piece:
    """From the centre line to the panel seam, with the peak between the cups."""
    seam, (centre, role) = _seam(sizes, _xs(sizes, "front", 0), []), front_edge(sizes.variant)
    peak = (0.0, sizes.underbust + sizes.peak)
    cradle = through(
        [(sizes.panel_top, sizes.underbust), _cradle_middle(sizes), peak],
        direction(180.0 - CENTRE_CRADLE_DEG),
        direction(180.0 - 52.0),
    )
    edges = (
        _hem((0.0, -HEM_DEPTH), _at(seam.start)),
        Edge("panel_seam", seam, Role.PANEL_SEAM),
        Edge("cradle", cradle, Role.CRADLE),
        Edge(centre, vertical(0.0, [peak[1], sizes.underbust, 0.0, -HIGH_HIP_DEPTH, -HEM_DEPTH]), role, True),
    )
    return Piece(
        "centre_front",
        "Centre front",
        "front",
        edges,
        _body_levels(sizes, bust=False),
        (
            *_marks("panel_seam", "hem", "high_hip", "waist", "underbust"),
            *_marks(centre, None, "underbust", "waist", "high_hip", "hem"),
        ),
        (Landmark("peak", KnotRef(centre, 0)), Landmark("panel_top", KnotRef("panel_seam", 3))),
        cut=PANEL_CUT,
        centre_cut="open" if role is Role.CENTRE else None,
    )


def _cradle_middle(sizes: Sizes) -> Point:
    return 0.42 * sizes.panel_top, sizes.underbust + 0.36 * sizes.peak


def _at(corner: NDArray[np.float64]) -> Point:
    return float(corner[0]), float(corner[1])


def _hem(start: Point, end: Point, middle_drop: float = 0.0) -> Edge:
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2 - middle_drop)
    return Edge("hem", through([start, middle, end], (1.0, 0.0), (1.0, 0.0)), Role.HEM)


def side_front(sizes: Sizes) -> Piece:
    """From the panel seam to the side seam, under the cup."""
    panel = _seam(sizes, _xs(sizes, "front", 1), [])
    xs = _xs(sizes, "front", 2)
    end = (xs["underbust"] + 0.10 * sizes.side_end, sizes.underbust + sizes.side_end)
    side = _seam(sizes, xs, [end])
    middle = (
        sizes.panel_top + 0.5 * (end[0] - sizes.panel_top),
        sizes.underbust + 0.5 * sizes.side_end - 4.0,
    )
    cradle = through([end, middle, (sizes.panel_top, sizes.underbust)], None, direction(180.0 + SIDE_CRADLE_DEG))
    edges = (
        _hem(_at(panel.start), _at(side.start)),
        Edge("side_seam", side, Role.SIDE_SEAM),
        Edge("cradle", cradle, Role.CRADLE),
        Edge("panel_seam", panel.reversed(), Role.PANEL_SEAM),
    )
    return Piece(
        "side_front",
        "Side front",
        "front",
        edges,
        _body_levels(sizes, bust=False),
        (
            *_marks("side_seam", "hem", "high_hip", "waist", "underbust"),
            *_down("panel_seam", "hem", "high_hip", "waist", "underbust"),
        ),
        (Landmark("panel_top", KnotRef("panel_seam", 0)), Landmark("side_end", KnotRef("cradle", 0))),
        cut=PANEL_CUT,
    )


def side_back(sizes: Sizes) -> Piece:
    """From the side seam to the back panel seam."""
    side_bust, panel_bust, _ = sizes.back_x("bust")
    top = sizes.side_height
    side = _seam(sizes, _xs(sizes, "back", 0), [(side_bust, sizes.bust_level), (side_bust, top)])
    panel_top = (panel_bust, _panel_height(sizes))
    panel = _seam(sizes, _xs(sizes, "back", 1), [(panel_bust, sizes.bust_level), panel_top])
    edges = (
        _hem(_at(side.start), _at(panel.start)),
        Edge("panel_seam", panel, Role.PANEL_SEAM),
        Edge("top", _back_top(sizes, panel_bust, side_bust), Role.TOP),
        Edge("side_seam", side.reversed(), Role.SIDE_SEAM),
    )
    levels = ("hem", "high_hip", "waist", "underbust", "bust")
    return Piece(
        "side_back",
        "Side back",
        "back",
        edges,
        _body_levels(sizes, bust=True),
        (*_marks("panel_seam", *levels), *_down("side_seam", *levels, None)),
        cut=PANEL_CUT,
    )


def _panel_height(sizes: Sizes) -> float:
    return sizes.side_height + 0.45 * (sizes.back_height - sizes.side_height) - sizes.back_dip


def _back_top(sizes: Sizes, start: float, end: float) -> Curve:
    """The back's upper edge between two places, from the right one leftwards, level at the underarm and the closure.

    It is one line over both pieces: the centre back stands further right by what the panels lose at the bust level.
    """
    side, panel, centre = sizes.back_x("bust")
    round_panel, last = panel - side, panel - side + sizes.closure_x - centre
    line = Profile(((0.0, sizes.side_height), (round_panel, _panel_height(sizes)), (last, sizes.back_height)))
    first = side if start == panel else centre - round_panel
    (a, slope_a), (b, slope_b) = (line.at(x - first) for x in (start, end))
    return through([(start, a), (end, b)], (-1.0, -slope_a), (-1.0, -slope_b))


def centre_back(sizes: Sizes) -> Piece:
    """From the back panel seam to the laced edge."""
    bust = sizes.back_x("bust")[2]
    panel_top = (bust, _panel_height(sizes))
    panel = _seam(sizes, _xs(sizes, "back", 2), [(bust, sizes.bust_level), panel_top])
    x = sizes.closure_x
    heights = [-HEM_DEPTH, -HIGH_HIP_DEPTH, 0.0, sizes.underbust, sizes.bust_level, sizes.back_height]
    edges = (
        _hem(_at(panel.start), (x, -HEM_DEPTH)),
        Edge("closure", vertical(x, heights), Role.CLOSURE, True),
        Edge("top", _back_top(sizes, x, bust), Role.TOP),
        Edge("panel_seam", panel.reversed(), Role.PANEL_SEAM),
    )
    levels = ("hem", "high_hip", "waist", "underbust", "bust")
    return Piece(
        "centre_back",
        "Centre back",
        "back",
        edges,
        _body_levels(sizes, bust=True),
        (*_marks("closure", *levels), *_down("panel_seam", *levels, None)),
        cut=PANEL_CUT,
        eyelets=True,
    )


# --- cups --------------------------------------------------------------------------------------------------


def inner_cup(sizes: Sizes, cradle_length: float) -> Piece:
    """From the centre line over the bust point's seam; `cradle_length` is the centre front's, mm."""
    foot, peak = inner_foot(sizes, cradle_length)
    corner = (-0.07 * sizes.upper, 0.997 * sizes.upper)
    top = (-sizes.separation, peak[1] + sizes.front_height - sizes.underbust - sizes.peak)
    seam = through([foot, (0.0, 0.0), corner])
    cradle = through(
        [peak, _bowed(peak, foot, -0.09), foot],
        None,
        None,
    )
    bow, at_centre = NECKLINES[sizes.variant.neckline]
    end = None if at_centre is None else direction(at_centre)
    neckline = through([corner, _bowed(corner, top, bow), top], direction(186.0), end)
    centre, role = front_edge(sizes.variant)
    levels = {"bust": 0.0}
    edges = (
        Edge("cradle", cradle, Role.CRADLE),
        Edge("cup_seam", seam, Role.CUP_SEAM),
        Edge("neckline", neckline, Role.NECKLINE),
        Edge(centre, vertical(-sizes.separation, [top[1], 0.0, peak[1]]), role, True),
    )
    return Piece(
        "inner_cup",
        "Inner cup",
        "front",
        edges,
        levels,
        (LevelMark("bust", KnotRef("cup_seam", 1)), LevelMark("bust", KnotRef(centre, 1))),
        (
            Landmark("bust_point", KnotRef("cup_seam", 1)),
            Landmark("upper_corner", KnotRef("cup_seam", 2)),
            Landmark("centre_top", KnotRef(centre, 0)),
            Landmark("peak", KnotRef(centre, 2)),
            Landmark("foot", KnotRef("cup_seam", 0)),
        ),
        cut=CUP_CUT,
        centre_cut="open" if role is Role.CENTRE else None,
    )


def inner_foot(sizes: Sizes, cradle_length: float) -> tuple[Point, Point]:
    """Foot and peak: the dart's inner half is turned so that the cup's lower edge equals the cradle."""
    chord = 0.975 * cradle_length
    peak = (-sizes.separation, CUP_PEAK_SHARE * sizes.depth)
    angle = _half_dart(peak, sizes.depth, chord, INNER_DART_HALF)
    foot = (-sizes.depth * math.sin(angle), -sizes.depth * math.cos(angle))
    return foot, (peak[0], _height_at(foot, peak, chord))


def outer_foot(sizes: Sizes, cradle_length: float) -> tuple[Point, Point]:
    """Foot and side end of the outer cup's lower edge."""
    chord = 0.992 * cradle_length
    width = sizes.widths["bust"].front - sizes.separation
    end = (width - 0.10 * abs(CUP_END_SHARE) * sizes.depth, CUP_END_SHARE * sizes.depth)
    angle = _half_dart(end, sizes.depth, chord, OUTER_DART_HALF)
    foot = (sizes.depth * math.sin(angle), -sizes.depth * math.cos(angle))
    return foot, (end[0], _height_at(foot, end, chord))


def _half_dart(end: Point, depth: float, chord: float, limits: Point) -> float:
    """Angle of the foot from the plumb line under the bust point, towards `end`, kept within the usual range."""
    reach = math.hypot(*end)
    to_end = math.atan2(abs(end[0]), -end[1])
    cosine = (reach**2 + depth**2 - chord**2) / (2 * reach * depth)
    between = math.acos(min(1.0, max(-1.0, cosine)))
    low, high = (math.radians(d) for d in limits)
    return min(max(to_end - between, low), high)


def _height_at(foot: Point, end: Point, chord: float) -> float:
    """Height of the end at which it lies one chord from the foot; the end as wished where it cannot."""
    across = abs(end[0] - foot[0])
    if across >= chord:
        return foot[1] + 0.25 * chord
    return foot[1] + math.sqrt(chord**2 - across**2)


def _bowed(start: Point, end: Point, share: float) -> Point:
    """The middle of a chord moved to its left by a share of its length (negative: to its right)."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    return (start[0] + end[0]) / 2 - share * dy, (start[1] + end[1]) / 2 + share * dx


def outer_cup(sizes: Sizes, cradle_length: float) -> Piece:
    """From the bust point's seam to the side; `cradle_length` is the side front's, mm."""
    foot, end = outer_foot(sizes, cradle_length)
    width = sizes.widths["bust"].front - sizes.separation
    corner = (0.06 * sizes.upper, 0.998 * sizes.upper)
    above = sizes.side_height - sizes.bust_level
    underarm = (width + 0.05 * above, above)
    middle = _armhole_middle(sizes, corner, underarm)
    armhole = through([underarm, middle, corner], direction(180.0), direction(174.0))
    edges = (
        Edge("cradle", through([foot, _bowed(foot, end, -0.05), end]), Role.CRADLE),
        Edge("side_seam", through([end, (width, 0.0), underarm]), Role.SIDE_SEAM),
        Edge("armhole", armhole, Role.ARMHOLE),
        Edge("cup_seam", through([corner, (0.0, 0.0), foot]), Role.CUP_SEAM),
    )
    return Piece(
        "outer_cup",
        "Outer cup",
        "front",
        edges,
        {"bust": 0.0},
        (LevelMark("bust", KnotRef("side_seam", 1)), LevelMark("bust", KnotRef("cup_seam", 1))),
        (
            Landmark("bust_point", KnotRef("cup_seam", 1)),
            Landmark("upper_corner", KnotRef("cup_seam", 0)),
            Landmark("armhole_middle", KnotRef("armhole", 1)),
            Landmark("underarm", KnotRef("armhole", 0)),
            Landmark("side_end", KnotRef("cradle", 2)),
            Landmark("foot", KnotRef("cup_seam", 2)),
        ),
        cut=CUP_CUT,
    )


def _armhole_middle(sizes: Sizes, corner: Point, underarm: Point) -> Point:
    """On the line from the bust point through the middle of the chord, as far as the chart says."""
    across = ((corner[0] + underarm[0]) / 2, (corner[1] + underarm[1]) / 2 - 3.0)
    reach = math.hypot(*across)
    return across[0] * sizes.armhole / reach, across[1] * sizes.armhole / reach
