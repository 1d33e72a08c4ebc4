"""The tape over the bust: separation, depth, upper corner, centre top, armhole and the darts of a cup.

A bust point is the landmark of that name on an edge.  Cups are found by their roles, panelled styles by the panel seam
that carries the point; nothing is known of any one style.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from coutil.pattern._corners import corner_of, end_corners, neighbour
from coutil.pattern._spread import Floats, Spread, spread_out
from coutil.pattern._tape_girths import BUST_POINT, widths
from coutil.pattern._values import EdgeRef, KnotRef, Piece, PointRef, Role, Style

# Seams that join one panel to the next round the body; a cradle joins cups to panels.
UPRIGHT_SEAMS = frozenset({Role.PANEL_SEAM, Role.CUP_SEAM, Role.CENTRE, Role.CLOSURE})

UPPER_EDGES = frozenset({Role.NECKLINE, Role.ARMHOLE, Role.TOP})
BUST = "bust"


@dataclass(frozen=True, slots=True)
class BustPoint:
    """A bust point as one piece carries it, on one of its edges."""

    piece: Piece
    at: KnotRef

    @property
    def ref(self) -> PointRef:
        """The knot, named within the style."""
        return PointRef(self.piece.name, self.at.edge, self.at.knot)


def bust_points(style: Style | Spread) -> tuple[BustPoint, ...]:
    """Every bust point on every piece, in the order of the pieces."""
    spread = spread_out(style)
    return spread.remembered("bust_points", lambda: tuple(_bust_points(spread.style)))


def bust_point_separation(style: Style | Spread) -> float | None:
    """From bust point to bust point along the bust level, mm: the pieces between, and the gap of a closed front.

    None without a bust point.
    """
    spread = spread_out(style)
    if not bust_points(spread):
        return None
    between = [piece for group in _front_groups(spread.style) if not _reaches_side(group) for piece in group]
    found = widths(spread)
    total = sum(found[piece.name, BUST] for piece in between)
    opens = any(edge.role is Role.CLOSURE for piece in between for edge in piece.edges)
    gap = spread.style.base_fit.closure_gap if opens else 0.0
    return total * spread.style.sides + gap if between else None


def bust_point_to_underbust(style: Style | Spread) -> float | None:
    """Cup depth: along the seam from the bust point down to its foot or the underbust, mean of all pieces, mm."""
    return _mean(_along_seam(spread_out(style), below=True))


def bust_point_to_upper_corner(style: Style | Spread) -> float | None:
    """Along the seam from the bust point up to the upper corner, mean of all pieces, mm."""
    return _mean(_along_seam(spread_out(style), below=False))


def bust_point_to_centre_top(style: Style | Spread) -> float | None:
    """Straight on the flat piece from the bust point to the top of the centre line, mean over the sides, mm."""
    spread = spread_out(style)
    distances = []
    for bust_point in bust_points(spread):
        for corner in _centre_tops(bust_point.piece):
            distances.append(_straight(spread, bust_point, corner))
    return _mean(distances)


def bust_point_to_armhole(style: Style | Spread) -> float | None:
    """Straight on the flat piece from the bust point to the middle of the armhole, mean over the sides, mm.

    The middle is the landmark `armhole_middle`, else the point half-way along the edge.
    """
    spread = spread_out(style)
    return _mean(
        float(np.linalg.norm(middle - spread.point(bust_point.piece.name, bust_point.at)))
        for bust_point in bust_points(spread)
        for middle in _armhole_middles(spread, bust_point.piece)
    )


def lower_dart_angles(style: Style | Spread) -> tuple[float, ...]:
    """Degrees each cup's lower dart stands open: bust points and bust levels laid on each other, foot to foot."""
    return tuple(_darts(spread_out(style), below=True))


def upper_dart_angles(style: Style | Spread) -> tuple[float, ...]:
    """Degrees each cup's upper dart stands open, at the upper corners."""
    return tuple(_darts(spread_out(style), below=False))


def seam_end(piece: Piece, edge: str, below: bool) -> int:
    """The knot at which a seam over the bust ends below (foot) or above (upper corner).

    The landmark says which; else the edge beside it does, and last the height.
    """
    curve = piece.edge(edge).curve
    knots = (0, curve.n_spans)
    named = piece.landmark("foot" if below else "upper_corner")
    for knot in knots:
        if named is not None and corner_of(piece, KnotRef(edge, knot)) == corner_of(piece, named):
            return knot
    start, end = end_corners(piece, EdgeRef("", edge))
    upper = [neighbour(piece, edge, corner).role in UPPER_EDGES for corner in (start, end)]
    if upper[0] != upper[1]:
        return knots[upper.index(not below)]
    return knots[int((curve.end[1] < curve.start[1]) == below)]


