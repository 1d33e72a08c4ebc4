"""Our own way of laying: part after part, each as near to the cloth's beginning as it can lie.  Deterministic.

Where a part may lie is known exactly: the strip less the no-fit shapes of all that lies there already.  Of the
corners of what is left, the one is taken that makes the part end nearest to the cloth's beginning.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.affinity import affine_transform
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from coutil.cut.lay._no_fit import no_fit
from coutil.cut.lay._poses import Flip, Item, Key, Pose
from coutil.cut.lay._values import TOUCH_MM, Floats, LayCloth

# Without this much play a part could not be put into a place that it fills exactly.
PLAY_MM = TOUCH_MM / 5

# Two shapes that end within this of each other end at the same place.
SAME_END_MM = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class Put:
    """An item lying on the cloth as that pose, the corner of its box at (x, y)."""

    item: Item
    pose: Pose
    x: float
    y: float
    fixed: bool = False

    @property
    def end(self) -> float:
        """Where it ends along the cloth."""
        return self.x + self.pose.along


@dataclass(slots=True)
class NoFits:
    """No-fit shapes of pairs of poses, each worked out once for all its mirror images."""

    _known: dict[tuple[Key, Key, Flip], BaseGeometry] = field(default_factory=dict)

    def beside(self, put: Put, pose: Pose) -> BaseGeometry:
        """Where the pose's corner must not lie, beside what was put there."""
        a = put.pose
        key, signs, shift = _standard(a, pose)
        if key not in self._known:
            self._known[key] = _mapped(no_fit(a.convex, pose.convex, PLAY_MM), signs, shift)
        # The way back: p = signs * (q - shift), since signs are 1 or -1; then to where A lies.
        return _mapped(self._known[key], signs, (put.x, put.y) - signs * shift)


def _standard(a: Pose, b: Pose) -> tuple[tuple[Key, Key, Flip], Floats, Floats]:
    """The standard pair that is a mirror image of (a, b), and its positions q = signs * p + shift.

    Mirrored along an axis, positions p of B beside A become (size of A - size of B) - p; with A and B
    exchanged they become -p.  So A can always be made the unmirrored one, and the pair be put in order.
    """
    flip = np.array(a.flip)
    relative = flip * b.flip
    larger = np.array((a.along - b.along, a.across - b.across))
    signs, shift = flip, np.where(flip < 0, larger, 0.0)
    first, second = a.key, b.key
    if first > second:
        first, second = second, first
        signs, shift = -relative * signs, -relative * shift + np.where(relative < 0, -larger, 0.0)
    return (first, second, (float(relative[0]), float(relative[1]))), signs, shift


def _mapped(shape: BaseGeometry, signs: Floats, shift: Floats) -> BaseGeometry:
    return affine_transform(shape, (signs[0], 0.0, 0.0, signs[1], shift[0], shift[1]))


@dataclass(slots=True)
class Table:
    """The cloth while parts are put on it one after the other; `reach` is longer than any layout can get."""

    cloth: LayCloth
    no_fits: NoFits
    reach: float
    puts: list[Put] = field(default_factory=list)
    _free: dict[int, tuple[BaseGeometry, int]] = field(default_factory=dict)

    def add(self, put: Put) -> None:
        """Puts it there, without asking whether it may lie there."""
        self.puts.append(put)

    def find(self, item: Item, limit: float = math.inf) -> Put | None:
        """The place nearest to the beginning that ends before `limit`; None where there is none."""
        found = [put for pose in item.poses if (put := self._nearest(item, pose, limit)) is not None]
        return min(found, key=lambda put: (round(put.end / SAME_END_MM), put.y), default=None)

    def _nearest(self, item: Item, pose: Pose, limit: float) -> Put | None:
        corners = shapely.get_coordinates(self._free_for(item, pose))
        corners = corners[corners[:, 0] + pose.along <= limit + PLAY_MM]
        if not len(corners):
            return None
        x, y = corners[np.lexsort((corners[:, 1], np.round(corners[:, 0] / SAME_END_MM)))[0]]
        low, high = self._heights(item, pose)
        return Put(item, pose, max(float(x), 0.0), min(max(float(y), low), high))

    def _free_for(self, item: Item, pose: Pose) -> BaseGeometry:
        """All places for the pose, brought up to date with what was put down since it was last asked."""
        free, seen = self._free.get(id(pose), (None, 0))
        if free is None:
            low, high = self._heights(item, pose)
            free = box(-PLAY_MM, low - PLAY_MM, self.reach, high + PLAY_MM)
        if seen < len(self.puts):
            taken = shapely.union_all([self.no_fits.beside(put, pose) for put in self.puts[seen:]])
            free = free.difference(taken)
            self._free[id(pose)] = free, len(self.puts)
        return free

    def _heights(self, item: Item, pose: Pose) -> tuple[float, float]:
        """The lowest and highest y of the pose's corner."""
        if item.part.on_fold:
            return 0.0, 0.0
        return self.cloth.low, max(self.cloth.low, self.cloth.high - pose.across)


