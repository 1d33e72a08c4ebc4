"""Bone channels as curves on the pieces, from rules held as data.

A style may not say where its bones go; then they run along the panel and side seams, beside the lacing, up a
closed centre front, and up the middle of panels that would otherwise be too wide without one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
from shapely.geometry import LineString, Point, Polygon

from coutil.curves import Curve, smooth_through
from coutil.cut._order import OrderOptions
from coutil.cut._ribbons import Floats
from coutil.pattern import Edge, EdgeRef, Piece, Role, Seam, Style, edges_at

Place = Literal["seam", "centre", "closure", "panel"]

WAIST = "waist"
SIDES = frozenset({Role.PANEL_SEAM, Role.SIDE_SEAM, Role.CENTRE, Role.CLOSURE})

# Between the folded edge and the first channel runs one row of stitching, mm.
EDGE_STITCH_MM = 2.0
# An eyelet's washer reaches this far from its middle, with room for the needle, mm.
EYELET_REACH_MM = 6.5
# A busk half lies this far behind its edge, and no other bone stands there, mm.
BUSK_REACH_MM = 15.0

# Outlines are only looked at, to see where a line meets them: finer than a pen's width.
LOOK_MM = 0.01
# A line of this length leaves every piece.
BEYOND_MM = 2000.0
# The middle of a panel is drawn through so many heights.
HEIGHTS = 9
# A drawn end this near to the outline lies on it.
ON_OUTLINE_MM = 0.05


@dataclass(frozen=True, slots=True)
class ChannelRules:
    """Where channels go: seams with these roles; `closure` mm from a laced edge; `widest` mm between bones.

    `busk_reach` keeps panel bones clear of a front closure.
    """

    seams: frozenset[Role] = frozenset({Role.PANEL_SEAM, Role.SIDE_SEAM, Role.CENTRE})
    closure: tuple[float, ...] = (6.5, 28.0)
    centre: bool = True
    widest: float = 90.0
    busk_reach: float = BUSK_REACH_MM


@dataclass(frozen=True, slots=True)
class Channel:
    """A channel from its lower to its upper finished edge, in the frame of the piece it is drawn on.

    `lower` and `upper` are the roles of the edges it ends at; `count` is how often it is on the garment.
    """

    name: str
    place: Place
    piece: str
    curve: Curve
    lower: Role
    upper: Role
    count: int

    @property
    def length(self) -> float:
        """Along the channel between the finished edges, mm."""
        return self.curve.length

    @property
    def off_straight(self) -> float:
        """How far it leaves a straight line, mm per 100 mm: over its whole length and every 100 mm of it."""
        return bend_per_100(self.curve)


def channel_rules(options: OrderOptions) -> ChannelRules:
    """The usual rules with the order's bone and eyelet sizes.

    Bone, eyelet line, bone: a 7 mm steel has a 9 mm channel 2 mm from the edge (middle at 6.5), eyelets at 17
    and a second channel beyond their washers (middle at 17 + 6.5 + 4.5 = 28).
    """
    half = options.flat.channel / 2
    outer, inner = EDGE_STITCH_MM + half, options.eyelet_line + EYELET_REACH_MM + half
    return ChannelRules(closure=(outer, inner), widest=options.widest_between_bones)


def find_channels(style: Style, rules: ChannelRules) -> tuple[Channel, ...]:
    """All channels of the garment, from the centre front to the closure by piece; empty without a waist."""
    found = [
        *_seam_channels(style, rules),
        *(_centre_channels(style) if rules.centre else ()),
        *(channel for piece in style.pieces for channel in _closure_channels(style, piece, rules)),
        *(channel for piece in style.pieces for channel in _panel_channels(style, piece, rules)),
    ]
    order = {piece.name: i for i, piece in enumerate(style.pieces)}
    return tuple(sorted(found, key=lambda channel: order[channel.piece]))


def panel_middles(style: Style) -> tuple[Channel, ...]:
    """One straight upright channel at the middle of every panel's waist: the bones of a toile."""
    return tuple(
        channel
        for piece in style.pieces
        if WAIST in piece.levels and (ends := _side_ends(piece))
        for channel in _upright(style, piece, (ends[0] + ends[1]) / 2)
    )


# --- along seams -------------------------------------------------------------------------------------------


def _seam_channels(style: Style, rules: ChannelRules) -> Iterator[Channel]:
    """On the side of the seam with fewer edges, so that a bone runs past a junction of the other side."""
    for seam in style.seams:
        refs = min((seam.a, seam.b), key=len)
        for ref in refs:
            piece = style.piece(ref.piece)
            if piece.edge(ref.edge).role in rules.seams and WAIST in piece.levels:
                yield _along_edge(style, _seam_title(style, seam), "seam", piece, ref, style.sides)


