"""Drawings for the measuring guide: a plain body from the front, the back, the side and seated, and the tape's line.

All of it is drawn here, in units of about 4 mm of a body, y down; the bodies are nobody's and of no gender.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

Place = tuple[float, float]
Kind = Literal["form", "fold", "tape", "behind", "aid", "seat"]

MIDDLE = 100.0
# Heights of the levels, and half the body's width there.
LEVELS: Mapping[str, float] = {
    "upper_bust": 93, "bust": 110, "underbust": 130, "waist": 165, "high_hip": 190, "hem": 203, "hip": 222,
}  # fmt: skip
# Half the front silhouette: (half width, height).
SIDE_LINE: Sequence[Place] = (
    (38, 92), (40, 100), (40.5, 110), (37, 130), (32.5, 148), (30, 165), (33, 178), (38, 190), (43, 208),
    (45, 222), (44, 245), (40, 275), (34, 310), (27, 345), (23.5, 365), (25, 390), (24, 415), (18, 450), (14, 470),
)  # fmt: skip
SHOULDER: Sequence[Place] = ((9.5, 30), (10, 40), (15, 47), (30, 53), (41, 58))
ARM: Sequence[Place] = (
    (41, 58), (49, 66), (53, 90), (56, 120), (60, 150), (65, 185), (68, 205), (69, 218), (63, 226), (60, 212),
    (56, 190), (50, 155), (45, 122), (38, 92),
)  # fmt: skip
INNER_LEG: Sequence[Place] = ((3, 470), (5, 440), (8, 415), (7, 390), (6, 365), (6, 340), (4, 300), (1.5, 254))
FRONT_PROFILE: Sequence[Place] = (
    (91, 30), (90, 44), (85, 60), (77, 84), (68, 102), (66, 110), (70, 122), (79, 130), (82, 148), (82, 165),
    (78, 180), (76, 194), (79, 212), (83, 232), (84, 260), (86, 300),
)  # fmt: skip
BACK_PROFILE: Sequence[Place] = (
    (112, 300), (117, 260), (126, 236), (130, 220), (126, 202), (115, 182), (110, 165), (113, 148), (119, 125),
    (122, 100), (120, 76), (112, 56), (108, 44), (108, 30),
)  # fmt: skip
SEATED_FRONT: Sequence[Place] = (
    *FRONT_PROFILE[:10], (77, 180), (72, 194), (66, 202), (48, 204), (32, 207), (25, 216), (26, 236),
    (30, 270), (32, 300),
)  # fmt: skip
SEATED_BACK: Sequence[Place] = (
    (50, 300), (50, 270), (52, 246), (66, 240), (100, 241), (122, 240), (131, 228), (127, 206), *BACK_PROFILE[5:],
)  # fmt: skip
UNDER_BUST: Sequence[Place] = ((7, 125), (13, 130.5), (22, 132.5), (31, 129), (36, 121))
HEAD: Sequence[Place] = (
    (100, -20), (113, -10), (114, 8), (108, 26), (100, 31), (92, 26), (86, 8), (87, -10),
)  # fmt: skip
BUST_POINT: Place = (MIDDLE + 20, 110)
FOLD: Place = (MIDDLE + 20.5, 130)
SAG = 6.0
WIDE = "28 26 144 210"
NEAR = "58 66 84 110"
SIDE_VIEW = "34 26 132 210"
LOW = "34 136 132 100"
TALL = "0 -24 200 506"
TOP_EDGE: Sequence[Place] = (
    (-40, 106), (-33, 97), (-22, 86), (-10, 90), (0, 97), (10, 90), (22, 86), (33, 97), (40, 106),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Stroke:
    """One line or shape: what it is, and its SVG path."""

    kind: Kind
    path: str


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing: the part of the paper it shows, its strokes in the order they are drawn, and the tape's ends."""

    view: str
    strokes: tuple[Stroke, ...]
    ends: tuple[Place, ...] = ()


def figure(key: str) -> Figure:
    """The drawing for a measurement; the body without a tape for one that has none of its own."""
    made = FIGURES.get(key)
    if made is not None:
        return made
    stem, _, kind = key.rpartition("_")
    if stem not in LEVELS:
        return Figure(WIDE, _front())
    return _girth(LEVELS[stem]) if kind == "girth" else _front_arc(LEVELS[stem])


def smooth(points: Sequence[Place], *, closed: bool = False) -> str:
    """A path that runs smoothly through the points (Catmull-Rom, a third of the chord to each handle)."""
    n = len(points)
    spans = n if closed else n - 1

    def at(i: int) -> Place:
        return points[i % n] if closed else points[min(max(i, 0), n - 1)]

    parts = [f"M{_spot(points[0])}"]
    for i in range(spans):
        before, start, end, after = at(i - 1), at(i), at(i + 1), at(i + 2)
        first = (start[0] + (end[0] - before[0]) / 6, start[1] + (end[1] - before[1]) / 6)
        second = (end[0] - (after[0] - start[0]) / 6, end[1] - (after[1] - start[1]) / 6)
        parts.append(f"C{_spot(first)} {_spot(second)} {_spot(end)}")
    return "".join(parts) + ("Z" if closed else "")


