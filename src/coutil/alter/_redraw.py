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
from coutil.curves import Curve, Run, has_new_inflection, in_sight, turning_runs
from coutil.pattern import allowance_of

# Places looked at in every span, both ends included.
PLACES = np.linspace(0.0, 1.0, 9)
# A hollow keeps its radius this much above its allowance: 2 mm are required, the rest is for the pencil and for what
# is tighter between two places looked at.
HOLLOW_MM = 3.0
# What has come this near to its limit is mended: the half millimetre is there for it.
ENOUGH = 1.01
# A curve that stands still has no bend; mm a parameter.
STANDING = 1e-9
# A wave is drawn out a little further than flat, so that what is left of it cannot be seen.
STRAIGHTER = 2e-5


@dataclass(frozen=True)
class Seen:
    """The base as it looks: curvature at every place of every span (S, P) in 1/mm, runs by edge."""

    bends: Floats
    runs: dict[tuple[str, str], tuple[Run, ...]]


def look_at(layout: Layout, points: Floats) -> Seen:
    """Bends and runs of the control points (P, 2)."""
    bends = curvatures(points[layout.span_points])
    runs = {key: turning_runs(_curve(layout, points, slots)) for key, slots in _drawn(layout)}
    return Seen(bends, runs)


def redraw_rows(
    layout: Layout, base: Seen, points: Floats, again: Container[int] = ()
) -> tuple[list[CurvatureRow], float]:
    """Rows for every place that has to be drawn again, and by how much they are off in all, mm of rise.

    None and 0 where everything runs well.  `again` are the spans that were drawn again before.
    """
    now = look_at(layout, points)
    rows: list[CurvatureRow] = []
    for key, slots in _drawn(layout):
        rows += _tight_places(slots, base.bends, now.bends)
        rows += _waves(layout, points, slots, base.runs[key], now, again)
    bends = np.array([now.bends[row.span, round(row.place * (len(PLACES) - 1))] - row.target for row in rows])
    return rows, float(RISE * np.abs(bends).sum())


def curvatures(spans: Floats) -> Floats:
    """Curvature (S, P) of cubic spans (S, 4, 2) at PLACES, 1/mm; left turns are positive."""
    edges = np.diff(spans, axis=1)
    t = PLACES[None, :, None]
    velocity = 3 * ((1 - t) ** 2 * edges[:, None, 0] + 2 * t * (1 - t) * edges[:, None, 1] + t**2 * edges[:, None, 2])
    turns = np.diff(edges, axis=1)
    bend = 6 * ((1 - t) * turns[:, None, 0] + t * turns[:, None, 1])
    speed = np.hypot(velocity[..., 0], velocity[..., 1])
    across = velocity[..., 0] * bend[..., 1] - velocity[..., 1] * bend[..., 0]
    return np.asarray(across / np.maximum(speed, STANDING) ** 3)


def _drawn(layout: Layout) -> Iterator[tuple[tuple[str, str], EdgeSlots]]:
    for key, slots in layout.edges.items():
        if not (slots.edge.straight or slots.edge.role.is_vertical):
            yield key, slots


def _curve(layout: Layout, points: Floats, slots: EdgeSlots) -> Curve:
    return Curve(points[slots.first_point : slots.first_point + 3 * len(slots.widths) + 1])


def _tight_places(slots: EdgeSlots, base: Floats, now: Floats) -> Iterator[CurvatureRow]:
    """Hollows turn to the right on an anticlockwise outline; a base's own tight hollow is the maker's."""
    limit = -1.0 / (allowance_of(slots.edge) + HOLLOW_MM)
    spans = slice(slots.first_span, slots.first_span + len(slots.widths))
    allowed = np.minimum(limit, base[spans])
    for span, place in zip(*np.nonzero(now[spans] < ENOUGH * allowed), strict=True):
        yield _row(slots, slots.first_span + int(span), place, float(allowed[span, place]))


def _waves(
    layout: Layout, points: Floats, slots: EdgeSlots, base: tuple[Run, ...], now: Seen, again: Container[int]
) -> Iterator[CurvatureRow]:
    """The smallest visible run of an edge that has grown one, flattened where each of its spans bends most.

    One place a span, as a cubic that is told to be straight at three of them is straight all along; all places where
    one did not do (`again`).
    """
    runs = now.runs[slots.piece, slots.edge.name]
    if not has_new_inflection([run.turning_deg for run in base], [run.turning_deg for run in runs]):
        return
    seen = [run for run in runs if in_sight(run.turning_deg)]
    run = min(seen, key=lambda found: abs(found.turning_deg))
    curve = _curve(layout, points, slots)
    along = np.array([[curve.along_of(k, float(t)) for t in PLACES] for k in range(curve.n_spans)])
    inside = (along >= run.start_along - 1e-6) & (along <= run.end_along + 1e-6)
    side = 1.0 if run.turning_deg > 0 else -1.0
    spans = slice(slots.first_span, slots.first_span + len(slots.widths))
    bends = np.where(inside, side * now.bends[spans], 0.0)
    for k in np.flatnonzero(bends.max(axis=1) > 0.0):
        span = slots.first_span + int(k)
        places = np.flatnonzero(bends[k] > 0.0) if span in again else [bends[k].argmax()]
        for place in places:
            yield _row(slots, span, int(place), -side * STRAIGHTER)


def _row(slots: EdgeSlots, span: int, place: int, target: float) -> CurvatureRow:
    return CurvatureRow(
        f"curve of {slots.piece}.{slots.edge.name}", "structure", span, float(PLACES[place]), target, CURVATURE_SLIP
    )
