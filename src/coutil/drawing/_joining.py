"""Loose lines joined end to end into closed outlines, run anticlockwise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from coutil.drawing._values import Bools, DrawnLine, Floats
from coutil.errors import BadInput

# Ends nearer than this are meant to meet: half a millimetre is the limit of a pencil.
JOIN_MM = 0.5
MOST_LOOSE = 20_000


@dataclass(frozen=True, slots=True, eq=False)
class Joined:
    """Lines end to end: their spans in one run, where each begins, which they are, and the widest gap closed."""

    spans: Floats
    flat: Bools
    begins: tuple[int, ...]
    members: tuple[int, ...]
    gap: float
    closed: bool


def join_lines(lines: Sequence[DrawnLine]) -> list[Joined]:
    """Chains of lines whose ends meet within 0.5 mm, each as long as it gets; closed ones run anticlockwise."""
    if len(lines) > MOST_LOOSE:
        raise BadInput(f"The drawing has {len(lines)} loose lines, and {MOST_LOOSE} are joined: join them there.")
    ends = np.array([[line.start, line.end] for line in lines]).reshape(-1, 2, 2)
    free = np.ones(len(lines), dtype=bool)
    found = []
    for first in range(len(lines)):
        if free[first]:
            found.append(_chain(lines, ends, free, first))
    return found


def _chain(lines: Sequence[DrawnLine], ends: Floats, free: Bools, first: int) -> Joined:
    free[first] = False
    order = [(first, False)]
    begin, here = ends[first]
    while np.hypot(*(here - begin)) > JOIN_MM or len(order) == 1:
        following = _following(ends, free, here)
        if following is None:
            break
        index, backward = following
        free[index] = False
        order.append(following)
        here = ends[index][0 if backward else 1]
    if np.hypot(*(here - begin)) > JOIN_MM:
        order = _before(ends, free, begin) + order
    return _joined(lines, order)


def _before(ends: Floats, free: Bools, begin: Floats) -> list[tuple[int, bool]]:
    """What leads up to an open chain's beginning."""
    order: list[tuple[int, bool]] = []
    while (found := _following(ends, free, begin)) is not None:
        index, backward = found
        free[index] = False
        order.insert(0, (index, not backward))
        begin = ends[index][0 if backward else 1]
    return order


def _following(ends: Floats, free: Bools, here: Floats) -> tuple[int, bool] | None:
    """The free line with the end nearest to a point, and whether it is to be run backwards."""
    left = np.flatnonzero(free)
    if not len(left):
        return None
    away = np.hypot(*np.moveaxis(ends[left] - here, -1, 0))
    k = int(np.argmin(away.min(axis=1)))
    if away[k].min() > JOIN_MM:
        return None
    return int(left[k]), bool(away[k, 1] < away[k, 0])


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
