"""The marks of the alteration guide: points along every edge, and how far each moves in every step.

A mark is a point of the line itself, the same one in every step: both ends of an edge, the levels and landmarks on
it, the places half-way between them, and one more wherever a line redrawn smoothly through these would miss.
Amounts are written as finely as a pencil follows them; what one step's rounding leaves, a later one makes up.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coutil.curves import Curve
from coutil.errors import BadInput
from coutil.measure import Unit
from coutil.pattern import Edge, Piece, Style
from coutil.sheet._drawing import Floats

# What is drawn by hand: half a millimetre with a sharp pencil, or a third of the finest division of an inch tape.
STEP_MM: Mapping[Unit, float] = {"mm": 0.5, "cm": 0.5, "in": 25.4 / 48}

# A move smaller than this is let go, and rounding let stand, until a point lies further off both ways than this, mm.
CARRIED_MM = 0.35

# A mark between the named ones that moves less than this along its own line changes nothing that is seen, mm.
SLIPPED_MM = 1.0

# Marks nearer than this to the next gain nothing by another half-way between them, mm.
HALVED_MM = 24.0

# A line redrawn through the marks may lie this far from the result; beyond it one more mark is set.
MISSED_MM = 0.25

# A redrawn line is looked at in so many places of every span.
LOOKS = 6

# Lengths along an edge are taken between so many places of every span.
TAPED = 100

# An edge bent so much that this many marks more do not catch it is drawn from another base, not by a guide.
MOST_MORE = 8

# Shorter than any line, mm: nothing is divided by less.
SHORT = 1e-12

# A line's way is looked at over so small a part of a span.
AHEAD = 1e-4

# Nearer to an existing mark than this part of a span no other is set.
APART = 0.08


@dataclass(frozen=True, slots=True)
class Mark:
    """A point of a piece's outline: the edge, how far along it (in spans from its start), and what lies there."""

    edge: str
    place: float
    name: str


@dataclass(frozen=True, slots=True, eq=False)
class MarkedPiece:
    """The marks of a piece in the order of its outline; each corner once, with the edge that starts there.

    `runs` gives for each edge the numbers of its marks from start to end, the end's being the next edge's first.
    """

    name: str
    marks: tuple[Mark, ...]
    runs: Mapping[str, tuple[int, ...]]

    def points(self, piece: Piece, on: float = 0.0) -> Floats:
        """Where the marks lie on the piece, (m, 2), or so many spans further on (less, at an edge's end)."""
        found = [
            _points_on(piece.edge(name).curve, np.array([self.marks[i].place for i in run[:-1]]) + on)
            for name, run in self.runs.items()
        ]
        return np.concatenate(found)

    def may_slip(self) -> NDArray[np.bool_]:
        """Which marks are places half-way, neither ends nor named, (m,)."""
        return np.array([mark.place > 0 and not mark.name for mark in self.marks])


@dataclass(frozen=True, slots=True, eq=False)
class PieceMoves:
    """What one step does to one piece: where its marks were, where they come to lie, and the amounts as written.

    `amounts` are whole drawing steps in mm, across and up, (m, 2).
    """

    piece: MarkedPiece
    before: Floats
    after: Floats
    amounts: Floats

    @property
    def has_moved(self) -> bool:
        """Whether anything of the piece is to be drawn anew."""
        return bool(self.amounts.any())

    def moved_edges(self) -> tuple[str, ...]:
        """The edges with a mark that moves."""
        return tuple(name for name, run in self.piece.runs.items() if self.amounts[list(run)].any())

    def shown(self) -> list[int]:
        """The numbers of the marks to show: all those of the edges that move."""
        return sorted({i for name in self.moved_edges() for i in self.piece.runs[name]})


def way_on(curve: Curve, place: float) -> Floats:
    """The way a curve runs so many spans from its start, a unit vector."""
    around = np.clip(np.array([place - AHEAD, place + AHEAD]), 0.0, curve.n_spans)
    way = np.diff(_points_on(curve, around), axis=0)[0]
    return np.asarray(way / max(float(np.hypot(*way)), SHORT))


def _points_on(curve: Curve, places: Floats) -> Floats:
    spans = np.minimum(places.astype(int), curve.n_spans - 1)
    t = (places - spans)[:, None]
    p = curve.spans[spans]
    s = 1.0 - t
    return np.asarray(s**3 * p[:, 0] + 3 * s**2 * t * p[:, 1] + 3 * s * t**2 * p[:, 2] + t**3 * p[:, 3])


