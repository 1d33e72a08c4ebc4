"""Usual seam allowances by role, as data.

15 at panel and side seams (English instructions, common practice), 8 at cup and cradle seams (bra making, common
practice), nothing where the raw edge is bound, 45 at a closure that turns back as its own facing.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from coutil.pattern._values import Edge, Role

USUAL_ALLOWANCES: Mapping[Role, float] = MappingProxyType(
    {
        Role.PANEL_SEAM: 15.0,
        Role.SIDE_SEAM: 15.0,
        Role.CUP_SEAM: 8.0,
        Role.CRADLE: 8.0,
        Role.CENTRE: 10.0,
        Role.CLOSURE: 45.0,
        Role.TOP: 0.0,
        Role.NECKLINE: 0.0,
        Role.ARMHOLE: 0.0,
        Role.HEM: 0.0,
    }
)


def allowance_of(edge: Edge) -> float:
    """The edge's own allowance, or its role's usual one where it has none, mm."""
    return USUAL_ALLOWANCES[edge.role] if edge.allowance is None else edge.allowance
