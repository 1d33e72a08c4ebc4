"""How far a row may go before another size is the better answer."""

from __future__ import annotations

from collections import defaultdict

from coutil.alter._plan import PlanRow
from coutil.pattern import Caps, Role, Style

ADVICE = "start from another size"


def row_warnings(caps: Caps, base: Style, row: PlanRow) -> tuple[str, ...]:
    """Sentences for every edge and level that a row moves beyond the caps; an empty tuple for a usual row."""
    warnings: list[str] = []
    at_level: dict[str, float] = defaultdict(float)
    for move in row.moves:
        if move.kind != "sideways":
            continue
        edge = base.piece(move.piece).edge(move.edge)
        if edge.role.is_vertical:
            continue
        limit = caps.side_edge if edge.role is Role.SIDE_SEAM else caps.edge
        if abs(move.amount) > limit:
            title = base.piece(move.piece).title.lower()
            warnings.append(
                f"{move.amount:+.1f} mm at one edge of the {title} is more than {limit:.0f} mm: {ADVICE}"
            )
        at_level[move.level or ""] += move.amount
    total = max((abs(amount) for amount in at_level.values()), default=0.0) * base.sides
    if total > caps.level_girth:
        warnings.append(f"{total:.0f} mm of girth at one level is more than {caps.level_girth:.0f} mm: {ADVICE}")
    return tuple(dict.fromkeys(warnings))