def mark_pieces(base: Style, steps: Sequence[Style]) -> tuple[MarkedPiece, ...]:
    """The marks of every piece, the same for all steps; raises BadInput for steps of another pattern."""
    for style in steps:
        _require_alike(base, style)
    return tuple(_marked(piece, [style.piece(piece.name) for style in steps]) for piece in base.pieces)


def _require_alike(base: Style, style: Style) -> None:
    if _shape_of(style) != _shape_of(base):
        raise BadInput("the steps of this result do not belong to its base: alter the base again")


def _shape_of(style: Style) -> list[tuple[str, str, int]]:
    return [(piece.name, edge.name, edge.curve.n_spans) for piece in style.pieces for edge in piece.edges]


def _marked(piece: Piece, later: Sequence[Piece]) -> MarkedPiece:
    marks: list[Mark] = []
    first: dict[str, int] = {}
    for edge in piece.edges:
        first[edge.name] = len(marks)
        marks += _edge_marks(piece, edge, [other.edge(edge.name).curve for other in later])[:-1]
    starts = [first[edge.name] for edge in piece.edges]
    ends = [*starts[1:], len(marks)]
    runs = {
        edge.name: (*range(start, end), end % len(marks))
        for edge, start, end in zip(piece.edges, starts, ends, strict=True)
    }
    return MarkedPiece(piece.name, tuple(marks), runs)


def _edge_marks(piece: Piece, edge: Edge, later: Sequence[Curve]) -> list[Mark]:
    named, tape = _named_places(piece, edge), _tape_of(edge.curve)
    places = sorted({*named, *_halves(tape, sorted(named))})
    if later:
        places = _with_more(places, _looked_at(edge.curve, tape, later))
    return [Mark(edge.name, place, named.get(place, "")) for place in places]


def _with_more(places: list[float], edge: _Edge) -> list[float]:
    """The places, and more where the line redrawn through them would miss."""
    for _ in range(MOST_MORE):
        missed = _worst_miss(edge, places)
        if missed is None:
            break
        places = sorted([*places, missed])
    return places


def _named_places(piece: Piece, edge: Edge) -> dict[float, str]:
    """Ends, landmarks and levels by their place; a level's name goes before a landmark's."""
    found = {0.0: "", float(edge.curve.n_spans): ""}
    found |= {float(m.at.knot): m.name.replace("_", " ") for m in piece.landmarks if m.at.edge == edge.name}
    found |= {float(m.at.knot): m.level.replace("_", " ") for m in piece.level_marks if m.at.edge == edge.name}
    return found


def _halves(tape: _Tape, places: Sequence[float]) -> Iterator[float]:
    """Half-way between neighbours that are far enough apart; without any level the edge's middle at least."""
    alongs = tape.along(np.array(places))
    for start, end in pairwise(alongs):
        if end - start >= HALVED_MM:
            yield round(float(tape.place((start + end) / 2)), 4)


@dataclass(frozen=True, slots=True, eq=False)
class _Tape:
    """How many mm along a curve each place lies, taken closely: straight between these is near enough for marks."""

    places: Floats
    alongs: Floats

    def along(self, places: Floats) -> Floats:
        """mm from the start."""
        return np.asarray(np.interp(places, self.places, self.alongs))

    def place(self, along: float) -> float:
        """Spans from the start."""
        return float(np.interp(along, self.alongs, self.places))


def _tape_of(curve: Curve) -> _Tape:
    places = np.linspace(0.0, curve.n_spans, TAPED * curve.n_spans + 1)
    steps = np.hypot(*np.diff(_points_on(curve, places), axis=0).T)
    return _Tape(places, np.concatenate([[0.0], np.cumsum(steps)]))


@dataclass(frozen=True, slots=True, eq=False)
class _Edge:
    """An edge of the base with its tape, looked at in many places, and what each step moves it in all."""

    curve: Curve
    tape: _Tape
    later: tuple[Curve, ...]
    looked: Floats
    moved: Floats
    ahead: Floats

    def misses(self, places: Floats) -> Floats:
        """How far off each step's line, (steps, looks), a line redrawn smoothly through marks at these places is."""
        at = _points_on(self.curve, places)
        moves = np.stack([_points_on(other, places) - at for other in self.later])
        redrawn = smooth_weights(self.tape.along(places), self.tape.along(self.looked)) @ moves
        off = self.moved - redrawn
        return np.abs(off[..., 0] * self.ahead[..., 1] - off[..., 1] * self.ahead[..., 0])


