"""From the plan's moves to rows: where every knot of every seam edge, centre and cup is to end."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from coutil.alter._layout import EdgeSlots, Floats, Layout
from coutil.alter._plan import Move
from coutil.alter._rows import (
    CORNER_SLIP,
    CRADLE_SLIP,
    END_SLIP,
    HEIGHT_SLIP,
    LEVEL_SLIP,
    SIDE_SLIP,
    CrossRow,
    LengthRow,
    LinearRow,
    Row,
)
from coutil.alter._structure import chain_spans, place_in_chain
from coutil.curves import Curve
from coutil.pattern import CupRule, EdgeRef, Piece, PointRef, Role

# Corners are compared with levels by height; knots lie on their level within this.
HEIGHT_TOLERANCE_MM = 5.0
# A corner within this of a level's height belongs to it.
CORNER_ROLES = frozenset({Role.PANEL_SEAM, Role.SIDE_SEAM})
TOP, HEM = "top", "hem_line"
# Knots of an upright line keep this much between them where the line has room for it.
LEAST_SPAN_MM = 2.0
# A line that stands still has no slope to divide by.
STANDING = 1e-9


@dataclass(frozen=True)
class Goals:
    """Moves by row key, and lengths that are held: `cradle` per edge (piece, edge) -> mm, `depth` mm or None."""

    moves: tuple[tuple[str, Move], ...] = ()
    depth: float | None = None
    upper: float | None = None
    cradle: dict[tuple[str, str], float] = field(default_factory=dict)

    @cached_property
    def _by_edge(self) -> dict[tuple[str, str, str], list[tuple[str, Move]]]:
        found: dict[tuple[str, str, str], list[tuple[str, Move]]] = {}
        for key, move in self.moves:
            found.setdefault((move.piece, move.edge, move.kind), []).append((key, move))
        return found

    @cached_property
    def known_rises(self) -> dict[tuple[str, str, int], tuple[float, str]]:
        """What `raised` found, by piece, edge and knot: rows, level lines and notes all ask for it."""
        return {}

    def moves_of(self, slots: EdgeSlots, kind: str) -> Sequence[tuple[str, Move]]:
        """The moves of one kind that name the edge, with their rows' keys, in order."""
        return self._by_edge.get((slots.piece, slots.edge.name, kind), ())


def level_rows(layout: Layout, goals: Goals) -> list[Row]:
    """Heights: hard on centre and closure lines, soft where seams cross a level, at hems and at tops."""
    rows: list[Row] = []
    for piece in layout.style.pieces:
        for edge in piece.edges:
            slots = layout.slots(piece.name, edge.name)
            if edge.role.is_vertical:
                rows += _hard_heights(layout, goals, piece, slots)
            elif edge.role in CORNER_ROLES:
                rows += _soft_heights(layout, goals, piece, slots)
    return rows


def _hard_heights(layout: Layout, goals: Goals, piece: Piece, slots: EdgeSlots) -> Iterable[Row]:
    """Heights of all knots and, so that the line never doubles back, of the tangents that lead through them."""
    rises = [raised(layout, goals, piece, slots, knot) for knot in range(len(slots.positions))]
    before = layout.nodes[slots.positions, 1]
    after = _in_order(before + np.array([rise for rise, _ in rises]), slots.rises)
    for node, height, (_, keys) in zip(slots.positions, after, rises, strict=True):
        yield LinearRow(keys or f"{piece.name} heights", "plan", ((int(node), 1, 1.0),), float(height))
    own = layout.nodes[slots.tangents, 1]
    speeds = own * _speeds(after, slots.widths) / _speeds(before, slots.widths)
    for node, speed in zip(slots.tangents, speeds, strict=True):
        yield LinearRow(f"{piece.name} heights", "structure", ((int(node), 1, 1.0),), float(speed))


def _in_order(heights: Floats, rises: bool) -> Floats:
    """The heights with inner knots slid as far as they must to stay between the ends and in their order."""
    way = 1.0 if rises else -1.0
    up, count = way * heights, len(heights) - 1
    apart = max(min(LEAST_SPAN_MM, float(up[-1] - up[0]) / (2 * count)), 0.0)
    for knot in range(1, count):
        highest = up[-1] - apart * (count - knot)
        up[knot] = min(max(up[knot], up[knot - 1] + apart), highest)
    return np.asarray(way * up)


