"""Which edges are sewn together: stated, or found by length, by the levels on them, and by who lies beside whom."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from coutil.drawing._marks import MatchMarks, SeamMarks
from coutil.drawing._pieces import with_knot
from coutil.drawing._sure import Guesses
from coutil.drawing._values import Point
from coutil.errors import BadInput
from coutil.pattern import Edge, EdgeRef, Match, Piece, PointRef, Role, Seam

PAIRED = (Role.PANEL_SEAM, Role.CUP_SEAM)
LONGEST_DIFFERENCE_MM = 15.0  # Edges that differ by more are not sewn together without gathering.
RIVAL_MM = 3.0  # Another edge that fits as well within this makes a pair doubtful.
NOT_BESIDE, NOT_FACING, OTHER_PART = 20.0, 40.0, 10.0  # What such a pair must fit better by, mm.
WORTH_SAYING_MM = 0.5


@dataclass(frozen=True, slots=True)
class _Side:
    """An edge that may be sewn: its piece with its place from the left, and heights of its levels along it."""

    place: int
    piece: Piece
    edge: Edge
    levels: Mapping[str, float]

    @property
    def rises(self) -> bool:
        """Whether the outline runs upwards along it: it is then the piece's right side."""
        return bool(self.edge.curve.end[1] > self.edge.curve.start[1])

    @property
    def upward(self) -> EdgeRef:
        """The edge from its lower to its upper end."""
        return EdgeRef(self.piece.name, self.edge.name, not self.rises)

    @property
    def outward(self) -> EdgeRef:
        """The edge from left to right."""
        curve = self.edge.curve
        return EdgeRef(self.piece.name, self.edge.name, bool(curve.end[0] < curve.start[0]))


def propose_seams(pieces: Sequence[Piece], sure: Guesses) -> list[Seam]:
    """Every seam that can be found; edges left over are told in a remark."""
    sides = [
        _Side(place, piece, edge, _levels_along(piece, edge))
        for place, piece in enumerate(pieces)
        for edge in piece.edges
    ]
    seams: list[Seam] = []
    for role in PAIRED:
        seams += _paired([side for side in sides if side.edge.role is role], role.value, sure)
    seams += _paired([side for side in sides if side.edge.role is Role.CENTRE], "centre_seam", sure, NOT_BESIDE)
    seams += _side_seams([side for side in sides if side.edge.role is Role.SIDE_SEAM], sure)
    seams += _cradle([side for side in sides if side.edge.role is Role.CRADLE], sure)
    _tell_unsewn(sides, seams, sure)
    return _distinctly_named(seams)


def _levels_along(piece: Piece, edge: Edge) -> dict[str, float]:
    """Length from the lower end up to each level marked on the edge."""
    curve = edge.curve
    rises = curve.end[1] > curve.start[1]
    places = {m.level: float(curve.knot_lengths[m.at.knot]) for m in piece.level_marks if m.at.edge == edge.name}
    return {level: along if rises else curve.length - along for level, along in places.items()}


# --- pairs -------------------------------------------------------------------------------------------------


def _paired(sides: Sequence[_Side], stem: str, sure: Guesses, most: float = math.inf) -> Iterator[Seam]:
    """The best pairs first, each edge once; none that fits as ill as `most`, mm."""
    costs = sorted(
        ((_cost(a, b), i, j) for (i, a), (j, b) in combinations(enumerate(sides), 2) if a.piece is not b.piece),
    )
    free = set(range(len(sides)))
    for cost, i, j in costs:
        if cost < most and i in free and j in free and _difference(sides[i], sides[j]) <= LONGEST_DIFFERENCE_MM:
            rival = min((c for c, k, m in costs if (k, m) != (i, j) and {k, m} & {i, j}), default=math.inf)
            free -= {i, j}
            yield _pair(sides[i], sides[j], stem, rival - cost, sure)


def _difference(a: _Side, b: _Side) -> float:
    return abs(a.edge.curve.length - b.edge.curve.length)


def _cost(a: _Side, b: _Side) -> float:
    """How ill two edges fit, mm: length, heights of the levels, and where they lie."""
    levels = [abs(a.levels[level] - b.levels[level]) for level in a.levels if level in b.levels]
    cost = _difference(a, b) + max(levels, default=0.0)
    cost += 0.0 if abs(a.place - b.place) == 1 else NOT_BESIDE
    cost += 0.0 if a.rises != b.rises and (a.place < b.place) == a.rises else NOT_FACING
    return cost + (0.0 if a.piece.part == b.piece.part else OTHER_PART)


