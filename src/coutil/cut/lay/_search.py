"""What a search for a shorter lay is asked and what it offers.  The search itself lives outside this room.

A search works in another process and may fail, hang or offer nonsense; whatever it offers is checked before it
is believed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from coutil.cut.lay._bottom_left import Put
from coutil.cut.lay._poses import FINE_MM, Item, Pose, room_around
from coutil.cut.lay._values import Floats, LayCloth, oriented
from coutil.errors import CoutilError

# Play for shapes that fill the strip's whole height, mm.
STRIP_PLAY_MM = 0.002


class SearchFailed(CoutilError):
    """The search could not be run, or ended without any layout."""


@dataclass(frozen=True, slots=True, eq=False)
class SearchShape:
    """A shape with the room it keeps free, how often it is placed, and the angles it may be turned by."""

    outline: Floats
    count: int
    turns: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class SearchTask:
    """A strip that reaches from y = 0 to `height` and from x = 0 as far as need be, and what goes on it."""

    height: float
    shapes: tuple[SearchShape, ...]


@dataclass(frozen=True, slots=True)
class Spot:
    """A shape, by its number in the task, turned about (0, 0) and then moved by (dx, dy)."""

    shape: int
    dx: float
    dy: float
    turn: int


Offer = Callable[[Sequence[Spot]], None]


class Search(Protocol):
    """Whatever offers layouts for a task, each shorter than the one before; raises SearchFailed."""

    def __call__(self, task: SearchTask, offer: Offer) -> None:
        """Works until its own time is over."""


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """A task with what is needed to read its answers: the items of each shape, and where its strip begins."""

    task: SearchTask
    groups: tuple[tuple[Item, ...], ...]
    cloth: LayCloth
    start: float

    def puts(self, spots: Sequence[Spot]) -> list[Put]:
        """The offered layout on the cloth; raises SearchFailed where it is not an answer to the task."""
        waiting = [list(group) for group in self.groups]
        puts = [self._put(spot, waiting) for spot in spots]
        if any(waiting):
            raise SearchFailed("A layout was offered with parts missing.")
        return puts

    def _put(self, spot: Spot, waiting: list[list[Item]]) -> Put:
        if not 0 <= spot.shape < len(waiting) or not waiting[spot.shape]:
            raise SearchFailed("A layout was offered with parts that were not asked for.")
        item = waiting[spot.shape].pop()
        pose = _pose_turned(item, spot.turn % 360)
        left, bottom = _corner(item, spot.turn % 360)
        cloth, half = self.cloth, self.cloth.gap / 2
        x = self.start - half + spot.dx + left
        y = cloth.low - half + spot.dy + bottom
        top = max(cloth.low, cloth.high - pose.across)
        return Put(item, pose, max(x, self.start), min(max(y, cloth.low), top))


def question(items: Sequence[Item], cloth: LayCloth, start: float) -> Question:
    """The task of laying those items on what of the cloth lies beyond `start`."""
    groups: dict[int, list[Item]] = {}
    for item in items:
        groups.setdefault(id(item), []).append(item)
    shapes = tuple(_shape(group, cloth) for group in groups.values())
    height = cloth.room + cloth.gap + STRIP_PLAY_MM
    return Question(SearchTask(height, shapes), tuple(map(tuple, groups.values())), cloth, start)


def _shape(group: Sequence[Item], cloth: LayCloth) -> SearchShape:
    item = group[0]
    turns = tuple(pose.rotation for pose in item.poses if pose.hand == item.poses[0].hand)
    room = room_around(_upright(item), cloth.gap, FINE_MM)
    return SearchShape(_ring(room), len(group), turns)


def _ring(room: object) -> Floats:
    import shapely

    return shapely.get_coordinates(room)[:-1]  # type: ignore[no-any-return]


def _upright(item: Item) -> Floats:
    return oriented(item.part.outline, item.poses[0].hand, 0)


def _corner(item: Item, turn: int) -> tuple[float, float]:
    """The lower left corner of the box around the part once it has been turned about (0, 0)."""
    along, across = _upright(item).max(axis=0).tolist()
    corners = {0: (0.0, 0.0), 90: (-across, 0.0), 180: (-along, -across), 270: (0.0, -along)}
    return corners[turn]


def _pose_turned(item: Item, turn: int) -> Pose:
    for pose in item.poses:
        if (pose.hand, pose.rotation) == (item.poses[0].hand, turn):
            return pose
    raise SearchFailed("A layout was offered with a part turned against its grain.")
