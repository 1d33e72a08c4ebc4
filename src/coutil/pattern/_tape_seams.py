"""The tape along the seams: both sides between match points, and any edge between two knots."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from coutil.errors import BadStyle
from coutil.pattern._spread import Spread, spread_out
from coutil.pattern._values import EdgeRef, PointRef, Seam, Style

# Two matches closer than this along both sides are one: a match at a seam's end is the end.
SAME_POINT_MM = 1e-6


@dataclass(frozen=True, slots=True)
class SeamSegment:
    """A seam between two match points: lengths of A and B, the ease B may have, and B - A - ease, mm."""

    name: str
    a: float
    b: float
    ease: float

    @property
    def difference(self) -> float:
        """What is wrong: positive where B is longer than A and its ease, mm."""
        return self.b - self.a - self.ease


@dataclass(frozen=True, slots=True)
class SeamLengths:
    """A seam as walked: its segments from match to match in the direction of sewing, and the whole."""

    seam: str
    segments: tuple[SeamSegment, ...]
    total: SeamSegment

    @property
    def worst(self) -> SeamSegment:
        """The segment, or the whole, whose difference is largest."""
        return max((self.total, *self.segments), key=lambda segment: abs(segment.difference))


def seam_lengths(style: Style | Spread, seam: Seam) -> SeamLengths:
    """Walk a seam.  The ease is spread over the segments by their length on A; a free match ends no segment."""
    spread = spread_out(style)
    a, b = spread.chain_length(seam.a), spread.chain_length(seam.b)
    stops = _stops(spread, seam, a, b)
    segments = tuple(
        SeamSegment(f"{name} to {to}", a1 - a0, b1 - b0, seam.ease * (a1 - a0) / a)
        for (name, a0, b0), (to, a1, b1) in pairwise(stops)
    )
    return SeamLengths(seam.name, segments, SeamSegment("whole seam", a, b, seam.ease))


def length_between(style: Style | Spread, piece: str, edge: str, knot: int, other: int) -> float:
    """Length of an edge between two of its knots, mm; the order does not matter."""
    spread = spread_out(style)
    return abs(spread.along(PointRef(piece, edge, other)) - spread.along(PointRef(piece, edge, knot)))


def along_chain(style: Style | Spread, chain: tuple[EdgeRef, ...], at: PointRef) -> float:
    """How far along a chain a knot lies, mm, in the direction of sewing; raises BadStyle where it is not on it."""
    spread = spread_out(style)
    before = 0.0
    for ref in chain:
        if (ref.piece, ref.edge) == (at.piece, at.edge):
            along = spread.along(at)
            return before + (spread.length(ref.piece, ref.edge) - along if ref.backward else along)
        before += spread.length(ref.piece, ref.edge)
    raise BadStyle(f"edge {at.edge} of {at.piece} is matched in a seam it does not belong to")


def place_on_chain(style: Style | Spread, chain: tuple[EdgeRef, ...], distance: float) -> tuple[EdgeRef, float]:
    """The edge, and mm from its own start, that lies `distance` mm along a chain; beyond the ends the ends."""
    spread = spread_out(style)
    for ref in chain:
        length = spread.length(ref.piece, ref.edge)
        if distance <= length or ref is chain[-1]:
            within = min(max(distance, 0.0), length)
            return ref, length - within if ref.backward else within
        distance -= length
    raise BadStyle("a seam needs at least one edge on each side")


def _stops(spread: Spread, seam: Seam, a: float, b: float) -> list[tuple[str, float, float]]:
    """Name, distance along A and along B of both ends and every match of two knots, in the order of A."""
    matched = [
        (match.name, along_chain(spread, seam.a, match.a), along_chain(spread, seam.b, match.b))
        for match in seam.matches
        if match.b is not None
    ]
    inner = [m for m in matched if not _near(m, 0.0, 0.0) and not _near(m, a, b)]
    start = next((stop[0] for stop in matched if _near(stop, 0.0, 0.0)), "start")
    end = next((stop[0] for stop in matched if _near(stop, a, b)), "end")
    return [(start, 0.0, 0.0), *sorted(_once(inner), key=lambda stop: stop[1]), (end, a, b)]


def _near(stop: tuple[str, float, float], a: float, b: float) -> bool:
    return abs(stop[1] - a) <= SAME_POINT_MM and abs(stop[2] - b) <= SAME_POINT_MM


def _once(stops: Iterable[tuple[str, float, float]]) -> list[tuple[str, float, float]]:
    kept: list[tuple[str, float, float]] = []
    for stop in stops:
        if not any(_near(stop, other[1], other[2]) for other in kept):
            kept.append(stop)
    return kept