def _bust_points(style: Style) -> Iterator[BustPoint]:
    for piece in style.pieces:
        for mark in piece.landmarks:
            if mark.name == BUST_POINT:
                yield BustPoint(piece, mark.at)


def _along_seam(spread: Spread, below: bool) -> list[float]:
    return [
        abs(spread.along(_seam_stop(bust_point, below)) - spread.along(bust_point.ref))
        for bust_point in bust_points(spread)
    ]


def _seam_stop(bust_point: BustPoint, below: bool) -> PointRef:
    """Where the tape down or up the seam stops: the underbust mark where the seam runs past it, else the seam's end."""
    piece, edge = bust_point.piece, bust_point.at.edge
    underbust = [at.knot for at in piece.marks_of("underbust") if at.edge == edge]
    knot = underbust[0] if below and underbust else seam_end(piece, edge, below)
    return PointRef(piece.name, edge, knot)


def _front_groups(style: Style) -> list[list[Piece]]:
    """Front pieces that carry the bust level, gathered across every seam that runs over no bust point."""
    groups = [[piece] for piece in style.pieces if piece.part == "front" and BUST in piece.levels]
    over = {(bust_point.piece.name, bust_point.at.edge) for bust_point in _bust_points(style)}
    for seam in style.seams:
        edges = {(ref.piece, ref.edge) for ref in (*seam.a, *seam.b)}
        upright = all(style.piece(piece).edge(edge).role in UPRIGHT_SEAMS for piece, edge in edges)
        if edges & over or not upright:
            continue
        names = {name for name, _ in edges}
        joined = [group for group in groups if any(piece.name in names for piece in group)]
        if joined:
            groups = [group for group in groups if group not in joined] + [[p for group in joined for p in group]]
    return groups


def _reaches_side(group: list[Piece]) -> bool:
    return any(edge.role is Role.SIDE_SEAM for piece in group for edge in piece.edges)


def _centre_tops(piece: Piece) -> Iterator[int]:
    """Corners at which the centre line, or the front closure in its place, ends at the neckline or top."""
    for i, after in enumerate(piece.edges):
        before = piece.edges[i - 1]
        roles = (before.role, after.role)
        if any(role.is_vertical for role in roles) and any(role in UPPER_EDGES for role in roles):
            yield i


def _straight(spread: Spread, bust_point: BustPoint, corner: int) -> float:
    piece = bust_point.piece
    there = spread.point(piece.name, KnotRef(piece.edges[corner].name, 0))
    return float(np.linalg.norm(there - spread.point(piece.name, bust_point.at)))


def _armhole_middles(spread: Spread, piece: Piece) -> Iterator[Floats]:
    named = piece.landmark("armhole_middle")
    if named is not None:
        yield spread.point(piece.name, named)
        return
    for edge in piece.edges:
        if edge.role is Role.ARMHOLE:
            yield edge.curve.point_at(edge.curve.length / 2)


def _darts(spread: Spread, below: bool) -> Iterator[float]:
    for one, other in _cup_pairs(spread.style):
        turned = abs(_direction(spread, one, below) - _direction(spread, other, below)) % 360.0
        yield min(turned, 360.0 - turned)


def _cup_pairs(style: Style) -> Iterator[tuple[BustPoint, BustPoint]]:
    """Bust points that are sewn upon each other along a cup seam."""
    known = {(point.piece.name, point.at.edge): point for point in _bust_points(style)}
    for seam in style.seams:
        one = next((known[ref.piece, ref.edge] for ref in seam.a if (ref.piece, ref.edge) in known), None)
        other = next((known[ref.piece, ref.edge] for ref in seam.b if (ref.piece, ref.edge) in known), None)
        if one and other and one.piece.edge(one.at.edge).role is Role.CUP_SEAM:
            yield one, other


def _direction(spread: Spread, bust_point: BustPoint, below: bool) -> float:
    piece, edge = bust_point.piece, bust_point.at.edge
    end = spread.point(piece.name, KnotRef(edge, seam_end(piece, edge, below)))
    away = end - spread.point(piece.name, bust_point.at)
    return math.degrees(math.atan2(away[1], away[0]))


def _mean(values: Iterator[float] | list[float]) -> float | None:
    found = list(values)
    return sum(found) / len(found) if found else None
