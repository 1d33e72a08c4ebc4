"""Things to place and the ways each may lie: by hand, by turn, with the room it keeps free around it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from coutil.cut.lay._no_fit import convex_parts
from coutil.cut.lay._values import Floats, Hand, LayCloth, LayPart, Placement, oriented
from coutil.errors import BadInput

# Outlines are nested with fewer corners: never smaller than the part, and by no more than this larger, mm.
FINE_MM = 0.3
COARSE_MM = 0.5

# The room around a sharp corner is cut off at this many half gaps.
LONGEST_TIP = 1.5

Key = tuple[str, str, int]
Flip = tuple[float, float]

# By hand and half turn, for a shape along the cloth and for one turned by a quarter.
FLIPS: Mapping[tuple[Hand, int], Flip] = MappingProxyType(
    {
        ("drawn", 0): (1.0, 1.0), ("mirrored", 0): (1.0, -1.0), ("drawn", 180): (-1.0, -1.0),
        ("mirrored", 180): (-1.0, 1.0), ("drawn", 90): (1.0, 1.0), ("mirrored", 90): (-1.0, 1.0),
        ("drawn", 270): (-1.0, -1.0), ("mirrored", 270): (1.0, -1.0),
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Pose:
    """A part as it may lie, the corner of its box at (0, 0).

    `room` holds the part and half the gap around it; its box is the part's, half a gap larger on every side.
    `key` names the shape in its quarter turn, and `flip` the signs of x and y by which this pose is made from it.
    """

    hand: Hand
    rotation: int
    key: Key
    flip: Flip
    outline: Floats
    room: Polygon
    convex: tuple[Floats, ...]

    @property
    def along(self) -> float:
        """How much of the cloth's length it takes."""
        return float(self.outline[:, 0].max())

    @property
    def across(self) -> float:
        """How much of the cloth's width it takes."""
        return float(self.outline[:, 1].max())


@dataclass(frozen=True, slots=True, eq=False)
class Item:
    """One thing to place: a part, how many copies are cut there, and the ways it may lie."""

    part: LayPart
    copies: int
    poses: tuple[Pose, ...]

    def placed(self, pose: Pose, x: float, y: float, fixed: bool = False) -> Placement:
        """The placement with the corner of the box at (x, y)."""
        part = self.part
        return Placement(part.piece, part.layer, pose.hand, x, y, pose.rotation, self.copies, fixed)


def make_items(parts: tuple[LayPart, ...], cloth: LayCloth, tolerance: float = COARSE_MM) -> tuple[Item, ...]:
    """Everything to place on that cloth, copy by copy, each with at most `tolerance` mm more room than it needs.

    Raises BadInput for a part that does not fit on the cloth, and for two parts of one name from one layer.
    """
    (((piece, layer), most),) = Counter((part.piece, part.layer) for part in parts).most_common(1) or [(("", ""), 0)]
    if most > 1:
        raise BadInput(f"Two parts are called {piece} ({layer}): give each its own name.")
    return tuple(item for part in parts for item in _items_of(part, cloth, tolerance))


def _items_of(part: LayPart, cloth: LayCloth, tolerance: float) -> Iterator[Item]:
    _require_simple(part)
    make = partial(_item, part, cloth, tolerance)
    if part.on_fold:
        yield from [make(1, _fold_ways(cloth))] * part.count
        return
    pairs = _pairs(part) if cloth.folded else 0
    if pairs:
        # Either hand may be drawn on top, since the other lies beneath it.
        yield from [make(2, _ways(("drawn", "mirrored"), cloth))] * pairs
    used = 2 * pairs if part.either_hand else pairs
    if part.drawn > used:
        yield from [make(1, _ways(("drawn",), cloth))] * (part.drawn - used)
    if part.mirrored > pairs:
        yield from [make(1, _ways(("mirrored",), cloth))] * (part.mirrored - pairs)


def _pairs(part: LayPart) -> int:
    return part.count // 2 if part.either_hand else min(part.drawn, part.mirrored)


def _ways(hands: tuple[Hand, ...], cloth: LayCloth) -> tuple[tuple[Hand, int], ...]:
    return tuple((hand, turn) for hand in hands for turn in cloth.turns)


def _fold_ways(cloth: LayCloth) -> tuple[tuple[Hand, int], ...]:
    """Turned end for end the half is mirrored as well, so that its fold stays on the fold."""
    return (("drawn", 0),) if cloth.nap else (("drawn", 0), ("mirrored", 180))


def _item(part: LayPart, cloth: LayCloth, tolerance: float, copies: int, ways: tuple[tuple[Hand, int], ...]) -> Item:
    bases = {quarter: _base_pose(part, quarter, cloth, tolerance) for quarter in {turn % 180 for _, turn in ways}}
    poses = tuple(_flipped(bases[turn % 180], hand, turn) for hand, turn in ways)
    low = 0.0 if part.on_fold else cloth.low
    fitting = tuple(pose for pose in poses if pose.across <= cloth.high - low + 1e-6)
    if not fitting:
        narrowest = min(pose.across for pose in poses)
        raise BadInput(
            f"{part.title} ({part.layer}) is {narrowest / 10:.1f} cm wide across the grain, and the cloth takes "
            f"{(cloth.high - low) / 10:.1f} cm{' folded' if cloth.folded else ''}: use a wider cloth"
            f"{' or lay it single' if cloth.folded else ''}."
        )
    return Item(part, copies, fitting)


def _require_simple(part: LayPart) -> None:
    """The search for a shorter lay is given sound outlines only."""
    points = np.asarray(part.outline, dtype=float)
    sound = points.ndim == 2 and len(points) >= 3 and bool(np.isfinite(points).all())
    if not sound or not Polygon(points).is_valid or Polygon(points).area <= 0:
        raise BadInput(f"{part.title} ({part.layer}) has an outline that cannot be cut: check the piece.")


def _base_pose(part: LayPart, quarter: int, cloth: LayCloth, tolerance: float) -> Pose:
    outline = oriented(part.outline, "drawn", quarter)
    room = room_around(outline, cloth.gap, tolerance)
    key = (part.piece, part.layer, quarter)
    return Pose("drawn", quarter, key, (1.0, 1.0), outline, room, convex_parts(room))


def _flipped(base: Pose, hand: Hand, rotation: int) -> Pose:
    """The base as that hand, turned: exactly its mirror image, so that no-fit shapes are mirror images too."""
    flip = FLIPS[hand, rotation]
    shift = np.where(np.array(flip) < 0, (base.along, base.across), 0.0)
    room = Polygon(shapely.get_coordinates(base.room) * flip + shift)
    convex = tuple(part * flip + shift for part in base.convex)
    return Pose(hand, rotation, base.key, flip, base.outline * flip + shift, room, convex)


def room_around(outline: Floats, gap: float, tolerance: float) -> Polygon:
    """The part with half a gap around it, in few corners: never smaller, at most `tolerance` larger."""
    shape = Polygon(outline)
    simple = shape.simplify(tolerance)
    excess = float(shapely.distance(shapely.points(outline), simple).max())
    if gap == excess == 0:
        return shape
    grown = simple.buffer(gap / 2 + excess, join_style="mitre", mitre_limit=LONGEST_TIP)
    low, high = outline.min(axis=0) - gap / 2, outline.max(axis=0) + gap / 2
    return _largest(grown.intersection(box(*low, *high)))


def _largest(shape: shapely.Geometry) -> Polygon:
    parts = [part for part in getattr(shape, "geoms", [shape]) if isinstance(part, Polygon)]
    return Polygon(max(parts, key=lambda part: float(part.area)).exterior)
