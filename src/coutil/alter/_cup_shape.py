"""How sound a cup is: the lower dart's opening and the hollows of its lower edges."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from coutil.curves import Curve, turning_runs
from coutil.pattern import CupRule, Piece, Role, Style

# A run that turns less cannot be seen on paper.
RUN_DEG = 1.0


@dataclass(frozen=True, slots=True)
class CupState:
    """Opening of the lower dart in degrees, and for each lower edge the signs of its visible runs in order."""

    dart_deg: float
    runs: tuple[tuple[int, ...], ...]


def cup_state(style: Style, cup: CupRule) -> CupState:
    """Read the state off the pieces."""
    inner, outer = style.piece(cup.inner), style.piece(cup.outer)
    dart = _turn_to_foot(inner, cup) + _turn_to_foot(outer, cup)
    lower = [edge.curve for piece in (inner, outer) for edge in piece.edges if edge.role is Role.CRADLE]
    return CupState(dart, tuple(visible_runs(curve) for curve in lower))


def _turn_to_foot(piece: Piece, cup: CupRule) -> float:
    """Angle between the plumb line and the chord from the bust point to the foot, degrees."""
    mark = piece.landmark("bust_point")
    assert mark is not None
    curve = piece.edge(cup.cup_seam).curve
    foot = curve.start if curve.start[1] < curve.end[1] else curve.end
    dx, dy = foot - curve.points[3 * mark.knot]
    return abs(math.degrees(math.atan2(dx, -dy)))


def visible_runs(curve: Curve) -> tuple[int, ...]:
    """Signs (left +1, right -1) of the runs that turn more than a degree."""
    signs = [int(np.sign(run.turning_deg)) for run in turning_runs(curve) if abs(run.turning_deg) > RUN_DEG]
    return tuple(sign for i, sign in enumerate(signs) if i == 0 or sign != signs[i - 1])


def cup_is_sound(cup: CupRule, base: CupState, now: CupState) -> bool:
    """Within the dart's limits (or no further out than the base) and no lower edge with more runs than the base's."""
    low, high = cup.dart_limits
    in_limits = min(low, base.dart_deg) <= now.dart_deg <= max(high, base.dart_deg)
    return in_limits and not any(grown(before, after) for before, after in zip(base.runs, now.runs, strict=True))


def grown(before: tuple[int, ...], after: tuple[int, ...]) -> bool:
    """Whether an edge grew an inflection: more visible runs than it had."""
    return len(after) > max(len(before), 1)
