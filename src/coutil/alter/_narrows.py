"""Nowhere tighter between two levels than at the tighter of them: rows that hold the width half-way.

A smooth line through the ordered widths may pass inside both of them.  Where the pattern would then be tighter than
ordered, and more so than the base is itself, its width at the tightest height is held as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from coutil.alter._goals import outward
from coutil.alter._layout import Floats, Ints, Layout
from coutil.alter._rows import LinearRow
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
# Places along a span from which its width at any height is read; a chord between two leaves the curve by 0.02 mm.
_T = np.linspace(0.0, 1.0, 17)
_BERNSTEIN = np.stack(((1 - _T) ** 3, 3 * (1 - _T) ** 2 * _T, 3 * (1 - _T) * _T**2, _T**3), axis=1)
SHARES = np.concatenate(([0.0], LOOKS, [1.0]))


@dataclass(frozen=True, slots=True)
class Narrow:
    """The tightest height between two levels, as a share of the way up, and how far it lies inside both, mm."""

    lower: str
    upper: str
    share: float
    short: float


@dataclass(frozen=True, slots=True, eq=False)
class _Stretch:
    """One edge between two levels: control points of its spans (k, 4), its outside, and whether it rises."""

    spans: Ints
    sign: float
    rises: bool


class Bands:
    """The body between each two neighbouring levels, with every upright edge that bounds it."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.between = [(pair, _stretches(layout, *pair)) for pair in pairwise(_levels(layout))]

    def narrows(self, points: Floats) -> tuple[Narrow, ...]:
        """The tightest height of every band, for control points (P, 2)."""
        return tuple(_narrow(pair, stretches, points) for pair, stretches in self.between)

    def holding_row(self, points: Floats, narrow: Narrow, base: Narrow) -> LinearRow:
        """The width at the tightest height comes up to what is allowed."""
        stretches = next(found for pair, found in self.between if pair == (narrow.lower, narrow.upper))
        terms: dict[int, float] = {}
        total = 0.0
        for stretch in stretches:
            width, nodes = _held(self.layout, points, stretch, narrow.share)
            total += width
            for node, coefficient in nodes.items():
                terms[node] = terms.get(node, 0.0) + coefficient
        target = total + narrow.short - max(base.short, 0.0) + WIDER_MM
        places = tuple((node, 0, c) for node, c in sorted(terms.items()))
        return LinearRow(
            f"width between {narrow.lower} and {narrow.upper}", "structure", places, target, HELD_SLIP
        )


def holding_rows(bands: Bands, points: Floats, own: Sequence[Narrow]) -> list[LinearRow]:
    """A row for every narrow place beyond the base's own."""
    return [
        bands.holding_row(points, narrow, base)
        for narrow, base in zip(bands.narrows(points), own, strict=True)
        if narrow.short > max(base.short, ALLOWED_MM)
    ]


def _narrow(pair: tuple[str, str], stretches: Iterable[_Stretch], points: Floats) -> Narrow:
    widths = np.sum([_widths(points, stretch) for stretch in stretches], axis=0)
    k = int(np.argmin(widths[1:-1]))
    return Narrow(*pair, float(LOOKS[k]), float(min(widths[0], widths[-1]) - widths[1 + k]))


def _widths(points: Floats, stretch: _Stretch) -> Floats:
    """x of one edge at SHARES of the way up, outwards, mm."""
    places = np.einsum("ti,kix->ktx", _BERNSTEIN, points[stretch.spans]).reshape(-1, 2)
    x, y = (places if stretch.rises else places[::-1]).T
    return np.asarray(stretch.sign * np.interp(y[0] + SHARES * (y[-1] - y[0]), y, x))


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


def _stretches(layout: Layout, lower: str, upper: str) -> list[_Stretch]:
    found = []
    for piece in _body(layout):
        for edge in piece.edges:
            knots = [_knot(piece, edge.name, level) for level in (lower, upper)]
            if edge.role in UPRIGHT and None not in knots:
                slots = layout.slots(piece.name, edge.name)
                first, last = sorted(knot for knot in knots if knot is not None)
                spans = layout.span_points[slots.first_span + first : slots.first_span + last]
                found.append(_Stretch(spans, outward(slots), slots.rises))
    return found


def _knot(piece: Piece, edge: str, level: str) -> int | None:
    return next((mark.at.knot for mark in piece.level_marks if mark.level == level and mark.at.edge == edge), None)


def _held(layout: Layout, points: Floats, stretch: _Stretch, share: float) -> tuple[float, dict[int, float]]:
    """x of the edge at a height, outwards, with its coefficients: the height as a share of the way up."""
    spans = stretch.spans
    start, end = points[spans[0, 0], 1], points[spans[-1, 3], 1]
    height = min(start, end) + share * abs(end - start)
    span, t = _place(points, spans, height, bool(end > start))
    weights = np.array([(1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t * t, t**3])
    by_node = stretch.sign * (weights @ layout.to_points[span])
    nodes = {int(node): float(by_node[node]) for node in np.flatnonzero(by_node)}
    return float(stretch.sign * (weights @ points[span, 0])), nodes


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
