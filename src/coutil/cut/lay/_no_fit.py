"""Where one shape may not be put beside another: the sum of the one and the mirror image of the other.

A shape B at position p overlaps A exactly where p lies inside A + (-B), the Minkowski sum. That of two convex
shapes is the hull of all sums of their corners; others are cut into convex parts, and the sums joined.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from coutil.cut.lay._values import Floats

# Filling a hollow of this share of a part's area costs less cloth than its corners would cost time.
SHALLOW = 1e-3

# Corners are brought to this grid where shapes are joined or taken away, mm: in plain floating point a union of shapes
# whose edges nearly coincide can lose a good part of its area, and parts would be put where others lie.
GRID_MM = 1e-6


def convex_parts(shape: Polygon) -> tuple[Floats, ...]:
    """The corners (k, 2) of convex shapes that together cover the polygon, found by joining its triangles.

    Hollows so shallow that they hold no more than SHALLOW of its area are filled on the way.
    """
    triangles = shapely.constrained_delaunay_triangles(shape).geoms
    allowed = SHALLOW * shape.area
    parts: list[Polygon] = []
    for triangle in triangles:
        parts = _joined_on(parts, triangle, allowed)
    return tuple(_ring(part) for part in parts)


def _joined_on(parts: list[Polygon], shape: Polygon, allowed: float) -> list[Polygon]:
    """The parts with the shape joined to the first that stays convex, and that to others as long as it works."""
    for i, part in enumerate(parts):
        hull = shapely.convex_hull(shapely.union(part, shape))
        if hull.area - part.area - shape.area <= allowed:
            return _joined_on(parts[:i] + parts[i + 1 :], hull, allowed)
    return [*parts, shape]


def _ring(shape: BaseGeometry) -> Floats:
    return np.asarray(shapely.get_coordinates(shape))[:-1]


def no_fit(a: tuple[Floats, ...], b: tuple[Floats, ...], shrink: float) -> BaseGeometry:
    """All positions of B that overlap A (both as convex parts), made smaller by `shrink` mm all round."""
    corners, pairs = _sums(a, b)
    sums = shapely.convex_hull(shapely.multipoints(corners, indices=pairs))
    return shapely.union_all(sums, grid_size=GRID_MM).buffer(-shrink, join_style="mitre")


def _sums(a: tuple[Floats, ...], b: tuple[Floats, ...]) -> tuple[Floats, NDArray[np.int64]]:
    """Every corner of a part of A less every corner of a part of B, with the number of the pair."""
    pairs = [(p[:, None, :] - q[None, :, :]).reshape(-1, 2) for p in a for q in b]
    counts = [len(pair) for pair in pairs]
    return np.concatenate(pairs), np.repeat(np.arange(len(pairs)), counts)
