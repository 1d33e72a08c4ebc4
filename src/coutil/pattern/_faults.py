"""Structural faults: what makes a pattern unusable, each named in one sentence.

The border with the checks: a fault makes the pattern no pattern (an open outline, a seam to an edge that is
not there), so it is refused on reading; what a maker may choose to leave is a finding of the checks.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np

from coutil.curves import Curve
from coutil.pattern._reference_faults import find_reference_faults
from coutil.pattern._sewing_faults import find_sewing_faults
from coutil.pattern._shape_faults import LARGEST_MM, find_shape_faults
from coutil.pattern._values import Role, Style

MOST_KNOTS = 10_000  # A whole uneven pattern has about 500.
LONGEST_NAME = 80


def find_faults(style: Style) -> tuple[str, ...]:
    """Every structural fault of the style, one sentence without its full stop each; empty where it is sound.

    Later kinds build on earlier ones and are sought only where those found nothing: numbers, then names, then
    what names refer to, then shapes and sewing.
    """
    broken = find_wiring_faults(style)
    if broken:
        return broken
    # Coordinates too large to reckon with are among the faults; nothing else is to be said about them.
    with np.errstate(over="ignore", invalid="ignore"):
        shapes = tuple(fault for piece in style.pieces for fault in find_shape_faults(piece))
    return (*shapes, *_cup_level_faults(style), *find_sewing_faults(style))


def find_wiring_faults(style: Style) -> tuple[str, ...]:
    """The faults with which nothing can be looked up: numbers, names, references; the first kind found.

    An altered pattern is read back with these alone, since what became of its shape is the checks' business.
    """
    for seek in (find_number_faults, _name_faults, find_reference_faults, _rule_faults):
        found = tuple(seek(style))
        if found:
            return found
    return ()


def find_number_faults(value: object) -> tuple[str, ...]:
    """Numbers no pattern can have, in any nested value: NaN, infinite, or a length beyond 5 m."""
    return tuple(
        f"{place} is {number}, which is no number a pattern can have"
        if not math.isfinite(number)
        else f"{place} is {number:g}, and nothing on a pattern is larger than {LARGEST_MM:g} mm"
        for place, number in _numbers(value, "")
        if not abs(number) <= LARGEST_MM
    )


def _numbers(value: Any, place: str) -> Iterator[tuple[str, float]]:
    if isinstance(value, bool | Curve):
        return
    if isinstance(value, int | float):
        yield place.strip(), value
    for name, inner in _inside(value):
        yield from _numbers(inner, f"{place} {name}")


def _inside(value: Any) -> Iterable[tuple[str, Any]]:
    """What a value holds, each with the words that lead to it."""
    if is_dataclass(value):
        return ((f.name.replace("_", " "), getattr(value, f.name)) for f in fields(value))
    if isinstance(value, Mapping):
        return value.items()
    if isinstance(value, tuple):
        return ((getattr(item, "name", f"no. {i + 1}"), item) for i, item in enumerate(value))
    return ()


def _name_faults(style: Style) -> Iterator[str]:
    if not style.pieces:
        yield "it has no pieces"
    yield from _poor_names((style.name,), "the style's name")
    yield from _list_faults((piece.name for piece in style.pieces), "piece", "")
    yield from _list_faults((seam.name for seam in style.seams), "seam", "")
    yield from _list_faults((level.name for level in style.levels), "level", "")
    yield from _list_faults((layer.name for layer in style.layers), "layer", "")
    yield from _inner_name_faults(style)
    knots = sum(edge.curve.n_spans + 1 for piece in style.pieces for edge in piece.edges)
    if knots > MOST_KNOTS:
        yield f"it has {knots} knots, and at most {MOST_KNOTS} can be worked with"


def _inner_name_faults(style: Style) -> Iterator[str]:
    for piece in style.pieces:
        where = f" in piece {piece.name}"
        yield from _list_faults((edge.name for edge in piece.edges), "edge", where)
        yield from _list_faults((mark.name for mark in piece.landmarks), "landmark", where)
    for seam in style.seams:
        yield from _list_faults((match.name for match in seam.matches), "match", f" in seam {seam.name}")


def _list_faults(names: Iterable[str], what: str, where: str) -> Iterator[str]:
    listed = tuple(names)
    yield from _poor_names(listed, f"the name of a {what}{where}")
    for name, times in Counter(listed).items():
        if times > 1:
            yield f"{times} {what}s{where} are called {name}; give each its own name"


def _poor_names(names: Iterable[str], what: str) -> Iterator[str]:
    for name in names:
        if not name.strip():
            yield f"{what} is empty"
        elif len(name) > LONGEST_NAME or not name.isprintable():
            yield f"{what} ({name[:20]!r}) is longer than {LONGEST_NAME} characters or cannot be printed"


def _rule_faults(style: Style) -> Iterator[str]:
    """Rules that cannot be followed: weights below nothing, a step of nothing, a cradle that is not sewn."""
    rules = style.sharing
    for share in (*(share for part in rules.curves.values() for share in part), *rules.reduction, *rules.surplus):
        if share.weight < 0:
            yield f"the weight of {share.edge} on {share.piece} is {share.weight:g}; it is to be 0 or more"
    if style.workroom_step <= 0:
        yield f"the workroom step is {style.workroom_step:g} mm; it is to be above 0"
    if rules.cup is not None and all(seam.name != rules.cup.cradle_seam for seam in style.seams):
        yield f"the cup's rule names a seam {rules.cup.cradle_seam}, which the style has not"


def _cup_level_faults(style: Style) -> Iterator[str]:
    """A horizontal between underbust and bust crosses the cradle, where panel and cup differ in height."""
    if style.sharing.cup is None:
        return
    heights = {level.name: -level.depth for level in style.levels if level.depth is not None}
    yield from _levels_within(heights, *_forbidden(heights, math.inf), "the style")
    for piece in style.pieces:
        beside_cup = any(edge.role is Role.CRADLE for edge in piece.edges)
        is_cup = piece.name in (style.sharing.cup.inner, style.sharing.cup.outer)
        bottom, top = _forbidden(piece.levels, math.inf if beside_cup else -math.inf)
        yield from _levels_within(piece.levels, -math.inf if is_cup else bottom, top, f"piece {piece.name}")


def _forbidden(heights: Mapping[str, float], open_top: float) -> tuple[float, float]:
    """From the underbust's height to the bust's; where the bust has none, to `open_top`."""
    return heights.get("underbust", math.inf), heights.get("bust", open_top)


def _levels_within(heights: Mapping[str, float], bottom: float, top: float, where: str) -> Iterator[str]:
    for name, height in heights.items():
        if name not in ("bust", "underbust") and bottom < height < top:
            yield (
                f"{where} has level {name} between underbust and bust, "
                "where a horizontal crosses the cradle; take that level out"
            )
