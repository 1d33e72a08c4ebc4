"""The cup on its panels: how the top of the panel seam lies below the bust point."""

from __future__ import annotations

from coutil.check._case import Case
from coutil.check._findings import Finding, Verdict
from coutil.check._judge import shown, within
from coutil.check._words import mm
from coutil.pattern import Piece, Spread

PANEL_TOP_MM = 5.0


def check_panel_top(case: Case) -> tuple[Finding, ...]:
    """The top of the panel seam lies as far to the side of the bust point as in the base; nothing without a cup."""
    offset = _offset(case.spread, case.measures.get("bust_point_separation"))
    if offset is None:
        return ()
    has, piece = offset
    name = "top of the panel seam below the bust point"
    place = f"{mm(abs(has))} to the {'side' if has > 0 else 'centre'} of the bust point"
    own = None if case.base is None else _offset(case.base, case.base_measures.get("bust_point_separation"))
    if own is None:
        return (shown("panel_top", name, has, (piece.name,), f"It lies {place}."),)
    off = has - own[0]
    bad = f"It lies {place}, {mm(abs(off))} from where the base has it: move the top of the panel seam."
    said = (f"It lies {place}.", bad)
    return (within("panel_top", name, off, PANEL_TOP_MM, (piece.name,), said, beyond=Verdict.WARN),)


def _offset(spread: Spread, separation: float | None) -> tuple[float, Piece] | None:
    """Panel top from the centre line less half the separation, mm, on the piece that has both."""
    for piece in spread.style.pieces:
        top = piece.landmark("panel_top")
        centre = next((edge for edge in piece.edges if edge.role.is_vertical), None)
        if separation is not None and piece.part == "front" and top is not None and centre is not None:
            across = abs(float(spread.point(piece.name, top)[0]) - float(centre.curve.start[0]))
            return across - separation / 2, piece
    return None
