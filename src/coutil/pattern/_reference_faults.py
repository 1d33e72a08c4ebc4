"""Faults of reference: a mark, a seam or a sharing rule that names what is not there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from coutil.pattern._values import EdgeRef, KnotRef, Match, Piece, PointRef, Seam, Style


@dataclass(frozen=True, slots=True)
class _Known:
    """What can be named: knots per edge per piece, and the style's other names."""

    knots: dict[str, dict[str, int]]
    levels: frozenset[str]
    layers: frozenset[str]

    def edge_fault(self, piece: str, edge: str) -> str | None:
        """What is wrong with naming that edge of that piece, or None."""
        if piece not in self.knots:
            return f"names piece {piece}, which is not there"
        if edge not in self.knots[piece]:
            return f"names edge {edge} of piece {piece}, which is not there"
        return None

    def knot_fault(self, piece: str, at: KnotRef | PointRef) -> str | None:
        """What is wrong with naming that knot, or None."""
        fault = self.edge_fault(piece, at.edge)
        if fault is None and not 0 <= at.knot < self.knots[piece][at.edge]:
            last = self.knots[piece][at.edge] - 1
            return f"names knot {at.knot} of edge {at.edge} of piece {piece}, which has knots 0 to {last}"
        return fault


def find_reference_faults(style: Style) -> Iterator[str]:
    """Each name that leads nowhere, in a sentence without its full stop."""
    known = _Known(
        {piece.name: {edge.name: edge.curve.n_spans + 1 for edge in piece.edges} for piece in style.pieces},
        frozenset(level.name for level in style.levels),
        frozenset(layer.name for layer in style.layers),
    )
    for piece in style.pieces:
        yield from _mark_faults(piece, known)
    for seam in style.seams:
        yield from _seam_faults(seam, known)
    yield from _rule_faults(style, known)


def _mark_faults(piece: Piece, known: _Known) -> Iterator[str]:
    start = f"piece {piece.name}:"
    for name in piece.levels:
        if name not in known.levels:
            yield f"{start} its level {name} is not among the style's levels"
    for mark in piece.level_marks:
        if mark.level not in piece.levels:
            yield f"{start} a level mark names level {mark.level}, whose height the piece does not give"
        yield from _told(f"{start} the mark of level {mark.level}", known.knot_fault(piece.name, mark.at))
    for landmark in piece.landmarks:
        yield from _told(f"{start} landmark {landmark.name}", known.knot_fault(piece.name, landmark.at))
    for notch in piece.notches:
        yield from _told(f"{start} notch {notch.name}", known.edge_fault(piece.name, notch.edge))
    for cut in piece.cut:
        if cut.layer not in known.layers:
            yield f"{start} it is cut from layer {cut.layer}, which the style does not have"


def _seam_faults(seam: Seam, known: _Known) -> Iterator[str]:
    if not seam.a or not seam.b:
        yield f"seam {seam.name} has nothing to sew on side {'B' if seam.a else 'A'}"
    for ref in (*seam.a, *seam.b):
        yield from _told(f"seam {seam.name}", known.edge_fault(ref.piece, ref.edge))
    for match in seam.matches:
        yield from _match_faults(seam, match, known)


def _match_faults(seam: Seam, match: Match, known: _Known) -> Iterator[str]:
    for point, chain, side in ((match.a, seam.a, "A"), (match.b, seam.b, "B")):
        if point is None:
            continue
        fault = known.knot_fault(point.piece, point)
        if fault is None and not _lies_on(point, chain):
            fault = f"names edge {point.edge} of piece {point.piece}, which is not on side {side} of the seam"
        yield from _told(f"seam {seam.name}: match {match.name}", fault)


def _lies_on(point: PointRef, chain: tuple[EdgeRef, ...]) -> bool:
    return any((ref.piece, ref.edge) == (point.piece, point.edge) for ref in chain)


def _rule_faults(style: Style, known: _Known) -> Iterator[str]:
    sharing = style.sharing
    for rule, piece, edge in _edges_of_rules(style):
        yield from _told(f"the sharing rule for {rule}", known.edge_fault(piece, edge))
    for band in (sharing.length, *sharing.bands):
        if band.above not in known.levels:
            yield f"the sharing rule for length names level {band.above}, which is not there"
    for name in style.base_fit.ease:
        if name not in known.levels:
            yield f"the base fit gives ease at level {name}, which is not there"


def _edges_of_rules(style: Style) -> Iterator[tuple[str, str, str]]:
    """Every edge a sharing rule names: the rule, the piece, the edge."""
    sharing = style.sharing
    yield from (("centre", *named) for named in (*sharing.centre.edges, *sharing.centre.giving))
    yield from (("side", *named) for named in (*sharing.side.front, *sharing.side.back))
    for part, shares in sharing.curves.items():
        yield from ((f"{part} curves", share.piece, share.edge) for share in shares)
    yield from (("reduction", share.piece, share.edge) for share in sharing.reduction)
    yield from (("bust surplus", share.piece, share.edge) for share in sharing.surplus)
    if sharing.cup is not None:
        cup = sharing.cup
        shared = (cup.cup_seam, cup.cradle_seam)
        yield from (("the cup", cup.inner, edge) for edge in (*shared, cup.centre_edge, cup.neckline))
        yield from (("the cup", cup.outer, edge) for edge in (*shared, cup.armhole))


def _told(what: str, fault: str | None) -> Iterator[str]:
    if fault is not None:
        yield f"{what} {fault}"
