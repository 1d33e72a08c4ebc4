"""Lengths, transforms and view boxes of SVG.

1 in = 25.4 mm = 96 px = 72 pt = 6 pc (CSS Values and Units, absolute lengths).  Transforms are (2, 3) matrices.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping

import numpy as np

from coutil.drawing._values import Floats
from coutil.errors import BadInput

MM_PER_PX = 25.4 / 96
MM_PER: Mapping[str, float] = {
    "": MM_PER_PX, "px": MM_PER_PX, "mm": 1.0, "cm": 10.0, "q": 0.25, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6,
}  # fmt: skip

_NUMBER = r"[+-]?(?:\d++\.?\d*+|\.\d++)(?:[eE][+-]?\d++)?+"
_LENGTH = re.compile(rf"\s*+({_NUMBER})\s*+([a-zA-Z%]*+)\s*+")
# Possessive: what a part has taken it does not give back, so that no text is gone through twice.
_STEP = re.compile(r"\s*+,?\s*+([a-zA-Z]++)\s*+\(([^()]*+)\)\s*+")
MOST_STEPS = 1000
LONGEST_NUMBERS = 200_000  # Letters; a polyline of ten thousand points.
LARGEST_NUMBER = 1e9  # No unit is so small that a drawing needs more.


def mm_of(text: str, where: str) -> float:
    """A length in mm; a bare number is px.  Raises BadInput for any other unit."""
    found = _LENGTH.fullmatch(text[:80])
    unit = found[2].lower() if found else "?"
    if found is None or unit not in MM_PER:
        raise BadInput(f"{where} says {text[:30]!r}, which is no length in mm, cm, in, pt, pc or px: correct it.")
    return number_of(found[1], where) * MM_PER[unit]


def units_of(text: str | None, where: str, default: float = 0.0) -> float:
    """A length in user units (px); the default where there is none."""
    return default if text is None else mm_of(text, where) / MM_PER_PX


def numbers_of(text: str, where: str) -> list[float]:
    """The numbers of a list; raises BadInput for anything else between them than blanks and commas."""
    if len(text) > LONGEST_NUMBERS:
        raise BadInput(f"{where} holds over {LONGEST_NUMBERS} letters of numbers: leave out what is no pattern.")
    others = re.sub(_NUMBER, "", text).replace(",", " ").split()
    if others:
        raise BadInput(f"{where} holds {others[0][:30]!r} where numbers belong: correct it.")
    return [number_of(word, where) for word in re.findall(_NUMBER, text)]


def number_of(word: str, where: str) -> float:
    """The number in a word; raises BadInput for one that no drawing can have."""
    number = float(word)
    if not abs(number) <= LARGEST_NUMBER:
        raise BadInput(
            f"{where[:1].upper()}{where[1:]} has {word[:20]}, which is no number a drawing can have: draw it anew."
        )
    return number


def identity() -> Floats:
    """The transform that changes nothing."""
    return np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])


def then(outer: Floats, inner: Floats) -> Floats:
    """First `inner`, then `outer`."""
    with np.errstate(over="ignore", invalid="ignore"):
        result = outer[:, :2] @ inner
        result[:, 2] += outer[:, 2]
    if not (np.abs(result) <= LARGEST_NUMBER).all():
        raise BadInput("The drawing's transforms stretch it beyond all measure: take them out, or save it anew.")
    return np.asarray(result)


def parse_transform(text: str | None, where: str) -> Floats:
    """A transform list; raises BadInput for what the recommendation does not know."""
    matrix, at = identity(), 0
    if text is None or not text.strip():
        return matrix
    for _ in range(MOST_STEPS):
        found = _STEP.match(text, at)
        if found is None:
            break
        numbers = numbers_of(found[2], f"The transform of {where}")
        matrix, at = then(matrix, _step(found[1], numbers, where)), found.end()
    if at != len(text):
        raise BadInput(f"The transform of {where} cannot be read from {text[at : at + 20]!r} on: correct it.")
    return matrix


def _step(name: str, numbers: list[float], where: str) -> Floats:
    known = _STEPS.get((name, len(numbers)))
    if known is None:
        raise BadInput(f"The transform of {where} has {name} with {len(numbers)} numbers, which means nothing.")
    return np.array(known(*numbers), dtype=float).reshape(2, 3)


def _turned(degrees: float, x: float = 0.0, y: float = 0.0) -> list[float]:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return [c, -s, x - c * x + s * y, s, c, y - s * x - c * y]


_STEPS: Mapping[tuple[str, int], Callable[..., list[float]]] = {
    ("matrix", 6): lambda a, b, c, d, e, f: [a, c, e, b, d, f],
    ("translate", 1): lambda x: [1, 0, x, 0, 1, 0],
    ("translate", 2): lambda x, y: [1, 0, x, 0, 1, y],
    ("scale", 1): lambda s: [s, 0, 0, 0, s, 0],
    ("scale", 2): lambda x, y: [x, 0, 0, 0, y, 0],
    ("rotate", 1): _turned,
    ("rotate", 3): _turned,
    ("skewX", 1): lambda a: [1, math.tan(math.radians(a)), 0, 0, 1, 0],
    ("skewY", 1): lambda a: [1, 0, 0, math.tan(math.radians(a)), 1, 0],
}


def fit_view(box: list[float], width: float, height: float, aspect: str) -> Floats:
    """From a view box (x, y, width, height) into a viewport of that size, by preserveAspectRatio."""
    sx, sy = width / box[2], height / box[3]
    words = aspect.split() or ["xMidYMid"]
    align, slices = words[0], "slice" in words[1:]
    if align != "none":
        sx = sy = max(sx, sy) if slices else min(sx, sy)
    shift_x = _share(align[1:4]) * (width - sx * box[2])
    shift_y = _share(align[5:8]) * (height - sy * box[3])
    return np.array([[sx, 0.0, shift_x - sx * box[0]], [0.0, sy, shift_y - sy * box[1]]])


def _share(word: str) -> float:
    return {"Min": 0.0, "Mid": 0.5, "Max": 1.0}.get(word, 0.0)
