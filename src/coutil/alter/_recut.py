"""Heights cut along the seams before anything is solved: a lowered end runs down its seam's own line.

A maker who lowers a side by 20 mm cuts 20 mm off the seam, on both pieces alike, and redraws the top into the new
corner; to raise it she lets the line run on, its bend fading out.  Moving the corner instead would bend the seam: its
end would keep its place sideways while its height changed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from coutil.alter._goals import HEM, TOP
from coutil.alter._layout import Floats
from coutil.alter._plan import Move
from coutil.curves import Curve, in_sight
from coutil.pattern import Edge, EdgeRef, KnotRef, Piece, Role, Seam, Style

CUT_ROLES = frozenset({Role.PANEL_SEAM, Role.SIDE_SEAM})

# A lengthened seam goes on with the bend it ends in, which fades to nothing over this way: the length of line an eye
# takes in with the end of a seam.
FADES_MM = 30.0
# A shortened seam keeps this much of its last span, so that the level below stays apart from the corner.
LEAST_LEFT_MM = 5.0
# Places at which a span is looked at, and as many on the line beyond it: heights are right to a hundredth of a mm.
LOOKS = 32

End = tuple[str, str, bool]


@dataclass(frozen=True, slots=True)
class Recut:
    """The base with its seams cut, and what part of each end's move is left for the solve: 0 where all was cut."""

    style: Style
    left: Mapping[tuple[str, str, str | None], float]


def recut(style: Style, moves: Iterable[Move]) -> Recut | None:
    """The style with every seam end that `moves` raise or lower cut or let run on; None where there is none."""
    wanted = _wanted(style, moves)
    curves: dict[tuple[str, str], Curve] = {}
    left: dict[tuple[str, str, str | None], float] = {}
    for seam in style.seams:
        for ends in _seam_ends(seam):
            named = {end: wanted[end] for end in ends if wanted.get(end)}
            if named and all(_may_be_cut(style.piece(piece), edge, at_end) for piece, edge, at_end in ends):
                part = _cut_seam(style, ends, named, curves)
                left |= {(p, e, _line(style.piece(p).edge(e), at_end)): 1.0 - part for p, e, at_end in ends}
    return Recut(_with_curves(style, curves), left) if curves else None


def _wanted(style: Style, moves: Iterable[Move]) -> dict[End, float]:
    """How far each seam end is to rise, mm."""
    found: dict[End, float] = {}
    for move in moves:
        if move.kind != "upwards" or move.level not in (TOP, HEM):
            continue
        edge = style.piece(move.piece).edge(move.edge)
        end = (move.piece, move.edge, _line(edge, True) == move.level)
        found[end] = found.get(end, 0.0) + move.amount
    return found


def _line(edge: Edge, at_end: bool) -> str:
    return TOP if (edge.curve.end[1] >= edge.curve.start[1]) == at_end else HEM


def _seam_ends(seam: Seam) -> Iterator[tuple[End, End]]:
    yield _end(seam.a[0], True), _end(seam.b[0], True)
    yield _end(seam.a[-1], False), _end(seam.b[-1], False)


def _end(ref: EdgeRef, first: bool) -> End:
    return ref.piece, ref.edge, ref.backward == first


def _may_be_cut(piece: Piece, edge: str, at_end: bool) -> bool:
    """Seams alone, and no corner that a level is measured at: that one stays where its girth is."""
    found = piece.edge(edge)
    corner = KnotRef(edge, found.curve.n_spans if at_end else 0)
    return found.role in CUT_ROLES and all(mark.at != corner for mark in piece.level_marks)