def _pair(a: _Side, b: _Side, stem: str, lead: float, sure: Guesses) -> Seam:
    difference = _difference(a, b)
    seam = Seam(f"{stem}_{a.piece.name}_{b.piece.name}", (a.upward,), (b.upward,), tuple(_common_levels((a,), (b,))))
    certain = 0.95 - 0.04 * max(0.0, difference - 0.2)
    certain -= 0.25 if lead < RIVAL_MM else 0.0
    certain -= 0.0 if abs(a.place - b.place) == 1 else 0.25
    told = f"lengths differ by {difference:.1f} mm"
    told += (
        ", the pieces lie side by side" if abs(a.place - b.place) == 1 else ", but the pieces do not lie side by side"
    )
    told += ", and another edge fits as well" if lead < RIVAL_MM else ""
    sure.add(f"seam {seam.name}", f"{_words(seam.a)} to {_words(seam.b)}", max(certain, 0.1), told)
    _tell_difference(seam.name, difference, sure)
    return seam


def _words(chain: Sequence[EdgeRef]) -> str:
    return " + ".join(f"{ref.piece}.{ref.edge}" for ref in chain)


def _tell_difference(name: str, difference: float, sure: Guesses) -> None:
    if difference > WORTH_SAYING_MM:
        sure.remarks.append(
            f"The two sides of seam {name} differ by {difference:.1f} mm: "
            "true them, or state the ease in the marks file."
        )


def _common_levels(a: Sequence[_Side], b: Sequence[_Side]) -> Iterator[Match]:
    """Levels marked inside both sides, and the bust point where both carry it."""
    for first in a:
        for second in b:
            yield from _matches(first, second)


def _matches(a: _Side, b: _Side) -> Iterator[Match]:
    at_a, at_b = _named_knots(a), _named_knots(b)
    for name in sorted((n for n in at_a if n in at_b), key=lambda n: at_a[n] if a.rises else -at_a[n]):
        yield Match(
            name,
            PointRef(a.piece.name, a.edge.name, at_a[name]),
            PointRef(b.piece.name, b.edge.name, at_b[name]),
        )


def _named_knots(side: _Side) -> dict[str, int]:
    """Inner knots of the edge by what lies there."""
    last = side.edge.curve.n_spans
    found = {m.level: m.at.knot for m in side.piece.level_marks if m.at.edge == side.edge.name}
    marks = {m.name.replace("_", " "): m.at.knot for m in side.piece.landmarks if m.at.edge == side.edge.name}
    if "bust point" in marks:
        # The bust level runs through the bust point; one match stands for both.
        found = {level: knot for level, knot in found.items() if knot != marks["bust point"]}
        found["bust point"] = marks["bust point"]
    return {name: knot for name, knot in found.items() if 0 < knot < last}


# --- chains ------------------------------------------------------------------------------------------------


def _side_seams(sides: Sequence[_Side], sure: Guesses) -> Iterator[Seam]:
    """Front to back: one to one, or all of the front in a chain to the back's."""
    front = [side for side in sides if side.piece.part == "front"]
    back = [side for side in sides if side.piece.part == "back"]
    if len(front) == len(back):
        yield from _paired(sides, Role.SIDE_SEAM.value, sure)
    elif front and back:
        chains = [sorted(group, key=_from_below) for group in (front, back)]
        yield _chained("side", chains[0], chains[1], upward=True, sure=sure)


def _from_below(side: _Side) -> tuple[bool, float]:
    """Panels with a waist first, then what is sewn on above them."""
    return "waist" not in side.piece.levels, float(min(side.edge.curve.start[1], side.edge.curve.end[1]))


def _cradle(sides: Sequence[_Side], sure: Guesses) -> Iterator[Seam]:
    """Cups, from the centre outwards, to the panels under them."""
    cups = sorted((s for s in sides if "waist" not in s.piece.levels), key=_from_centre)
    panels = [side for side in sides if "waist" in side.piece.levels]
    if cups and panels:
        # The cup rule knows the seam by the name of the cups' lower edge.
        yield _chained(cups[0].edge.name, cups, panels, upward=False, sure=sure)


def _from_centre(side: _Side) -> tuple[bool, int]:
    return not any(edge.role.is_vertical for edge in side.piece.edges), side.place


def _chained(name: str, a: Sequence[_Side], b: Sequence[_Side], *, upward: bool, sure: Guesses) -> Seam:
    chain_a, chain_b = (tuple(s.upward if upward else s.outward for s in side) for side in (a, b))
    seam = Seam(name, chain_a, chain_b, tuple(_chain_matches(a, b, chain_a, chain_b, upward=upward)))
    difference = abs(sum(s.edge.curve.length for s in a) - sum(s.edge.curve.length for s in b))
    told = f"the chains' lengths differ by {difference:.1f} mm"
    sure.add(f"seam {name}", f"{_words(chain_a)} to {_words(chain_b)}", max(0.1, 0.9 - 0.04 * difference), told)
    _tell_difference(name, difference, sure)
    return seam


