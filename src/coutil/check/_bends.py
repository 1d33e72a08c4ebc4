"""The lines against the base's: new hollows or rounds, and where a curve has been bent more sharply."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from coutil.check._case import Case
from coutil.check._findings import Finding, Verdict
from coutil.check._judge import within
from coutil.check._shape import Floats, Shape, turnings_of_runs
from coutil.check._words import edge_title, once
from coutil.curves import has_new_inflection, visible_signs
from coutil.pattern import Edge, Piece

# A round of the base counts from so little, that one which barely grows past 1 degree is not called new.
BASE_RUN_DEG = 0.5

# 20 per metre: a straight line bent to a radius of 50 mm, which the eye finds at once.
BEND_PER_METRE = 20.0


def check_bends(case: Case) -> tuple[Finding, ...]:
    """New hollows or rounds, and the largest change of curvature, against the base; nothing without one."""
    if case.base_shape is None:
        return ()
    pairs = list(_pairs(case.shape, case.base_shape))
    return (_new_runs(case, case.base_shape, pairs), *_changes(case, case.base_shape, pairs))


_Pair = tuple[Piece, Edge, slice, slice]


def _pairs(shape: Shape, base: Shape) -> Iterator[_Pair]:
    """Edges that both styles have, with their spans in each."""
    for piece, edge, place in shape.edges():
        own = base.spread.places.get((piece.name, edge.name))
        if own is not None:
            yield piece, edge, place, own


def _new_runs(case: Case, base: Shape, pairs: list[_Pair]) -> Finding:
    now, old = turnings_of_runs(case.shape), turnings_of_runs(base)
    new = [
        (piece, edge) for piece, edge, _, _ in pairs if _is_new(old[piece.name, edge.name], now[piece.name, edge.name])
    ]
    titles = ", ".join(edge_title(piece, edge.name) for piece, edge in new)
    said = ("No edge has a hollow or round the base has not.", f"New on the {titles}: look whether you like the line.")
    pieces = once(piece.name for piece, _ in new)
    return within("new_hollows", "new hollows or rounds", len(new), 0.0, pieces, said, "count", Verdict.WARN)


def _is_new(before: list[float], after: list[float]) -> bool:
    """Whether there is an inflection the base has not, or a round where it had a hollow (from half a degree on)."""
    return has_new_inflection(before, after) or _is_turned(visible_signs(before, BASE_RUN_DEG), visible_signs(after))


def _is_turned(base: tuple[int, ...], signs: tuple[int, ...]) -> bool:
    """Whether the signs do not occur in the base in their order."""
    left = iter(base)
    return not all(sign in left for sign in signs)


def _largest(changes: Floats) -> float:
    """The largest size; places without a curvature do not count."""
    return float(np.max(np.abs(changes), where=~np.isnan(changes), initial=0.0))


def _changes(case: Case, base: Shape, pairs: list[_Pair]) -> Iterator[Finding]:
    """Curvature at the same places of the same spans, where the edge still has as many spans."""
    changes = [
        (1000.0 * _largest(case.shape.curvature[place] - base.curvature[own]), piece, edge)
        for piece, edge, place, own in pairs
        if place.stop - place.start == own.stop - own.start
    ]
    if not changes:
        return
    most, piece, edge = max(changes, key=lambda found: found[0])
    title = edge_title(piece, edge.name)
    good = f"Most on the {title}."
    bad = f"The {title} is bent much more sharply than in the base: look whether you like the line."
    name = "change of curvature against the base"
    yield within("curvature", name, most, BEND_PER_METRE, (piece.name,), (good, bad), "per m", Verdict.WARN)