def _centre_channels(style: Style) -> Iterator[Channel]:
    """Up the centre line of a half style: one bone for both sides."""
    sewn = {(ref.piece, ref.edge) for seam in style.seams for ref in (*seam.a, *seam.b)}
    for piece in style.pieces:
        for edge in piece.edges:
            if edge.role is Role.CENTRE and WAIST in piece.levels and (piece.name, edge.name) not in sewn:
                ref = EdgeRef(piece.name, edge.name)
                yield _along_edge(style, f"centre {piece.part}", "centre", piece, ref, max(1, style.sides // 2))


def _along_edge(style: Style, name: str, place: Place, piece: Piece, ref: EdgeRef, count: int) -> Channel:
    index = next(i for i, edge in enumerate(piece.edges) if edge.name == ref.edge)
    curve = piece.edges[index].curve
    before, after = edges_at(piece, index)[0], edges_at(piece, (index + 1) % len(piece.edges))[1]
    if curve.start[1] > curve.end[1]:
        return Channel(name, place, piece.name, curve.reversed(), after.role, before.role, count)
    return Channel(name, place, piece.name, curve, before.role, after.role, count)


def _seam_title(style: Style, seam: Seam) -> str:
    """The pieces a seam joins, in words: `side front, side back`."""
    names = dict.fromkeys(style.piece(ref.piece).title.lower() for ref in (*seam.a[:1], *seam.b[:1]))
    return " / ".join(names)


# --- beside a laced closure --------------------------------------------------------------------------------


def _closure_channels(style: Style, piece: Piece, rules: ChannelRules) -> Iterator[Channel]:
    for edge in laced_edges(piece):
        for i, distance in enumerate(rules.closure):
            line = line_beside(piece, edge, distance)
            if line is not None:
                words = ("outside the eyelets", "inside the eyelets")[min(i, 1)]
                yield _ended(style, piece, f"{piece.title.lower()}, {words}", "closure", line)


def laced_edges(piece: Piece) -> tuple[Edge, ...]:
    """The closures of a piece that take eyelets: those of pieces marked for them, and of all back pieces."""
    if not (piece.eyelets or piece.part == "back"):
        return ()
    return tuple(edge for edge in piece.edges if edge.role is Role.CLOSURE)


def line_beside(piece: Piece, edge: Edge, distance: float) -> Curve | None:
    """The straight line `distance` mm inside a straight edge, from its lower to its upper end in the piece."""
    ahead = edge.curve.end - edge.curve.start
    ahead = ahead / np.linalg.norm(ahead)
    inwards = np.array([-ahead[1], ahead[0]])
    middle = (edge.curve.start + edge.curve.end) / 2 + distance * inwards
    return _through(piece, middle, ahead)


# --- up the middle of panels -------------------------------------------------------------------------------


def _panel_channels(style: Style, piece: Piece, rules: ChannelRules) -> Iterator[Channel]:
    """As many as keep neighbouring bones no further apart at the waist than the rules allow."""
    ends = _side_ends(piece)
    if WAIST not in piece.levels or ends is None:
        return
    left, right = _kept_clear(piece, rules)
    count = math.ceil((ends[1] - ends[0] - left - right) / rules.widest - 1e-9) - 1
    for k in range(1, count + 1):
        curve = _between(piece, k / (count + 1), left, right)
        if curve is not None:
            words = "middle" if count == 1 else f"{k} of {count} between"
            yield _ended(style, piece, f"{piece.title.lower()}, {words}", "panel", curve)


def _kept_clear(piece: Piece, rules: ChannelRules) -> tuple[float, float]:
    """What bones and busk beside a closure already hold at the left and the right of the waist, mm."""
    found = [0.0, 0.0]
    for edge in piece.edges:
        if edge.role is Role.CLOSURE:
            reach = rules.closure[-1] if edge in laced_edges(piece) else rules.busk_reach
            # An anticlockwise outline goes up its right side.
            found[1 if edge.curve.end[1] > edge.curve.start[1] else 0] = reach
    return found[0], found[1]


def _side_ends(piece: Piece) -> tuple[float, float] | None:
    """The outermost x of the piece at the waist."""
    meets = _meets(piece, piece.levels.get(WAIST, 0.0))
    return (meets[0], meets[-1]) if len(meets) >= 2 else None


def _meets(piece: Piece, y: float) -> list[float]:
    """Where the upright edges of the piece meet a height, sorted x."""
    return sorted(c.x for edge in piece.edges if edge.role in SIDES for c in edge.curve.crossings(y))


def _between(piece: Piece, share: float, left: float, right: float) -> Curve | None:
    """The curve that keeps its share of the way across, run on straight to the upper and lower edge."""
    low, high = _upright_stretch(piece)
    if not low < high:
        return None
    inside = np.linspace(low, high, HEIGHTS + 2)[1:-1]
    points = []
    for y in inside:
        meets = _meets(piece, float(y))
        a, b = meets[0] + left, meets[-1] - right
        points.append((a + share * (b - a), float(y)))
    return _run_on(piece, np.array(points))


def _upright_stretch(piece: Piece) -> tuple[float, float]:
    """The heights between which both sides at the waist are upright edges."""
    waist = piece.levels[WAIST]
    spans = [
        sorted((float(edge.curve.start[1]), float(edge.curve.end[1])))
        for edge in piece.edges
        if edge.role in SIDES and edge.curve.crossings(waist)
    ]
    return max(span[0] for span in spans), min(span[1] for span in spans)


def _run_on(piece: Piece, points: Floats) -> Curve | None:
    outline = outline_of(piece)
    upper = _exit(outline, points[-1], points[-1] - points[-2])
    lower = _exit(outline, points[0], points[0] - points[1])
    if upper is None or lower is None:
        return None
    return smooth_through(np.concatenate(([lower], points, [upper])))


def _exit(outline: Polygon, start: Floats, direction: Floats) -> Floats | None:
    """Where a straight line from inside leaves the outline first."""
    far = start + direction / np.linalg.norm(direction) * BEYOND_MM
    inside = outline.intersection(LineString([start, far]))
    parts = [inside] if inside.geom_type == "LineString" else list(getattr(inside, "geoms", ()))
    first = min(parts, key=lambda part: float(part.distance(Point(start))), default=None)
    if first is None or first.is_empty:
        return None
    return np.asarray(max(np.asarray(first.coords), key=lambda p: float(np.linalg.norm(p - start))))


# --- lines in a piece --------------------------------------------------------------------------------------


def _upright(style: Style, piece: Piece, x: float) -> Iterator[Channel]:
    line = _through(piece, np.array([x, piece.levels[WAIST]]), np.array([0.0, 1.0]))
    if line is not None:
        yield _ended(style, piece, f"{piece.title.lower()}, middle", "panel", line)


def _through(piece: Piece, at: Floats, ahead: Floats) -> Curve | None:
    """The straight line through a point, cut off where it leaves the piece, lower end first."""
    reach = ahead / np.linalg.norm(ahead) * BEYOND_MM
    inside = outline_of(piece).intersection(LineString([at - reach, at + reach]))
    parts = [inside] if inside.geom_type == "LineString" else list(getattr(inside, "geoms", ()))
    lines = [part for part in parts if part.geom_type == "LineString" and part.length > 0]
    if not lines:
        return None
    ends = sorted(np.asarray(max(lines, key=lambda line: float(line.length)).coords).tolist(), key=lambda p: p[1])
    return Curve.line(ends[0], ends[-1])


def outline_of(piece: Piece) -> Polygon:
    """The stitching line as a polygon."""
    return Polygon(np.concatenate([edge.curve.flatten(LOOK_MM)[:-1] for edge in piece.edges]))


def _ended(style: Style, piece: Piece, name: str, place: Place, curve: Curve) -> Channel:
    lower, upper = (_edge_at(piece, end).role for end in (curve.start, curve.end))
    return Channel(name, place, piece.name, curve, lower, upper, style.sides)


def _edge_at(piece: Piece, point: Floats) -> Edge:
    """The edge a point of the outline lies on."""
    return min(piece.edges, key=lambda edge: edge.curve.closest(point).distance)


# --- straightness ------------------------------------------------------------------------------------------

STRETCH_MM = 100.0
STEP_MM = 5.0


def bend_per_100(curve: Curve) -> float:
    """The largest distance from the chord, mm per 100 mm: of the whole curve and of every 100 mm of it."""
    whole = _sag(curve.points_at(np.linspace(0.0, curve.length, 101))) * STRETCH_MM / curve.length
    if curve.length <= STRETCH_MM:
        return whole
    starts = np.linspace(0.0, curve.length - STRETCH_MM, max(2, math.ceil(curve.length / STEP_MM)))
    steps = np.linspace(0.0, STRETCH_MM, 21)
    points = curve.points_at((starts[:, None] + steps).ravel()).reshape(len(starts), len(steps), 2)
    return max(whole, *(_sag(stretch) for stretch in points))


def _sag(points: Floats) -> float:
    chord = points[-1] - points[0]
    across = (points - points[0]) @ np.array([-chord[1], chord[0]]) / np.linalg.norm(chord)
    return float(np.abs(across).max())
