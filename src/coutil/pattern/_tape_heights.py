"""The tape up and down: heights above the waist, lengths below it, and the run of the upper edge."""

from __future__ import annotations

from collections.abc import Iterator

from coutil.pattern._spread import Spread, spread_out
from coutil.pattern._values import Edge, Part, Piece, Role, Style

WAIST = "waist"


def level_height(style: Style | Spread, level: str, part: Part = "front") -> float | None:
    """Plumb height of a level above the waist on the pieces of that part that carry both, mm; negative below."""
    for piece in spread_out(style).style.pieces:
        if piece.part == part and level in piece.levels and WAIST in piece.levels:
            return piece.levels[level] - piece.levels[WAIST]
    return None


def side_height(style: Style | Spread) -> float | None:
    """Plumb height of the underarm corner of the back's side seam above the waist, mean over the sides, mm."""
    return _mean(max(ys) - piece.levels[WAIST] for piece, ys in _back_side_seams(spread_out(style)))


def side_below_waist(style: Style | Spread) -> float | None:
    """Plumb depth of the hem below the waist at the back's side seam, mean over the sides, mm."""
    return _mean(piece.levels[WAIST] - min(ys) for piece, ys in _back_side_seams(spread_out(style)))


def centre_front_height(style: Style | Spread) -> float | None:
    """Along the assembled centre front from the waist to its top, mm: panel to the peak, then cup to the neckline."""
    return _centre_height(spread_out(style), "front")


def centre_back_height(style: Style | Spread) -> float | None:
    """Along the assembled centre back from the waist to the top, mm."""
    return _centre_height(spread_out(style), "back")


def centre_below_waist(style: Style | Spread, part: Part) -> float | None:
    """Depth of the hem below the waist on the centre line of a part, mean over the sides, mm."""
    spread = spread_out(style)
    return _mean(
        piece.levels[WAIST] - min(_ends(spread, piece, edge))
        for piece, edge in _centre_edges(spread.style, part)
        if WAIST in piece.levels
    )


def top_edge_run(style: Style | Spread) -> float | None:
    """Length of neckline, armholes and top all round, without the gap, mm; None where the style has no such edge."""
    spread = spread_out(style)
    lengths = [
        spread.length(piece.name, edge.name)
        for piece in spread.style.pieces
        for edge in piece.edges
        if edge.role in (Role.NECKLINE, Role.ARMHOLE, Role.TOP)
    ]
    return sum(lengths) * spread.style.sides if lengths else None


def _centre_height(spread: Spread, part: Part) -> float | None:
    """Lengths of all centre edges above the waist, over the number of centre lines that start below it."""
    edges = list(_centre_edges(spread.style, part))
    lines = sum(WAIST in piece.levels for piece, _ in edges)
    if not lines:
        return None
    return sum(_above_waist(spread, piece, edge) for piece, edge in edges) / lines


def _above_waist(spread: Spread, piece: Piece, edge: Edge) -> float:
    """Of an upright edge on a piece that carries the waist the part above it, of another piece the whole."""
    if WAIST not in piece.levels:
        return spread.length(piece.name, edge.name)
    return max(_ends(spread, piece, edge)) - piece.levels[WAIST]


def _centre_edges(style: Style, part: Part) -> Iterator[tuple[Piece, Edge]]:
    """The centre line of a part: its centre edges, and a closure where the piece has no centre edge."""
    for piece in style.pieces:
        if piece.part != part:
            continue
        for role in (Role.CENTRE, Role.CLOSURE):
            found = [edge for edge in piece.edges if edge.role is role]
            yield from ((piece, edge) for edge in found)
            if found:
                break


def _back_side_seams(spread: Spread) -> Iterator[tuple[Piece, tuple[float, float]]]:
    """Back pieces with a side seam that carry the waist, each with the heights of the seam's two ends."""
    for piece in spread.style.pieces:
        for edge in piece.edges:
            if piece.part == "back" and edge.role is Role.SIDE_SEAM and WAIST in piece.levels:
                yield piece, _ends(spread, piece, edge)


def _ends(spread: Spread, piece: Piece, edge: Edge) -> tuple[float, float]:
    place = spread.place(piece.name, edge.name)
    return float(spread.spans[place.start, 0, 1]), float(spread.spans[place.stop - 1, 3, 1])


def _mean(values: Iterator[float]) -> float | None:
    found = list(values)
    return sum(found) / len(found) if found else None
