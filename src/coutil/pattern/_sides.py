"""Which side of the body each piece of a whole style belongs to, found from its centre lines and seams."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from coutil.measure import SIDES, Side
from coutil.pattern._values import Edge, Part, Seam, Style


def sides_of(style: Style) -> Mapping[str, Side]:
    """The wearer's side of every piece, by name; empty for a half style, or where one piece spans both sides.

    A piece with a centre or closure line shows its side by which of its bounds that line is; every other piece lies
    on the side of those it is sewn to, seams along the centre apart.
    """
    if style.half:
        return {}
    found: dict[str, Side] = {}
    for name, side in _at_centres(style):
        if found.setdefault(name, side) != side:
            return {}
    groups = [_joined(style, seam) for seam in style.seams]
    for _ in style.pieces:  # Each round reaches one seam further.
        for names in groups:
            known = {found[name] for name in names if name in found}
            if len(known) > 1:
                return {}
            found |= {name: side for side in known for name in names}
    return found if set(found.values()) == set(SIDES) and len(found) == len(style.pieces) else {}


def side_style(style: Style, side: Side) -> Style:
    """The pieces of one side of a whole style, with the seams between them: what one side of the body wears."""
    sides = sides_of(style)
    kept = {name for name, where in sides.items() if where == side}
    seams = tuple(s for s in style.seams if all(ref.piece in kept for ref in (*s.a, *s.b)))
    return replace(style, pieces=tuple(p for p in style.pieces if p.name in kept), seams=seams)


def _at_centres(style: Style) -> Iterator[tuple[str, Side]]:
    for piece in style.pieces:
        for edge in piece.edges:
            if edge.role.is_vertical:
                yield piece.name, _side_beside(piece.part, edge)


def _side_beside(part: Part, edge: Edge) -> Side:
    """Drawn from outside with x towards the wearer's left in front, the outline anticlockwise.

    An edge that goes down bounds its piece towards smaller x: in front that is the left side's centre, and behind,
    where x runs on towards the centre back, the right side's.
    """
    goes_down = bool(edge.curve.end[1] < edge.curve.start[1])
    return "left" if goes_down == (part == "front") else "right"


def _joined(style: Style, seam: Seam) -> set[str]:
    """The pieces a seam joins on one side of the body; none for a seam along the centre."""
    refs = (*seam.a, *seam.b)
    if all(style.piece(ref.piece).edge(ref.edge).role.is_vertical for ref in refs):
        return set()
    return {ref.piece for ref in refs}
