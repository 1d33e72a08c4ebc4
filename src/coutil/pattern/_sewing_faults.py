"""Faults of sewing: an edge sewn twice, or a chain whose edges do not follow each other on the garment."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

from coutil.pattern._values import EdgeRef, PointRef, Seam, Style

Corner = tuple[str, int]


class _Corners:
    """Which corners of the pieces lie upon each other once the garment is sewn."""

    def __init__(self, style: Style) -> None:
        """Reads the corners together from the ends and matches of every seam."""
        self._places = {
            (piece.name, edge.name): (i, len(piece.edges), edge.curve.n_spans)
            for piece in style.pieces
            for i, edge in enumerate(piece.edges)
        }
        self._upon: dict[Corner, Corner] = {}
        for seam in style.seams:
            self._read(seam)

    def start(self, ref: EdgeRef) -> Corner:
        """The corner at which the seam enters the edge."""
        i, count, _ = self._places[ref.piece, ref.edge]
        return ref.piece, (i + 1) % count if ref.backward else i

    def end(self, ref: EdgeRef) -> Corner:
        """The corner at which the seam leaves the edge."""
        return self.start(EdgeRef(ref.piece, ref.edge, not ref.backward))

    def are_one(self, a: Corner, b: Corner) -> bool:
        """Whether the two corners lie upon each other."""
        return self._find(a) == self._find(b)

    def _read(self, seam: Seam) -> None:
        self._join(self.start(seam.a[0]), self.start(seam.b[0]))
        self._join(self.end(seam.a[-1]), self.end(seam.b[-1]))
        for match in seam.matches:
            if match.b is not None:
                self._join(self._corner_at(match.a), self._corner_at(match.b))

    def _corner_at(self, point: PointRef) -> Corner | None:
        i, count, last = self._places[point.piece, point.edge]
        return {0: (point.piece, i), last: (point.piece, (i + 1) % count)}.get(point.knot)

    def _join(self, a: Corner | None, b: Corner | None) -> None:
        if a is not None and b is not None and not self.are_one(a, b):
            self._upon[self._find(a)] = self._find(b)

    def _find(self, corner: Corner) -> Corner:
        while corner in self._upon:
            corner = self._upon[corner]
        return corner


def find_sewing_faults(style: Style) -> Iterator[str]:
    """Each fault of the seams, in a sentence without its full stop; every reference is known to be good."""
    yield from _sewn_twice(style)
    corners = _Corners(style)
    for seam in style.seams:
        for side, chain in (("A", seam.a), ("B", seam.b)):
            yield from _broken_chain(seam, side, chain, corners)


def _sewn_twice(style: Style) -> Iterator[str]:
    times = Counter(place for seam in style.seams for place in _edges_sewn(seam, style.half))
    for (piece, edge), count in times.items():
        if count > 1:
            seams = ", ".join(s.name for s in style.seams if (piece, edge) in _edges_sewn(s, style.half))
            yield f"edge {edge} of piece {piece} is sewn {count} times (seam {seams}); an edge is sewn once"


def _edges_sewn(seam: Seam, half: bool) -> list[tuple[str, str]]:
    a = [(ref.piece, ref.edge) for ref in seam.a]
    b = [(ref.piece, ref.edge) for ref in seam.b]
    # On a half pattern an edge on the centre line is sewn to its own mirror image.
    return a if half and a == b else a + b


def _broken_chain(seam: Seam, side: str, chain: tuple[EdgeRef, ...], corners: _Corners) -> Iterator[str]:
    for before, after in pairwise(chain):
        if not corners.are_one(corners.end(before), corners.start(after)):
            yield (
                f"seam {seam.name}: on side {side}, edge {after.edge} of piece {after.piece} "
                f"does not begin where edge {before.edge} of piece {before.piece} ends"
            )
