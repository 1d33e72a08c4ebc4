"""The cut line: ribbons beside every edge and the corners between them, joined to one outline."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from coutil.curves import Curve
from coutil.cut._corners import CutCorner, Joint, joint, trimmed_ribbon
from coutil.cut._ribbons import Floats, Side, ribbon, sampled_side
from coutil.cut._widths import USUAL, Allowances, edge_width, is_fold, sewn_rank
from coutil.errors import BadStyle
from coutil.pattern import Edge, Layer, Piece, Role

# Shapes are joined on a grid of this step, so that rounding leaves no slit between neighbours, and points of
# the result that lie this near to a line are left out: both far below any cutter's step.
GRID_MM = 1e-6

# Edges whose ends lie further apart than this do not meet: a stitching line with a gap has no inside.
GAP_TOLERANCE_MM = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class CutPiece:
    """One piece as it is cut from one layer.

    `outline` (m, 2) runs anticlockwise, does not repeat its first point, and lies within 0.01 mm of the exact
    cut line.  `widths` gives for every edge what lies between stitching and cut line, mm; `fold` names the
    edge on the fold.
    """

    piece: str
    layer: str
    outline: Floats
    corners: tuple[CutCorner, ...]
    widths: Mapping[str, float]
    no_allowance: bool
    fold: str | None = None

    @property
    def area(self) -> float:
        """Square mm of cloth, of the unfolded half where the piece lies on the fold."""
        return float(Polygon(self.outline).area)


@dataclass(frozen=True, slots=True, eq=False)
class ShapedOutline:
    """An outline (m, 2) and the corners it was built with."""

    points: Floats
    corners: tuple[CutCorner, ...]


def cut_outline(piece: Piece, layer: Layer, allowances: Allowances = USUAL) -> CutPiece:
    """The piece's cut line on that layer: stitching line, turn of cloth and allowance.

    Corners: an allowance that is pressed back ends mirrored, so that it then lies on the neighbouring edge's
    cut line; elsewhere a plain mitre; a tip is cut off at twice the width.
    Raises BadStyle where the outline is open or crosses itself, and where nothing is left of the piece.
    """
    widths = {edge.name: edge_width(piece, edge, layer, allowances) for edge in piece.edges}
    fold = next((edge.name for edge in piece.edges if is_fold(piece, edge)), None)
    shaped = _shaped(piece, widths, corner_ranks(piece) if layer.allowance else {})
    return CutPiece(piece.name, layer.name, shaped.points, shaped.corners, widths, not layer.allowance, fold)


def layer_stitching(piece: Piece, layer: Layer) -> Floats:
    """The stitching line of that layer, (m, 2): the piece's own moved outwards by the turn of cloth."""
    none = Allowances(by_role=dict.fromkeys(Role, 0.0), foam_trim=0.0)
    bare = {edge.name: edge_width(piece, _without_allowance(edge), layer, none) for edge in piece.edges}
    return _shaped(piece, bare, {}).points


def _without_allowance(edge: Edge) -> Edge:
    return Edge(edge.name, edge.curve, edge.role, edge.straight, 0.0)


def corner_ranks(piece: Piece) -> dict[str, int | None]:
    """Sewing rank by edge, without the fold: beside it a mitre makes the cut line open out as one line."""
    return {edge.name: sewn_rank(edge) for edge in piece.edges if not is_fold(piece, edge)}


def _shaped(piece: Piece, widths: Mapping[str, float], ranks: Mapping[str, int | None]) -> ShapedOutline:
    sides = _sides(piece, widths)
    joints = [
        joint(a, b, pressed_first(a, b, ranks)) for a, b in zip(sides, sides[1:] + sides[:1], strict=True)
    ]
    points = _anticlockwise(_joined(piece, sides, joints), piece.name)
    return ShapedOutline(points, tuple(j.corner for j in joints))


def _sides(piece: Piece, widths: Mapping[str, float]) -> list[Side]:
    curves = [edge.curve for edge in piece.edges]
    for edge, (a, b) in zip(piece.edges, pairwise([*curves, curves[0]]), strict=True):
        _require_meeting(piece, edge, a, b)
    return [sampled_side(edge.name, edge.curve, widths[edge.name]) for edge in piece.edges]


def _require_meeting(piece: Piece, edge: Edge, curve: Curve, following: Curve) -> None:
    gap = float(np.linalg.norm(following.start - curve.end))
    if gap > GAP_TOLERANCE_MM:
        raise BadStyle(
            f"piece {piece.name}: edge {edge.name} ends {gap:.2f} mm before the next; close the outline"
        )


def pressed_first(a: Side, b: Side, ranks: Mapping[str, int | None]) -> str | None:
    """Which of two neighbours is pressed back before the other is sewn; None where neither is, or both."""
    if a.name not in ranks or b.name not in ranks:
        return None
    ranked = [
        (rank, side.name) for side in (a, b) if side.width > 0 and (rank := ranks[side.name]) is not None
    ]
    if not ranked or (len(ranked) == 2 and ranked[0][0] == ranked[1][0]):
        return None
    return min(ranked)[1]


def _joined(piece: Piece, sides: list[Side], joints: list[Joint]) -> BaseGeometry:
    net = _net(piece, sides)
    taken = [ribbon(side) for side in sides if side.width < 0] + [j.taken() for j in joints]
    gained = [
        trimmed_ribbon(side, joints[i - 1].after, joints[i].before)
        for i, side in enumerate(sides)
        if side.width > 0
    ]
    kept = net.difference(shapely.union_all(taken))
    parts = [kept, *gained, *(j.added() for j in joints)]
    # Rounding to the grid raises a floating-point flag on parallel lines; the union itself is valid.
    with np.errstate(divide="ignore", invalid="ignore"):
        return shapely.union_all(parts, grid_size=GRID_MM)


def _net(piece: Piece, sides: list[Side]) -> Polygon:
    net = Polygon(np.concatenate([side.points[:-1] for side in sides]))
    if not net.is_valid:
        raise BadStyle(f"piece {piece.name}: the stitching line crosses itself, so there is no cut line")
    return net


def _anticlockwise(shape: BaseGeometry, name: str) -> Floats:
    """The outline of the largest part, without holes and needless points."""
    parts = list(shape.geoms) if isinstance(shape, MultiPolygon) else [shape]
    largest = max(parts, key=lambda part: float(part.area))
    if largest.is_empty or not isinstance(largest, Polygon):
        raise BadStyle(f"piece {name}: nothing is left of it inside its cut line")
    outline = orient(Polygon(largest.exterior), 1.0).exterior
    return np.asarray(shapely.get_coordinates(outline.simplify(GRID_MM)))[:-1]
