"""Which way up a drawing is, and turning it: read from its texts and blocks, and from the names of its levels."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from coutil.drawing._found import Found
from coutil.drawing._names import place_of_name
from coutil.drawing._values import Drawing, DrawnLine, Floats, Point

FROM_ABOVE = ("bust", "underbust", "waist", "high_hip", "hip")
How = Literal["turned", "mirrored"]
SAID = {
    "turned": "The drawing lay upside down: it was turned the right way up.",
    "mirrored": "The drawing counts downwards: it was mirrored, so that up is up.",
}


def is_turned(degrees: float) -> bool:
    """Whether what stands at that angle lies on its head rather than upright."""
    return 90.0 < degrees % 360.0 < 270.0


def mostly(votes: Sequence[bool]) -> bool:
    """Whether more say so than not."""
    return 2 * sum(votes) > len(votes)


def set_upright(drawing: Drawing, gathered: Callable[[Drawing], Found]) -> Found:
    """What is on the drawing once it is the right way up, with one remark if it was not.

    Its texts and blocks tell whether it lies upside down.  Where the named levels then still lie in the wrong order it
    counts downwards, and is mirrored; or it is turned, where that brings the centre front to the left.
    """
    how: list[How] = []
    if drawing.upside_down:
        drawing, how = _as_seen(drawing, "turned"), ["turned"]
    found = gathered(drawing)
    if _is_wrong_way_up(found):
        last: How = "turned" if _runs_from_the_back(found) else "mirrored"
        found, how = gathered(_as_seen(drawing, last)), [*how, last]
    told = {("turned", "turned"): (), ("turned", "mirrored"): (), ("mirrored",): (SAID["mirrored"],)}
    remarks = told.get(tuple(how), (SAID["turned"],) if how else ())
    return replace(found, remarks=(*found.remarks, *remarks))


def _is_wrong_way_up(found: Found) -> bool:
    """More pairs of named levels lie in the wrong order than in the right one."""
    heights = [
        [(line.a[1] + line.b[1]) / 2 for line in found.levels if line.name == name and line.piece == piece]
        for piece in {line.piece for line in found.levels}
        for name in FROM_ABOVE
    ]
    by_piece = [heights[k : k + len(FROM_ABOVE)] for k in range(0, len(heights), len(FROM_ABOVE))]
    votes = [
        float(np.mean(upper)) < float(np.mean(lower))
        for levels in by_piece
        for k, upper in enumerate(levels)
        for lower in levels[k + 1 :]
        if upper and lower
    ]
    return mostly(votes)


def _runs_from_the_back(found: Found) -> bool:
    """The pieces whose names tell lie from the centre back to the centre front, from the left."""
    places = [(loop.bounds[0], place) for loop in found.loops if (place := place_of_name(loop.piece)) is not None]
    ordered = [place for _, place in sorted(places)]
    return len(ordered) > 1 and ordered == sorted(ordered, reverse=True)


def _as_seen(drawing: Drawing, how: How) -> Drawing:
    """The drawing turned by half a turn or mirrored top to bottom, within the same box."""
    points = np.concatenate([line.spans.reshape(-1, 2) for line in drawing.lines] or [np.zeros((1, 2))])
    ends = points.min(axis=0) + points.max(axis=0)
    signs = np.array([-1.0, -1.0]) if how == "turned" else np.array([1.0, -1.0])
    shift = np.where(signs < 0, ends, 0.0)

    def placed(at: Point) -> Point:
        x, y = np.asarray(at) * signs + shift
        return float(x), float(y)

    return replace(
        drawing,
        lines=tuple(_placed_line(line, signs, shift) for line in drawing.lines),
        texts=tuple(replace(text, at=placed(text.at)) for text in drawing.texts),
        points=tuple(replace(point, at=placed(point.at)) for point in drawing.points),
        upside_down=False,
    )


def _placed_line(line: DrawnLine, signs: Floats, shift: Floats) -> DrawnLine:
    circle = line.circle
    if circle is not None:
        x, y = np.asarray(circle[:2]) * signs + shift
        circle = (float(x), float(y), circle[2])
    return replace(line, spans=line.spans * signs + shift, circle=circle)
