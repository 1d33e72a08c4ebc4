"""The tape round the pattern: widths of pieces, girths of the garment, and the girth scanned level by level.

Everything is measured on the stitching line as a maker lays a tape on the flat pieces: along the level line, inside
the outline.  Nothing here knows how a pattern was altered.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coutil.errors import BadStyle
from coutil.pattern._corners import corner_of, edges_at
from coutil.pattern._spread import Floats, Spread, spread_out
from coutil.pattern._values import Fit, KnotRef, Piece, Role, Style

Ints = NDArray[np.intp]

BUST_POINT = "bust_point"

# A span is looked at in this many places before its meeting with a line is refined.
LOOKS = 16
# Five steps from the middle of a sixteenth are exact on any gentle curve; what is not is halved to the last digit.
NEWTON_STEPS = 5
BISECTIONS = 36
ON_LINE_MM = 1e-9

# Edges that close a piece above and below; beside them the tape runs over another piece.
CLOSING = frozenset({Role.CRADLE, Role.TOP, Role.NECKLINE, Role.ARMHOLE, Role.HEM})

# The scan stays this far inside its ends.
INSIDE_MM = 1e-6

_T = np.linspace(0.0, 1.0, LOOKS + 1)
_LOOK = np.stack(((1 - _T) ** 3, 3 * (1 - _T) ** 2 * _T, 3 * (1 - _T) * _T**2, _T**3), axis=1)


@dataclass(frozen=True, slots=True)
class Girth:
    """Net girth of the pieces at one level, both sides of the body, mm."""

    front: float
    back: float

    @property
    def full(self) -> float:
        """Front and back together, mm."""
        return self.front + self.back


@dataclass(frozen=True, slots=True, eq=False)
class _Meetings:
    """Where spans meet horizontals: the span's and the line's number, x in mm, +1 where the span goes up, else -1."""

    span: Ints
    line: Ints
    x: Floats
    way: Floats


def width(piece: Piece, level: str) -> float:
    """Extent inside the outline along a level line, mm; raises BadStyle where the piece does not carry the level.

    A level that meets a corner is measured at the corner, and over a cup the tape runs to the bust point itself.
    """
    if level not in piece.levels:
        raise BadStyle(f"piece {piece.name} does not carry the level {level}")
    spans = np.concatenate([edge.curve.spans for edge in piece.edges])
    return _widths_of((piece,), spans)[piece.name, level]


def widths(style: Style | Spread) -> dict[tuple[str, str], float]:
    """The width of every piece at every level it carries, mm, by (piece, level)."""
    spread = spread_out(style)
    return dict(spread.remembered("widths", lambda: _widths_of(spread.style.pieces, spread.spans)))


def girth(style: Style | Spread, level: str) -> Girth:
    """Net girth of all pieces that carry the level, both sides of the body; raises BadStyle where none does."""
    spread = spread_out(style)
    if not any(level in piece.levels for piece in spread.style.pieces):
        raise BadStyle(f"no piece of style {spread.style.name} carries the level {level}")
    return girth_of_widths(spread.style, level, widths(spread))


def girth_of_widths(style: Style, level: str, found: Mapping[tuple[str, str], float]) -> Girth:
    """The girth at a level from widths already taken, by (piece, level)."""
    part = {"front": 0.0, "back": 0.0}
    for piece in style.pieces:
        part[piece.part] += found.get((piece.name, level), 0.0) * style.sides
    return Girth(part["front"], part["back"])


def laced_inside(style: Style | Spread, level: str, gap: float, closure_gap: float = 0.0) -> float:
    """Girth inside the closed and laced garment, mm: pieces and gaps, less what the cloth's thickness takes."""
    spread = spread_out(style)
    return girth(spread, level).full + gap + closure_gap - thickness_loss(spread.style)


def thickness_loss(style: Style) -> float:
    """By how much the girth inside is less than the pieces add up to, mm: 2 pi for each mm of cloth.

    The layers lie one inside the other; foam lies in the cups alone and does not count.
    """
    return 2 * math.pi * sum(layer.thickness for layer in style.layers if layer.allowance)