def _chain_matches(
    a: Sequence[_Side], b: Sequence[_Side], chain_a: Sequence[EdgeRef], chain_b: Sequence[EdgeRef], *, upward: bool
) -> Iterator[Match]:
    """Levels on both, and the junctions: to the other side's junction, or to it by arc length."""
    if upward:
        yield from _common_levels(a, b)
    for k in range(1, max(len(a), len(b))):
        if len(a) == len(b):
            name = "foot" if not upward and len(a) == 2 else f"junction {k}"
            yield Match(name, _begin(a[k], chain_a[k]), _begin(b[k], chain_b[k]))
        elif k < len(a):
            yield Match("cradle end" if len(a) == 2 else f"junction {k}", _begin(a[k], chain_a[k]), None)


def _begin(side: _Side, ref: EdgeRef) -> PointRef:
    return PointRef(ref.piece, ref.edge, side.edge.curve.n_spans if ref.backward else 0)


def _tell_unsewn(sides: Sequence[_Side], seams: Sequence[Seam], sure: Guesses) -> None:
    sewn = {(ref.piece, ref.edge) for seam in seams for ref in (*seam.a, *seam.b)}
    roles = (*PAIRED, Role.SIDE_SEAM, Role.CRADLE)
    left = [s for s in sides if s.edge.role in roles and (s.piece.name, s.edge.name) not in sewn]
    if left:
        told = ", ".join(f"{side.piece.name}.{side.edge.name}" for side in left[:8])
        sure.remarks.append(f"No mate was found for {told}: state their seams in the marks file.")


def _distinctly_named(seams: Sequence[Seam]) -> list[Seam]:
    """Seams between the same two pieces are numbered."""
    from dataclasses import replace

    names = [seam.name for seam in seams]
    return [
        replace(seam, name=f"{seam.name}_{names[:k].count(seam.name) + 1}") if names.count(seam.name) > 1 else seam
        for k, seam in enumerate(seams)
    ]


# --- stated ------------------------------------------------------------------------------------------------


def stated_seams(pieces: Sequence[Piece], said: Mapping[str, SeamMarks]) -> tuple[list[Piece], list[Seam]]:
    """The seams of a marks file, with knots at their match points; raises BadInput for edges that are not there."""
    by_name = {piece.name: piece for piece in pieces}
    seams = []
    for name, seam in said.items():
        chains = tuple(tuple(_ref(text, by_name, name) for text in side) for side in (seam.a, seam.b))
        for match in seam.matches or ():
            for text, at in ((match.a, match.a_at), (match.b, match.b_at)):
                _add_knot(by_name, text, at, f"match {match.name} of seam {name}")
        seams.append((name, seam, chains))
    made = [_stated(by_name, pieces, *seam) for seam in seams]
    return [by_name[piece.name] for piece in pieces], made


def _stated(
    by_name: Mapping[str, Piece],
    pieces: Sequence[Piece],
    name: str,
    said: SeamMarks,
    chains: tuple[tuple[EdgeRef, ...], ...],
) -> Seam:
    a, b = chains
    if said.matches is not None:
        return Seam(name, a, b, tuple(_match(by_name, match) for match in said.matches), said.ease)
    places = {piece.name: k for k, piece in enumerate(pieces)}
    sides = [[_side(by_name[ref.piece], places[ref.piece], ref.edge) for ref in chain] for chain in chains]
    upward = all(side.edge.role is not Role.CRADLE for side in sides[0])
    return Seam(name, a, b, tuple(_chain_matches(sides[0], sides[1], a, b, upward=upward)), said.ease)


def _side(piece: Piece, place: int, edge: str) -> _Side:
    found = piece.edge(edge)
    return _Side(place, piece, found, _levels_along(piece, found))


def split_ref(text: str, pieces: Mapping[str, Piece], what: str) -> tuple[str, str]:
    """Piece and edge of `piece.edge`; raises BadInput where they are not there."""
    for name, piece in pieces.items():
        edge = text.removeprefix(f"{name}.")
        if edge != text and any(e.name == edge for e in piece.edges):
            return name, edge
    raise BadInput(f"The marks file names {text[:60]!r} for {what}, which is no edge of any piece: write piece.edge.")


def _ref(text: str, pieces: Mapping[str, Piece], name: str) -> EdgeRef:
    plain = text.removesuffix(" backward")
    piece, edge = split_ref(plain, pieces, f"seam {name}")
    return EdgeRef(piece, edge, plain != text)


def _add_knot(pieces: dict[str, Piece], text: str | None, at: Point | None, what: str) -> None:
    if text is None or at is None:
        return
    piece, edge = split_ref(text, pieces, what)
    pieces[piece], _ = with_knot(pieces[piece], edge, at, what)


def _match(pieces: Mapping[str, Piece], said: MatchMarks) -> Match:
    b = None if said.b is None or said.b_at is None else _point(pieces, said.b, said.b_at, said.name)
    return Match(said.name, _point(pieces, said.a, said.a_at, said.name), b)


def _point(pieces: Mapping[str, Piece], text: str, at: Point, what: str) -> PointRef:
    piece, edge = split_ref(text, pieces, f"match {what}")
    _, knot = with_knot(pieces[piece], edge, at, f"match {what}")
    return PointRef(piece, edge, knot.knot)
