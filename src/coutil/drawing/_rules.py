"""Sharing rules for a pattern that states none: the trade's defaults, read off the roles of its edges."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from coutil.drawing._levels import WAIST
from coutil.drawing._pieces import waist_heights
from coutil.measure import Side
from coutil.pattern import (
    CentreRule,
    CupRule,
    Edge,
    EdgeShare,
    LengthRule,
    Part,
    Piece,
    Role,
    Seam,
    Sharing,
    SideRule,
)

CENTRE_WEIGHT, USUAL_WEIGHT = 0.5, 1.0
SIDE_REDUCTION, NEXT_REDUCTION = 2.0, 1.0
SEWN_UPRIGHT = (Role.PANEL_SEAM, Role.SIDE_SEAM)


def usual_sharing(pieces: Sequence[Piece], seams: Sequence[Seam], sides: Mapping[str, Side]) -> Sharing:
    """Half weights beside centre and closure, a changed reduction to the sides twice and to their neighbours once.

    On a panelled front the seam over the bust point takes what the bust grows by on its outer side alone, and the next
    seam as much: its inner side is half the bust point separation.  `sides` tells the side of each piece of a whole
    pattern; a half is the wearer's left.
    """
    cup = _cup(pieces)
    has_bust = any(piece.landmark("bust_point") is not None for piece in pieces)
    outer = [] if cup is not None else list(_outside_bust(pieces, seams, sides))
    return Sharing(
        length=LengthRule(above=_above(pieces)),
        centre=CentreRule(
            tuple(_named(pieces, Role.CENTRE, "front")) if has_bust else (),
            tuple((share.piece, share.edge) for one in outer for share in one.giving),
        ),
        side=SideRule(
            front=tuple(_named(pieces, Role.SIDE_SEAM, "front")),
            back=tuple(_named(pieces, Role.SIDE_SEAM, "back")),
            basis="underbust" if cup is not None else "common",
        ),
        curves={part: tuple(_curves(pieces, part)) for part in ("front", "back")},
        reduction=tuple(_reduction(pieces)),
        surplus=_surplus(outer, cup),
        cup=cup,
        bands=_bands(pieces, cup),
    )


def _above(pieces: Sequence[Piece]) -> str:
    """The level above which a band is let in: the underbust, else the next one over the waist."""
    heights = waist_heights(pieces)
    if "underbust" in heights:
        return "underbust"
    return min((h, name) for name, h in heights.items() if h > 0)[1] if max(heights.values()) > 0 else WAIST


def _named(pieces: Sequence[Piece], role: Role, part: Part) -> Iterator[tuple[str, str]]:
    for piece in pieces:
        if piece.part == part:
            yield from ((piece.name, edge.name) for edge in piece.edges if edge.role is role)


def _at_centre(piece: Piece) -> bool:
    return any(edge.role.is_vertical for edge in piece.edges)


def _seams(piece: Piece) -> list[Edge]:
    return [edge for edge in piece.edges if edge.role in SEWN_UPRIGHT]


def _curves(pieces: Sequence[Piece], part: Part) -> Iterator[EdgeShare]:
    for piece in pieces:
        if piece.part == part and WAIST in piece.levels:
            weight = CENTRE_WEIGHT if _at_centre(piece) else USUAL_WEIGHT
            yield from (EdgeShare(piece.name, edge.name, weight) for edge in _seams(piece))


def _reduction(pieces: Sequence[Piece]) -> Iterator[EdgeShare]:
    for piece in pieces:
        if WAIST in piece.levels and any(edge.role is Role.SIDE_SEAM for edge in piece.edges):
            for edge in _seams(piece):
                weight = SIDE_REDUCTION if edge.role is Role.SIDE_SEAM else NEXT_REDUCTION
                yield EdgeShare(piece.name, edge.name, weight)


def _surplus(outer: Sequence[_Outside], cup: CupRule | None) -> tuple[EdgeShare, ...]:
    if cup is not None:
        return (EdgeShare(cup.outer, cup.cup_seam, 1.0),)
    return tuple(share for one in outer for share in one.shares)


class _Outside(NamedTuple):
    """The edge on the outer side of the seam over a bust point, and both edges of the next seam outwards."""

    bust: EdgeShare
    next_seam: tuple[EdgeShare, ...]

    @property
    def shares(self) -> tuple[EdgeShare, ...]:
        """Both seams take as much: the first with one edge, the next with two."""
        return (self.bust, *self.next_seam)

    @property
    def giving(self) -> tuple[EdgeShare, ...]:
        """Where the seam over the bust is shifted, the panels outside it give way at their edges towards the front."""
        return (self.bust, *self.next_seam[1:])


def _outside_bust(
    pieces: Sequence[Piece], seams: Sequence[Seam], sides: Mapping[str, Side]
) -> Iterator[_Outside]:
    for piece in pieces:
        at = piece.landmark("bust_point")
        if at is None or _is_inside(piece.edge(at.edge), sides.get(piece.name, "left")):
            continue
        beyond = [edge.name for edge in piece.edges if edge.role is Role.PANEL_SEAM and edge.name != at.edge]
        mates = [mate for name in beyond for mate in _mates(seams, piece.name, name)]
        next_seam = [EdgeShare(piece.name, name, 1.0) for name in beyond] + [EdgeShare(*mate, 1.0) for mate in mates]
        yield _Outside(EdgeShare(piece.name, at.edge, 2.0), tuple(next_seam) if len(next_seam) == 2 else ())


def _is_inside(edge: Edge, side: Side) -> bool:
    """Whether the piece lies between the seam over the bust point and the centre: on the wearer's left the seam is then
    its right edge, which goes up on an anticlockwise outline.
    """
    rises = bool(edge.curve.end[1] > edge.curve.start[1])
    return rises == (side == "left")


def _mates(seams: Sequence[Seam], piece: str, edge: str) -> Iterator[tuple[str, str]]:
    """What is sewn to an edge by a seam of two edges."""
    for seam in seams:
        if len(seam.a) == len(seam.b) == 1:
            one, other = seam.a[0], seam.b[0]
            for ref, mate in ((one, other), (other, one)):
                if (ref.piece, ref.edge) == (piece, edge):
                    yield mate.piece, mate.edge


def _bands(pieces: Sequence[Piece], cup: CupRule | None) -> tuple[LengthRule, ...]:
    """Panels that carry the bust level have a second band, between the underbust and the bust."""
    heights = waist_heights(pieces)
    if cup is not None or not {"bust", "underbust"} <= heights.keys():
        return ()
    return (LengthRule(above="bust", measure="bust_level_to_waist"),)


def _cup(pieces: Sequence[Piece]) -> CupRule | None:
    """Two cup pieces joined over the bust point, the inner one with a centre edge, the outer one with an armhole."""
    inner = _with_roles(pieces, Role.CUP_SEAM, Role.CRADLE, Role.NECKLINE)
    outer = _with_roles(pieces, Role.CUP_SEAM, Role.CRADLE, Role.ARMHOLE)
    centre = next((e.name for e in inner.edges if e.role.is_vertical), None) if inner is not None else None
    if inner is None or outer is None or centre is None:
        return None
    seam, cradle = _edge(inner, Role.CUP_SEAM), _edge(inner, Role.CRADLE)
    if (seam, cradle) != (_edge(outer, Role.CUP_SEAM), _edge(outer, Role.CRADLE)):
        return None
    return CupRule(
        inner.name, outer.name, seam, cradle, centre, _edge(inner, Role.NECKLINE), _edge(outer, Role.ARMHOLE)
    )


def _with_roles(pieces: Sequence[Piece], *roles: Role) -> Piece | None:
    return next((p for p in pieces if all(any(e.role is role for e in p.edges) for role in roles)), None)


def _edge(piece: Piece, role: Role) -> str:
    return next(edge.name for edge in piece.edges if edge.role is role)
