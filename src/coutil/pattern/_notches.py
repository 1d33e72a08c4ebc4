"""Notches, derived: where two sewn edges are to meet, both carry a mark at the same place along the seam."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

from coutil.pattern._spread import Spread, spread_out
from coutil.pattern._tape_seams import along_chain, place_on_chain, seam_lengths
from coutil.pattern._values import EdgeRef, Notch, PointRef, Seam, Style

# A notch this near to a corner would be cut by the corner itself, which is mark enough.
AT_CORNER_MM = 1.0

# Level marks of both sides that lie this near to an existing pair add nothing to it.
SAME_NOTCH_MM = 1.0

Pair = tuple[str, float, float]
Marks = dict[str, list[Notch]]


class Mark(NamedTuple):
    """A notch to be: its name, mm along the chain, and how many strokes."""

    name: str
    distance: float
    strokes: int


def with_notches(style: Style) -> Style:
    """The style with its notches drawn anew at every match point, level and free junction of every seam.

    Two strokes on both sides of a seam within the back, one on all others: the side seam carries one in front and
    back alike.  A corner is its own mark and gets none.
    """
    spread = spread_out(style)
    found: Marks = {piece.name: [] for piece in style.pieces}
    for seam in style.seams:
        strokes = _strokes(style, seam)
        for name, a, b in pairs_along(spread, seam):
            for chain, distance in ((seam.a, a), (seam.b, b)):
                _add(found, spread, chain, Mark(name, distance, strokes))
    marked = {piece.name: replace(piece, notches=tuple(found[piece.name])) for piece in style.pieces}
    return style.with_pieces(marked)


def pairs_along(style: Style | Spread, seam: Seam) -> tuple[Pair, ...]:
    """Where the two sides of a seam meet: name, mm along A, mm along B; without the seam's ends."""
    spread = spread_out(style)
    fixed = [*_matches(spread, seam)]
    pairs = [*fixed, *_free(spread, seam, fixed)]
    for pair in _levels(spread, seam, fixed):
        if not any(_same(pair, other) for other in pairs):
            pairs.append(pair)
    total = seam_lengths(spread, seam).total
    inner = [pair for pair in pairs if _within(pair[1], total.a) or _within(pair[2], total.b)]
    return tuple(sorted(inner, key=lambda pair: pair[1]))


def mate(pairs: list[Pair], ends: tuple[float, float], distance: float) -> float:
    """Where a point of A falls on B: between the neighbouring match points, in proportion."""
    stops = sorted([(0.0, 0.0), *((a, b) for _, a, b in pairs), ends])
    after = next((i for i, stop in enumerate(stops) if stop[0] >= distance and i), len(stops) - 1)
    (a0, b0), (a1, b1) = stops[after - 1], stops[after]
    return b0 if a1 <= a0 else b0 + (distance - a0) * (b1 - b0) / (a1 - a0)


def _matches(spread: Spread, seam: Seam) -> Iterator[Pair]:
    for match in seam.matches:
        if match.b is not None:
            yield match.name, along_chain(spread, seam.a, match.a), along_chain(spread, seam.b, match.b)


def _free(spread: Spread, seam: Seam, fixed: list[Pair]) -> Iterator[Pair]:
    """Points of A that fall on B by arc length: the junction of a chain met by one long edge."""
    ends = (spread.chain_length(seam.a), spread.chain_length(seam.b))
    for match in seam.matches:
        if match.b is None:
            distance = along_chain(spread, seam.a, match.a)
            yield match.name, distance, mate(fixed, ends, distance)


def _levels(spread: Spread, seam: Seam, fixed: list[Pair]) -> Iterator[Pair]:
    """Levels marked on A: met by the same level on B, or else by arc length."""
    ends = (spread.chain_length(seam.a), spread.chain_length(seam.b))
    on_b = dict(level_places(spread, seam.b))
    on_a = dict(level_places(spread, seam.a))
    for level, distance in on_a.items():
        yield level, distance, on_b.get(level, mate(fixed, ends, distance))
    backwards = [(name, b, a) for name, a, b in fixed]
    for level, distance in on_b.items():
        if level not in on_a:
            yield level, mate(backwards, (ends[1], ends[0]), distance), distance


def level_places(spread: Spread, chain: tuple[EdgeRef, ...]) -> Iterator[tuple[str, float]]:
    """The levels marked on a chain, each with mm along it."""
    for ref in chain:
        for mark in spread.style.piece(ref.piece).level_marks:
            if mark.at.edge == ref.edge:
                at = PointRef(ref.piece, ref.edge, mark.at.knot)
                yield mark.level, along_chain(spread, (ref,), at) + _before(spread, chain, ref)


def _before(spread: Spread, chain: tuple[EdgeRef, ...], ref: EdgeRef) -> float:
    return spread.chain_length(chain[: chain.index(ref)])


def _same(pair: Pair, other: Pair) -> bool:
    return abs(pair[1] - other[1]) < SAME_NOTCH_MM or abs(pair[2] - other[2]) < SAME_NOTCH_MM


def _within(along: float, length: float) -> bool:
    return AT_CORNER_MM < along < length - AT_CORNER_MM


def _add(found: Marks, spread: Spread, chain: tuple[EdgeRef, ...], mark: Mark) -> None:
    ref, along = place_on_chain(spread, chain, mark.distance)
    if _within(along, spread.length(ref.piece, ref.edge)):
        found[ref.piece].append(Notch(mark.name, ref.edge, along, mark.strokes))


def _strokes(style: Style, seam: Seam) -> int:
    return 2 if all(style.piece(ref.piece).part == "back" for ref in (*seam.a, *seam.b)) else 1
