"""Tubes of equal panels with sharing rules, so that they can be altered and every amount known beforehand."""

from __future__ import annotations

from dataclasses import replace

from coutil.pattern import EdgeShare, Piece, Role, Style, girth
from helpers.tubes import tube_style, with_chart

SEWN = (Role.PANEL_SEAM, Role.SIDE_SEAM)


def shared_tube(
    n: int, girths: dict[str, float] | None = None, step: float = 1.0, straight: bool = False, reduction: float = 0.0
) -> Style:
    """A tube whose seam edges share all differences evenly, front and back apart, the side seam last.

    Its chart holds the front arcs that the front panels cover.  `straight` seams must stay straight.
    """
    tube = tube_style(n, girths, reduction=reduction)
    if straight:
        tube = replace(tube, pieces=tuple(_with_straight_seams(piece) for piece in tube.pieces))
    curves = {part: tuple(_shares(tube, part)) for part in ("front", "back")}
    tube = replace(tube, sharing=replace(tube.sharing, curves=curves), workroom_step=step)
    fronts = {f"{level.name}_front": girth(tube, level.name).front for level in tube.levels}
    fronts["waist_front"] += reduction / 2
    return with_chart(tube, **fronts)


def _with_straight_seams(piece: Piece) -> Piece:
    return replace(piece, edges=tuple(replace(e, straight=e.straight or e.role in SEWN) for e in piece.edges))


def _shares(tube: Style, part: str) -> list[EdgeShare]:
    """Seam edges of a part from its centre or closure to the side seam."""
    found = [(e.role, p.name, e.name) for p in tube.pieces if p.part == part for e in p.edges if e.role in SEWN]
    found.sort(key=lambda item: item[0] is Role.SIDE_SEAM)
    return [EdgeShare(piece, edge, 1.0) for _, piece, edge in found]
