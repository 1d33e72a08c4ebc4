"""Panels from the centre front to the centre back: every seam from its widths, every hem and top from a profile.

A panel grows from its waist by the same rule on every level: each edge takes its weight's part of what its group of
panels is wider there, so that panels stay balanced about their grain.  Top and hem are drawn once round the half
garment and laid out on the pieces, turned with each seam, so that they run through smoothly when sewn.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from coutil.curves import Curve, hermite_c2, join
from coutil.draft._lines import Point, Profile, direction, through, vertical
from coutil.pattern import (
    CutFrom,
    Edge,
    EdgeRef,
    KnotRef,
    Landmark,
    Layer,
    LevelMark,
    Match,
    Part,
    Piece,
    PointRef,
    Role,
    Seam,
)

WAIST, HEM, TOP = "waist", "hem", "top"
FRONT_SEAM, BACK_SEAM, SIDE_SEAM = "front_seam", "back_seam", "side_seam"
# A cubic does not pass beyond its knots while its slopes stay within three times its chord's.
STEEPEST = 3.0
# From the waist to the next level a seam is full: steep at once, so that a body with a fuller waist draws no hollow.
FULL = 1.7
LAYERS = (
    Layer("outer", turn=0.5, turn_at_edges=0.5),
    Layer("strength"),
    Layer("lining", turn=-0.5, turn_at_edges=-2.0),
)
CUT = (CutFrom("outer", 2, True), CutFrom("strength", 2, True), CutFrom("lining", 2, True))


@dataclass(frozen=True, slots=True)
class Panel:
    """One panel as planned: its share of its group's waist, and the weights of its edges in the group's growth."""

    name: str
    title: str
    part: Part
    share: float
    towards_front: float
    towards_back: float


@dataclass(frozen=True, slots=True)
class Group:
    """Neighbouring panels that grow together; `widths` in mm at every level, at the hem and at the top."""

    panels: tuple[Panel, ...]
    widths: Mapping[str, float]

    def growth(self, level: str) -> float:
        """What an edge of weight 1 stands further out than at the waist, mm."""
        weights = sum(panel.towards_front + panel.towards_back for panel in self.panels)
        return (self.widths[level] - self.widths[WAIST]) / weights


@dataclass(frozen=True, slots=True)
class Plan:
    """What is drawn: groups from the centre front on, levels (height in mm, waist 0), profiles of hem and top.

    `hem_level` says whether the hem is itself a level, measured at the corners.
    """

    groups: tuple[Group, ...]
    levels: Mapping[str, float]
    hem: Profile
    top: Profile
    hem_level: bool
    front_opens: bool

    @property
    def panels(self) -> tuple[Panel, ...]:
        """All panels in order, from the centre front to the centre back."""
        return tuple(panel for group in self.groups for panel in group.panels)


def places_round(groups: Sequence[Group], level: str) -> tuple[float, ...]:
    """Where the panels meet round the half garment at a level: from 0 at the centre front on, mm."""
    widths = [
        panel.share * group.widths[WAIST] + (panel.towards_front + panel.towards_back) * group.growth(level)
        for group in groups
        for panel in group.panels
    ]
    return (0.0, *np.cumsum(widths).tolist())


def draw_panels(plan: Plan) -> tuple[Piece, ...]:
    """The pieces from the centre front to the centre back, as first drawn: truing makes the seams equal."""
    tops = [plan.top.at(x) for x in places_round(plan.groups, TOP)]
    hems = [plan.hem.at(x) for x in places_round(plan.groups, HEM)]
    pieces, start = [], 0.0
    groups = [group for group in plan.groups for _ in group.panels]
    for i, (group, panel) in enumerate(zip(groups, plan.panels, strict=True)):
        end = start + panel.share * group.widths[WAIST]
        left = _Side(plan, group, start, -panel.towards_front, hems[i], tops[i])
        right = _Side(plan, group, end, panel.towards_back, hems[i + 1], tops[i + 1])
        pieces.append(_piece(plan, panel, left, right))
        start = end
    return tuple(pieces)


@dataclass(frozen=True, slots=True)
class _Side:
    """One long edge of a panel, drawn upwards; `weight` is negative on the left."""

    plan: Plan
    group: Group
    waist_x: float
    weight: float
    hem: tuple[float, float]
    top: tuple[float, float]

    def curve(self) -> Curve:
        if not self.weight:
            return vertical(self.waist_x, [self.hem[0], *sorted(self.plan.levels.values()), self.top[0]])
        knots = [(self._x(HEM), self.hem[0]), *self._knots(), (self._x(TOP), self.top[0])]
        at = next(i for i, (_, y) in enumerate(knots) if y == 0.0)
        below, above = [(x, -y) for x, y in reversed(knots[: at + 1])], knots[at:]
        return join([_mirrored(_from_waist(below)).reversed(), _from_waist(above)])

    def _knots(self) -> list[Point]:
        ordered = sorted(self.plan.levels.items(), key=lambda item: item[1])
        return [(self._x(level), height) for level, height in ordered]

    def _x(self, level: str) -> float:
        return self.waist_x + self.weight * self.group.growth(level)


def _from_waist(knots: Sequence[Point]) -> Curve:
    """Upright at the waist, then smooth through the knots and nowhere beyond them.

    Slopes of the C2 spline, held to three times the flatter chord beside the knot (F. N. Fritsch and R. E. Carlson,
    Monotone piecewise cubic interpolation, 1980), so that a strongly shaped bust draws no waist above the waist.
    """
    points = np.array(knots)
    rises = np.diff(points[:, 1])
    chords = np.diff(points[:, 0]) / rises
    curve = hermite_c2(points, rises, (0.0, 1.0), (chords[-1], 1.0))
    slopes = np.append(3 * (curve.points[1::3, 0] - points[:-1, 0]) / rises, chords[-1])
    flatter = np.minimum(np.abs(chords[:-1]), np.abs(chords[1:]))
    turned = chords[:-1] * chords[1:] <= 0.0
    most = np.where(turned, 0.0, STEEPEST * flatter)
    most[0] = min(most[0], FULL * abs(chords[0]))
    slopes[1:-1] = np.clip(slopes[1:-1], -most, most)
    return Curve.from_hermite(points, np.stack((slopes, np.ones_like(slopes)), axis=1), rises)


def _mirrored(curve: Curve) -> Curve:
    return curve.transformed([[1.0, 0.0], [0.0, -1.0]])


def _piece(plan: Plan, panel: Panel, left: _Side, right: _Side) -> Piece:
    up, down = right.curve(), left.curve()
    hem = _across(down.start, up.start, (_lean(down, False), _lean(up, False)), (left.hem[1], right.hem[1]))
    top = _across(down.end, up.end, (_lean(down, True), _lean(up, True)), (left.top[1], right.top[1]))
    first, last = panel == plan.panels[0], panel == plan.panels[-1]
    names, roles = _names_and_roles(plan, panel)
    edges = (
        Edge("hem", hem, Role.HEM),
        Edge(names[1], up, roles[1], last),
        Edge("top", top.reversed(), Role.TOP),
        Edge(names[0], down.reversed(), roles[0], first),
    )
    levels = dict(plan.levels)
    marked = [*([HEM] if plan.hem_level else []), *sorted(levels, key=lambda level: levels[level])]
    if plan.hem_level:
        levels[HEM] = left.hem[0]
    return Piece(
        panel.name,
        panel.title,
        panel.part,
        edges,
        levels,
        (*_marks(names[1], marked, plan, False), *_marks(names[0], marked, plan, True)),
        cut=CUT,
        centre_cut="open" if first and not plan.front_opens else None,
        eyelets=last,
    )


def _names_and_roles(plan: Plan, panel: Panel) -> tuple[tuple[str, str], tuple[Role, Role]]:
    """Names and roles of the edges towards the front and towards the back."""
    order = plan.panels
    i = order.index(panel)
    front, back = (FRONT_SEAM, Role.PANEL_SEAM), (BACK_SEAM, Role.PANEL_SEAM)
    if i == 0:
        front = ("closure", Role.CLOSURE) if plan.front_opens else ("centre", Role.CENTRE)
    elif order[i - 1].part != panel.part:
        front = (SIDE_SEAM, Role.SIDE_SEAM)
    if i == len(order) - 1:
        back = ("closure", Role.CLOSURE)
    elif order[i + 1].part != panel.part:
        back = (SIDE_SEAM, Role.SIDE_SEAM)
    return (front[0], back[0]), (front[1], back[1])


def _marks(edge: str, levels: Sequence[str], plan: Plan, downwards: bool) -> tuple[LevelMark, ...]:
    count = len(plan.levels) + 1
    first = 0 if plan.hem_level else 1
    return tuple(
        LevelMark(level, KnotRef(edge, count - k if downwards else k)) for k, level in enumerate(levels, start=first)
    )


def _lean(curve: Curve, at_top: bool) -> float:
    """How far the end of an upward edge leans to the right, radians."""
    tangent = curve.points[-1] - curve.points[-2] if at_top else curve.points[1] - curve.points[0]
    return math.atan2(tangent[0], tangent[1])


def _across(start: np.ndarray, end: np.ndarray, leans: Point, slopes: Point) -> Curve:
    """From the left edge to the right one; the profile's slope at either end, turned with the edge there."""
    first, last = (direction(math.degrees(math.atan(slope) - lean)) for slope, lean in zip(slopes, leans, strict=True))
    chord = math.dist(start, end)
    middle = (start + end) / 2 + chord * (np.array(first) - np.array(last)) / 8
    return through([_point(start), _point(middle), _point(end)], first, last)


