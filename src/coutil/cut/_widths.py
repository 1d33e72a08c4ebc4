"""How far each cut edge lies outside the stitching line: turn of cloth, room over foam and allowance, or a trim."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from coutil.pattern import Edge, Layer, Piece, Role, allowance_of

# Edges that the garment ends at; there a layer turns by its `turn_at_edges`, at all others by its `turn`.
OUTER_ROLES = frozenset({Role.TOP, Role.NECKLINE, Role.ARMHOLE, Role.HEM})

# Where foam would thicken a bound edge or the cradle seam it is cut back.
TRIMMED_ROLES = frozenset({Role.NECKLINE, Role.ARMHOLE, Role.CRADLE})

# Makers trim 2 to 3 mm (common practice, no source).
FOAM_TRIM_MM = 2.5

# A strip thinner than this is rounding and cannot be cut.
THINNEST_MM = 1e-3

# In the order they are sewn: of two seams that meet, the first is already pressed open when the second
# crosses it. The closure is no seam, but turns back along its line just the same, and last.
SEWN_ORDER = (Role.CUP_SEAM, Role.PANEL_SEAM, Role.CENTRE, Role.CRADLE, Role.SIDE_SEAM, Role.CLOSURE)


@dataclass(frozen=True, slots=True)
class Allowances:
    """What replaces the usual widths, mm: `by_role` where an edge has none of its own; the foam's trim."""

    by_role: Mapping[Role, float] = field(default_factory=dict)
    foam_trim: float = FOAM_TRIM_MM


USUAL = Allowances()


def edge_width(piece: Piece, edge: Edge, layer: Layer, allowances: Allowances) -> float:
    """From the stitching line to the cut line, mm, positive outwards; 0 on a fold and below THINNEST_MM."""
    width = _full_width(piece, edge, layer, allowances)
    return 0.0 if abs(width) < THINNEST_MM else width


def _full_width(piece: Piece, edge: Edge, layer: Layer, allowances: Allowances) -> float:
    if is_fold(piece, edge):
        return 0.0
    if not layer.allowance:
        return -allowances.foam_trim if edge.role in TRIMMED_ROLES else 0.0
    turn = layer.turn_at_edges if edge.role in OUTER_ROLES else layer.turn
    return turn + _over_foam(piece, edge, layer) + _allowance(edge, allowances)


def _over_foam(piece: Piece, edge: Edge, layer: Layer) -> float:
    """What a cover over foam is larger at this edge, mm.

    Over the foam every way from the bust point is longer, so the cover is let out all round.  The cup seam runs
    through the bust point itself and only grows longer.
    """
    is_cup = any(other.role is Role.CUP_SEAM for other in piece.edges)
    return layer.over_foam if is_cup and edge.role is not Role.CUP_SEAM else 0.0


def _allowance(edge: Edge, allowances: Allowances) -> float:
    if edge.allowance is None and edge.role in allowances.by_role:
        return allowances.by_role[edge.role]
    return allowance_of(edge)


def is_fold(piece: Piece, edge: Edge) -> bool:
    """Whether the edge lies on the fold of the cloth."""
    return piece.centre_cut == "fold" and edge.role is Role.CENTRE


def sewn_rank(edge: Edge) -> int | None:
    """Which of two neighbours ends mirrored: the lower, as pressed back before the other; None where bound or raw.

    A closure is below all seams: its facing turns back last, but with the seam sewn through it, and must then lie
    on the same seam of the front.  Cut to the seam's plain continuation, it would run to a point.
    """
    if edge.role is Role.CLOSURE:
        return -1
    return SEWN_ORDER.index(edge.role) if edge.role in SEWN_ORDER else None
