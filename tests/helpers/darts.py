"""A tube whose front is one piece with a waist dart, so that a seam joins two edges of the same piece."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from coutil.curves import Curve
from coutil.pattern import (
    Edge,
    EdgeRef,
    EdgeShare,
    KnotRef,
    LevelMark,
    Match,
    Piece,
    PointRef,
    Role,
    Seam,
    Style,
    with_notches,
)
from helpers.seamed_tubes import shared_tube
from helpers.tubes import HEIGHTS, polyline, with_chart

TIP = 70.0  # Between waist and underbust, mm above the waist.
LEAN = 0.1  # Each side of the dart goes so far sideways for every mm up: 15 in the 150 mm from the hem to the tip.
LEVELS = ("hem", "high_hip", "waist")
PIECE = "panel_1"


def dart_width(height: float) -> float:
    """How wide the dart is at a height, mm: 30 at the hem, 24 at the high hip, 14 at the waist."""
    return 2 * LEAN * max(TIP - height, 0.0)


def darted_tube(step: float = 1.0) -> Style:
    """Two panels a half, of 150 mm; the front is 30 mm wider, and the dart takes as much away at the hem.

    Garment half at the hem 150 + 150, high hip 156 + 150, waist 166 + 150, underbust 180 + 150.
    """
    plain = shared_tube(2, step=step)
    rules = plain.sharing
    shares = (EdgeShare(PIECE, "dart_in", 1.0), EdgeShare(PIECE, "dart_out", 1.0))
    rules = replace(rules, curves={**rules.curves, "front": (*rules.curves["front"], *shares)})
    front = _with_dart(plain.piece(PIECE))
    style = replace(plain.with_pieces({PIECE: front}), seams=(*plain.seams, _seam()), sharing=rules)
    more = {name: 2 * (30.0 - dart_width(height)) for name, height in HEIGHTS.items()}
    readings = {f"{name}_girth": 650.0 + by for name, by in more.items()}
    fronts = {f"{name}_front": 300.0 + by for name, by in more.items()}
    return with_notches(with_chart(style, **readings, **fronts))


def _with_dart(piece: Piece) -> Piece:
    """The dart stands upright in the middle; the lower edge meets it squarely, so that it is smooth once sewn."""
    hem, side, top, centre = piece.edges
    middle = (float(hem.curve.end[0]) + 30.0) / 2
    left = [(middle - dart_width(HEIGHTS[name]) / 2, HEIGHTS[name]) for name in LEVELS]
    right = [(2 * middle - x, y) for x, y in left]
    moved = side.curve.moved(30.0, 0.0)
    edges = (
        replace(hem, name="hem_1", curve=_drooping(tuple(hem.curve.start), left[0], at_end=True)),
        Edge("dart_in", polyline([*left, (middle, TIP)]), Role.PANEL_SEAM),
        Edge("dart_out", polyline([(middle, TIP), *right[::-1]]), Role.PANEL_SEAM),
        replace(hem, name="hem_2", curve=_drooping(right[0], tuple(moved.start), at_end=False)),
        replace(side, curve=moved),
        replace(top, curve=Curve.line(tuple(moved.end), tuple(top.curve.end))),
        centre,
    )
    marks = [LevelMark(name, KnotRef("dart_in", k)) for k, name in enumerate(LEVELS)]
    marks += [LevelMark(name, KnotRef("dart_out", 3 - k)) for k, name in enumerate(LEVELS)]
    return replace(piece, edges=edges, level_marks=(*piece.level_marks, *marks))


def _drooping(a: tuple[float, float], b: tuple[float, float], *, at_end: bool) -> Curve:
    """From a to b, level at one end and square to the dart at the other."""
    third = (b[0] - a[0]) / 3
    drop = LEAN * third
    first, second = (a[0] + third, a[1]), (b[0] - third, b[1])
    if at_end:
        second = (second[0], second[1] + drop)
    else:
        first = (first[0], first[1] + drop)
    return Curve.from_spans(np.array([[a, first, second, b]]))


def _seam() -> Seam:
    matches = tuple(
        Match(name, PointRef(PIECE, "dart_in", k), PointRef(PIECE, "dart_out", 3 - k))
        for k, name in ((1, "high_hip"), (2, "waist"))
    )
    return Seam("dart", (EdgeRef(PIECE, "dart_in"),), (EdgeRef(PIECE, "dart_out", backward=True),), matches)