def half_width(y: float) -> float:
    """Half the body's width at a height."""
    for (x0, y0), (x1, y1) in pairwise(SIDE_LINE):
        if y0 <= y <= y1:
            return x0 + (x1 - x0) * (y - y0) / (y1 - y0)
    raise ValueError(f"the torso has no height {y}")


def _spot(place: Place) -> str:
    return f"{place[0]:.1f},{place[1]:.1f}"


def _mirrored(points: Sequence[Place], side: int) -> list[Place]:
    return [(MIDDLE + side * x, y) for x, y in points]


def _body() -> str:
    """Neck, torso and legs, without arms."""
    right = [*_mirrored(SHOULDER, 1), (MIDDLE + 41, 62), *_mirrored(SIDE_LINE, 1)]
    left = [*_mirrored(SHOULDER, -1), (MIDDLE - 41, 62), *_mirrored(SIDE_LINE, -1)]
    legs = [*_mirrored(INNER_LEG, 1), (MIDDLE, 250), *reversed(_mirrored(INNER_LEG, -1))]
    down, up, between = smooth(right), smooth(list(reversed(left))), smooth(legs)
    return f"{down} L{between[1:]} L{up[1:]} Z"


def _standing() -> tuple[Stroke, ...]:
    arms = tuple(Stroke("form", smooth(_mirrored(ARM, side), closed=True)) for side in (1, -1))
    return (*arms, Stroke("form", _body()))


def _front() -> tuple[Stroke, ...]:
    folds = tuple(Stroke("fold", smooth(_mirrored(UNDER_BUST, side))) for side in (1, -1))
    collar = tuple(Stroke("fold", smooth(_mirrored(((3, 54), (14, 52), (27, 55)), side))) for side in (1, -1))
    return (*_standing(), *folds, *collar, Stroke("fold", "M100,182 l0,3"))


def _back() -> tuple[Stroke, ...]:
    blades = tuple(Stroke("fold", smooth(_mirrored(((10, 78), (13, 92), (20, 101), (28, 100)), s))) for s in (1, -1))
    seat = tuple(Stroke("fold", smooth(_mirrored(((2, 244), (12, 250), (24, 249), (34, 244)), s))) for s in (1, -1))
    return (*_standing(), *blades, *seat, Stroke("fold", "M100,52 C98,100 102,150 100,200"))


def _side() -> tuple[Stroke, ...]:
    path = f"{smooth(FRONT_PROFILE)} L{smooth(BACK_PROFILE)[1:]} Z"
    return Stroke("form", path), _armhole()


def _seated() -> tuple[Stroke, ...]:
    path = f"{smooth(SEATED_FRONT)} L{smooth(SEATED_BACK)[1:]} Z"
    chair = Stroke("seat", "M54,245 L146,245 M140,245 L140,300 M146,245 L150,150")
    return Stroke("form", path), _armhole(), chair


def _armhole() -> Stroke:
    return Stroke("fold", smooth([(98, 56), (107, 64), (107, 82), (98, 93), (90, 82), (90, 64)], closed=True))


def _round(y: float, narrower: float = 0.0) -> tuple[Stroke, ...]:
    """A level tape round the body: solid in front, dashed behind."""
    return _loop(y, half_width(y) - narrower)


def _loop(y: float, half: float) -> tuple[Stroke, ...]:
    left, right = MIDDLE - half, MIDDLE + half
    return (
        Stroke("behind", f"M{left:.1f},{y} Q{MIDDLE},{y - SAG} {right:.1f},{y}"),
        Stroke("tape", f"M{left:.1f},{y} Q{MIDDLE},{y + 2 * SAG} {right:.1f},{y}"),
    )


def _girth(y: float, *more: Stroke) -> Figure:
    return Figure(WIDE, (*_front(), *_round(y), *more))


def _front_arc(y: float) -> Figure:
    half = half_width(y)
    _, tape = _round(y)
    lines = tuple(Stroke("aid", f"M{x:.1f},{y - 14} L{x:.1f},{y + 14}") for x in (MIDDLE - half, MIDDLE + half))
    return Figure(WIDE, (*_front(), *lines, tape), ((MIDDLE - half, y), (MIDDLE + half, y)))


def _deep(y: float) -> Figure:
    """A girth whose depth below the waist belongs to it."""
    waist, x = LEVELS["waist"], MIDDLE + half_width(y) + 7
    depth = Stroke("aid", f"M{MIDDLE + half_width(waist):.1f},{waist} L{x:.1f},{waist} L{x:.1f},{y}")
    return _girth(y, depth)


def _along(body: tuple[Stroke, ...], view: str, *points: Place, aids: tuple[str, ...] = ()) -> Figure:
    """The tape along some points, with lines that help to find its ends."""
    helps = tuple(Stroke("aid", path) for path in aids)
    return Figure(view, (*body, *helps, Stroke("tape", smooth(points))), (points[0], points[-1]))


def _across(y: float, x0: float = 66, x1: float = 132) -> str:
    return f"M{x0},{y} L{x1},{y}"


