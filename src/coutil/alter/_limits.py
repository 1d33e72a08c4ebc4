"""How far a seam may lean: what each edge can still take at a level before cloth and hand refuse.

A seam that leans more than the style's cap against the grain stretches on the bias and cannot be pressed; what an
edge cannot take goes to the other edges of that half, and what none can take is still missing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from coutil.alter._plan import Move
from coutil.alter._sharing import Portion, share_out
from coutil.pattern import Edge, EdgeShare, Piece, Style

# Truing bends a seam a little; its planned slope keeps this much below the cap, degrees.
SPARE_DEG = 1.0


def share_within(
    total: float,
    shares: Sequence[EdgeShare],
    step: float,
    mates: Sequence[tuple[int, int]],
    rooms: Sequence[float],
) -> tuple[Portion, ...]:
    """As share_out, but no edge takes more than its room (mm, in the direction of `total`); the rest is left.

    Worked case (+30 over three edges of weight 1, rooms 5, 20, 20): 5, then the other two 12.5 each.
    """
    limits = _alike(rooms, mates)
    full: dict[int, float] = {}
    while True:
        open_shares = [i for i in range(len(shares)) if i not in full]
        left = total - math.copysign(sum(full.values()), total)
        portions = _shared_over(left, open_shares, shares, step, mates)
        tight = {i: limits[i] for i, part in portions.items() if abs(part.amount) > limits[i] + 1e-9}
        if not tight:
            break
        full |= {i: math.floor(room / step) * step for i, room in tight.items()}
    sign = math.copysign(1.0, total)
    kept = {i: Portion(shares[i].piece, shares[i].edge, sign * room) for i, room in full.items() if room > 0.0}
    return tuple(found for _, found in sorted((portions | kept).items()))


def _shared_over(
    left: float, places: list[int], shares: Sequence[EdgeShare], step: float, mates: Sequence[tuple[int, int]]
) -> dict[int, Portion]:
    chosen = [shares[i] for i in places]
    index = {place: k for k, place in enumerate(places)}
    own = [(index[a], index[b]) for a, b in mates if a in index and b in index]
    found = {(p.piece, p.edge): p for p in share_out(left, chosen, step, own)}
    keys = {i: (shares[i].piece, shares[i].edge) for i in places}
    return {i: found[key] for i, key in keys.items() if key in found}


def _alike(rooms: Sequence[float], mates: Sequence[tuple[int, int]]) -> list[float]:
    """Edges that are sewn together stop together, so that they keep one length."""
    limits = [max(room, 0.0) for room in rooms]
    for first, second in mates:
        limits[first] = limits[second] = min(limits[first], limits[second])
    return limits


def rooms_at(
    base: Style, moves: Sequence[Move], shares: Sequence[EdgeShare], level: str, decided: Sequence[str], sign: float
) -> list[float]:
    """mm each share can still move in the direction of `sign` at a level, by its slopes to the decided levels."""
    return [_room(base, moves, share, level, decided, sign) for share in shares]


def _room(
    base: Style, moves: Sequence[Move], share: EdgeShare, level: str, decided: Sequence[str], sign: float
) -> float:
    piece = base.piece(share.piece)
    edge = piece.edge(share.edge)
    places = {name: _place(piece, edge, moves, name) for name in (level, *decided) if _is_marked(piece, edge, name)}
    here = places.pop(level, None)
    beside = _nearest(here, places.values()) if here is not None else []
    if here is None:
        return math.inf
    return min((_to_limit(base, here, other, sign) for other in beside), default=math.inf)


Place = tuple[float, float, float, float]


def _place(piece: Piece, edge: Edge, moves: Sequence[Move], level: str) -> Place:
    """Outward place and height of the level's mark with the moves so far, then both as in the base; mm."""
    mark = next(m for m in piece.level_marks if m.at.edge == edge.name and m.level == level)
    outward = 1.0 if edge.curve.end[1] >= edge.curve.start[1] else -1.0
    out = outward * float(edge.curve.knots[mark.at.knot][0])
    height = piece.levels[level]
    own = [m for m in moves if (m.piece, m.edge) == (piece.name, edge.name)]
    moved = sum(m.amount for m in own if m.kind == "sideways" and m.level in (None, level))
    raised = sum(m.amount for m in own if m.kind == "upwards" and _is_above(piece, height, m.level))
    return out + moved, height + raised, out, height


def _is_above(piece: Piece, height: float, level: str | None) -> bool:
    return level is not None and level in piece.levels and height >= piece.levels[level] - 1e-6


def _nearest(here: Place, places: Iterable[Place]) -> list[Place]:
    """The decided places next above and next below."""
    others = list(places)
    above = [place for place in others if place[3] > here[3]]
    below = [place for place in others if place[3] < here[3]]
    return [min(group, key=lambda place: abs(place[3] - here[3])) for group in (above, below) if group]


def _to_limit(base: Style, here: Place, other: Place, sign: float) -> float:
    """Room until the chord between both places leans by the cap, or as far as the base's own already does."""
    cap = math.tan(math.radians(base.sharing.caps.slope_refuses - SPARE_DEG))
    own = abs(here[2] - other[2]) / abs(here[3] - other[3])
    reach = max(cap, own) * abs(here[1] - other[1])
    return reach - sign * (here[0] - other[0])


def _is_marked(piece: Piece, edge: Edge, level: str) -> bool:
    return any(mark.level == level and mark.at.edge == edge.name for mark in piece.level_marks)
