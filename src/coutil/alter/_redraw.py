"""What a patternmaker would redraw: a hollow too tight for its allowance, a wave that the base has not.

The places are found on the solved pattern and become soft rows on the curvature there; solved again, the edge gives
at its free tangents and loose ends, while everything that is measured stays where it is.
"""

from __future__ import annotations

from collections.abc import Container, Iterator
from dataclasses import dataclass

import numpy as np

from coutil.alter._layout import EdgeSlots, Floats, Layout
from coutil.alter._rows import CURVATURE_SLIP, RISE, CurvatureRow
from coutil.curves import StepRun, has_new_inflection, in_sight, runs_of_steps, step_turns
from coutil.pattern import allowance_of

# Places looked at in every span, both ends included.
PLACES = np.linspace(0.0, 1.0, 9)
# A span that comes near to its limit is looked at here as well: a hollow can be tightest in between.
BETWEEN = (PLACES[:-1] + PLACES[1:]) / 2
NEAR = 0.7
# A hollow keeps its radius this much above its allowance: 2 mm are required, the rest is for the pencil and for what
# is tighter between two places looked at.
HOLLOW_MM = 3.0
# What has come this near to its limit is mended: the half millimetre is there for it.
ENOUGH = 1.01
# A curve that stands still has no bend; mm a parameter.
STANDING = 1e-9
# A wave is drawn out a little further than flat, so that what is left of it cannot be seen.
STRAIGHTER = 2e-5
# Runs are read from step to step, which may tell so much less than the curve itself, degrees.
STRICTLY_DEG = 0.1


@dataclass(frozen=True)
class Seen:
    """How a pattern looks: curvature at every place of every span (S, P) in 1/mm, and the runs by edge."""

    bends: Floats
    runs: dict[tuple[str, str], list[StepRun]]

    def turnings(self, key: tuple[str, str]) -> list[float]:
        """What the runs of an edge turn, degrees."""
        return [run.turning_deg for run in self.runs[key]]


def look_at(layout: Layout, points: Floats) -> Seen:
    """Bends and runs of the control points (P, 2)."""
    velocity, bends = _bent(points[layout.span_points])
    edges = layout.edges.values()
    owners = np.repeat(np.arange(len(edges)), [len(slots.widths) for slots in edges])
    turns = step_turns(velocity, [slots.first_span + len(slots.widths) - 1 for slots in edges])
    return Seen(bends, dict(zip(layout.edges, runs_of_steps(turns, owners, len(edges)), strict=True)))


def redraw_rows(
    layout: Layout, base: Seen, points: Floats, again: Container[int] = ()
) -> tuple[list[CurvatureRow], float]:
    """Rows for every place that has to be drawn again, and by how much they are off in all, mm of rise.

    None and 0 where everything runs well.  `again` are the spans that were drawn again before.
    """
    now = look_at(layout, points)
    rows: list[CurvatureRow] = []
    for key, slots in _drawn(layout):
        rows += _tight_places(slots, base.bends, now.bends, points[layout.span_points])
        rows += _waves(slots, base.turnings(key), now, again)
    return rows, float(RISE * sum(abs(_bend(layout, points, row) - row.target) for row in rows))


def _bend(layout: Layout, points: Floats, row: CurvatureRow) -> float:
    _, bends = _bent(points[layout.span_points[row.span]][None], np.array([row.place]))
    return float(bends[0, 0])


def _bent(spans: Floats, places: Floats = PLACES) -> tuple[Floats, Floats]:
    """Velocity (S, P, 2) and curvature (S, P) of cubic spans (S, 4, 2) at the places, 1/mm; left turns are positive."""
    edges = np.diff(spans, axis=1)
    rest = 1 - places
    velocity = 3 * np.stack((rest**2, 2 * places * rest, places**2), axis=1) @ edges
    bend = 6 * np.stack((rest, places), axis=1) @ np.diff(edges, axis=1)
    across = velocity[..., 0] * bend[..., 1] - velocity[..., 1] * bend[..., 0]
    speed = np.hypot(velocity[..., 0], velocity[..., 1])
    return velocity, across / np.maximum(speed, STANDING) ** 3


def _drawn(layout: Layout) -> Iterator[tuple[tuple[str, str], EdgeSlots]]:
    for key, slots in layout.edges.items():
        if not (slots.edge.straight or slots.edge.role.is_vertical):
            yield key, slots


def _tight_places(slots: EdgeSlots, base: Floats, now: Floats, points: Floats) -> Iterator[CurvatureRow]:
    """Hollows turn to the right on an anticlockwise outline; a base's own tight hollow is the maker's."""
    limit = -1.0 / (allowance_of(slots.edge) + HOLLOW_MM)
    spans = slice(slots.first_span, slots.first_span + len(slots.widths))
    allowed = np.minimum(limit, base[spans])
    for span, place in zip(*np.nonzero(now[spans] < ENOUGH * allowed), strict=True):
        yield _row(slots, slots.first_span + int(span), PLACES[place], float(allowed[span, place]))
    near = np.flatnonzero((now[spans] < NEAR * allowed).any(axis=1))
    if not len(near):
        return
    _, bends = _bent(points[slots.first_span + near], BETWEEN)
    least = np.minimum(allowed[near, :-1], allowed[near, 1:])
    for row, place in zip(*np.nonzero(bends < ENOUGH * least), strict=True):
        yield _row(slots, slots.first_span + int(near[row]), BETWEEN[place], float(least[row, place]))


def _waves(slots: EdgeSlots, base: list[float], now: Seen, again: Container[int]) -> Iterator[CurvatureRow]:
    """The smallest visible run of an edge that has grown one, flattened where each of its spans bends most.

    One place a span, as a cubic that is told to be straight at three of them is straight all along; all places where
    one did not do (`again`).
    """
    key = (slots.piece, slots.edge.name)
    if not has_new_inflection(base, now.turnings(key), STRICTLY_DEG):
        return
    seen = [run for run in now.runs[key] if in_sight(run.turning_deg, STRICTLY_DEG)]
    run = min(seen, key=lambda found: abs(found.turning_deg))
    side = 1.0 if run.turning_deg > 0 else -1.0
    steps = len(PLACES)
    for span in range(run.first // steps, run.last // steps + 1):
        first, last = max(run.first - span * steps, 0), min(run.last + 1 - span * steps, steps - 1)
        wrong = side * now.bends[span, first : last + 1]
        if wrong.max() > 0.0:
            places = np.flatnonzero(wrong > 0.0) if span in again else [wrong.argmax()]
            for place in places:
                yield _row(slots, span, PLACES[first + int(place)], -side * STRAIGHTER)


def _row(slots: EdgeSlots, span: int, place: float, target: float) -> CurvatureRow:
    return CurvatureRow(
        f"curve of {slots.piece}.{slots.edge.name}", "structure", span, float(place), target, CURVATURE_SLIP
    )
