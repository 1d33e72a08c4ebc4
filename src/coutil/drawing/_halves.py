"""Mirroring: a drawing seen from behind, and a piece drawn whole of which one half is kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from coutil.curves import Curve
from coutil.drawing._arcs import line_span
from coutil.drawing._found import Direction, Found, Loop
from coutil.drawing._levels import narrowest_width
from coutil.drawing._marks import Marks
from coutil.drawing._values import Drawing, DrawnLine, Floats
from coutil.errors import BadInput

LEAN_MM = 0.5
LEAST_WAIST_MM = 450.0  # A whole pattern narrower than this fits nobody.
MIRRORED_MM = 0.5  # Outlines that lie so near once one is turned over are left and right of one body.
BESIDE_MM = 1.0  # A mirror line this near to an outline's end lies along it: the piece is a half already.


def flipped(drawing: Drawing) -> Drawing:
    """The drawing mirrored left to right."""
    return replace(
        drawing,
        lines=tuple(_flipped_line(line) for line in drawing.lines),
        texts=tuple(replace(text, at=(-text.at[0], text.at[1])) for text in drawing.texts),
        points=tuple(replace(point, at=(-point.at[0], point.at[1])) for point in drawing.points),
    )


def _flipped_line(line: DrawnLine) -> DrawnLine:
    circle = line.circle and (-line.circle[0], line.circle[1], line.circle[2])
    return replace(line, spans=line.spans * np.array([-1.0, 1.0]), circle=circle)


def halved(found: Found) -> Found:
    """Of every outline with a mirror line through it the right half, which is the wearer's left."""
    loops = list(found.loops)
    for mirror in found.mirrors:
        for k, loop in enumerate(loops):
            x = (mirror.a[0] + mirror.b[0]) / 2
            if _crosses(mirror, loop, x):
                loops[k] = _right_half(loop, mirror, x)
    return replace(found, loops=tuple(loops))


def _crosses(mirror: Direction, loop: Loop, x: float) -> bool:
    left, low, right, high = loop.bounds
    middle = (mirror.a[1] + mirror.b[1]) / 2
    if mirror.piece and loop.piece and mirror.piece != loop.piece:
        return False
    return left + BESIDE_MM < x < right - BESIDE_MM and low - BESIDE_MM <= middle <= high + BESIDE_MM


def _right_half(loop: Loop, mirror: Direction, x: float) -> Loop:
    name = loop.piece or loop.where
    if abs(mirror.a[0] - mirror.b[0]) > LEAN_MM:
        raise BadInput(f"The mirror line of piece {name} leans: draw it upright.")
    if loop.edges:
        raise BadInput(f"Piece {name} is drawn whole, in named edges, with a mirror line: draw one half of it.")
    quarter = np.array([[0.0, 1.0], [-1.0, 0.0]])
    turned = Curve.from_spans(loop.spans @ quarter.T)
    stops = sorted(crossing.along for crossing in turned.crossings(-x))
    if len(stops) != 2:
        raise BadInput(f"The mirror line of piece {name} meets its outline {len(stops)} times, and not twice: mend it.")
    return _between(loop, stops, x)


def _between(loop: Loop, stops: list[float], x: float) -> Loop:
    curve, first = Curve.from_spans(loop.spans).with_knot_at(stops[0])
    curve, second = curve.with_knot_at(stops[1])
    spans, count = curve.spans, curve.n_spans
    parts = (np.arange(first, second), np.arange(second, first + count) % count)
    kept = max(parts, key=lambda part: float(spans[part][:, :, 0].mean()) if len(part) else -np.inf)
    run = spans[kept].copy()
    run[0, 0, 0] = run[-1, 3, 0] = x
    closing = _closing(run)
    flat = np.append(_flat_near(loop, run), True)
    return replace(loop, spans=np.concatenate((run, closing)), flat=flat, turns=())


def _closing(run: Floats) -> Floats:
    a, b = complex(*run[-1, 3]), complex(*run[0, 0])
    line = np.array(line_span(a, b))
    return np.stack((line.real, line.imag), axis=-1)[None]


def _flat_near(loop: Loop, run: Floats) -> Floats:
    """Which spans of the kept run were drawn straight: those whose handles lie on their chord's thirds."""
    thirds = run[:, :1] + (run[:, 3:] - run[:, :1]) * np.array([1 / 3, 2 / 3])[None, :, None]
    straight = np.abs(run[:, 1:3] - thirds).max(axis=(1, 2)) < 1e-6
    return np.asarray(straight & bool(loop.flat.any()))


# --- both halves, of which one is the other's mirror image ---------------------------------------------------


def one_half(found: Found, marks: Marks) -> Found:
    """Where both halves were drawn and nothing says which is which, the wearer's left, told in a remark.

    A front may mirror its back in a true half; but the pieces of both halves go round a body as they lie.
    """
    order = sorted(found.loops, key=lambda loop: loop.bounds[0])
    count = len(order) // 2
    first, last = order[:count], order[count:]
    goes_round = sum(narrowest_width(loop) for loop in order) >= LEAST_WAIST_MM
    if marks.pieces or not goes_round or count < 2 or len(order) % 2 or not _mirror_each_other(first, last):
        return found
    # The centre front of the wearer's left is upright at its left end; where both ends would do, it is in the middle.
    kept = first if _upright_left(first[0]) > _upright_left(last[0]) else last
    told = "Both halves were drawn, each the mirror image of the other: one was kept, and counts for both."
    return replace(found, loops=tuple(loop for loop in found.loops if loop in kept), remarks=(*found.remarks, told))


def _mirror_each_other(first: Sequence[Loop], last: Sequence[Loop]) -> bool:
    left = list(last)
    for loop in first:
        mate = next((other for other in left if _is_mirrored(loop, other)), None)
        if mate is None:
            return False
        left.remove(mate)
    return True


def _is_mirrored(loop: Loop, other: Loop) -> bool:
    mine, theirs = (np.asarray(one.polygon.exterior.coords) for one in (loop, other))
    theirs = theirs * np.array([-1.0, 1.0])
    mine, theirs = mine - mine.min(axis=0), theirs - theirs.min(axis=0)
    if np.abs(np.ptp(mine, axis=0) - np.ptp(theirs, axis=0)).max() > MIRRORED_MM:
        return False
    from shapely import LinearRing, hausdorff_distance

    return bool(hausdorff_distance(LinearRing(mine), LinearRing(theirs), 0.05) <= MIRRORED_MM)


def _upright_left(loop: Loop) -> bool:
    """Whether half the height of an outline or more is one upright line at its left end."""
    points = np.asarray(loop.polygon.exterior.coords)
    near = points[points[:, 0] <= loop.bounds[0] + LEAN_MM, 1]
    return bool(np.ptp(near) >= (loop.bounds[3] - loop.bounds[1]) / 2)
