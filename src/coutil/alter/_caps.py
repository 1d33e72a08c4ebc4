"""How far a row may go before another size is the better answer."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import replace

from coutil.alter._plan import PlanRow
from coutil.pattern import Caps, Role, Style

ADVICE = "start from another size"


# Rows that move points up and down or along their lines, not seams sideways.
LENGTHS = frozenset({"length", "cup", "edges"})


def within_caps(caps: Caps, row: PlanRow) -> PlanRow:
    """A row of lengths goes as far as its cap; the rest is still missing, and said.

    Worked case (98 mm from bust point to armhole, 100 less wanted): 0.4 * 98 = 39.2 are less than 40, so -39.2.
    """
    limit = _farthest(caps, row)
    if row.group not in LENGTHS or abs(row.amount) <= limit:
        return row
    missing = f"{abs(row.wanted) - limit:.1f} mm stay missing"
    asked = f"{row.amount:+.1f} mm of a length of {row.base:.0f} mm"
    warning = f"{asked} is more than {limit:.1f} mm, so {missing}: {ADVICE}"
    return replace(row, amount=math.copysign(limit, row.amount), warnings=(*row.warnings, warning))


def _farthest(caps: Caps, row: PlanRow) -> float:
    """How far a row of lengths may go either way, mm."""
    if row.group == "length":
        return min(caps.band, caps.band_share * abs(row.base))
    most = caps.hem if row.key.startswith("hem_") else caps.length
    return min(most, caps.length_share * abs(row.base))


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
