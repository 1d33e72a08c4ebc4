"""Levels: which horizontal line is which, and how high each lies on every piece."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from coutil.drawing._found import LevelLine, Loop
from coutil.drawing._sure import Guesses
from coutil.errors import BadInput

WAIST = "waist"
SAME_LEVEL_MM = 3.0
ABOVE, BELOW = ("underbust", "bust"), ("high_hip", "hip")
# A waist found by the narrowest place alone: the narrowest heights of the pieces must agree within this.
AGREE_MM = 15.0


def named_levels(lines: Sequence[LevelLine], loops: Sequence[Loop], sure: Guesses) -> list[LevelLine]:
    """Every level line with a name: as drawn, or proposed from its height."""
    known = {loop.piece: loop for loop in loops}
    named = [line for line in lines if line.name]
    for piece in dict.fromkeys(line.piece if line.piece in known else "" for line in lines if not line.name):
        unnamed = [ln for ln in lines if not ln.name and (ln.piece if ln.piece in known else "") == piece]
        beside = [ln for ln in named if ln.piece in ("", piece)] if piece else named
        named = [*named, *_newly_named(unnamed, beside, [known[piece]] if piece else loops, sure)]
    return named


def _newly_named(
    unnamed: Sequence[LevelLine], named: Sequence[LevelLine], loops: Sequence[Loop], sure: Guesses
) -> list[LevelLine]:
    """Unnamed lines over the same pieces, named by their heights over the waist among them."""
    waists = [_height(line) for line in named if line.name == WAIST]
    groups = _clusters([_height(line) for line in unnamed])
    waist = waists[0] if waists else _narrowest(groups, loops, sure)
    names = _names_by_height(groups, waist, {line.name for line in named})
    for height, name in names.items():
        if name != WAIST:
            side = "above" if height > waist else "below"
            sure.add(f"level {name}", f"{abs(height - waist):.0f} mm {side} the waist", 0.5, "a line without a name")
    found = [(line, names.get(_nearest(groups, _height(line)))) for line in unnamed]
    return [LevelLine(name, line.piece, line.a, line.b, line.where) for line, name in found if name]


def _nearest(heights: Sequence[float], height: float) -> float:
    return min(heights, key=lambda h: abs(h - height))


def _height(line: LevelLine) -> float:
    return (line.a[1] + line.b[1]) / 2


def _clusters(heights: Sequence[float]) -> list[float]:
    """Distinct heights, ascending."""
    ordered = sorted(heights)
    return [ordered[0], *(b for a, b in pairwise(ordered) if b - a > SAME_LEVEL_MM)]


def _names_by_height(groups: Sequence[float], waist: float, taken: set[str]) -> dict[float, str]:
    above = [name for name in ABOVE if name not in taken]
    below = [name for name in BELOW if name not in taken]
    names: dict[float, str] = {}
    for height in sorted(groups, key=lambda h: abs(h - waist)):
        if abs(height - waist) <= SAME_LEVEL_MM:
            names[height] = WAIST
        else:
            free = above if height > waist else below
            if free:
                names[height] = free.pop(0)
    return names


def _narrowest(groups: Sequence[float], loops: Sequence[Loop], sure: Guesses) -> float:
    """Of several unnamed lines the one at which the pieces together are narrowest."""
    widths = {height: sum(_width(loop, height) for loop in loops) for height in groups}
    crossed = {height: width for height, width in widths.items() if width > 0} or widths
    waist = min(crossed, key=lambda height: crossed[height])
    sure.add("level waist", f"at {waist:.1f} mm on the drawing", 0.6, "of the unnamed lines the one that is shortest")
    return waist


def _width(loop: Loop, height: float) -> float:
    """Length of a horizontal within the outline."""
    points = np.asarray(loop.polygon.exterior.coords)
    a, b = points[:-1], points[1:]
    crossing = (a[:, 1] <= height) != (b[:, 1] <= height)
    a, b = a[crossing], b[crossing]
    xs = np.sort(a[:, 0] + (height - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0]))
    return float((xs[1::2] - xs[0::2]).sum()) if len(xs) % 2 == 0 else float(np.ptp(xs))


def guessed_waist(loops: Sequence[Loop], sure: Guesses) -> float:
    """The height of a waist nobody drew: where the pieces side by side are narrowest.

    Raises BadInput where they do not agree on it, or are narrowest at an end.
    """
    narrow = [_narrowest_height(loop) for loop in loops]
    heights = [height for height in narrow if height is not None]
    if len(heights) < max(1, (len(loops) + 1) // 2) or np.ptp(heights) > AGREE_MM:
        raise BadInput(
            "The drawing has no waist: draw a straight horizontal line over the pieces and name it `level waist`, "
            "or give each piece its levels in a marks file."
        )
    waist = float(np.mean(heights))
    sure.add(
        "level waist", f"at {waist:.1f} mm on the drawing", 0.4, "no level was drawn; the pieces are narrowest here"
    )
    return waist


def narrowest_width(loop: Loop) -> float:
    """The least width of an outline, its ends apart, mm: about what it has at the waist."""
    _, low, _, high = loop.bounds
    return min(_width(loop, float(at)) for at in np.linspace(low + 0.1 * (high - low), high - 0.1 * (high - low), 81))


def _narrowest_height(loop: Loop) -> float | None:
    _, low, _, high = loop.bounds
    inner = np.linspace(low + 0.1 * (high - low), high - 0.1 * (high - low), 81)
    widths = [_width(loop, float(height)) for height in inner]
    k = int(np.argmin(widths))
    return float(inner[k]) if 0 < k < len(inner) - 1 else None


def levels_on(lines: Sequence[LevelLine], loop: Loop, known: Sequence[str]) -> list[LevelLine]:
    """The level lines that run over one outline; a line of a named piece counts for that piece alone."""
    return [line for line in lines if (line.piece == loop.piece if line.piece in known else _runs_over(line, loop))]


def _runs_over(line: LevelLine, loop: Loop) -> bool:
    left, low, right, high = loop.bounds
    x = sorted((line.a[0], line.b[0]))
    return low - 1.0 <= _height(line) <= high + 1.0 and x[0] < right and x[1] > left


def lean_of(line: LevelLine) -> float:
    """Degrees by which a level line rises to the right, within -90 to 90."""
    dx, dy = line.b[0] - line.a[0], line.b[1] - line.a[1]
    if dx < 0:
        dx, dy = -dx, -dy
    return math.degrees(math.atan2(dy, dx))
