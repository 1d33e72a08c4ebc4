"""Small styles built by hand, so that every figure is known beforehand: tubes of equal panels with straight seams.

A tube's half is n panels from the centre front to the laced centre back, the first half of them front.  All panels
are equally wide at the waist; what another level has more or less lies equally on every sewn edge, so that both
sides of each seam are equally long.  Edges are straight from level to level: the girth at a level is what was asked
for, and at heights between it is interpolated.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise

import numpy as np

from coutil.curves import Curve
from coutil.measure import Chart, Reading
from coutil.pattern import (
    CentreRule,
    CutFrom,
    Edge,
    EdgeRef,
    Fit,
    KnotRef,
    Layer,
    LengthRule,
    Level,
    LevelMark,
    Match,
    Piece,
    PointRef,
    Provenance,
    Role,
    Seam,
    Sharing,
    SideRule,
    Style,
    with_notches,
)

HEIGHTS = {"underbust": 100.0, "waist": 0.0, "high_hip": -50.0, "hem": -80.0}


def polyline(points: list[tuple[float, float]]) -> Curve:
    """Straight from point to point, a knot at each."""
    spans = [Curve.line(a, b).spans[0] for a, b in pairwise(points)]
    return Curve.from_spans(np.array(spans))


def tube_style(
    n: int = 3,
    girths: Mapping[str, float] | None = None,
    heights: Mapping[str, float] = HEIGHTS,
    lacing_gap: float = 50.0,
    reduction: float = 0.0,
    half: bool = True,
) -> Style:
    """n >= 2 panels a half (or n all round where `half` is False) whose net girth at each level is `girths`, full mm.

    The chart is the body such a garment fits without ease: girth + gap, and the reduction at the waist.  The first
    panel's outer edge is the centre, the last one's the closure, the middle seam the side seam.
    """
    net = dict.fromkeys(heights, 600.0) if girths is None else dict(girths)
    pieces = tuple(_panel(i, n, _Widths(net, n, half), heights) for i in range(n))
    return with_notches(
        Style(
            name="tube",
            title="Tube",
            half=half,
            pieces=pieces,
            seams=tuple(_seam(i, n, heights) for i in range(n - 1)),
            levels=tuple(Level(name, -y, name) for name, y in heights.items()),
            layers=(Layer("outer"),),
            construction="single",
            base_chart=tube_chart(net, lacing_gap, reduction),
            base_fit=Fit({}, reduction, lacing_gap, 0.0),
            sharing=Sharing(LengthRule(), CentreRule(), SideRule(basis="common"), {}, ()),
            provenance=Provenance("A tube for trials", invented=True),
        )
    )


def tube_chart(net: Mapping[str, float], gap: float, reduction: float) -> Chart:
    """The body: net girth + gap, and at the waist what is reduced."""
    readings = {f"{name}_girth": Reading(girth + gap) for name, girth in net.items()}
    readings["waist_girth"] = Reading(net["waist"] + gap + reduction)
    return Chart("Nobody", readings, invented=True)


def with_edge(style: Style, piece: str, edge: str, curve: Curve) -> Style:
    """The style with one edge redrawn; its neighbours keep their corners."""
    return style.with_pieces({piece: style.piece(piece).with_curves({edge: curve})})


def with_outline(style: Style, piece: str, corners: Mapping[str, Curve]) -> Style:
    """The style with several edges of one piece redrawn."""
    return style.with_pieces({piece: style.piece(piece).with_curves(dict(corners))})


def with_chart(style: Style, **readings: float) -> Style:
    """The style with more readings in its base chart, mm."""
    chart = style.base_chart
    for key, value in readings.items():
        chart = chart.with_value(key, value)
    return replace(style, base_chart=chart)


class _Widths:
    """How wide a panel is at the waist, and how far each of its sewn edges stands out at another level."""

    def __init__(self, net: Mapping[str, float], n: int, half: bool) -> None:
        sides = 2 if half else 1
        self.waist = net["waist"] / sides / n
        self.out = {level: (girth - net["waist"]) / sides / (2 * (n - 1)) for level, girth in net.items()}


def _panel(i: int, n: int, widths: _Widths, heights: Mapping[str, float]) -> Piece:
    """Edges anticlockwise: hem, the edge towards the back going up, top, the edge towards the front going down.

    The first panel is upright at the centre, the last one at the closure, those between lie evenly about x = 0.
    """
    names = sorted(heights, key=lambda name: heights[name])
    shares = (0.0, 1.0) if i == 0 else (1.0, 0.0) if i == n - 1 else (0.5, 0.5)
    right = [(shares[1] * widths.waist + (i < n - 1) * widths.out[name], heights[name]) for name in names]
    left = [(-shares[0] * widths.waist - (i > 0) * widths.out[name], heights[name]) for name in names]
    side = (n - 1) // 2
    roles = [Role.SIDE_SEAM if k == side else Role.PANEL_SEAM for k in range(n - 1)]
    forward = ("centre", Role.CENTRE) if i == 0 else ("forward", roles[i - 1])
    back = ("closure", Role.CLOSURE) if i == n - 1 else ("backward", roles[i])
    edges = (
        Edge("hem", Curve.line(left[0], right[0]), Role.HEM),
        Edge(back[0], polyline(right), back[1], straight=i == n - 1),
        Edge("top", Curve.line(right[-1], left[-1]), Role.TOP),
        Edge(forward[0], polyline(left[::-1]), forward[1], straight=i == 0),
    )
    last = len(names) - 1
    marks = [LevelMark(name, KnotRef(back[0], k)) for k, name in enumerate(names)]
    marks += [LevelMark(name, KnotRef(forward[0], last - k)) for k, name in enumerate(names)]
    return Piece(
        f"panel_{i + 1}",
        f"Panel {i + 1}",
        "front" if i <= side else "back",
        edges,
        dict(heights),
        tuple(marks),
        cut=(CutFrom("outer", 2, True),),
        eyelets=i == n - 1,
    )


def _seam(i: int, n: int, heights: Mapping[str, float]) -> Seam:
    """Panel i's backward edge, going up, upon the next panel's forward edge."""
    one, other = f"panel_{i + 1}", f"panel_{i + 2}"
    names = sorted(heights, key=lambda name: heights[name])
    last = len(names) - 1
    matches = tuple(
        Match(name, PointRef(one, "backward", k), PointRef(other, "forward", last - k))
        for k, name in enumerate(names)
        if 0 < k < last
    )
    return Seam(f"seam_{i + 1}", (EdgeRef(one, "backward"),), (EdgeRef(other, "forward", backward=True),), matches)