def _speeds(heights: Floats, widths: Floats) -> Floats:
    """Speeds at the knots of a monotone cubic: the ends' own, the harmonic mean within (Fritsch and Butland, 1984)."""
    slopes = np.diff(heights) / widths
    slopes = np.where(np.abs(slopes) < STANDING, STANDING, slopes)
    inner = (widths[:-1] + widths[1:]) / (widths[:-1] / slopes[:-1] + widths[1:] / slopes[1:])
    return np.concatenate((slopes[:1], inner, slopes[-1:]))


def _soft_heights(layout: Layout, goals: Goals, piece: Piece, slots: EdgeSlots) -> Iterable[Row]:
    cup = layout.style.sharing.cup
    for knot in _height_knots(slots):
        if cup is not None and _is_free_cup_corner(cup, piece, slots, knot):
            continue
        node = int(slots.positions[knot])
        rise, keys = raised(layout, goals, piece, slots, knot)
        height = float(layout.nodes[node, 1]) + rise
        slip = _height_slip(piece, slots, knot)
        yield LinearRow(keys or f"{piece.name} heights", "structure", ((node, 1, 1.0),), height, slip)


def _height_knots(slots: EdgeSlots) -> list[int]:
    last = len(slots.positions) - 1
    return [knot for knot, level in enumerate(slots.marked) if level is not None or knot in (0, last)]


def _height_slip(piece: Piece, slots: EdgeSlots, knot: int) -> float:
    if not _is_edge_corner(piece, slots, knot):
        return CRADLE_SLIP if knot in (0, len(slots.positions) - 1) else LEVEL_SLIP
    return SIDE_SLIP if slots.edge.role is Role.SIDE_SEAM else HEIGHT_SLIP


def _is_edge_corner(piece: Piece, slots: EdgeSlots, knot: int) -> bool:
    """Corners at a hem or a top edge: a panel seam's may settle there so that the edge runs smoothly."""
    names = [edge.name for edge in piece.edges]
    index = names.index(slots.edge.name)
    if knot == 0:
        return piece.edges[index - 1].role in (Role.HEM, Role.TOP)
    if knot == len(slots.positions) - 1:
        return piece.edges[(index + 1) % len(names)].role in (Role.HEM, Role.TOP)
    return False


def _is_free_cup_corner(cup: CupRule, piece: Piece, slots: EdgeSlots, knot: int) -> bool:
    """The side seam of the cup takes its ends from the back: only its bust level has a height of its own."""
    return piece.name == cup.outer and knot in (0, len(slots.positions) - 1)


def line_height(layout: Layout, goals: Goals, piece: Piece, slots: EdgeSlots, knot: int) -> float:
    """Height in mm of the level line that a marked knot belongs to, after the plan; the knot's own otherwise."""
    own = slots.marked[knot]
    base = piece.levels[own] if own is not None else float(layout.nodes[slots.positions[knot], 1])
    return base + raised(layout, goals, piece, slots, knot)[0]


def raised(layout: Layout, goals: Goals, piece: Piece, slots: EdgeSlots, knot: int) -> tuple[float, str]:
    """How far the plan raises a knot (mm), and the keys of the rows that do."""
    place = (slots.piece, slots.edge.name, knot)
    if place not in goals.known_rises:
        goals.known_rises[place] = _raised(layout, goals, piece, slots, knot)
    return goals.known_rises[place]


def _raised(layout: Layout, goals: Goals, piece: Piece, slots: EdgeSlots, knot: int) -> tuple[float, str]:
    own = slots.marked[knot]
    start = piece.levels[own] if own is not None else float(layout.nodes[slots.positions[knot], 1])
    total, keys = 0.0, []
    for key, move in goals.moves_of(slots, "upwards"):
        if _lifts(piece, slots, knot, move, start):
            total += move.amount
            keys.append(key)
    return total, "+".join(dict.fromkeys(keys))


def _lifts(piece: Piece, slots: EdgeSlots, knot: int, move: Move, height: float) -> bool:
    top_knot = len(slots.positions) - 1 if slots.rises else 0
    if move.level == TOP:
        return knot == top_knot
    if move.level == HEM:
        return knot == len(slots.positions) - 1 - top_knot
    if move.level is None:
        return True
    return move.level in piece.levels and height >= piece.levels[move.level] - HEIGHT_TOLERANCE_MM


