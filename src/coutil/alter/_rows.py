"""Rows: single statements the altered pattern has to meet, as frozen values, and how far it is from each.

Every row has a key (what it belongs to), a rank and a compliance: 0 for a row that must hold exactly, otherwise
the square of the slip in mm that is allowed for.  Angle rows count 100 mm for a radian.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Literal

Rank = Literal["structure", "sewing", "plan"]

# A slip of a quarter of a millimetre costs as much as one unit of energy.
LEVEL_SLIP = 0.25**2
# The side seam sets the heights of hem and top: its ends keep theirs three times as strictly.
SIDE_SLIP = 0.03**2
# Heights of hems and tops between their fixed ends may settle by a millimetre.
HEIGHT_SLIP = 1.0**2
CRADLE_SLIP = 1.0**2
# Beyond the last level a seam is carried on parallel, but its end gives way before the seam would swing back.
END_SLIP = 1.0**2
# The upper corner of a cup keeps to the line of its cup seam.
CORNER_SLIP = 1.0**2
# Directions that are kept where nothing needs them to turn: they give easily, so that no seam bends back for them.
DIRECTION_SLIP = 50.0**2
# A bend is counted by the rise of its arc over a chord of 100 mm; it may miss by a tenth of a millimetre.
CURVATURE_SLIP = 0.1**2
RISE = 100.0**2 / 8
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
    """x at which the edge crosses the height `level`, read from the knot near it along its slope, = target.

    `bend` is how far the base's edge itself crosses beside that reading, mm.
    """

    key: str
    rank: Rank
    position: int
    tangent: int
    level: float
    target: float
    bend: float = 0.0
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


@dataclass(frozen=True, slots=True)
class CurvatureRow:
    """Curvature of a span at parameter `place` (0 to 1) = target, 1/mm; left turns are positive."""

    key: str
    rank: Rank
    span: int
    place: float
    target: float
    slip: float = 0.0

    @property
    def form(self) -> Hashable:
        """All but what it wants and is called."""
        return (self.span, self.place, self.slip)


Row = LinearRow | CrossRow | LengthRow | AngleRow | DistanceRow | CollinearRow | CurvatureRow