def _cut_seam(
    style: Style, ends: Sequence[End], named: Mapping[End, float], curves: dict[tuple[str, str], Curve]
) -> float:
    """Cut both mates by the same length and keep their curves; returns the part of the move that was reached."""
    outgoing = {end: _towards(style, end, curves) for end in ends}
    ways = [_way(outgoing[end], named[end], _outside(style, end)) for end in _leading(style, named)]
    way = sum(ways) / len(ways)
    shortest = min(float(curve.span_lengths[-1]) for curve in outgoing.values())
    kept = max(way, min(LEAST_LEFT_MM - shortest, 0.0))
    for end, curve in outgoing.items():
        cut = shortened(curve, -kept) if kept < 0 else lengthened(curve, kept, _outside(style, end))
        curves[end[0], end[1]] = cut if end[2] else cut.reversed()
    return kept / way


def _towards(style: Style, end: End, curves: Mapping[tuple[str, str], Curve]) -> Curve:
    """The edge as it runs towards that end."""
    piece, edge, at_end = end
    curve = curves.get((piece, edge), style.piece(piece).edge(edge).curve)
    return curve if at_end else curve.reversed()


def _outside(style: Style, end: End) -> float:
    """+1 where outwards is towards larger x: on an anticlockwise outline, an edge that runs up."""
    curve = style.piece(end[0]).edge(end[1]).curve
    return 1.0 if curve.end[1] >= curve.start[1] else -1.0


def _leading(style: Style, named: Mapping[End, float]) -> list[End]:
    """The ends whose heights count: the back alone sets those of a side seam."""
    back = [end for end in named if style.piece(end[0]).part == "back"]
    return back or list(named)


def _way(curve: Curve, rise: float, outside: float) -> float:
    """How much longer the seam gets for its end to rise by so much (mm); shorter is negative."""
    up = curve.tangent_at(curve.length)[1] > 0
    if (rise > 0) == up:
        return _way_on(curve, abs(rise), outside)
    height = float(curve.end[1]) + rise
    before = [curve.length - met.along for met in curve.crossings(height)]
    return -min(before, default=float(curve.span_lengths[-1]))


def shortened(curve: Curve, way: float) -> Curve:
    """The curve without its last `way` mm: the rest keeps its line exactly."""
    return curve.split(curve.length - way)[0]


def lengthened(curve: Curve, way: float, outside: float) -> Curve:
    """The curve with its last span drawn on by `way` mm, its bend fading out and never turning outwards."""
    if way <= 0.0:
        return curve
    run = _run_on(curve, way, outside)
    leans = _evened(run)
    along = run.along[-1] / 3
    start, end = (run.towards(lean) for lean in leans[[0, -1]])
    place = curve.knots[-2] + _walked(run, leans)[-1]
    return Curve(np.concatenate((curve.points[:-3], [curve.knots[-2] + along * start, place - along * end, place])))


def _way_on(curve: Curve, rise: float, outside: float) -> float:
    """Length of line that gains so much height (mm), within a seam's usual lean of no more than 60 degrees."""
    run = _run_on(curve, 2.0 * rise, outside)
    heights = np.abs(_walked(run, run.leans)[:, 1])
    own = heights[LOOKS]
    return float(np.interp(own + rise, heights, run.along)) - float(run.along[LOOKS])


@dataclass(frozen=True, slots=True)
class _Run:
    """The last span of a seam and the line beyond it: how far it leans outwards (radians) so far along (mm).

    The first LOOKS + 1 places are the span's own.  `outside` and `away` are +1 where outwards is towards larger x and
    the line runs upwards.
    """

    along: Floats
    leans: Floats
    outside: float
    away: float

    def towards(self, lean: float) -> Floats:
        """The direction of a line that leans so far."""
        return np.array([self.outside * math.sin(lean), self.away * math.cos(lean)])