# --- sideways ----------------------------------------------------------------------------------------------


def outward(slots: EdgeSlots) -> float:
    """+1 where outwards is towards larger x: on an anticlockwise outline, an edge that runs up."""
    return 1.0 if slots.rises else -1.0


def width_rows(layout: Layout, goals: Goals) -> list[Row]:
    """Where seam, centre and closure edges stand at every level and at both ends."""
    rows: list[Row] = []
    for piece in layout.style.pieces:
        for edge in piece.edges:
            slots = layout.slots(piece.name, edge.name)
            if edge.role.is_vertical:
                rows.append(_vertical_place(layout, goals, piece, slots))
            elif edge.role in CORNER_ROLES:
                rows += _seam_places(layout, goals, piece, slots)
    return rows


def _vertical_place(layout: Layout, goals: Goals, piece: Piece, slots: EdgeSlots) -> Row:
    amount, keys = sideways(goals, piece, slots, None)
    node = int(slots.positions[0])
    x = float(layout.nodes[node, 0]) + outward(slots) * amount
    return LinearRow(keys or f"{piece.name}.{slots.edge.name}", "plan", ((node, 0, 1.0),), x)


def _seam_places(layout: Layout, goals: Goals, piece: Piece, slots: EdgeSlots) -> Iterable[Row]:
    last = len(slots.positions) - 1
    for knot in _height_knots(slots):
        level = slots.nearest[knot]
        amount, keys = sideways(goals, piece, slots, level)
        key = keys or f"{piece.name}.{slots.edge.name}"
        node = int(slots.positions[knot])
        base_x = _base_x(layout, piece, slots, knot)
        x = base_x + outward(slots) * amount
        if knot in (0, last):
            slip = END_SLIP if slots.marked[knot] is None else 0.0
            yield LinearRow(key, "structure" if slip else "plan", ((node, 0, 1.0),), x, slip)
            continue
        height = line_height(layout, goals, piece, slots, knot)
        own = slots.marked[knot]
        bend = 0.0 if own is None else layout.crossing(slots, knot, piece.levels[own]) - base_x
        yield CrossRow(key, "plan", node, int(slots.tangents[knot]), height, x, bend)


def _base_x(layout: Layout, piece: Piece, slots: EdgeSlots, knot: int) -> float:
    """x at which the base's edge crosses the level, read off the slope at its knot, which may have slipped."""
    x, y = layout.nodes[slots.positions[knot]]
    own = slots.marked[knot]
    if own is None or knot in (0, len(slots.positions) - 1):
        return float(x)
    along, across = layout.nodes[slots.tangents[knot]]
    return float(x - along / across * (y - piece.levels[own]))


def sideways(goals: Goals, piece: Piece, slots: EdgeSlots, level: str | None) -> tuple[float, str]:
    """Outward amount at a level (mm) and the keys of the rows it comes from."""
    total, keys = 0.0, []
    for key, move in goals.moves_of(slots, "sideways"):
        if move.level is None or move.level == level:
            total += move.amount
            keys.append(key)
    return total, "+".join(dict.fromkeys(keys))


# --- the cup -----------------------------------------------------------------------------------------------


def cup_rows(layout: Layout, goals: Goals) -> list[Row]:
    """Bust point, upper corner, depth, armhole and cradle of a cupped style."""
    cup = layout.style.sharing.cup
    if cup is None:
        return []
    rows: list[Row] = []
    for name in (cup.inner, cup.outer):
        rows += _bust_point_rows(layout, goals, cup, layout.style.piece(name))
        rows += _cup_seam_rows(layout, goals, cup, layout.style.piece(name))
    rows += _armhole_rows(layout, goals, cup)
    rows += [_held_length(layout, edge, mm) for edge, mm in goals.cradle.items()]
    return rows


def _bust_point_rows(layout: Layout, goals: Goals, cup: CupRule, piece: Piece) -> list[Row]:
    at = bust_point(piece, cup)
    node = layout.position(at)
    slots = layout.slots(piece.name, cup.cup_seam)
    amount, keys = sideways(goals, piece, slots, "bust")
    x = float(layout.nodes[node, 0]) + outward(slots) * amount
    y = float(layout.nodes[node, 1])
    return [
        LinearRow(keys or f"bust point of {piece.name}", "plan", ((node, 0, 1.0),), x),
        LinearRow(f"bust point of {piece.name}", "structure", ((node, 1, 1.0),), y),
    ]


