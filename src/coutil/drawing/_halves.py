"""Mirroring: a drawing seen from behind, and a piece drawn whole of which one half is kept."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from coutil.curves import Curve
from coutil.drawing._arcs import line_span
from coutil.drawing._found import Direction, Found, Loop
from coutil.drawing._values import Drawing, DrawnLine, Floats
from coutil.errors import BadInput

LEAN_MM = 0.5
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
