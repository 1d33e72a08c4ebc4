"""A style spread out for measuring: all its spans in one array, with the arc length up to every knot."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from coutil.curves import span_lengths
from coutil.errors import BadStyle
from coutil.pattern._values import EdgeRef, KnotRef, PointRef, Style

Floats = NDArray[np.float64]
Known = TypeVar("Known")

# A base, what is altered from it, and some to spare.
KEPT_STYLES = 8

# Where a span and its two halves disagree by more, it is no gentle curve and is measured with care instead.
SAME_LENGTH_MM = 1e-9

_FIRST_HALF = np.array([[8, 0, 0, 0], [4, 4, 0, 0], [2, 4, 2, 0], [1, 3, 3, 1]]) / 8
_SECOND_HALF = _FIRST_HALF[::-1, ::-1]


@dataclass(frozen=True, slots=True, eq=False)
class Spread:
    """`spans` (s, 4, 2) of all edges in order, `upto` (s + 1,) the length before each, mm; `places` of the edges."""

    style: Style
    spans: Floats
    upto: Floats
    places: Mapping[tuple[str, str], slice]
    _known: dict[str, Any] = field(init=False, repr=False, default_factory=dict)

    def place(self, piece: str, edge: str) -> slice:
        """The edge's spans; raises BadStyle where there is no such edge."""
        found = self.places.get((piece, edge))
        if found is None:
            raise BadStyle(f"style {self.style.name} has no edge {edge} on a piece {piece}")
        return found

    def piece_place(self, piece: str) -> slice:
        """The spans of the whole outline of a piece."""
        edges = self.style.piece(piece).edges
        return slice(self.place(piece, edges[0].name).start, self.place(piece, edges[-1].name).stop)

    def length(self, piece: str, edge: str) -> float:
        """Length of an edge along the stitching line, mm."""
        place = self.place(piece, edge)
        return float(self.upto[place.stop] - self.upto[place.start])

    def along(self, at: PointRef) -> float:
        """Arc length from the edge's start to a knot, mm; raises BadStyle where the edge has no such knot."""
        place = self.place(at.piece, at.edge)
        if not 0 <= at.knot <= place.stop - place.start:
            raise BadStyle(f"edge {at.edge} of {at.piece} has no knot {at.knot}")
        return float(self.upto[place.start + at.knot] - self.upto[place.start])

    def point(self, piece: str, at: KnotRef) -> Floats:
        """Coordinates of a knot in its piece's own frame, shape (2,), mm."""
        place = self.place(piece, at.edge)
        if at.knot == place.stop - place.start:
            return np.asarray(self.spans[place.stop - 1, 3])
        return np.asarray(self.spans[place.start + at.knot, 0])

    def remembered(self, name: str, compute: Callable[[], Known]) -> Known:
        """What was computed under that name before; a spread never changes, so it is computed once."""
        if name not in self._known:
            self._known[name] = compute()
        found: Known = self._known[name]
        return found

    def chain_length(self, chain: tuple[EdgeRef, ...]) -> float:
        """Length of a chain of edges, mm."""
        return sum(self.length(ref.piece, ref.edge) for ref in chain)


def spread_out(style: Style | Spread) -> Spread:
    """The style spread out; a spread is taken as it is.

    The styles spread out last are kept with what was measured on them: a base is measured for every client.
    """
    return style if isinstance(style, Spread) else _kept(_Itself(style))


@dataclass(frozen=True, slots=True, eq=False)
class _Itself:
    """A style known by being that very value: comparing its contents would take longer than spreading it out."""

    style: Style

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Itself) and other.style is self.style

    def __hash__(self) -> int:
        return id(self.style)


@lru_cache(maxsize=KEPT_STYLES)
def _kept(itself: _Itself) -> Spread:
    places: dict[tuple[str, str], slice] = {}
    curves, start = [], 0
    for piece in itself.style.pieces:
        for edge in piece.edges:
            stop = start + edge.curve.n_spans
            places[piece.name, edge.name] = slice(start, stop)
            curves.append(edge.curve)
            start = stop
    spans = _spans_of([curve.points for curve in curves])
    lengths = _by_halves(spans)
    if lengths is None:
        lengths = np.concatenate([curve.span_lengths for curve in curves])
    return Spread(itself.style, spans, np.concatenate(([0.0], np.cumsum(lengths))), places)


def _spans_of(points: list[Floats]) -> Floats:
    """The spans (s, 4, 2) of curves given by their points, in order."""
    starts: list[int] = []
    before = 0
    for own in points:
        starts += range(before, before + len(own) - 1, 3)
        before += len(own)
    return np.asarray(np.concatenate(points)[np.array(starts)[:, None] + np.arange(4)])


def _by_halves(spans: Floats) -> Floats | None:
    """Lengths by one quadrature over both halves of every span, or None where the whole span disagrees."""
    halves = np.concatenate((_FIRST_HALF @ spans, _SECOND_HALF @ spans))
    fine = span_lengths(halves).reshape(2, -1).sum(axis=0)
    return fine if np.abs(fine - span_lengths(spans)).max() <= SAME_LENGTH_MM else None