def end_of(puts: Sequence[Put]) -> float:
    """How much of the cloth's length is taken."""
    return max((put.end for put in puts), default=0.0)


def lay_in_order(
    items: Sequence[Item], before: Sequence[Put], cloth: LayCloth, no_fits: NoFits, limit: float = math.inf
) -> tuple[list[Put], list[Item]]:
    """What lies there before with the items put down in this order; and those with no place before `limit`.

    Items on the fold go first: they have least choice.
    """
    reach = end_of(before) + sum(item.poses[0].along + item.poses[0].across + cloth.gap for item in items) + 1.0
    table = Table(cloth, no_fits, reach, list(before))
    left: list[Item] = []
    for item in sorted(items, key=lambda item: not item.part.on_fold):
        put = table.find(item, limit)
        if put is None:
            left.append(item)
        else:
            table.add(put)
    return table.puts, left


def orders(items: Sequence[Item]) -> list[list[Item]]:
    """Orders worth trying: largest first, longest first, widest first, roundest first."""
    keys = (
        lambda item: (-item.part.area, 0.0),
        lambda item: (-item.part.size[0], -item.part.size[1]),
        lambda item: (-item.part.size[1], -item.part.size[0]),
        lambda item: (-sum(item.part.size), 0.0),
    )
    return [sorted(items, key=key) for key in keys]


def lay_better(
    first: list[Put], items: Sequence[Item], before: Sequence[Put], cloth: LayCloth, no_fits: NoFits, placings: int
) -> list[Put]:
    """The shortest of `first`, the layout of the first order, of the other orders, and of exchanges of two parts.

    Goes on as long as `placings` placings of one part last.
    """
    chance = random.Random(len(items))  # The same parts always give the same layout.
    waiting = orders(items)
    order = waiting.pop(0)
    best = first
    for _ in range(placings // len(items) if len(items) > 1 else 0):
        candidate = waiting.pop(0) if waiting else _exchanged(order, chance)
        puts = lay_in_order(candidate, before, cloth, no_fits)[0]
        if end_of(puts) < end_of(best) + SAME_END_MM:
            best, order = (puts if end_of(puts) < end_of(best) else best), candidate
    return best


def _exchanged(order: list[Item], chance: random.Random) -> list[Item]:
    i, j = chance.sample(range(len(order)), 2)
    changed = list(order)
    changed[i], changed[j] = changed[j], changed[i]
    return changed


def settled(puts: Sequence[Put], cloth: LayCloth, no_fits: NoFits) -> list[Put]:
    """The same layout with every part that the maker has not fixed moved towards the beginning where it can be.

    Each is taken up in turn and put down again where it ends earliest, never later than it did.
    """
    lying = list(puts)
    for put in sorted(puts, key=lambda put: put.x):
        if put.fixed:
            continue
        others = [other for other in lying if other is not put]
        table = Table(cloth, no_fits, end_of(puts) + 1.0, others)
        found = table.find(put.item, put.end)
        if found is not None and (found.end, found.y) < (put.end, put.y):
            lying = [*others, found]
    return lying
