"""Rows of the cup and of the upper and lower edges."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import partial

from coutil.alter._differences import Differences
from coutil.alter._goals import HEM, TOP
from coutil.alter._plan import Group, Move, PlanRow, State, Wishes
from coutil.pattern import CupRule, Piece, Role, Style

Spread = Callable[[float], tuple[Move, ...]]
Drawn = tuple[PlanRow, Spread]

# A centre edge of the inner cup shorter than this cannot be sewn.
LEAST_CENTRE_EDGE = 12.0
# The corner between side and centre back stands between their heights.
BETWEEN = 0.5


def cup_and_edge_rows(found: Differences, wishes: Wishes, band: float) -> Iterator[Drawn]:
    """Upper corner, armhole, centre top, cup depth, then heights as decisions and the hem."""
    cup = found.base.sharing.cup
    if cup is not None:
        yield from _cup_rows(found, wishes, cup, band)
    yield from _height_rows(found, wishes, band)
    yield from _hem_rows(found)


def _cup_rows(found: Differences, wishes: Wishes, cup: CupRule, band: float) -> Iterator[Drawn]:
    pair = found.value("bust_point_to_upper_corner")
    if pair is not None:
        reason = "along the cup seam, the same on both cup pieces; neckline and armhole are redrawn as one line"
        title = "Bust point to upper corner"
        row = _row(found, "upper_corner", "cup", title, "bust_point_to_upper_corner", pair, reason)
        yield row, lambda a: _both_cups(cup, "upper_corner", a)
    pair = found.value("bust_point_to_armhole")
    if pair is not None:
        reason = "the middle of the armhole moves on its own line from the bust point"
        row = _row(found, "armhole", "cup", "Bust point to armhole", "bust_point_to_armhole", pair, reason)
        yield row, lambda a: (Move(cup.outer, cup.armhole, "armhole_middle", "apart", a),)
    yield from _centre_top(found, wishes, cup, band)
    pair = found.value("bust_point_to_underbust")
    if pair is not None:
        share = cup.depth_share if wishes.depth_share is None else wishes.depth_share
        reason = "the foot of the cup seam turns and the lower dart opens or closes; the cradle keeps its length"
        row = _row(found, "cup_depth", "cup", "Cup depth", "bust_point_to_underbust", pair, reason, share)
        yield row, lambda a: _both_cups(cup, "foot", a)


def _both_cups(cup: CupRule, mark: str, amount: float) -> tuple[Move, ...]:
    return tuple(Move(name, cup.cup_seam, mark, "along", amount) for name in (cup.inner, cup.outer))


def _centre_top(found: Differences, wishes: Wishes, cup: CupRule, band: float) -> Iterator[Drawn]:
    """Slides on the centre line: by the height if measured, else by the difference of its distance."""
    height, distance = found.value("centre_front_height"), found.value("bust_point_to_centre_top")
    if height is not None:
        pair, key, wanted = height, "centre_front_height", height[1] - height[0] - band
        reason = "the centre top slides on the centre line to its measured height above the waist"
    elif distance is not None and wishes.exact_centre_top:
        pair, key, wanted = distance, "bust_point_to_centre_top", _exact_slide(found, distance)
        reason = "the centre top slides on the centre line until its distance from the bust point is met"
    elif distance is not None:
        pair, key, wanted = distance, "bust_point_to_centre_top", distance[1] - distance[0]
        reason = "the centre top slides on the centre line by the difference of its distance from the bust point"
    else:
        return
    room = found.base.piece(cup.inner).edge(cup.centre_edge).curve.length - LEAST_CENTRE_EDGE
    kept = max(wanted, -room)
    warnings: tuple[str, ...] = ()
    if kept != wanted:
        warnings = (f"the inner cup's centre edge keeps {LEAST_CENTRE_EDGE:.0f} mm: lower the peak to go further",)
    row = PlanRow(
        "centre_top", "cup", "Centre top", key, *pair, pair[1] - pair[0], kept, kept, (), reason, warnings=warnings
    )
    yield row, lambda a: (Move(cup.inner, cup.centre_edge, TOP, "upwards", a),)


def _exact_slide(found: Differences, distance: tuple[float, float]) -> float:
    """Slide on the centre line that meets the distance: the difference of two square roots; mm."""
    separation = found.value("bust_point_separation") or (0.0, 0.0)
    before = math.sqrt(max(distance[0] ** 2 - (separation[0] / 2) ** 2, 0.0))
    after = math.sqrt(max(distance[1] ** 2 - (separation[1] / 2) ** 2, 0.0))
    return after - before


def _height_rows(found: Differences, wishes: Wishes, band: float) -> Iterator[Drawn]:
    """Side and centre back heights: compared with the wanted ones, shown, and taken only when the maker says so."""
    for key, title, spread in (
        ("side_height", "Side height", _side_tops),
        ("centre_back_height", "Centre back height", _back_tops),
    ):
        pair = found.value(key)
        if pair is None:
            continue
        wanted = pair[1] - pair[0] - band
        state = State.COMPUTED if wishes.take_heights else State.LEFT
        reason = f"wanted {pair[1]:.0f} mm, has {pair[0] + band:.0f} mm after the length row: a decision"
        amount = wanted if wishes.take_heights else 0.0
        why = "" if wishes.take_heights else "left until the maker decides"
        row = PlanRow(
            key, "edges", title, key, *pair, pair[1] - pair[0], wanted, amount, (), reason, state, why,
            found.client.estimated(key), decision=True,
        )
        yield row, partial(spread, found.base)


def _side_tops(style: Style, amount: float) -> tuple[Move, ...]:
    moves = [Move(p.name, e, TOP, "upwards", amount) for p, e in _seam_tops(style, Role.SIDE_SEAM)]
    moves += [Move(p.name, e, TOP, "upwards", BETWEEN * amount) for p, e in _seam_tops(style, Role.PANEL_SEAM)]
    return tuple(moves)


def _back_tops(style: Style, amount: float) -> tuple[Move, ...]:
    moves = [Move(p.name, e, TOP, "upwards", amount) for p, e in _seam_tops(style, Role.CLOSURE)]
    moves += [Move(p.name, e, TOP, "upwards", BETWEEN * amount) for p, e in _seam_tops(style, Role.PANEL_SEAM)]
    return tuple(moves)


def _seam_tops(style: Style, role: Role) -> Iterator[tuple[Piece, str]]:
    """Edges of that role on the back whose upper end meets a top edge."""
    for piece in style.pieces:
        if piece.part != "back":
            continue
        roles = [edge.role for edge in piece.edges]
        for i, edge in enumerate(piece.edges):
            beside = {roles[i - 1], roles[(i + 1) % len(roles)]}
            if edge.role is role and Role.TOP in beside:
                yield piece, edge.name


def _hem_rows(found: Differences) -> Iterator[Drawn]:
    """The lower edge: lowered or raised at centre front, side and centre back, seams between in proportion."""
    for key, title, name in (
        ("centre_front_below_waist", "Centre front below the waist", "hem_front"),
        ("side_below_waist", "Side below the waist", "hem_side"),
        ("centre_back_below_waist", "Centre back below the waist", "hem_back"),
    ):
        pair = found.value(key)
        if pair is None:
            continue
        reason = "the lower edge is redrawn through the new point as one smooth line over all seams"
        row = _row(found, name, "edges", title, key, pair, reason)
        yield row, partial(_hem_moved, found.base, name)


def _hem_moved(style: Style, name: str, longer: float) -> tuple[Move, ...]:
    return tuple(_hem_moves(style, name, -longer))


def _hem_moves(style: Style, name: str, amount: float) -> Iterator[Move]:
    shares = {
        "hem_front": {("front", Role.CENTRE): 1.0, ("front", Role.CLOSURE): 1.0, ("front", Role.PANEL_SEAM): BETWEEN},
        "hem_side": {
            ("front", Role.SIDE_SEAM): 1.0,
            ("back", Role.SIDE_SEAM): 1.0,
            ("front", Role.PANEL_SEAM): BETWEEN,
            ("back", Role.PANEL_SEAM): BETWEEN,
        },
        "hem_back": {("back", Role.CLOSURE): 1.0, ("back", Role.PANEL_SEAM): BETWEEN},
    }[name]
    for piece in style.pieces:
        roles = [edge.role for edge in piece.edges]
        for i, edge in enumerate(piece.edges):
            share = shares.get((piece.part, edge.role), 0.0)
            beside = {roles[i - 1], roles[(i + 1) % len(roles)]}
            if share and Role.HEM in beside:
                yield Move(piece.name, edge.name, HEM, "upwards", share * amount)


def _row(
    found: Differences,
    key: str,
    group: Group,
    title: str,
    measurement: str,
    pair: tuple[float, float],
    reason: str,
    share: float = 1.0,
) -> PlanRow:
    wanted = share * (pair[1] - pair[0])
    return PlanRow(
        key, group, title, measurement, *pair, pair[1] - pair[0], wanted, wanted, (), reason,
        estimated=found.client.estimated(measurement),
    )
