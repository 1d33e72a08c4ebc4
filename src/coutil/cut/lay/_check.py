"""A layout is believed only after this: every part there once, on the cloth, along its grain, over no other.

Works on the cut lines themselves and shares no code with what places them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from coutil.cut.lay._values import TOUCH_MM, Floats, LayCloth, LayPart, Placement, outlines_of, part_of


def find_lay_faults(
    parts: tuple[LayPart, ...], placements: Sequence[Placement], cloth: LayCloth, *, complete: bool = True
) -> tuple[str, ...]:
    """What is wrong with a layout, one sentence each; none for a sound one.

    `complete` False lets parts be missing, as among those the maker has placed so far.
    """
    placed = tuple(placements)
    outlines = list(outlines_of(parts, placed))
    return (
        *_count_faults(parts, placed, complete),
        *(fault for one in placed if (fault := _turn_fault(one, part_of(parts, one), cloth))),
        *(fault for one, at in zip(placed, outlines, strict=True) if (fault := _edge_fault(parts, one, at, cloth))),
        *_overlap_faults(placed, outlines, cloth.gap),
    )


def _name(placement: Placement) -> str:
    hand = ", mirrored" if placement.hand == "mirrored" else ""
    return f"{placement.piece} ({placement.layer}{hand})"


def _count_faults(parts: tuple[LayPart, ...], placed: tuple[Placement, ...], complete: bool) -> list[str]:
    faults = []
    for part in parts:
        mine = [one for one in placed if (one.piece, one.layer) == (part.piece, part.layer)]
        for hand, wanted, laid in _hands(part, mine):
            if laid > wanted or (complete and laid < wanted):
                faults.append(f"{part.piece} ({part.layer}{hand}) is laid {laid} times and needed {wanted} times")
    return faults


def _hands(part: LayPart, mine: Sequence[Placement]) -> list[tuple[str, int, int]]:
    """Per hand: a word, how many are needed, how many are laid; two plies give one of each hand."""
    laid: Counter[str] = Counter()
    for one in mine:
        single = one.copies == 1
        laid[one.hand] += 1
        laid["mirrored" if one.hand == "drawn" else "drawn"] += 0 if single else 1
    if part.either_hand:
        return [("", part.count, laid["drawn"] + laid["mirrored"])]
    return [("", part.drawn, laid["drawn"]), (", mirrored", part.mirrored, laid["mirrored"])]


def _turn_fault(one: Placement, part: LayPart, cloth: LayCloth) -> str | None:
    if one.rotation not in cloth.turns:
        allowed = " or ".join(f"{turn}" for turn in cloth.turns)
        return f"{_name(one)} lies turned by {one.rotation} degrees, and this cloth allows {allowed}"
    if one.copies not in ((1, 2) if cloth.folded and not part.on_fold else (1,)):
        return f"{_name(one)} cannot be cut {one.copies} times at one place"
    return None


def _edge_fault(parts: tuple[LayPart, ...], one: Placement, outline: Floats, cloth: LayCloth) -> str | None:
    low = 0.0 if part_of(parts, one).on_fold else cloth.low
    (left, bottom), (_, top) = outline.min(axis=0), outline.max(axis=0)
    if not np.isfinite(outline).all():
        return f"{_name(one)} lies nowhere: its place is no number"
    if part_of(parts, one).on_fold and (abs(bottom) > TOUCH_MM or _folds_up(one)):
        return f"{_name(one)} does not lie with its fold on the fold of the cloth"
    if left < -TOUCH_MM or bottom < low - TOUCH_MM or top > cloth.high + TOUCH_MM:
        return f"{_name(one)} reaches over the cloth's end or into its selvedge or fold"
    return None


def _folds_up(one: Placement) -> bool:
    """Whether mirroring and turning together put the fold anywhere but on the lower side."""
    return (one.hand, one.rotation) not in (("drawn", 0), ("mirrored", 180))


def _overlap_faults(placed: tuple[Placement, ...], outlines: Sequence[Floats], gap: float) -> list[str]:
    if len(outlines) < 2 or not all(np.isfinite(outline).all() for outline in outlines):
        return []
    shapes = np.array([_shape(outline, gap) for outline in outlines], dtype=object)
    first, second = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=_nearest(gap))
    return [
        f"{_name(placed[i])} lies over or too near to {_name(placed[j])}"
        for i, j in zip(first.tolist(), second.tolist(), strict=True)
        if i < j
    ]


def _shape(outline: Floats, gap: float) -> Polygon:
    """The part; without a gap a hair smaller, so that neighbours may touch."""
    shape = Polygon(outline)
    return shape if gap > TOUCH_MM else shape.buffer(-TOUCH_MM / 2, join_style="mitre")


def _nearest(gap: float) -> float:
    return gap - TOUCH_MM if gap > TOUCH_MM else 0.0
