"""The seams as they are sewn: finished lengths, their order by the roles of their edges, match points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from coutil.cut._widths import SEWN_ORDER
from coutil.pattern import (
    EdgeRef,
    Piece,
    Role,
    Seam,
    SeamSegment,
    Spread,
    Style,
    pairs_along,
    seam_lengths,
    spread_out,
)


@dataclass(frozen=True, slots=True)
class MatchPoint:
    """Where two sewn edges meet, mm from the seam's start along each side."""

    name: str
    a: float
    b: float


@dataclass(frozen=True, slots=True)
class SeamRow:
    """A seam's finished length on both sides: pieces by title, total and segments between match points."""

    seam: str
    a: tuple[str, ...]
    b: tuple[str, ...]
    total: SeamSegment
    segments: tuple[SeamSegment, ...]


@dataclass(frozen=True, slots=True)
class SewingStep:
    """One seam in the order of sewing.  `role` is what its edges are; `sides` how often it is sewn.

    `length` is its finished length on A in mm; `matches` are its match points in the direction of sewing.
    """

    role: Role
    a: tuple[str, ...]
    b: tuple[str, ...]
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
        rows.append(SeamRow(seam.name, a, b, walked.total, walked.segments))
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
    return SewingStep(_role(style, seam), a, b, style.sides, length, matches)


def _centre_steps(style: Style) -> list[SewingStep]:
    """The seams on the mirror line of a half style: a piece to its own other side."""
    if not style.half:
        return []
    sewn = {(ref.piece, ref.edge) for seam in style.seams for ref in (*seam.a, *seam.b)}
    return [
        SewingStep(edge.role, (piece.title,), (piece.title,), 1, edge.curve.length, _level_points(piece, edge.name))
        for piece in style.pieces
        for edge in piece.edges
        if edge.role is Role.CENTRE and piece.centre_cut != "fold" and (piece.name, edge.name) not in sewn
    ]


def _level_points(piece: Piece, edge: str) -> tuple[MatchPoint, ...]:
    curve = piece.edge(edge).curve
    found = [
        (mark.level, float(curve.knot_lengths[mark.at.knot])) for mark in piece.level_marks if mark.at.edge == edge
    ]
    inner = sorted((along, level) for level, along in found if 1.0 < along < curve.length - 1.0)
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