def _looked_at(curve: Curve, tape: _Tape, later: Sequence[Curve]) -> _Edge:
    looked = np.linspace(0.0, curve.n_spans, LOOKS * curve.n_spans + 1)
    lines = np.stack([_points_on(other, looked) for other in later])
    ahead = np.gradient(lines, axis=1)
    ahead /= np.maximum(np.hypot(ahead[..., 0], ahead[..., 1]), SHORT)[..., None]
    return _Edge(curve, tape, tuple(later), looked, lines - _points_on(curve, looked), ahead)


def _worst_miss(edge: _Edge, places: Sequence[float]) -> float | None:
    """Where the redrawn line misses most, if it misses too far where no mark is near yet."""
    marked = np.array(places)
    misses = edge.misses(marked).max(axis=0)
    misses[np.abs(edge.looked[:, None] - marked).min(axis=1) < APART] = 0.0
    worst = int(misses.argmax())
    return float(edge.looked[worst]) if misses[worst] > MISSED_MM else None


def smooth_weights(marked: Floats, looked: Floats) -> Floats:
    """The part of each mark's move (m,) in what a smooth hand moves at other places (k,): (k, m).

    Places in mm along the edge, ascending.  The hand is the natural cubic spline: no bend at the ends.
    """
    h, unit = np.diff(marked), np.eye(len(marked))
    bends = np.linalg.solve(*_bend_rows(h, unit))
    i = np.clip(np.searchsorted(marked, looked, side="right") - 1, 0, len(h) - 1)
    b = ((looked - marked[i]) / h[i])[:, None]
    a = 1.0 - b
    bent = (a**3 - a) * bends[i] + (b**3 - b) * bends[i + 1]
    return np.asarray(a * unit[i] + b * unit[i + 1] + bent * (h[i] ** 2 / 6)[:, None])


def _bend_rows(h: Floats, unit: Floats) -> tuple[Floats, Floats]:
    """The system whose solution is the second derivative at each mark, 0 at both ends."""
    matrix, right = unit.copy(), np.zeros_like(unit)
    for i in range(1, len(h)):
        matrix[i, i - 1 : i + 2] = h[i - 1], 2 * (h[i - 1] + h[i]), h[i]
        right[i] = 6 * ((unit[i + 1] - unit[i]) / h[i] - (unit[i] - unit[i - 1]) / h[i - 1])
    return matrix, right


def moves_of(marked: Sequence[MarkedPiece], styles: Sequence[Style], step: float) -> list[tuple[PieceMoves, ...]]:
    """For each step from one style to the next, what happens to every piece; `step` is the drawing step in mm."""
    by_piece = [_moves_of_piece(piece, [style.piece(piece.name) for style in styles], step) for piece in marked]
    return [tuple(moves[i] for moves in by_piece) for i in range(len(styles) - 1)]


def _moves_of_piece(marked: MarkedPiece, pieces: Sequence[Piece], step: float) -> list[PieceMoves]:
    points = [marked.points(piece) for piece in pieces]
    owed = np.zeros_like(points[0])
    moves = []
    for piece, (before, after) in zip(pieces, pairwise(points), strict=False):
        moved = _without_slip(marked, piece, before, after - before)
        amounts, owed = rounded_moves(moved, owed, step)
        moves.append(PieceMoves(marked, before, after, amounts))
    return moves


def _without_slip(marked: MarkedPiece, piece: Piece, before: Floats, moved: Floats) -> Floats:
    """The moves, of places half-way only what leads off their line: a small slip along it is not drawn."""
    ahead = marked.points(piece, on=AHEAD) - before
    ahead /= np.maximum(np.hypot(*ahead.T), SHORT)[:, None]
    slip = np.sum(moved * ahead, axis=1)
    kept = marked.may_slip() & (np.hypot(*moved.T) < SLIPPED_MM)
    return np.asarray(moved - np.where(kept, slip, 0.0)[:, None] * ahead)


def rounded_moves(moved: Floats, owed: Floats, step: float) -> tuple[Floats, Floats]:
    """Moves (m, 2) in whole drawing steps, and what is then owed to the next step.

    A move is rounded by itself, a small one let go, while its point stays within CARRIED_MM of where it should be;
    beyond that, what was owed before is made up.
    Worked case (step 0.5): 0.3 is written 0 and owes 0.3; 0.3 more would owe 0.6, so 0.5 is written and owes 0.1.
    """
    alone = np.where(np.abs(moved) < CARRIED_MM, 0.0, np.round(moved / step) * step)
    made_up = np.round((moved + owed) / step) * step
    amounts = np.where(np.abs(owed + moved - alone) > CARRIED_MM, made_up, alone)
    return amounts + 0.0, owed + moved - amounts
