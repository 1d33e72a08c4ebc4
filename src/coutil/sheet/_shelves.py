"""Packing on shelves: the tallest first, each onto the highest shelf that has room for it.  Deterministic."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

Size = tuple[float, float]


@dataclass(slots=True)
class _Shelf:
    """Boxes side by side whose upper edges lie on one line, `top` mm below the first shelf's."""

    top: float
    height: float
    filled: float = 0.0
    boxes: list[tuple[int, float]] = field(default_factory=list)

    def has_room(self, width: float, limit: float) -> bool:
        return self.filled + width <= limit

    def add(self, index: int, width: float, gap: float) -> None:
        self.boxes.append((index, self.filled))
        self.filled += width + gap


@dataclass(frozen=True, slots=True)
class Packing:
    """The lower left corner of each box, in the order given, and how far all reach from (0, 0), mm."""

    corners: tuple[tuple[float, float], ...]
    width: float
    height: float


def pack(sizes: Sequence[Size], limit: float, gap: float) -> Packing:
    """Boxes (width, height) on a sheet `limit` wide, `gap` apart, none turned.

    A box wider than the sheet stands alone on its shelf and reaches over.
    """
    shelves: list[_Shelf] = []
    for index in sorted(range(len(sizes)), key=lambda i: (-sizes[i][1], -sizes[i][0], i)):
        width, height = sizes[index]
        shelf = next((s for s in shelves if s.has_room(width, limit)), None)
        if shelf is None:
            shelf = _Shelf(_bottom(shelves, gap), height)
            shelves.append(shelf)
        shelf.add(index, width, gap)
    return _packing(shelves, sizes)


def _bottom(shelves: Sequence[_Shelf], gap: float) -> float:
    return shelves[-1].top + shelves[-1].height + gap if shelves else 0.0


def _packing(shelves: Sequence[_Shelf], sizes: Sequence[Size]) -> Packing:
    total = _bottom(shelves, 0.0)
    placed = {i: (x, total - shelf.top - sizes[i][1]) for shelf in shelves for i, x in shelf.boxes}
    corners = tuple(placed[i] for i in range(len(sizes)))
    reach = max((x + sizes[i][0] for i, (x, _) in placed.items()), default=0.0)
    return Packing(corners, reach, total)
