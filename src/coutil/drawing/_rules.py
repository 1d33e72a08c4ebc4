"""Sharing rules for a pattern that states none: the trade's defaults, read off the roles of its edges."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coutil.drawing._levels import WAIST
from coutil.drawing._pieces import waist_heights
from coutil.pattern import (
    CentreRule,
    CupRule,
    Edge,
    EdgeShare,
    LengthRule,
    Part,
    Piece,
    Role,
    Sharing,
    SideRule,
)

CENTRE_WEIGHT, USUAL_WEIGHT = 0.5, 1.0
SIDE_REDUCTION, NEXT_REDUCTION = 2.0, 1.0
SEWN_UPRIGHT = (Role.PANEL_SEAM, Role.SIDE_SEAM)


def usual_sharing(pieces: Sequence[Piece]) -> Sharing:
    """Half weights beside centre and closure, a changed reduction to the sides twice and to their neighbours once."""
    cup = _cup(pieces)
    has_bust = any(piece.landmark("bust_point") is not None for piece in pieces)
    return Sharing(
        length=LengthRule(above=_above(pieces)),
        centre=CentreRule(tuple(_named(pieces, Role.CENTRE, "front")) if has_bust else ()),
        side=SideRule(
            front=tuple(_named(pieces, Role.SIDE_SEAM, "front")),
            back=tuple(_named(pieces, Role.SIDE_SEAM, "back")),
            basis="underbust" if cup is not None else "common",
        ),
        curves={part: tuple(_curves(pieces, part)) for part in ("front", "back")},
        reduction=tuple(_reduction(pieces)),
        surplus=tuple(_surplus(pieces, cup)),
        cup=cup,
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


def _surplus(pieces: Sequence[Piece], cup: CupRule | None) -> Iterator[EdgeShare]:
    if cup is not None:
        yield EdgeShare(cup.outer, cup.cup_seam, 1.0)
        return
    for piece in pieces:
        at = piece.landmark("bust_point")
        if at is not None:
            yield EdgeShare(piece.name, at.edge, 1.0)


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