def _point(corner: np.ndarray) -> Point:
    return float(corner[0]), float(corner[1])


def panel_seams(plan: Plan) -> tuple[Seam, ...]:
    """The seams between neighbouring panels, matched at every level."""
    return tuple(_seam(plan, one, other) for one, other in pairwise(plan.panels))


def _seam(plan: Plan, one: Panel, other: Panel) -> Seam:
    edge_a, edge_b = _names_and_roles(plan, one)[0][1], _names_and_roles(plan, other)[0][0]
    levels = sorted(plan.levels, key=lambda level: plan.levels[level])
    last = len(levels) + 1
    matches = tuple(
        Match(level, PointRef(one.name, edge_a, k), PointRef(other.name, edge_b, last - k))
        for k, level in enumerate(levels, start=1)
    )
    name = "side" if edge_a == SIDE_SEAM else f"{one.name}_to_{other.name}"
    return Seam(name, (EdgeRef(one.name, edge_a),), (EdgeRef(other.name, edge_b, backward=True),), matches)


def with_bust_point(piece: Piece, edge: str) -> Piece:
    """The piece with its bust point where that edge crosses the bust level."""
    at = next(at for at in piece.marks_of("bust") if at.edge == edge)
    return replace(piece, landmarks=(*piece.landmarks, Landmark("bust_point", at)))
