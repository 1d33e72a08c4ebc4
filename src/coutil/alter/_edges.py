"""Rows of the cup and of the upper and lower edges."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import partial

from coutil.alter._differences import Differences
from coutil.alter._goals import HEM, LEAST_SPAN_MM, TOP
from coutil.alter._order_of_seams import seam_places
from coutil.alter._plan import Group, Move, PlanRow, State, Wishes
from coutil.pattern import CupRule, Part, Piece, Role, Style

Spread = Callable[[float], tuple[Move, ...]]
Drawn = tuple[PlanRow, Spread]

# A centre edge of the inner cup shorter than this cannot be sewn.
LEAST_CENTRE_EDGE = 12.0
# A seam that stands nowhere between centre and side takes half.
BETWEEN = 0.5
# A top edge keeps a seam allowance's width from the highest level: beneath a top that slants by 45 degrees the corner
# cuts so much of the allowance away, and the level's notch must lie on the cloth.
LEAST_ABOVE_LEVEL = 15.0
# A lower edge runs nearly square to its seams; so much lets the seam between it and the lowest level still be drawn.
LEAST_BELOW_LEVEL = 10.0
# A level marked this near to the end of an edge is the end's own.
AT_END_MM = 1e-3


def cup_and_edge_rows(found: Differences, wishes: Wishes, band: float, lifted: float) -> Iterator[Drawn]:
    """Upper corner, armhole, centre top, cup depth, then heights as decisions and the hem.

    `band` is what the first length band lifts the cups by, `lifted` what all bands lift the top edge by, mm.
    """
    cup = found.base.sharing.cup
    if cup is not None:
        yield from _cup_rows(found, wishes, cup, band)
    yield from _height_rows(found, wishes, lifted)
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
    kept = max(wanted, -_room_below_top(found.base.piece(cup.inner), cup))
    warnings: tuple[str, ...] = ()
    if kept != wanted:
        warnings = (f"the inner cup's centre edge keeps {LEAST_CENTRE_EDGE:.0f} mm: lower the peak to go further",)
    row = PlanRow(
        "centre_top", "cup", "Centre top", key, *pair, pair[1] - pair[0], wanted, kept, (), reason, warnings=warnings
    )
    yield row, lambda a: (Move(cup.inner, cup.centre_edge, TOP, "upwards", a),)


def _room_below_top(inner: Piece, cup: CupRule) -> float:
    """How far the centre top can come down: LEAST_CENTRE_EDGE and the knots on the edge stay below it, mm."""
    curve = inner.edge(cup.centre_edge).curve
    heights = sorted(float(height) for height in curve.knots[:, 1])
    return max(min(curve.length - LEAST_CENTRE_EDGE, heights[-1] - heights[-2] - LEAST_SPAN_MM), 0.0)


def _exact_slide(found: Differences, distance: tuple[float, float]) -> float:
    """Slide on the centre line that meets the distance: the difference of two square roots; mm."""
    separation = found.value("bust_point_separation") or (0.0, 0.0)
    before = math.sqrt(max(distance[0] ** 2 - (separation[0] / 2) ** 2, 0.0))
    after = math.sqrt(max(distance[1] ** 2 - (separation[1] / 2) ** 2, 0.0))
    return after - before


def _height_rows(found: Differences, wishes: Wishes, lifted: float) -> Iterator[Drawn]:
    """Heights of the top edge: compared with the wanted ones, shown, and taken only when the maker says so.

    On a cupped front the centre top has a row of its own.
    """
    centre_front = ("centre_front_height", "Centre front height", partial(_centre_tops, part="front"))
    for key, title, spread in (
        *(() if found.base.sharing.cup is not None else (centre_front,)),
        ("side_height", "Side height", _side_tops),
        ("centre_back_height", "Centre back height", partial(_centre_tops, part="back")),
    ):
        pair = found.value(key)
        if pair is None or key not in found.base.sharing.heights:
            continue
        wanted = pair[1] - pair[0] - lifted
        taken = wishes.take_heights and not found.client.estimated(key)
        state = State.COMPUTED if taken else State.LEFT
        reason = f"wanted {pair[1]:.0f} mm, has {pair[0] + lifted:.0f} mm after the length row: a decision"
        amount = _kept_off_levels(found.base, spread(found.base, wanted), wanted) if taken else 0.0
        why = "" if taken else "not measured" if wishes.take_heights else "left until the maker decides"
        row = PlanRow(
            key, "edges", title, key, *pair, pair[1] - pair[0], wanted, amount, (), reason, state, why,
            found.client.estimated(key), decision=True, warnings=_stopped(amount, wanted) if taken else (),
        )
        yield row, partial(spread, found.base)


def _kept_off_levels(style: Style, moves: Iterable[Move], wanted: float) -> float:
    """As much of `wanted` as leaves every edge that it shortens its last level, mm; `moves` is what all of it moves.

    Worked case (the seam ends 46 mm above the bust, lowered by 40): 46 - 15 = 31 mm of 40.
    """
    part = 1.0
    for move in moves:
        room = _room_beside_level(style.piece(move.piece), move)
        if abs(move.amount) > room:
            part = min(part, room / abs(move.amount))
    return part * wanted


def _room_beside_level(piece: Piece, move: Move) -> float:
    """How far a move may shorten its edge before it comes too near to the last level on it; endless without one."""
    heights = piece.edge(move.edge).curve.points[[0, -1], 1]
    end, away = (float(max(heights)), 1.0) if move.level == TOP else (float(min(heights)), -1.0)
    marked = (float(piece.point(mark.at)[1]) for mark in piece.level_marks if mark.at.edge == move.edge)
    inner = [away * (end - height) for height in marked if away * (end - height) > AT_END_MM]
    if away * move.amount > 0.0 or not inner:
        return math.inf
    return max(min(inner) - (LEAST_ABOVE_LEVEL if move.level == TOP else LEAST_BELOW_LEVEL), 0.0)


def _stopped(amount: float, wanted: float) -> tuple[str, ...]:
    if amount == wanted:
        return ()
    kept = f"{LEAST_ABOVE_LEVEL:.0f} mm above the highest level"
    return (f"the top edge stays {kept}: choose a lower style to go further",)


def _side_tops(style: Style, amount: float) -> tuple[Move, ...]:
    places = seam_places(style)
    moves = [Move(p.name, e, TOP, "upwards", amount) for p, e in _ends_at(style, Role.SIDE_SEAM, Role.TOP)]
    moves += [
        Move(p.name, e, TOP, "upwards", places.get((p.name, e), BETWEEN) * amount)
        for p, e in _ends_at(style, Role.PANEL_SEAM, Role.TOP)
    ]
    return tuple(moves)


def _centre_tops(style: Style, amount: float, part: Part) -> tuple[Move, ...]:
    places = seam_places(style)
    moves = [
        Move(p.name, e, TOP, "upwards", amount)
        for role in (Role.CENTRE, Role.CLOSURE)
        for p, e in _ends_at(style, role, Role.TOP)
        if p.part == part
    ]
    moves += [
        Move(p.name, e, TOP, "upwards", (1.0 - places.get((p.name, e), BETWEEN)) * amount)
        for p, e in _ends_at(style, Role.PANEL_SEAM, Role.TOP)
        if p.part == part
    ]
    return tuple(moves)


def _ends_at(style: Style, role: Role, line: Role) -> Iterator[tuple[Piece, str]]:
    """Edges of a role that end at an edge of another role, such as the panel seams that reach the top."""
    for piece in style.pieces:
        roles = [edge.role for edge in piece.edges]
        for i, edge in enumerate(piece.edges):
            if edge.role is role and line in {roles[i - 1], roles[(i + 1) % len(roles)]}:
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
        kept = _kept_off_levels(found.base, _hem_moves(found.base, name, -row.wanted), row.wanted)
        stays = f"the lower edge stays {LEAST_BELOW_LEVEL:.0f} mm below the lowest level"
        words = () if kept == row.wanted else (f"{stays}: choose a shorter style to go further",)
        yield replace(row, amount=kept, warnings=words), partial(_hem_moved, found.base, name)


def _hem_moved(style: Style, name: str, longer: float) -> tuple[Move, ...]:
    return tuple(_hem_moves(style, name, -longer))


def _hem_moves(style: Style, name: str, amount: float) -> Iterator[Move]:
    """The named end in full, panel seams in proportion to where they stand between it and the other end."""
    places = seam_places(style)
    for role in (Role.CENTRE, Role.CLOSURE, Role.SIDE_SEAM, Role.PANEL_SEAM):
        for piece, edge in _ends_at(style, role, Role.HEM):
            at = places.get((piece.name, edge), BETWEEN) if role is Role.PANEL_SEAM else float(role is Role.SIDE_SEAM)
            share = {"hem_side": at, f"hem_{piece.part}": 1.0 - at}.get(name, 0.0)
            if share:
                yield Move(piece.name, edge, HEM, "upwards", share * amount)


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