def scan(
    style: Style | Spread, step: float = 2.0, from_level: str = "underbust", to_level: str = "high_hip"
) -> Floats:
    """Full net girth every `step` mm at most between two levels, (m, 2): height above the waist and girth.

    Over all pieces that carry both levels, and only where no cradle, top or hem is in the way; raises BadStyle where
    no piece carries both or nothing is left between them.
    """
    spread = spread_out(style)
    pieces = tuple(p for p in spread.style.pieces if from_level in p.levels and to_level in p.levels)
    if not pieces:
        raise BadStyle(f"no piece of style {spread.style.name} reaches from {from_level} to {to_level}")
    heights = _heights_between(*_open_stretch(spread, pieces, (from_level, to_level)), step)
    waists = [piece.levels.get("waist", 0.0) for piece in pieces]
    outlines = [spread.spans[spread.piece_place(piece.name)] for piece in pieces]
    lines = heights + np.repeat(waists, [len(outline) for outline in outlines])[:, None]
    total = _extents(np.concatenate(outlines), lines)
    return np.stack((heights, total * spread.style.sides), axis=1)


def measured_fit(
    style: Style | Spread, lacing_gap: float, closure_gap: float = 0.0, reduction: float = 0.0
) -> Fit:
    """The fit as the tape finds it against the base chart: ease by level = inside + gaps + reduction - body, mm.

    Inside is the net girth of the pieces less what the cloth's thickness takes.  The reduction counts at the waist
    alone.  Levels the base chart has no girth for are left out.
    """
    spread = spread_out(style)
    found, ease = widths(spread), {}
    for level in spread.style.levels:
        body = spread.style.base_chart.get(f"{level.measure}_girth") if level.measure else None
        if body is not None and any(level.name in piece.levels for piece in spread.style.pieces):
            pulled = reduction if level.measure == "waist" else 0.0
            garment = girth_of_widths(spread.style, level.name, found).full - thickness_loss(spread.style)
            ease[level.name] = garment + lacing_gap + closure_gap + pulled - body
    return Fit(ease, reduction, lacing_gap, closure_gap)


def _open_stretch(spread: Spread, pieces: Sequence[Piece], levels: tuple[str, str]) -> tuple[float, float]:
    """Lower and upper height above the waist between which every piece has upright edges alone at its sides."""
    low, high = -math.inf, math.inf
    for piece in pieces:
        waist = piece.levels.get("waist", 0.0)
        ends = sorted(piece.levels[name] - waist for name in levels)
        low, high = max(low, ends[0]), min(high, ends[1])
        for edge in piece.edges:
            if edge.role in CLOSING:
                # The handles enclose the curve, so no dip between two places is missed.
                y = spread.spans[spread.place(piece.name, edge.name), :, 1] - waist
                low, high = (max(low, y.max()), high) if edge.role is Role.HEM else (low, min(high, y.min()))
    if not low < high:
        raise BadStyle(f"style {spread.style.name} has no stretch between {levels[0]} and {levels[1]} to measure")
    return float(low), float(high)


def _heights_between(low: float, high: float, step: float) -> Floats:
    """Heights from the lower up; the ends lie a hair inside, as outlines often end exactly there."""
    return np.linspace(low + INSIDE_MM, high - INSIDE_MM, max(2, math.ceil((high - low) / step) + 1))


def _widths_of(pieces: Sequence[Piece], spans: Floats) -> dict[tuple[str, str], float]:
    """Widths of pieces whose outlines lie one after the other in `spans`."""
    owners = [(piece, edge.name) for piece in pieces for edge in piece.edges for _ in range(edge.curve.n_spans)]
    meetings = _meetings(spans, _level_lines(pieces))
    crossed: dict[tuple[str, str], list[tuple[str, float]]] = {}
    for span, line, x in zip(meetings.span.tolist(), meetings.line.tolist(), meetings.x.tolist(), strict=True):
        piece, edge = owners[span]
        crossed.setdefault((piece.name, tuple(piece.levels)[line]), []).append((edge, x))
    return {
        (piece.name, level): _width(piece, level, crossed.get((piece.name, level), []))
        for piece in pieces
        for level in piece.levels
    }


