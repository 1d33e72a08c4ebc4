"""The seams as they are sewn: finished lengths, their order by the roles of their edges, match points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coutil.cut._widths import SEWN_ORDER
from coutil.pattern import (
    Edge,
    EdgeRef,
    Piece,
    Role,
    Seam,
    SeamSegment,
    Spread,
    Style,
    end_corners,
    neighbour,
    pairs_along,
    seam_lengths,
    spread_out,
)

# A mark this near to a seam's end is the end.
AT_END_MM = 1.0


@dataclass(frozen=True, slots=True)
class MatchPoint:
    """Where two sewn edges meet, mm from the seam's start along each side."""

    name: str
    a: float
    b: float


@dataclass(frozen=True, slots=True)
class SeamRow:
    """A seam's finished length on both sides: pieces by title, total and segments between match points.

    `start` and `end` are the edges it runs between, by their roles.
    """

    seam: str
    a: tuple[str, ...]
    b: tuple[str, ...]
    start: Role
    end: Role
    total: SeamSegment
    segments: tuple[SeamSegment, ...]


@dataclass(frozen=True, slots=True)
class SewingStep:
    """One seam in the order of sewing.  `role` is what its edges are; `sides` how often it is sewn.

    It is sewn from the edge whose role is `start`.  `length` is its finished length on A in mm; `matches` are
    its match points in the direction of sewing.
    """

    role: Role
    a: tuple[str, ...]
    b: tuple[str, ...]
    start: Role
    sides: int
    length: float
    matches: tuple[MatchPoint, ...]


def seam_rows(style: Style | Spread) -> tuple[SeamRow, ...]:
    """The finished lengths of all seams, A against B."""
    spread = spread_out(style)
    rows = []
    for seam in spread.style.seams:
        walked = seam_lengths(spread, seam)
        a, b = (_titles(spread.style, chain) for chain in (seam.a, seam.b))
        start, end = chain_ends(spread.style, seam.a)
        rows.append(SeamRow(seam.name, a, b, start, end, walked.total, walked.segments))
    return tuple(rows)


def sewing_order(style: Style | Spread) -> tuple[SewingStep, ...]:
    """The seams in the order in which their allowances are pressed: cups, panels outward, centre, cradle, sides.

    It goes by the roles of the edges and by what must be joined before, never by names: a seam whose chain
    runs over several pieces waits for the seams that join those.
    """
    spread = spread_out(style)
    steps = [(_role(spread.style, seam), seam) for seam in spread.style.seams]
    place = {seam.name: _from_centre(spread.style, seam) for _, seam in steps}
    ranked = sorted(steps, key=lambda step: (_rank(step[0]), place[step[1].name]))
    ordered = _waiting(spread.style, [seam for _, seam in ranked])
    sewn = [_step(spread, seam) for seam in ordered]
    centre = _centre_steps(spread.style)
    before = sum(_rank(step.role) <= _rank(Role.CENTRE) for step in sewn)
    return (*sewn[:before], *centre, *sewn[before:])


def _step(spread: Spread, seam: Seam) -> SewingStep:
    style = spread.style
    matches = tuple(MatchPoint(name, a, b) for name, a, b in pairs_along(spread, seam))
    length = spread.chain_length(seam.a)
    a, b = (_titles(style, chain) for chain in (seam.a, seam.b))
    return SewingStep(_role(style, seam), a, b, chain_ends(style, seam.a)[0], style.sides, length, matches)


def chain_ends(style: Style, chain: tuple[EdgeRef, ...]) -> tuple[Role, Role]:
    """The roles of the edges at which a chain begins and ends, in the direction of sewing."""
    return _beside(style, chain[0], first=True), _beside(style, chain[-1], first=False)


def _beside(style: Style, ref: EdgeRef, *, first: bool) -> Role:
    piece = style.piece(ref.piece)
    start, end = end_corners(piece, ref)
    return neighbour(piece, ref.edge, start if first else end).role


def _centre_steps(style: Style) -> list[SewingStep]:
    """The seams on the mirror line of a half style: a piece to its own other side."""
    if not style.half:
        return []
    sewn = {(ref.piece, ref.edge) for seam in style.seams for ref in (*seam.a, *seam.b)}
    return [
        _centre_step(style, piece, edge)
        for piece in style.pieces
        for edge in piece.edges
        if edge.role is Role.CENTRE and piece.centre_cut != "fold" and (piece.name, edge.name) not in sewn
    ]


def _centre_step(style: Style, piece: Piece, edge: Edge) -> SewingStep:
    """Sewn upwards, like every seam of a panel."""
    backward = bool(edge.curve.start[1] > edge.curve.end[1])
    start = chain_ends(style, (EdgeRef(piece.name, edge.name, backward),))[0]
    matches = _level_points(piece, edge, backward)
    return SewingStep(edge.role, (piece.title,), (piece.title,), start, 1, edge.curve.length, matches)


def _level_points(piece: Piece, edge: Edge, backward: bool) -> tuple[MatchPoint, ...]:
    curve = edge.curve.reversed() if backward else edge.curve
    spans = curve.n_spans
    knots = {m.level: spans - m.at.knot if backward else m.at.knot for m in piece.level_marks if m.at.edge == edge.name}
    found = sorted((float(curve.knot_lengths[knot]), level) for level, knot in knots.items())
    inner = [(along, level) for along, level in found if AT_END_MM < along < curve.length - AT_END_MM]
    return tuple(MatchPoint(level, along, along) for along, level in inner)


def _waiting(style: Style, seams: Sequence[Seam]) -> list[Seam]:
    """The seams in their order, each held back until what its chains run over is joined."""
    left, done = list(seams), list[Seam]()
    while left:
        ready = next((seam for seam in left if not _awaited(seam, left)), left[0])
        left.remove(ready)
        done.append(ready)
    return done


def _awaited(seam: Seam, left: Sequence[Seam]) -> bool:
    """Whether another seam still to be sewn joins pieces that one side of this seam runs over."""
    chains = [{ref.piece for ref in chain} for chain in (seam.a, seam.b)]
    return any(
        {ref.piece for ref in (*other.a[:1], *other.b[:1])} <= chain or _joins_within(other, chain)
        for other in left
        if other is not seam
        for chain in chains
        if len(chain) > 1
    )


def _joins_within(other: Seam, chain: set[str]) -> bool:
    """Whether the other seam has a piece of the chain on each of its sides."""
    a, b = ({ref.piece for ref in side} & chain for side in (other.a, other.b))
    return bool(a and b and a != b)


def _role(style: Style, seam: Seam) -> Role:
    ref = seam.a[0]
    return style.piece(ref.piece).edge(ref.edge).role


def _rank(role: Role) -> int:
    return SEWN_ORDER.index(role) if role in SEWN_ORDER else len(SEWN_ORDER)


def _from_centre(style: Style, seam: Seam) -> tuple[bool, int]:
    """Front before back, then in the order of the style's pieces, which runs outward."""
    names = [piece.name for piece in style.pieces]
    first = min(names.index(ref.piece) for ref in (*seam.a, *seam.b))
    return any(style.piece(ref.piece).part == "back" for ref in (*seam.a, *seam.b)), first


def _titles(style: Style, chain: tuple[EdgeRef, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(style.piece(ref.piece).title for ref in chain))