WAIST = LEVELS["waist"]
SIDE_X = 97.0
_LEVEL_WAIST = f"M{MIDDLE - 30},{WAIST} Q{MIDDLE},{WAIST + 2 * SAG} {MIDDLE + 30},{WAIST}"
_BACK_WAIST = f"M{MIDDLE - 30},{WAIST} Q{MIDDLE},{WAIST + SAG} {MIDDLE + 30},{WAIST}"
CENTRE_WAIST = WAIST + SAG

FIGURES: Mapping[str, Figure] = {
    "waist_girth_compressed": Figure(
        WIDE,
        (
            *_front(),
            *_round(WAIST, narrower=4),
            Stroke("aid", f"M{MIDDLE - 46},{WAIST} l12,0 m-4,-3 l4,3 l-4,3"),
            Stroke("aid", f"M{MIDDLE + 46},{WAIST} l-12,0 m4,-3 l-4,3 l4,3"),
        ),
    ),
    "shoulder_girth": Figure(WIDE, (*_front(), *_loop(72, 50))),
    "high_hip_girth": _deep(LEVELS["high_hip"]),
    "hip_girth": _deep(LEVELS["hip"]),
    "hem_girth": _deep(LEVELS["hem"]),
    "bust_point_separation": _along(_front(), NEAR, (MIDDLE - 20, 110), BUST_POINT),
    "bust_point_to_underbust": _along(_front(), NEAR, BUST_POINT, (MIDDLE + 21.5, 121), FOLD),
    "bust_point_to_centre_top": _along(_front(), NEAR, BUST_POINT, (MIDDLE, 90), aids=("M100,78 L100,104",)),
    "bust_point_to_upper_corner": _along(_front(), NEAR, BUST_POINT, (MIDDLE + 23, 96), (MIDDLE + 25, 80)),
    "bust_point_to_armhole": _along(_front(), NEAR, BUST_POINT, (MIDDLE + 35, 94)),
    "bust_to_waist": _along(_front(), NEAR, BUST_POINT, FOLD, (MIDDLE + 18, WAIST + 3), aids=(_LEVEL_WAIST,)),
    "underbust_to_waist": _along(_front(), NEAR, FOLD, (MIDDLE + 18, WAIST + 3), aids=(_LEVEL_WAIST,)),
    "bust_level_to_waist": _along(
        _side(), SIDE_VIEW, (58, 110), (58, WAIST), aids=(_across(110, 54, 124), _across(WAIST, 54, 114))
    ),
    "side_height": _along(
        _side(), SIDE_VIEW, (SIDE_X, WAIST), (SIDE_X, 102), aids=(_across(WAIST), _across(102, 84, 112))
    ),
    "centre_front_height": _along(_front(), WIDE, (MIDDLE, CENTRE_WAIST), (MIDDLE, 88), aids=(_LEVEL_WAIST,)),
    "centre_back_height": _along(_back(), WIDE, (MIDDLE, WAIST + SAG / 2), (MIDDLE, 92), aids=(_BACK_WAIST,)),
    "waist_to_high_hip": _along(_side(), LOW, (SIDE_X, WAIST), (SIDE_X, 190), aids=(_across(WAIST), _across(190))),
    "waist_to_hip": _along(_side(), LOW, (SIDE_X, WAIST), (SIDE_X, 222), aids=(_across(WAIST), _across(222))),
    "waist_to_hip_bone": Figure(
        LOW,
        (
            *_side(),
            Stroke("aid", _across(WAIST)),
            Stroke("fold", smooth([(82, 196), (88, 186), (97, 182), (108, 184), (116, 191)])),
            Stroke("tape", f"M{SIDE_X},{WAIST} L{SIDE_X},182"),
        ),
        ((SIDE_X, WAIST), (SIDE_X, 182)),
    ),
    "centre_front_below_waist": _along(_front(), LOW, (MIDDLE, CENTRE_WAIST), (MIDDLE, 218), aids=(_LEVEL_WAIST,)),
    "side_below_waist": _along(_side(), LOW, (SIDE_X, WAIST), (SIDE_X, 206), aids=(_across(WAIST),)),
    "centre_back_below_waist": _along(_back(), LOW, (MIDDLE, WAIST + SAG / 2), (MIDDLE, 212), aids=(_BACK_WAIST,)),
    "waist_to_lap": _along(
        _seated(), "14 130 150 130", (84, WAIST), (79, 182), (75, 200), aids=(_across(WAIST, 74, 116),)
    ),
    "top_edge_run": Figure(
        WIDE,
        (
            *_front(),
            Stroke("behind", f"M{MIDDLE - 40},106 Q{MIDDLE},88 {MIDDLE + 40},106"),
            Stroke("tape", smooth([(MIDDLE + x, y) for x, y in TOP_EDGE])),
        ),
    ),
    "height": Figure(
        TALL,
        (
            *_front(),
            Stroke("form", smooth(HEAD, closed=True)),
            Stroke("aid", "M60,-20 L184,-20 M60,472 L184,472"),
            Stroke("tape", "M178,-20 L178,472"),
        ),
        ((178, -20), (178, 472)),
    ),
}  # fmt: skip
