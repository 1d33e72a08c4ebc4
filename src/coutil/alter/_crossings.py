"""Where seams really cross their levels.

A width row reads the crossing off the slope at the level's mark.  A mark that has slipped far along a bent seam makes
that reading short by the bend, so the row's figure is corrected by what the seam itself says.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from coutil.alter._layout import Floats, Layout
from coutil.alter._rows import CrossRow, Row

# Newton's method on a seam that runs up or down: each step doubles the digits.
STEPS = 6
# A crossing off by less cannot be seen, and all seams together stay within a tenth of a millimetre.
MET_MM = 0.01


def missed_crossings(layout: Layout, points: Floats, rows: Sequence[Row]) -> dict[int, float]:
    """By knot: how far (mm) the seam crosses beside the row's figure, where that is more than MET_MM."""
    wanted = [row for row in rows if isinstance(row, CrossRow)]
    if not wanted:
        return {}
    spans, from_start = _spans_at(layout, points, wanted)
    found = _crossings(points[layout.span_points[spans]], np.array([row.level for row in wanted]), from_start)
    missed = found - np.array([row.target + row.bend for row in wanted])
    return {row.position: float(off) for row, off in zip(wanted, missed, strict=True) if abs(off) > MET_MM}


def with_corrections(rows: Sequence[Row], corrections: Mapping[int, float]) -> list[Row]:
    """The rows with the figures of crossings lowered by what they missed so far (mm, by knot)."""
    return [
        replace(row, target=row.target - corrections[row.position])
        if isinstance(row, CrossRow) and row.position in corrections
        else row
        for row in rows
    ]


def _spans_at(layout: Layout, points: Floats, rows: Sequence[CrossRow]) -> tuple[np.ndarray, np.ndarray]:
    """The span beside each row's knot that crosses its level, and whether it begins at the knot."""
    begins = {int(node): i for i, node in enumerate(layout.span_nodes[:, 0])}
    ends = {int(node): i for i, node in enumerate(layout.span_nodes[:, 2])}
    spans, from_start = [], []
    for row in rows:
        after, before = begins.get(row.position), ends.get(row.position)
        ahead = after is not None and (before is None or _leads_to(points[layout.span_points[after]], row.level))
        chosen = after if ahead else before
        assert chosen is not None, "every crossing's knot lies on an edge"
        spans.append(chosen)
        from_start.append(ahead)
    return np.array(spans), np.array(from_start)


def _leads_to(span: Floats, level: float) -> bool:
    start, end = span[0, 1], span[3, 1]
    return bool((level - start) * (end - start) >= 0.0)


def _crossings(spans: Floats, levels: Floats, from_start: np.ndarray) -> Floats:
    """x (m,) at which spans (m, 4, 2) cross their levels, searched from their start or end."""
    t = np.where(from_start, 0.0, 1.0)
    for _ in range(STEPS):
        height, climb = _value(spans[:, :, 1], t), _slope(spans[:, :, 1], t)
        t = t - (height - levels) / np.where(np.abs(climb) > 1e-9, climb, 1.0)
    return _value(spans[:, :, 0], t)


def _value(values: Floats, t: Floats) -> Floats:
    s = 1 - t
    weights = np.stack((s**3, 3 * s * s * t, 3 * s * t * t, t**3), axis=1)
    return np.asarray((weights * values).sum(axis=1))


def _slope(values: Floats, t: Floats) -> Floats:
    s, steps = 1 - t, np.diff(values, axis=1)
    return np.asarray(3 * (np.stack((s * s, 2 * s * t, t * t), axis=1) * steps).sum(axis=1))
