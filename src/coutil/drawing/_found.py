"""What was found on a drawing: outlines, level lines, marks, grain and mirror lines."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from shapely import Polygon

from coutil.drawing._values import Bools, Floats, Point

SAMPLES = 8  # Places on each span where an outline is looked at for what lies inside it.
_T = np.linspace(0.0, 1.0, SAMPLES, endpoint=False)
LOOK = np.stack(((1 - _T) ** 3, 3 * (1 - _T) ** 2 * _T, 3 * (1 - _T) * _T**2, _T**3), axis=1)


@dataclass(frozen=True, eq=False)
class Loop:
    """A closed anticlockwise outline in the drawing's mm.

    `begins` are the spans at which its named edges begin, `edges` their names, both empty for a plain outline.
    `turns` are corners the file itself names.  `word` is cut or stitching where the drawing says so.
    """

    piece: str
    spans: Floats
    flat: Bools
    where: str
    begins: tuple[int, ...] = ()
    edges: tuple[str, ...] = ()
    word: str = ""
    gap: float = 0.0
    turns: tuple[Point, ...] = ()

    @cached_property
    def polygon(self) -> Polygon:
        """The outline in straight pieces, to ask what lies inside."""
        points = np.einsum("kj,njd->nkd", LOOK, self.spans).reshape(-1, 2)
        return Polygon(points)

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, lower, right and upper end, mm."""
        return self.polygon.bounds  # type: ignore[no-any-return]

    @cached_property
    def inside(self) -> Point:
        """A point well within the outline."""
        polygon = self.polygon if self.polygon.is_valid else self.polygon.buffer(0)
        point = polygon.representative_point() if not polygon.is_empty else self.polygon.centroid
        return float(point.x), float(point.y)


@dataclass(frozen=True, slots=True)
class LevelLine:
    """A straight line that is, or may be, a level; `name` empty where the drawing does not say which."""

    name: str
    piece: str
    a: Point
    b: Point
    where: str


@dataclass(frozen=True, slots=True)
class Mark:
    """A named point."""

    name: str
    piece: str
    at: Point


@dataclass(frozen=True, slots=True)
class Direction:
    """A grain or mirror line."""

    piece: str
    a: Point
    b: Point


@dataclass(frozen=True, slots=True)
class Found:
    """Everything found, and remarks on what was closed, left out or doubtful."""

    loops: tuple[Loop, ...]
    levels: tuple[LevelLine, ...]
    marks: tuple[Mark, ...]
    grains: tuple[Direction, ...]
    mirrors: tuple[Direction, ...]
    remarks: tuple[str, ...]
