"""Rows that no client changes: what must stay straight, upright, square, equal in length and smooth across seams."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from coutil.alter._layout import EdgeSlots, Layout
from coutil.alter._rows import (
    DIRECTION_SLIP,
    AngleRow,
    CollinearRow,
    LengthRow,
    LinearRow,
    Row,
)
from coutil.pattern import EdgeRef, Piece, PointRef, Role, Seam

# A direction this near to upright or square is kept by a linear row, which a solve has for nothing.
NEARLY_DEG = 2.0
# A draft's seam that leans less than this at the waist is meant to stand upright.
UPRIGHT_DEG = 0.5

JOINED_ROLES = frozenset({Role.NECKLINE, Role.ARMHOLE, Role.TOP, Role.HEM, Role.CRADLE})
SQUARE_ROLES = frozenset({Role.TOP, Role.HEM})
UPRIGHT_ROLES = frozenset({Role.PANEL_SEAM, Role.SIDE_SEAM})


@dataclass(frozen=True, slots=True)
class Corner:
    """Where one edge of a piece ends and the next begins; tangent nodes of both."""

    piece: str
    into: EdgeSlots
    out: EdgeSlots

    @property
    def in_tangent(self) -> int:
        """Tangent node of the arriving edge."""
        return int(self.into.tangents[-1])

    @property
    def out_tangent(self) -> int:
        """Tangent node of the leaving edge."""
        return int(self.out.tangents[0])

    @property
    def position(self) -> int:
        """Node of the corner itself."""
        return int(self.out.positions[0])


def structure_rows(layout: Layout, point_deg: float = 0.0) -> list[Row]:
    """Straight, vertical and square edges, and seams upright at the waist, as near to it as the base has them.

    Truing makes corners within `point_deg` square and seams within UPRIGHT_DEG upright; all others keep their angle.
    """
    rows: list[Row] = []
    for piece in layout.style.pieces:
        for edge in piece.edges:
            rows += _edge_rows(layout, piece, layout.slots(piece.name, edge.name), min(point_deg, UPRIGHT_DEG))
        for corner in corners(layout, piece):
            rows += _square_rows(layout, corner, point_deg)
            rows += _kept_directions(layout, corner)
    return rows


def sewing_rows(layout: Layout, point_deg: float = 0.0) -> list[Row]:
    """Both sides of every seam equal between match points, and runs across the seams as smooth as the base's.

    Truing makes runs smooth that turn by no more than `point_deg` at their seam.
    """
    rows: list[Row] = []
    for seam in layout.style.seams:
        rows += seam_length_rows(layout, seam)
        rows += _join_rows(layout, seam, point_deg)
    return rows


def corners(layout: Layout, piece: Piece) -> list[Corner]:
    """The corners of a piece; corner i is where edge i begins."""
    slots = [layout.slots(piece.name, edge.name) for edge in piece.edges]
    return [Corner(piece.name, slots[i - 1], slots[i]) for i in range(len(slots))]


def _edge_rows(layout: Layout, piece: Piece, slots: EdgeSlots, upright_deg: float) -> Iterator[Row]:
    edge = slots.edge
    key = f"{piece.name}.{edge.name}"
    if edge.role.is_vertical:
        yield from _vertical_rows(layout, key, slots)
    elif edge.straight:
        yield from _straight_rows(key, slots)
    elif edge.role in UPRIGHT_ROLES:
        yield from _upright_rows(layout, piece, slots, upright_deg)


def _vertical_rows(layout: Layout, key: str, slots: EdgeSlots) -> Iterator[Row]:
    """Every knot stays as far beside the first one as the base has it: nothing, or what the pencil strayed."""
    first, across = int(slots.positions[0]), layout.nodes[:, 0]
    for node in slots.positions[1:]:
        beside = float(across[node] - across[first])
        yield LinearRow(key, "structure", ((int(node), 0, 1.0), (first, 0, -1.0)), beside)
    for node in slots.tangents:
        yield LinearRow(key, "structure", ((int(node), 0, 1.0),), float(across[node]))


def _straight_rows(key: str, slots: EdgeSlots) -> Iterator[Row]:
    start, end = int(slots.positions[0]), int(slots.positions[-1])
    for node in slots.positions[1:-1]:
        yield CollinearRow(key, "structure", int(node), start, end, False)
    for node in slots.tangents:
        yield CollinearRow(key, "structure", int(node), start, end, True)


def _upright_rows(layout: Layout, piece: Piece, slots: EdgeSlots, upright_deg: float) -> Iterator[Row]:
    waist = [level.name for level in layout.style.levels if level.depth == 0.0]
    for mark in piece.level_marks:
        if mark.level in waist and mark.at.edge == slots.edge.name:
            key = f"{piece.name}.{slots.edge.name} at the waist"
            yield _direction_row(layout, key, int(slots.tangents[mark.at.knot]), 0, upright_deg)


def _square_rows(layout: Layout, corner: Corner, point_deg: float) -> Iterator[Row]:
    """At the end of a centre or closure line: top and hem leave it squarely."""
    into, out = corner.into.edge.role, corner.out.edge.role
    key = f"{corner.piece} at the end of its centre line"
    if out.is_vertical and into in SQUARE_ROLES:
        yield _direction_row(layout, key, corner.in_tangent, 1, point_deg)
    elif into.is_vertical and out in SQUARE_ROLES:
        yield _direction_row(layout, key, corner.out_tangent, 1, point_deg)


def _direction_row(layout: Layout, key: str, node: int, axis: int, forced_deg: float) -> Row:
    """A tangent keeps its direction; where it has no more than `forced_deg` along `axis`, it gets none at all."""
    x, y = (float(value) for value in layout.nodes[node])
    stray, along = ((x, y), (y, x))[axis]
    off = math.degrees(math.atan2(abs(stray), abs(along)))
    if off <= forced_deg:
        return LinearRow(key, "structure", ((node, axis, 1.0),), 0.0)
    if off <= NEARLY_DEG:
        return LinearRow(key, "structure", ((node, axis, 1.0), (node, 1 - axis, -stray / along)), 0.0)
    return AngleRow(key, "structure", ((node, 1.0),), math.atan2(y, x))


def _kept_directions(layout: Layout, corner: Corner) -> Iterator[Row]:
    """Directions kept softly: panel seams at the cradle, the neckline at the centre."""
    into, out = corner.into.edge.role, corner.out.edge.role
    if into is Role.CRADLE and out is Role.PANEL_SEAM:
        nodes = [corner.out_tangent]
    elif (out is Role.CRADLE and into is Role.PANEL_SEAM) or (out.is_vertical and into is Role.NECKLINE):
        nodes = [corner.in_tangent]
    elif into.is_vertical and out is Role.NECKLINE:
        nodes = [corner.out_tangent]
    else:
        return
    for node in nodes:
        x, y = layout.nodes[node]
        key = f"direction at a corner of {corner.piece}"
        yield AngleRow(key, "structure", ((node, 1.0),), math.atan2(y, x), DIRECTION_SLIP)


# --- seams -------------------------------------------------------------------------------------------------


def chain_spans(layout: Layout, chain: tuple[EdgeRef, ...]) -> list[int]:
    """Spans of a chain in the order of sewing."""
    spans: list[int] = []
    for ref in chain:
        slots = layout.slots(ref.piece, ref.edge)
        own = list(range(slots.first_span, slots.first_span + len(slots.widths)))
        spans += reversed(own) if ref.backward else own
    return spans


def place_in_chain(layout: Layout, chain: tuple[EdgeRef, ...], point: PointRef) -> int:
    """How many spans of the chain lie before that point; the point is known to be on it."""
    before = 0
    for ref in chain:
        count = len(layout.slots(ref.piece, ref.edge).widths)
        if (ref.piece, ref.edge) == (point.piece, point.edge):
            return before + (count - point.knot if ref.backward else point.knot)
        before += count
    raise KeyError(f"{point} is not on the chain")


def seam_segments(layout: Layout, seam: Seam) -> list[tuple[list[int], list[int]]]:
    """Spans of A and of B between consecutive match points."""
    a, b = chain_spans(layout, seam.a), chain_spans(layout, seam.b)
    stops = {(0, 0), (len(a), len(b))}
    for match in seam.matches:
        if match.b is not None:
            stops.add((place_in_chain(layout, seam.a, match.a), place_in_chain(layout, seam.b, match.b)))
    ordered = sorted(stops)
    return [(a[i:k], b[j:m]) for (i, j), (k, m) in pairwise(ordered)]


def seam_length_rows(layout: Layout, seam: Seam) -> list[Row]:
    """A minus B = minus the segment's share of the ease."""
    segments = seam_segments(layout, seam)
    rows: list[Row] = []
    for left, right in segments:
        terms = tuple((s, 1.0) for s in left) + tuple((s, -1.0) for s in right)
        ease = seam.ease * len(right) / sum(len(r) for _, r in segments)
        rows.append(LengthRow(f"seam {seam.name}", "sewing", terms, -ease))
    return rows