def _run_on(curve: Curve, way: float, outside: float) -> _Run:
    """A seam's last span drawn on by `way` mm.

    Worked case (leaning in by 8 degrees, straightening by 0.45 degrees a mm): over 20 mm the bend fades from 0.45 to
    0.15, so that it turns by 20 * (0.45 + 0.15) / 2 = 6 degrees and leans in by 2; it never turns past upright.
    A bend outwards so slight that no eye sees it in the base ends there: drawn on, it would be seen.
    """
    places = np.linspace(0.0, 1.0, LOOKS + 1)[:, None]
    legs = 3 * np.diff(curve.spans[-1], axis=0)
    speeds = (1 - places) ** 2 * legs[0] + 2 * places * (1 - places) * legs[1] + places**2 * legs[2]
    away = 1.0 if speeds[-1, 1] > 0 else -1.0
    leans = np.arctan2(outside * speeds[:, 0], away * speeds[:, 1])
    along = _added_up(np.hypot(speeds[:, 0], speeds[:, 1]), places[:, 0])
    bend = -away * outside * curve.curvature_at(curve.length)
    if bend > 0.0 and not in_sight(math.degrees(leans[-1] - leans.min())):
        bend = 0.0
    beyond = way * places[1:, 0]
    within = np.minimum(beyond, FADES_MM)
    turned = leans[-1] + bend * (within - within**2 / (2 * FADES_MM))
    led = np.minimum(turned, max(float(leans[-1]), 0.0))
    return _Run(np.append(along, along[-1] + beyond), np.append(leans, led), outside, away)


def _evened(run: _Run) -> Floats:
    """The leans of a run as one span of a curve has them: from the same to the same, its bend changing evenly.

    The bend has no sign that the run's has not: a line that only turns outwards gets no hollow.
    """
    along, length = run.along, float(run.along[-1])
    turned = run.leans - run.leans[0]
    even, bow = turned[-1] * along / length, along * (along - length)
    share = float((turned - even) @ bow / (bow @ bow))
    steps = np.diff(run.leans)
    if (steps >= 0.0).all() or (steps <= 0.0).all():
        most = abs(float(turned[-1])) / length**2
        share = min(max(share, -most), most)
    return np.asarray(run.leans[0] + even + share * bow)


def _walked(run: _Run, leans: Floats) -> Floats:
    """The places of a line that leans so, from its start, (n, 2)."""
    across = run.outside * _added_up(np.sin(leans), run.along)
    return np.stack((across, run.away * _added_up(np.cos(leans), run.along)), axis=1)


def _added_up(values: Floats, along: Floats) -> Floats:
    """The integral up to every place, by the trapezoidal rule."""
    return np.concatenate(([0.0], np.cumsum(0.5 * (values[1:] + values[:-1]) * np.diff(along))))


def _with_curves(style: Style, curves: Mapping[tuple[str, str], Curve]) -> Style:
    """Every piece with its cut seams, and the edges between them drawn to the new corners."""
    pieces = {piece for piece, _ in curves}
    return style.with_pieces({name: _with_corners(style.piece(name), curves) for name in pieces})


def _with_corners(piece: Piece, curves: Mapping[tuple[str, str], Curve]) -> Piece:
    own = [curves.get((piece.name, edge.name), edge.curve) for edge in piece.edges]
    cut = [(piece.name, edge.name) in curves for edge in piece.edges]
    drawn = {}
    for i, edge in enumerate(piece.edges):
        before, after = i - 1, (i + 1) % len(own)
        start = own[before].end if cut[before] else own[i].start
        end = own[after].start if cut[after] else own[i].end
        drawn[edge.name] = own[i] if cut[i] else _led(own[i], start, end)
    return piece.with_curves(drawn)


def _led(curve: Curve, start: Floats, end: Floats) -> Curve:
    """The curve led to new ends, every point shifted in proportion to its place: no bend is added."""
    if np.array_equal(start, curve.start) and np.array_equal(end, curve.end):
        return curve
    widths = np.diff(curve.parameters)
    places = np.append((curve.parameters[:-1, None] + widths[:, None] * np.array([0.0, 1 / 3, 2 / 3])).ravel(), np.nan)
    places[-1] = curve.parameters[-1]
    share = (places / curve.parameters[-1])[:, None]
    points = curve.points + (1.0 - share) * (start - curve.start) + share * (end - curve.end)
    points[0], points[-1] = start, end
    return Curve(points)
