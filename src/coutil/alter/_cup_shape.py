"""How sound a cup is: the lower dart's opening and the hollows of its lower edges."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from coutil.curves import turnings, visible_signs
from coutil.pattern import CupRule, Piece, Role, Style

# A run of the base that turns less is straight; from there on it is there, and can be drawn out again when it deepens.
TRACE_DEG = 0.1


@dataclass(frozen=True, slots=True)
class CupState:
    """Opening of the lower dart in degrees, and the turnings of the runs of each lower edge, degrees."""

    dart_deg: float
    turnings: tuple[tuple[float, ...], ...]


def cup_state(style: Style, cup: CupRule) -> CupState:
    """Read the state off the pieces."""
    inner, outer = style.piece(cup.inner), style.piece(cup.outer)
    dart = _turn_to_foot(inner, cup) + _turn_to_foot(outer, cup)
    lower = [edge.curve for piece in (inner, outer) for edge in piece.edges if edge.role is Role.CRADLE]
    return CupState(dart, tuple(turnings(curve) for curve in lower))


def _turn_to_foot(piece: Piece, cup: CupRule) -> float:
    """Angle between the plumb line and the chord from the bust point to the foot, degrees."""
    mark = piece.landmark("bust_point")
    assert mark is not None
    knots = piece.edge(cup.cup_seam).curve.knots
    dx, dy = knots[foot_knot(piece, cup)] - knots[mark.knot]
    return abs(math.degrees(math.atan2(dx, -dy)))


def foot_knot(piece: Piece, cup: CupRule) -> int:
    """The knot of the cup seam that is its foot: the lower end."""
    curve = piece.edge(cup.cup_seam).curve
    return 0 if curve.start[1] < curve.end[1] else curve.n_spans


def cup_is_sound(cup: CupRule, base: CupState, now: CupState) -> bool:
    """Within the dart's limits (or no further out than the base) and no lower edge with a new inflection."""
    pairs = zip(base.turnings, now.turnings, strict=True)
    return dart_excess(cup, base, now) <= 0.0 and not any(_is_new(before, after) for before, after in pairs)


def dart_excess(cup: CupRule, base: CupState, now: CupState) -> float:
    """How far the dart stands beyond its limits, or beyond the base's where that is further out; degrees."""
    low, high = cup.dart_limits
    return max(min(low, base.dart_deg) - now.dart_deg, now.dart_deg - max(high, base.dart_deg))


def _is_new(before: Iterable[float], after: Iterable[float]) -> bool:
    """Whether there are more visible runs than the base has runs at all: what no redrawing takes out."""
    return len(visible_signs(after)) > max(len(visible_signs(before, TRACE_DEG)), 1)
