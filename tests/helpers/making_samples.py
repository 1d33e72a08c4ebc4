"""A garment of straight panels whose papers can be worked out by hand, and a drafted one."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from coutil.curves import Curve
from coutil.draft import base_chart, draft_cupped
from coutil.pattern import (
    CutFrom,
    Edge,
    EdgeRef,
    Fit,
    KnotRef,
    Layer,
    Level,
    LevelMark,
    Match,
    Part,
    Piece,
    PointRef,
    Role,
    Seam,
    Style,
)

LOW = -100.0
LEVELS = {"underbust": 100.0, "waist": 0.0, "high_hip": -90.0}
CUT = (CutFrom("outer", 2, True), CutFrom("strength", 2, True))


@cache
def drafted() -> Style:
    return draft_cupped(base_chart(85, 14))


def _upright(name: str, role: Role, x: float, high: float, *, up: bool) -> Edge:
    """An upright edge from the hem up, or down to it, with a knot at every level."""
    fractions = [(y - LOW) / (high - LOW) for y in sorted(LEVELS.values())]
    if up:
        return Edge(name, Curve.line((x, LOW), (x, high), fractions), role)
    return Edge(name, Curve.line((x, high), (x, LOW), [1 - f for f in reversed(fractions)]), role)


def _panel(name: str, part: Part, size: tuple[float, float], left: tuple[str, Role], right: tuple[str, Role]) -> Piece:
    """A panel of that width up to that height, its waist at y = 0."""
    width, high = size
    edges = (
        Edge("hem", Curve.line((0, LOW), (width, LOW)), Role.HEM),
        _upright(*right, width, high, up=True),
        Edge("top", Curve.line((width, high), (0, high)), Role.TOP),
        _upright(*left, 0, high, up=False),
    )
    rising = sorted(LEVELS, key=lambda level: LEVELS[level])
    marks = [LevelMark(level, KnotRef(right[0], i + 1)) for i, level in enumerate(rising)]
    marks += [LevelMark(level, KnotRef(left[0], 3 - i)) for i, level in enumerate(rising)]
    return Piece(name, name.capitalize(), part, edges, LEVELS, tuple(marks), cut=CUT, eyelets=part == "back")


@cache
def tube(
    *, busk: bool = False, gap: float = 50.0, closure_gap: float = 0.0, width: float = 140.0, high: float = 150.0
) -> Style:
    """A half garment of a front and a back panel 250 high and 140 wide: 560 net all round at every level.

    The front is closed by a centre seam, or opens with a closure; the back is laced.
    """
    centre = ("centre", Role.CLOSURE if busk else Role.CENTRE)
    front = _panel("front", "front", (width, high), centre, ("side", Role.SIDE_SEAM))
    back = _panel("back", "back", (width, high), ("side", Role.SIDE_SEAM), ("closure", Role.CLOSURE))
    match = Match("waist", PointRef("front", "side", 2), PointRef("back", "side", 2))
    seam = Seam("side", (EdgeRef("front", "side"),), (EdgeRef("back", "side", backward=True),), (match,))
    return replace(
        drafted(),
        name="tube",
        title="Tube",
        pieces=(front, back),
        seams=(seam,),
        levels=tuple(Level(name, -y, name) for name, y in LEVELS.items()),
        layers=(Layer("outer", 0.5, 0.5), Layer("strength")),
        construction="mounted",
        base_fit=Fit(lacing_gap=gap, closure_gap=closure_gap),
    )


def bulged(depth: float) -> Curve:
    """A curve from (0, 0) to (0, 300) that leaves its chord by `depth` in the middle."""
    out = depth / 0.75
    return Curve(np.array([(0, 0), (out, 100), (out, 200), (0, 300)], dtype=float))