def bust_point(piece: Piece, cup: CupRule) -> PointRef:
    """The knot of the bust point on a cup piece's cup seam."""
    mark = piece.landmark("bust_point")
    assert mark is not None, f"{piece.name} carries no bust point"
    return PointRef(piece.name, cup.cup_seam, mark.knot)


def cup_seam_spans(layout: Layout, cup: CupRule, piece: Piece) -> tuple[list[int], list[int]]:
    """Spans of a cup piece's seam below and above the bust point."""
    chain = (EdgeRef(piece.name, cup.cup_seam),)
    spans = chain_spans(layout, chain)
    at = place_in_chain(layout, chain, bust_point(piece, cup))
    first, second = spans[:at], spans[at:]
    curve = layout.slots(piece.name, cup.cup_seam).edge.curve
    return (first, second) if curve.start[1] < curve.end[1] else (second, first)


def _cup_seam_rows(layout: Layout, goals: Goals, cup: CupRule, piece: Piece) -> list[Row]:
    below, above = cup_seam_spans(layout, cup, piece)
    rows: list[Row] = []
    if goals.depth is not None:
        rows.append(_length_row("cup_depth", below, goals.depth))
    if goals.upper is not None:
        rows.append(_length_row("upper_corner", above, goals.upper))
        rows += _upper_corner_rows(layout, goals, cup, piece, goals.upper)
    return rows


def _upper_corner_rows(layout: Layout, goals: Goals, cup: CupRule, piece: Piece, upper: float) -> Iterable[Row]:
    """The upper corner goes along the base's cup seam, with the bust point's own move sideways."""
    slots = layout.slots(piece.name, cup.cup_seam)
    at = bust_point(piece, cup).knot
    curve = slots.edge.curve if slots.rises else slots.edge.curve.reversed()
    start = float(curve.knot_lengths[at if slots.rises else len(slots.positions) - 1 - at])
    place = _along_or_beyond(curve, start + upper)
    amount, _ = sideways(goals, piece, slots, "bust")
    node = int(slots.positions[-1 if slots.rises else 0])
    shift = (outward(slots) * amount, 0.0)
    for axis in (0, 1):
        target = float(place[axis]) + shift[axis]
        yield LinearRow(f"upper corner of {piece.name}", "structure", ((node, axis, 1.0),), target, CORNER_SLIP)


def _along_or_beyond(curve: Curve, along: float) -> Floats:
    """The point that far along a curve (mm), or beyond its end on the line it ends in."""
    if along <= curve.length:
        return np.asarray(curve.point_at(along))
    end = curve.points[-1] - curve.points[-2]
    return np.asarray(curve.points[-1] + end / np.hypot(*end) * (along - curve.length))


def _length_row(key: str, spans: Sequence[int], target: float) -> Row:
    return LengthRow(key, "plan", tuple((span, 1.0) for span in spans), target)


def _armhole_rows(layout: Layout, goals: Goals, cup: CupRule) -> list[Row]:
    """The middle of the armhole moves on its own line from the bust point."""
    piece = layout.style.piece(cup.outer)
    middle = piece.landmark("armhole_middle")
    if middle is None:
        return []
    point = layout.position(PointRef(piece.name, middle.edge, middle.knot))
    centre = layout.position(bust_point(piece, cup))
    line = layout.nodes[point] - layout.nodes[centre]
    found = [(key, move.amount) for key, move in goals.moves if move.kind == "apart"]
    reach = line * (1.0 + sum(amount for _, amount in found) / float(np.hypot(*line)))
    key = "+".join(key for key, _ in found) or "armhole"
    return [
        LinearRow(key, "plan", ((point, axis, 1.0), (centre, axis, -1.0)), float(reach[axis]))
        for axis in (0, 1)
    ]


def _held_length(layout: Layout, edge: tuple[str, str], target: float) -> Row:
    slots = layout.slots(*edge)
    spans = tuple((slots.first_span + i, 1.0) for i in range(len(slots.widths)))
    return LengthRow("cradle", "sewing", spans, target)
