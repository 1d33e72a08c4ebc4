"""Where each panel seam stands between the centre line and the side seam of its part."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from coutil.pattern import Edge, Part, Role, Seam, Style


def seam_places(style: Style) -> dict[tuple[str, str], float]:
    """For every panel-seam edge (piece, edge): 0 at the centre line, 1 at the side seam, equal steps between.

    The only panel seam of a part stands at a half; three of them at a quarter, a half and three quarters.  A dart
    stands in the middle of its panel.  An edge that no row of panels joins to both ends stands at a half.
    """
    return {
        (ref.piece, ref.edge): place
        for part in ("front", "back")
        for seam, place in _places_of_part(style, part)
        for ref in (*seam.a, *seam.b)
    }


def _places_of_part(style: Style, part: Part) -> Iterable[tuple[Seam, float]]:
    seams = [seam for seam in style.seams if _joins_panels(style, seam, part)]
    from_centre = _steps(style, seams, part, lambda edge: edge.role.is_vertical)
    from_side = _steps(style, seams, part, lambda edge: edge.role is Role.SIDE_SEAM)
    for seam in seams:
        names = {ref.piece for ref in (*seam.a, *seam.b)}
        if all(name in from_centre and name in from_side for name in names):
            inward = max(from_centre[name] for name in names)
            outward = max(from_side[name] for name in names)
            yield seam, (inward + 0.5) / (inward + outward + 1) if is_dart(seam) else inward / (inward + outward)
        else:
            yield seam, 0.5


def is_dart(seam: Seam) -> bool:
    """Whether both sides of a seam lie on one piece, which is then no seam between two panels."""
    return len({ref.piece for ref in (*seam.a, *seam.b)}) == 1


def _joins_panels(style: Style, seam: Seam, part: Part) -> bool:
    refs = (*seam.a, *seam.b)
    roles = {style.piece(ref.piece).edge(ref.edge).role for ref in refs}
    return roles == {Role.PANEL_SEAM} and all(style.piece(ref.piece).part == part for ref in refs)


def _steps(style: Style, seams: list[Seam], part: Part, begins: Callable[[Edge], bool]) -> dict[str, int]:
    """How many panel seams lie between each piece of a part and the nearest one with such an edge."""
    steps = {piece.name: 0 for piece in style.pieces if piece.part == part and any(map(begins, piece.edges))}
    for count in range(1, len(style.pieces)):
        for seam in seams:
            names = {ref.piece for ref in (*seam.a, *seam.b)}
            if any(steps.get(name) == count - 1 for name in names):
                for name in names:
                    steps.setdefault(name, count)
    return steps
