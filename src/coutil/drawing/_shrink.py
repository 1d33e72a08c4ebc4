"""From the cut line back to the stitching line: every edge moved inwards by its own allowance, corners met anew."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely import LineString
from shapely import Point as ShapelyPoint

from coutil.curves import Curve, fit_through
from coutil.drawing._values import Bools, Floats
from coutil.errors import BadInput

STEP_MM = 1.0  # Places at which a curve is moved; between them it is fitted, within hundredths of a millimetre.
FIT_MM = 0.02
NUDGE_MM = 1e-3  # Half the step over which a direction is taken.
STRAIGHT_MM = 0.01
FLATTEN_MM = 0.002
EXTEND_SHARE = 4.0  # An edge is drawn on by so many allowances, to meet its neighbour at a sharp corner.

Run = tuple[Floats, Bools]


def stitching_runs(runs: Sequence[Run], allowances: Sequence[float], piece: str) -> list[Run]:
    """The runs of spans moved inwards (to the left of an anticlockwise outline), each by its allowance in mm.

    Raises BadInput where two neighbours no longer meet.
    """
    moved = [_moved(spans, flat, by) for (spans, flat), by in zip(runs, allowances, strict=True)]
    reach = EXTEND_SHARE * max([*allowances, 1.0])
    count = len(moved)
    corners = [_meeting(moved[k - 1], moved[k], reach, piece) for k in range(count)]
    return [_between(moved[k], flat, corners[k], corners[(k + 1) % count], reach) for k, (_, flat) in enumerate(runs)]


def _moved(spans: Floats, flat: Bools, by: float) -> Floats:
    """The edge as close points, moved to its left."""
    curve = Curve.from_spans(spans)
    points = curve.flatten(FLATTEN_MM)
    if not flat.all():
        stops = np.linspace(0.0, curve.length, max(8, int(curve.length / STEP_MM) + 1))
        points = curve.points_at(stops)
        ahead, behind = np.minimum(stops + NUDGE_MM, curve.length), np.maximum(stops - NUDGE_MM, 0.0)
        tangents = curve.points_at(ahead) - curve.points_at(behind)
    else:
        tangents = np.gradient(points, axis=0)
    tangents /= np.hypot(*tangents.T)[:, None]
    return np.asarray(points + by * np.stack((-tangents[:, 1], tangents[:, 0]), axis=1))


def _extended(points: Floats, reach: float) -> Floats:
    """The polyline drawn on at both ends along its own direction."""
    first, last = points[0] - points[1], points[-1] - points[-2]
    begin = points[0] + reach * first / np.hypot(*first)
    end = points[-1] + reach * last / np.hypot(*last)
    return np.concatenate((begin[None], points, end[None]))


def _meeting(before: Floats, after: Floats, reach: float, piece: str) -> Floats:
    """Where the end of one moved edge meets the beginning of the next: the crossing nearest to both."""
    first, second = LineString(_extended(before, reach)), LineString(_extended(after, reach))
    found = first.intersection(second)
    places = [np.asarray(part.coords[0]) for part in getattr(found, "geoms", [found]) if not part.is_empty]
    if not places:
        gap = float(np.hypot(*(before[-1] - after[0])))
        if gap < STEP_MM:
            return np.asarray((before[-1] + after[0]) / 2)
        raise BadInput(
            f"The stitching line of piece {piece} does not close: two neighbouring edges no longer meet when "
            "moved in by their allowances; correct the allowances, or draw the stitching line."
        )
    middle = (before[-1] + after[0]) / 2
    return min(places, key=lambda place: float(np.hypot(*(place - middle))))


def _between(points: Floats, flat: Bools, start: Floats, end: Floats, reach: float) -> Run:
    """The part of a moved edge between its two new corners, as spans."""
    line = LineString(_extended(points, reach))
    a, b = line.project(ShapelyPoint(start)), line.project(ShapelyPoint(end))
    run = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(np.asarray(line.coords), axis=0).T))))
    inner = np.asarray(line.coords)[(run > a + 1e-9) & (run < b - 1e-9)]
    kept = np.concatenate((start[None], inner, end[None]))
    if flat.all() and LineString(kept).simplify(STRAIGHT_MM).coords[1:-1] == []:
        ends = kept[[0, -1]]
        return (ends[:1, None] + np.linspace(0, 1, 4)[None, :, None] * (ends[1:] - ends[:1])[:, None]), np.array([True])
    spans = fit_through(kept, FIT_MM).spans
    return spans, np.zeros(len(spans), dtype=bool)
