"""Nowhere tighter between two levels than at the tighter of them: rows that hold the width half-way.

A smooth line through the ordered widths may pass inside both of them.  Where the pattern would then be tighter than
ordered, and more so than the base is itself, its width at the tightest height is held as well.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from coutil.alter._goals import outward
from coutil.alter._layout import EdgeSlots, Floats, Layout
from coutil.alter._rows import LinearRow, Row
from coutil.pattern import Piece, Role

# The check allows a millimetre of full girth: on a half pattern this leaves room for it.
ALLOWED_MM = 0.45
# The held width comes up to a little more, as the line is then tightest somewhere beside it.
WIDER_MM = 0.4
# A miss of a tenth of a millimetre costs as much as one unit of energy, as at a level.
HELD_SLIP = 0.1**2
# Heights looked at between two levels.
LOOKS = np.linspace(0.0, 1.0, 13)[1:-1]
# Uppermost and lowest level between which a tape is moved along the body.
UPPER, LOWER = "underbust", "high_hip"
UPRIGHT = frozenset({Role.PANEL_SEAM, Role.SIDE_SEAM, Role.CENTRE, Role.CLOSURE})
BISECTIONS = 30


@dataclass(frozen=True, slots=True)
class Narrow:
    """The tightest height between two levels, as a share of the way up, and how far it lies inside both, mm."""

    lower: str
    upper: str
    share: float
    short: float


def narrows(layout: Layout, points: Floats) -> tuple[Narrow, ...]:
    """The tightest height between each two neighbouring levels of the body, for control points (P, 2)."""
    found = []
    for lower, upper in pairwise(_levels(layout)):
        ends = [sum(width for width, _ in _widths(layout, points, lower, upper, share)) for share in (0.0, 1.0)]
        inner = [sum(width for width, _ in _widths(layout, points, lower, upper, share)) for share in LOOKS]
        k = int(np.argmin(inner))
        found.append(Narrow(lower, upper, float(LOOKS[k]), min(ends) - inner[k]))
    return tuple(found)


def holding_rows(layout: Layout, points: Floats, own: Sequence[Narrow]) -> list[Row]:
    """A row for every narrow place beyond the base's own: its width comes up to what is allowed."""
    rows: list[Row] = []
    for narrow, base in zip(narrows(layout, points), own, strict=True):
        allowed = max(base.short, ALLOWED_MM)
        if narrow.short <= allowed:
            continue
        terms: dict[int, float] = {}
        total = 0.0
        for width, nodes in _widths(layout, points, narrow.lower, narrow.upper, narrow.share):
            total += width
            for node, coefficient in nodes.items():
                terms[node] = terms.get(node, 0.0) + coefficient
        key = f"width between {narrow.lower} and {narrow.upper}"
        target = total + narrow.short - max(base.short, 0.0) + WIDER_MM
        rows.append(
            LinearRow(key, "structure", tuple((node, 0, c) for node, c in sorted(terms.items())), target, HELD_SLIP)
        )
    return rows


def _levels(layout: Layout) -> tuple[str, ...]:
    """Levels that every piece with a waist carries, upwards, from the high hip to the underbust where it has them."""
    body = _body(layout)
    if not body:
        return ()
    common = [name for name in body[0].levels if all(name in piece.levels for piece in body)]
    names = sorted(common, key=lambda name: body[0].levels[name])
    start = names.index(LOWER) if LOWER in names else 0
    stop = names.index(UPPER) + 1 if UPPER in names else len(names)
    return tuple(names[start:stop])


def _body(layout: Layout) -> list[Piece]:
    return [piece for piece in layout.style.pieces if "waist" in piece.levels]


def _widths(
    layout: Layout, points: Floats, lower: str, upper: str, share: float
) -> Iterator[tuple[float, dict[int, float]]]:
    """For every upright edge between two levels: what it adds to the width, and that as a sum over nodes."""
    for piece in _body(layout):
        for edge in piece.edges:
            knots = [_knot(piece, edge.name, level) for level in (lower, upper)]
            if edge.role in UPRIGHT and None not in knots:
                slots = layout.slots(piece.name, edge.name)
                yield _width(layout, points, slots, sorted(knot for knot in knots if knot is not None), share)


def _knot(piece: Piece, edge: str, level: str) -> int | None:
    return next((mark.at.knot for mark in piece.level_marks if mark.level == level and mark.at.edge == edge), None)


def _width(
    layout: Layout, points: Floats, slots: EdgeSlots, knots: list[int], share: float
) -> tuple[float, dict[int, float]]:
    """x of the edge at a height, outwards, with its coefficients: the height as a share of the way up."""
    spans = layout.span_points[slots.first_span + knots[0] : slots.first_span + knots[1]]
    start, end = points[spans[0, 0], 1], points[spans[-1, 3], 1]
    height = min(start, end) + share * abs(end - start)
    span, t = _place(points, spans, height, bool(end > start))
    weights = np.array([(1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t * t, t**3])
    sign = outward(slots)
    by_node = sign * (weights @ layout.to_points[span])
    nodes = {int(node): float(by_node[node]) for node in np.flatnonzero(by_node)}
    return float(sign * (weights @ points[span, 0])), nodes


def _place(points: Floats, spans: np.ndarray, height: float, rising: bool) -> tuple[np.ndarray, float]:
    """The span and parameter at which the edge crosses a height between its ends; edges run up or down throughout."""
    span = next((s for s in spans if (points[s[3], 1] >= height) == rising), spans[-1])
    y = points[span, 1]
    low, high = 0.0, 1.0
    for _ in range(BISECTIONS):
        t = 0.5 * (low + high)
        value = (1 - t) ** 3 * y[0] + 3 * (1 - t) ** 2 * t * y[1] + 3 * (1 - t) * t * t * y[2] + t**3 * y[3]
        low, high = (t, high) if (value < height) == rising else (low, t)
    return span, 0.5 * (low + high)
