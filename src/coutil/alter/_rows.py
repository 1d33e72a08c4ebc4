"""Rows: single statements the altered pattern has to meet, as frozen values, and how far it is from each.

Every row has a key (what it belongs to), a rank and a compliance: 0 for a row that must hold exactly, otherwise
the square of the slip in mm that is allowed for.  Angle rows count 100 mm for a radian.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Literal

Rank = Literal["structure", "sewing", "plan"]

# A slip of 0.1 mm costs as much as one unit of energy.
LEVEL_SLIP = 0.1**2
# The side seam sets the heights of hem and top: its ends keep theirs three times as strictly.
SIDE_SLIP = 0.03**2
# Heights of hems and tops between their fixed ends may settle by a millimetre.
HEIGHT_SLIP = 1.0**2
# Directions that are kept where nothing needs them to turn: they give easily, so that no seam bends back for them.
DIRECTION_SLIP = 50.0**2
RADIAN = 100.0


@dataclass(frozen=True, slots=True)
class LinearRow:
    """Sum of coefficient * node[axis] = target, on absolute coordinates and tangents."""

    key: str
    rank: Rank
    terms: tuple[tuple[int, int, float], ...]
    target: float
    slip: float = 0.0

    @property
    def form(self) -> Hashable:
        """All but what it wants and is called."""
        return (self.terms, self.slip)


@dataclass(frozen=True, slots=True)
class CrossRow:
    """x at which the edge crosses the height `level`, read from the knot near it along its slope, = target."""

    key: str
    rank: Rank
    position: int
    tangent: int
    level: float
    target: float
    slip: float = 0.0

    @property
    def form(self) -> Hashable:
        """All but what it wants and is called."""
        return (self.position, self.tangent, self.slip)


@dataclass(frozen=True, slots=True)
class LengthRow:
    """Sum of sign * length of span = target."""

    key: str
    rank: Rank
    spans: tuple[tuple[int, float], ...]
    target: float
    slip: float = 0.0

    @property
    def form(self) -> Hashable:
        """All but what it wants and is called."""
        return (self.spans, self.slip)


@dataclass(frozen=True, slots=True)
class AngleRow:
    """Sum of sign * direction angle of tangent nodes = target (radians, modulo a turn)."""

    key: str
    rank: Rank
    tangents: tuple[tuple[int, float], ...]
    target: float
    slip: float = 0.0

    @property
    def form(self) -> Hashable:
        """All but what it wants and is called."""
        return (self.tangents, self.slip)


@dataclass(frozen=True, slots=True)
class DistanceRow:
    """Straight distance between two positions = target."""

    key: str
    rank: Rank
    first: int
    second: int
    target: float
    slip: float = 0.0

    @property
    def form(self) -> Hashable:
        """All but what it wants and is called."""
        return (self.first, self.second, self.slip)


@dataclass(frozen=True, slots=True)
class CollinearRow:
    """A position (or, for `is_tangent`, a tangent) lies along the chord from `start` to `end`."""

    key: str
    rank: Rank
    node: int
    start: int
    end: int
    is_tangent: bool
    slip: float = 0.0

    @property
    def form(self) -> Hashable:
        """All but what it wants and is called."""
        return (self.node, self.start, self.end, self.is_tangent, self.slip)


Row = LinearRow | CrossRow | LengthRow | AngleRow | DistanceRow | CollinearRow
