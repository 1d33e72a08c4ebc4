"""How the ribbons of two neighbouring edges end at the corner between them.

Words: seen from one side, *s* runs along the edge's tangent beyond its end, *u* outwards from the stitching
line; the *turn* is the angle by which the outline turns left at the corner; an *end line* s(u) says where
the ribbon stops.

At a plain corner the ribbon stops at its neighbour's cut line: x sin(turn) + y cos(turn) = v with (x, y) =
(s, u), so s(u) = (v - u cos(turn)) / sin(turn), v the neighbour's width. An allowance that is pressed back
comes to lie mirrored across its own stitching line; for its end to lie on the neighbour's cut line then, it
is cut to the mirror image now: u changes sign. The seam that crosses it later ends on the pressed seam's
stitching line: v = 0.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from coutil.cut._ribbons import Floats, Side, ribbon

# A mitre longer than this many widths is cut blunt: a longer tip is in the way of every seam it crosses.
LONGEST_TIP = 2.0

# Turning by less than this, edges run on smoothly, and the cut line steps from one width to the other.
SMOOTH_SINE = 0.02

# Two seams that meet at no more than this turn run on as one: ended mirrored, the later one's allowance would lose
# 1.7 times its width along the seam (the cotangent), and more the flatter they meet.
RUNS_ON_DEG = 30.0

# Tips are built this many widths long before they are cut blunt, so that every number stays finite.
REACH = 100.0

# An allowance that ends mirrored at a sharp corner loses no more than this many widths of its seam's length.
LONGEST_LOSS = 4.0


@dataclass(frozen=True, slots=True, eq=False)
class CutCorner:
    """What happens to the cut line at one corner.

    `mirrored` names the edge whose pressed-back allowance follows its neighbour, None at a plain corner;
    `tip` is the outermost point of the corner, (2,); `blunt` where it was longer than twice the width and is
    cut off.
    """

    before: str
    after: str
    net: Floats
    mirrored: str | None
    tip: Floats
    blunt: bool


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """A side's end: its corner point, the tangent leading out of the edge and the outward normal."""

    at: Floats
    ahead: Floats
    outwards: Floats

    def place(self, s: float, u: float) -> Floats:
        """The point at (s, u)."""
        return np.asarray(self.at + s * self.ahead + u * self.outwards)

    def polygon(self, *corners: tuple[float, float]) -> Polygon:
        """The polygon with corners (s, u)."""
        return Polygon([self.place(s, u) for s, u in corners])


@dataclass(frozen=True, slots=True, eq=False)
class End:
    """Where one ribbon stops: s at the stitching line (`inner`) and at the cut line (`outer`), mm.

    `turn` in radians where the ribbon must not grow past the neighbour's first normal, else None.
    """

    frame: Frame
    width: float
    inner: float
    outer: float
    turn: float | None = None

    @property
    def tip(self) -> Floats:
        """The end of the ribbon on the cut line, shape (2,)."""
        return self.frame.place(self.outer, self.width)

    def added(self) -> BaseGeometry:
        """What the ribbon gains beyond the end of its edge."""
        reach = max(self.inner, self.outer, 0.0)
        box = self.frame.polygon((0, 0), (reach, 0), (reach, self.width), (0, self.width))
        grown = box.intersection(self._kept(reach)) if reach else Polygon()
        return grown if self.turn is None else grown.difference(self._beside_neighbour(self.turn))

    def _beside_neighbour(self, turn: float) -> Polygon:
        """What lies past the neighbour's first normal: its ribbon follows the curve, not the tangent."""
        far = 2 * (abs(self.inner) + abs(self.outer) + abs(self.width))
        normal = far * math.sin(turn), far * math.cos(turn)
        tangent = normal[1], -normal[0]
        both = normal[0] + tangent[0], normal[1] + tangent[1]
        return self.frame.polygon((0, 0), normal, both, tangent)

    def removed(self) -> BaseGeometry:
        """What it loses before the end of its edge."""
        reach = -min(self.inner, self.outer, 0.0)
        if not reach:
            return Polygon()
        # Larger than the ribbon's end all round, because the edge may bend away from its tangent.
        low, high, beyond = -self.width, 2 * self.width, self.width
        box = self.frame.polygon((-2 * reach, low), (beyond, low), (beyond, high), (-2 * reach, high))
        return box.difference(self._kept(4 * reach))

    def _kept(self, reach: float) -> Polygon:
        """The half-plane behind the end line, as far as it matters."""
        low, high = -2 * self.width, 3 * self.width
        back = -4 * (reach + abs(self.width))
        return self.frame.polygon((back, low), (self._line(low), low), (self._line(high), high), (back, high))

    def _line(self, u: float) -> float:
        return self.inner + (self.outer - self.inner) * u / self.width