def _join_rows(layout: Layout, seam: Seam, point_deg: float) -> Iterator[Row]:
    for at_end in (False, True):
        first = _end_corner(layout, seam.a, at_end)
        second = _end_corner(layout, seam.b, at_end)
        roles = {first[1], second[1]}
        if not roles <= JOINED_ROLES:
            continue
        yield join_row(layout, f"join at seam {seam.name}", first[0], second[0], point_deg)


def join_row(layout: Layout, key: str, first: Corner, second: Corner, point_deg: float) -> AngleRow:
    """Interior angles of both corners add up to a straight line, or to what the base has where it has a point."""
    total = interior_angle(layout, first) + interior_angle(layout, second)
    smooth = abs(math.degrees(total - math.pi)) <= point_deg
    wanted = math.pi if smooth else total
    tangents = (
        (first.out_tangent, -1.0),
        (first.in_tangent, 1.0),
        (second.out_tangent, -1.0),
        (second.in_tangent, 1.0),
    )
    return AngleRow(key, "sewing", tangents, wanted - 2 * math.pi)


def interior_angle(layout: Layout, corner: Corner) -> float:
    """Angle inside the piece at a corner of the base, radians in (0, 2 pi)."""
    ix, iy = layout.nodes[corner.in_tangent]
    ox, oy = layout.nodes[corner.out_tangent]
    turn = math.atan2(ix * oy - iy * ox, ix * ox + iy * oy)
    return math.pi - turn


def _end_corner(layout: Layout, chain: tuple[EdgeRef, ...], at_end: bool) -> tuple[Corner, Role]:
    """The corner at one end of a chain, and the role of the edge beside the seam there."""
    ref = chain[-1] if at_end else chain[0]
    piece = layout.style.piece(ref.piece)
    names = [edge.name for edge in piece.edges]
    index = names.index(ref.edge)
    at_outline_end = at_end != ref.backward
    found = corners(layout, piece)[(index + 1) % len(names) if at_outline_end else index]
    beside = found.out if at_outline_end else found.into
    return found, beside.edge.role
