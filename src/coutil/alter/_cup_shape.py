"""How sound a cup is: the lower dart's opening and the hollows of its lower edges."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from coutil.curves import turnings
from coutil.pattern import CupRule, Piece, Role, Style

# A run that turns less cannot be seen on paper.
RUN_DEG = 1.0
# A run of the base that turns less is straight; from there on it is there, and deepening it adds nothing new.
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
    curve = piece.edge(cup.cup_seam).curve
    foot = curve.start if curve.start[1] < curve.end[1] else curve.end
    dx, dy = foot - curve.points[3 * mark.knot]
    return abs(math.degrees(math.atan2(dx, -dy)))


def visible_runs(turned: Iterable[float], least_deg: float = RUN_DEG) -> tuple[int, ...]:
    """Signs (left +1, right -1) of the runs that turn more than `least_deg`, neighbours of one sign joined."""
    signs = [1 if degrees > 0 else -1 for degrees in turned if abs(degrees) > least_deg]
    return tuple(sign for i, sign in enumerate(signs) if i == 0 or sign != signs[i - 1])


def grown(before: Iterable[float], after: Iterable[float]) -> bool:
    """Whether an edge grew an inflection: more visible runs than the base has runs at all."""
    return len(visible_runs(after)) > max(len(visible_runs(before, TRACE_DEG)), 1)


def cup_is_sound(cup: CupRule, base: CupState, now: CupState) -> bool:
    """Within the dart's limits (or no further out than the base) and no lower edge with a new inflection."""
    low, high = cup.dart_limits
    in_limits = min(low, base.dart_deg) <= now.dart_deg <= max(high, base.dart_deg)
    pairs = zip(base.turnings, now.turnings, strict=True)
    return in_limits and not any(grown(before, after) for before, after in pairs)
