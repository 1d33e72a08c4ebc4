"""The lower dart of the cup: how far it stands beyond its limits, and the rows that bring it back inside."""

from __future__ import annotations

import math
from dataclasses import dataclass

from coutil.alter._layout import Floats, Layout
from coutil.alter._rows import LinearRow
from coutil.pattern import CupRule, KnotRef, Piece, PointRef

# The dart is brought so far inside its limits that what slips does not lead out again.
INSIDE_DEG = 0.1
# A miss of a twentieth of a millimetre costs as much as one unit of energy.
DART_SLIP = 0.05**2


@dataclass(frozen=True, slots=True)
class _Leg:
    """Nodes of the bust point and of the foot on one cup piece."""

    piece: str
    bust_point: int
    foot: int


class Dart:
    """One base's lower dart, with its limits widened to where the base's own dart stands."""

    def __init__(self, layout: Layout, cup: CupRule) -> None:
        self.legs = [_leg(layout, cup, layout.style.piece(name)) for name in (cup.inner, cup.outer)]
        own = self._degrees(layout.nodes)
        low, high = cup.dart_limits
        self.low, self.high = min(low, own), max(high, own)

    def rows(self, nodes: Floats) -> list[LinearRow]:
        """For nodes (N, 2): rows that bring a dart beyond its limits inside, both feet by the same share.

        Worked case (open by 76 degrees, 44 on the inner and 32 on the outer cup, limit 75): 74.9 / 76 of each angle
        are 43.36 and 31.54 degrees; with 80 mm from bust point to foot these stand 54.93 and 41.84 mm aside.
        """
        now = self._degrees(nodes)
        if self.excess(nodes) <= 0.0:
            return []
        inside = self.low + INSIDE_DEG if now < self.low else self.high - INSIDE_DEG
        return [_leg_row(nodes, leg, inside / now) for leg in self.legs]

    def excess(self, nodes: Floats) -> float:
        """How far the dart stands beyond its limits, degrees; not above 0 within them."""
        now = self._degrees(nodes)
        return max(self.low - now, now - self.high)

    def _degrees(self, nodes: Floats) -> float:
        return sum(math.degrees(abs(_turn(nodes, leg))) for leg in self.legs)


def _leg(layout: Layout, cup: CupRule, piece: Piece) -> _Leg:
    mark = piece.landmark("bust_point")
    assert mark is not None
    curve = piece.edge(cup.cup_seam).curve
    # The foot is the lower end of the cup seam.
    foot = KnotRef(cup.cup_seam, 0 if curve.start[1] < curve.end[1] else curve.n_spans)
    bust_point, end = (layout.position(PointRef(piece.name, at.edge, at.knot)) for at in (mark, foot))
    return _Leg(piece.name, bust_point, end)


def _turn(nodes: Floats, leg: _Leg) -> float:
    """Angle from the plumb line to the way from bust point to foot, radians; to the right is positive."""
    dx, dy = nodes[leg.foot] - nodes[leg.bust_point]
    return math.atan2(dx, -dy)


def _leg_row(nodes: Floats, leg: _Leg, share: float) -> LinearRow:
    dx, dy = nodes[leg.foot] - nodes[leg.bust_point]
    aside = math.hypot(dx, dy) * math.sin(share * _turn(nodes, leg))
    terms = ((leg.foot, 0, 1.0), (leg.bust_point, 0, -1.0))
    return LinearRow(f"dart of {leg.piece}", "structure", terms, aside, DART_SLIP)