def _level_lines(pieces: Sequence[Piece]) -> Floats:
    """The heights of each span's own levels, one row a span; not a number where its piece has fewer."""
    most = max((len(piece.levels) for piece in pieces), default=0)
    rows = np.full((len(pieces), most), np.nan)
    for row, piece in zip(rows, pieces, strict=True):
        row[: len(piece.levels)] = tuple(piece.levels.values())
    return np.repeat(rows, [sum(edge.curve.n_spans for edge in piece.edges) for piece in pieces], axis=0)


def _width(piece: Piece, level: str, crossed: Sequence[tuple[str, float]]) -> float:
    points, measured = _points_on_level(piece, level)
    return _inside(sorted([*points, *(x for edge, x in crossed if edge not in measured)]))


def _points_on_level(piece: Piece, level: str) -> tuple[list[float], set[str]]:
    """x of the corners and bust points the level runs through, and the edges that are thereby measured."""
    points: dict[tuple[float, float], float] = {}
    closed: set[str] = set()
    for at in piece.marks_of(level):
        corner = corner_of(piece, at)
        if corner is None and not _is_cup_point(piece, at):
            continue
        point = piece.point(at)
        points[float(point[0]), float(point[1])] = float(point[0])
        closed.update((at.edge,) if corner is None else (edge.name for edge in edges_at(piece, corner)))
    return list(points.values()), closed


def _is_cup_point(piece: Piece, at: KnotRef) -> bool:
    if piece.edge(at.edge).role is not Role.CUP_SEAM:
        return False
    return any(mark.name == BUST_POINT and mark.at == at for mark in piece.landmarks)


def _inside(xs: list[float]) -> float:
    """Length inside the outline between sorted meetings; where one is missing, from the first to the last."""
    if len(xs) % 2:
        return xs[-1] - xs[0]
    return sum(xs[i + 1] - xs[i] for i in range(0, len(xs), 2))


def _extents(spans: Floats, lines: Floats) -> Floats:
    """Length inside anticlockwise outlines along each line: their right sides go up, their left sides down."""
    meetings = _meetings(spans, lines)
    return np.asarray(np.bincount(meetings.line, meetings.x * meetings.way, lines.shape[1]), dtype=float)


def _meetings(spans: Floats, lines: Floats) -> _Meetings:
    """Where each span meets its own row of heights (s, m); a line through a knot meets one of its two spans.

    A height that is not a number is met nowhere.
    """
    below = (spans[:, :, 1] @ _LOOK.T)[:, :, None] <= lines[:, None, :]
    span, look, line = np.nonzero(below[:, :-1] != below[:, 1:])
    way = np.where(below[span, look, line], 1.0, -1.0)
    x, y = spans[span, :, 0], spans[span, :, 1] - lines[span, line][:, None]
    return _Meetings(span, line, _bernstein(x, _roots(y, look / LOOKS, (look + 1) / LOOKS)), way)


def _roots(y: Floats, low: Floats, high: Floats) -> Floats:
    """Where cubics with Bernstein coefficients (m, 4) change sign in a bracket: Newton, bisection where it fails."""
    t = 0.5 * (low + high)
    legs = 3 * np.diff(y, axis=1)
    for _ in range(NEWTON_STEPS):
        slope = (1 - t) ** 2 * legs[:, 0] + 2 * (1 - t) * t * legs[:, 1] + t * t * legs[:, 2]
        t = np.clip(t - _bernstein(y, t) / np.where(slope == 0.0, np.inf, slope), low, high)
    missed = np.abs(_bernstein(y, t)) > ON_LINE_MM
    if missed.any():
        t[missed] = _bisected(y[missed], low[missed], high[missed])
    return t


def _bisected(y: Floats, low: Floats, high: Floats) -> Floats:
    rising = _bernstein(y, high) > 0
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        beyond = (_bernstein(y, middle) > 0) == rising
        low, high = np.where(beyond, low, middle), np.where(beyond, middle, high)
    return 0.5 * (low + high)


def _bernstein(values: Floats, t: Floats) -> Floats:
    s = 1 - t
    outer = s**3 * values[:, 0] + t**3 * values[:, 3]
    return np.asarray(outer + 3 * s * t * (s * values[:, 1] + t * values[:, 2]))