@dataclass(frozen=True, slots=True, eq=False)
class Joint:
    """Both ends at one corner."""

    before: End
    after: End
    corner: CutCorner

    def added(self) -> BaseGeometry:
        """What both positive ribbons gain, tips cut blunt."""
        gained = shapely.union_all([end.added() for end in self._ends() if end.width > 0])
        limit = self._limit()
        for end in self._ends():
            gained = _blunted(gained, self.corner.net, end.tip, limit)
        return gained

    def taken(self) -> BaseGeometry:
        """What both negative ribbons take away beyond their ends."""
        return shapely.union_all([end.added() for end in self._ends() if end.width < 0])

    def _limit(self) -> float:
        return LONGEST_TIP * max(abs(self.before.width), abs(self.after.width))

    def _ends(self) -> tuple[End, End]:
        return self.before, self.after


def joint(before: Side, after: Side, first: str | None) -> Joint:
    """The corner where `before` ends and `after` begins; `first` names the one pressed back first, if any."""
    frames = _frame_at_end(before), _frame_at_start(after)
    turn = _turn(frames[0].ahead, -frames[1].ahead)
    if _runs_on(turn):
        first = None
    ends = (
        _end(
            frames[0], before.width, _neighbour(before.name, after.width, first), turn, before.name == first
        ),
        _end(frames[1], after.width, _neighbour(after.name, before.width, first), turn, after.name == first),
    )
    return Joint(*ends, _corner(before, after, first, ends))


def _neighbour(name: str, width: float, first: str | None) -> float:
    """The neighbour's width as this side meets it: an allowance that is pressed back is out of the way."""
    return min(width, 0.0) if first is not None and name != first else width


def _corner(before: Side, after: Side, first: str | None, ends: tuple[End, End]) -> CutCorner:
    net = before.points[-1]
    reaches = [float(np.linalg.norm(end.tip - net)) for end in ends]
    limit = LONGEST_TIP * max(abs(before.width), abs(after.width))
    tip = ends[0].tip if before.name == first or reaches[0] >= reaches[1] else ends[1].tip
    return CutCorner(before.name, after.name, net, first, tip, max(reaches) > limit + 1e-9)


def _frame_at_end(side: Side) -> Frame:
    normal = side.normals[-1]
    return Frame(side.points[-1], np.array([-normal[1], normal[0]]), normal)


def _frame_at_start(side: Side) -> Frame:
    normal = side.normals[0]
    return Frame(side.points[0], np.array([normal[1], -normal[0]]), normal)


def _turn(arriving: Floats, leaving: Floats) -> float:
    """Radians by which the outline turns left at the corner, -pi to pi."""
    return math.atan2(arriving[0] * leaving[1] - arriving[1] * leaving[0], float(arriving @ leaving))


def _end(frame: Frame, width: float, neighbour: float, turn: float, mirrored: bool) -> End:
    if width == 0:
        return End(frame, 0.0, 0.0, 0.0)
    sine, cosine = math.sin(turn), math.cos(turn)
    if abs(sine) < SMOOTH_SINE and cosine > 0:
        return End(frame, width, 0.0, 0.0)
    across = width * cosine
    follows = mirrored and sine > 0
    inner = neighbour / sine if sine > 0 else 0.0
    outer = (neighbour + (across if follows else -across)) / sine if sine else math.inf
    if _runs_on(turn):
        # The wider of the two is not cut back to the narrower one's line.
        outer = max(outer, 0.0)
    stops = width > 0 and sine > 0 and cosine > 0 and not follows
    return End(frame, width, _within(inner, width), _within(outer, width), turn if stops else None)


def _runs_on(turn: float) -> bool:
    return 0.0 < math.degrees(turn) < RUNS_ON_DEG


def _within(s: float, width: float) -> float:
    """An end that is neither endlessly long nor takes the whole seam's allowance."""
    return min(max(s, -LONGEST_LOSS * abs(width)), REACH * abs(width))


def _blunted(shape: BaseGeometry, corner: Floats, tip: Floats, limit: float) -> BaseGeometry:
    """The shape without what lies more than `limit` from the corner in the direction of the tip."""
    distance = float(np.linalg.norm(tip - corner))
    if distance <= limit or shape.is_empty:
        return shape
    ahead = (tip - corner) / distance
    frame = Frame(corner, ahead, np.array([-ahead[1], ahead[0]]))
    far = 4 * distance
    return shape.difference(frame.polygon((limit, -far), (far, -far), (far, far), (limit, far)))


def trimmed_ribbon(side: Side, at_start: End, at_end: End) -> BaseGeometry:
    """The side's ribbon without what its two ends take off it."""
    return ribbon(side).difference(shapely.union_all([at_start.removed(), at_end.removed()]))
