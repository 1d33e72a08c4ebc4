"""Loose lines joined end to end into closed outlines, run anticlockwise."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from coutil.drawing._values import Bools, DrawnLine, Floats
from coutil.errors import BadInput

# Ends nearer than this are meant to meet: half a millimetre is the limit of a pencil.
JOIN_MM = 0.5
LEAST_RUN_MM = 4 * JOIN_MM  # The first short strokes of an outline are still near its beginning.
MOST_LOOSE = 20_000
MOST_MEETING = 500  # Ends within the joining distance of one place; a pattern has two, its finest strokes a dozen.


@dataclass(frozen=True, slots=True, eq=False)
class Joined:
    """Lines end to end: their spans in one run, where each begins, which they are, and the widest gap closed."""

    spans: Floats
    flat: Bools
    begins: tuple[int, ...]
    members: tuple[int, ...]
    gap: float
    closed: bool


class _Ends:
    """The ends of all lines, and which lines are still free; the nearest free end to a place is found at once."""

    def __init__(self, lines: Sequence[DrawnLine]) -> None:
        from scipy.spatial import cKDTree

        self.ends = np.array([[line.start, line.end] for line in lines]).reshape(-1, 2)
        self.free = np.array([not line.closed for line in lines], dtype=bool)
        self._tree = cKDTree(self.ends) if len(lines) else None
        self._require_apart()

    def _require_apart(self) -> None:
        """Raises BadInput where so many ends lie in one place that no outline could be followed through it."""
        if self._tree is None or len(self.ends) <= MOST_MEETING:
            return
        meeting = self._tree.query_ball_point(self.ends, JOIN_MM, return_length=True)
        worst = int(np.argmax(meeting))
        if meeting[worst] > MOST_MEETING:
            x, y = self.ends[worst]
            raise BadInput(
                f"More than {MOST_MEETING} ends of loose lines meet at ({x:.0f}, {y:.0f}) mm, where no outline can be "
                "followed: leave out what is no part of the pattern."
            )

    def of(self, line: int) -> Floats:
        """Start and end of a line, (2, 2)."""
        return self.ends[2 * line : 2 * line + 2]

    def following(self, here: Floats, nearer_than: float = math.inf) -> tuple[int, bool] | None:
        """Takes the free line with the end nearest to a place; whether it is to be run backwards."""
        if self._tree is None:
            return None
        near = np.array(self._tree.query_ball_point(here, JOIN_MM), dtype=int)
        near = np.sort(near[self.free[near // 2]])
        if not len(near):
            return None
        away = np.hypot(*(self.ends[near] - here).T)
        if away.min() >= nearer_than:
            return None
        nearest = int(near[np.argmin(away)])
        self.free[nearest // 2] = False
        return nearest // 2, bool(nearest % 2)


def join_lines(lines: Sequence[DrawnLine]) -> list[Joined]:
    """Chains of lines whose ends meet within 0.5 mm, each as long as it gets; closed ones run anticlockwise."""
    if len(lines) > MOST_LOOSE:
        raise BadInput(f"The drawing has {len(lines)} loose lines, and {MOST_LOOSE} are joined: join them there.")
    whole = [_joined(lines, [(k, False)]) for k, line in enumerate(lines) if line.closed]
    ends = _Ends(lines)
    return [*whole, *(_chain(lines, ends, first) for first in range(len(lines)) if ends.free[first])]


def _chain(lines: Sequence[DrawnLine], ends: _Ends, first: int) -> Joined:
    ends.free[first] = False
    order = [(first, False)]
    begin, here = ends.of(first)
    run = math.dist(begin, here)
    while (following := ends.following(here, _gap_to_beat(begin, here, run))) is not None:
        index, backward = following
        order.append(following)
        run += math.dist(*ends.of(index))
        here = ends.of(index)[0 if backward else 1]
    if np.hypot(*(here - begin)) > JOIN_MM:
        order = _before(ends, begin) + order
    return _joined(lines, order)


def _gap_to_beat(begin: Floats, here: Floats, run: float) -> float:
    """A chain is closed once it is back at its beginning, unless a line that goes on lies nearer than that."""
    gap = math.dist(begin, here)
    return gap if gap <= JOIN_MM and run > LEAST_RUN_MM else math.inf


def _before(ends: _Ends, begin: Floats) -> list[tuple[int, bool]]:
    """What leads up to an open chain's beginning."""
    order: list[tuple[int, bool]] = []
    while (found := ends.following(begin)) is not None:
        index, backward = found
        order.append((index, not backward))
        begin = ends.of(index)[0 if backward else 1]
    return order[::-1]


def _joined(lines: Sequence[DrawnLine], order: list[tuple[int, bool]]) -> Joined:
    runs = [_run(lines[i], backward) for i, backward in order]
    begins = np.cumsum([0, *(len(spans) for spans, _ in runs)])
    spans = np.concatenate([spans for spans, _ in runs])
    flat = np.concatenate([flat for _, flat in runs])
    gaps = np.hypot(*(spans[:, 3] - np.roll(spans[:, 0], -1, axis=0)).T)
    closed = bool(gaps[-1] <= JOIN_MM)
    spans = _snapped(spans, closed)
    joined = Joined(
        spans,
        flat,
        tuple(int(b) for b in begins[:-1]),
        tuple(i for i, _ in order),
        float(gaps.max() if closed else gaps[:-1].max(initial=0.0)),
        closed,
    )
    return _anticlockwise(joined) if closed else joined


def _run(line: DrawnLine, backward: bool) -> tuple[Floats, Bools]:
    return (line.spans[::-1, ::-1], line.flat[::-1]) if backward else (line.spans, line.flat)


def _snapped(spans: Floats, closed: bool) -> Floats:
    """Each span begins where the one before ends; its first handle goes along."""
    moved = spans.copy()
    ends = np.roll(spans[:, 3], 1, axis=0)
    shift = ends - spans[:, 0]
    if not closed:
        shift[0] = 0.0
    moved[:, 0] += shift
    moved[:, 1] += shift
    return moved


def _anticlockwise(joined: Joined) -> Joined:
    if area(joined.spans) >= 0:
        return joined
    count = len(joined.spans)
    stops = [*joined.begins[1:], count]
    begins = tuple(count - stop for stop in reversed(stops))
    return Joined(joined.spans[::-1, ::-1], joined.flat[::-1], begins, joined.members[::-1], joined.gap, joined.closed)


def area(spans: Floats) -> float:
    """Signed area inside closed spans, mm2, positive where they run anticlockwise (Green's formula, exactly)."""
    x, y = spans[..., 0], spans[..., 1]
    return float(np.einsum("ni,ij,nj->", x, _GREEN, y))


# The integral of x dy along a cubic in its Bernstein coefficients.
_GREEN = np.array([[-10, 6, 3, 1], [-6, 0, 3, 3], [-3, -3, 0, 6], [-1, -3, -6, 10]]) / 20.0
