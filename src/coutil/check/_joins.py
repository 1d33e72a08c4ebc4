"""Joins: where a seam ends, the lines to both sides of it run through smoothly; right angles at centre and closure."""

from __future__ import annotations

from collections.abc import Iterator

from coutil.check._case import Case
from coutil.check._findings import Finding, Verdict
from coutil.check._judge import shown, within
from coutil.check._words import ROLE_WORDS, edge_title, once, seam_title
from coutil.pattern import (
    EdgeRef,
    Piece,
    Role,
    Seam,
    Spread,
    Style,
    edges_at,
    end_corners,
    interior_angle,
    neighbour,
)

ANGLE_DEG = 2.0

# Without a base to compare with, a corner this far from a right angle is a point that was meant.
POINT_DEG = 10.0

RUNNING = frozenset({Role.NECKLINE, Role.ARMHOLE, Role.TOP, Role.HEM, Role.CRADLE})


def check_joins(case: Case) -> tuple[Finding, ...]:
    """Neckline, armhole, top, hem and cradle across each seam, and the corners at centre and closure."""
    return (*_across_seams(case), *_mirrored(case), *_at_centres(case))


def _across_seams(case: Case) -> Iterator[Finding]:
    for seam in case.style.seams:
        for (one, a), (other, b) in _seam_ends(case.spread, seam):
            lines = (_line_beside(one, a, seam), _line_beside(other, b, seam))
            if all(line in RUNNING for line in lines):
                yield _through(case, seam, ((one, a), (other, b)), lines)


def _seam_ends(spread: Spread, seam: Seam) -> Iterator[tuple[tuple[Piece, int], tuple[Piece, int]]]:
    """Start and end of a seam: the piece and corner on each side."""
    for first in (True, False):
        yield _end(spread, seam.a, first), _end(spread, seam.b, first)


def _end(spread: Spread, chain: tuple[EdgeRef, ...], first: bool) -> tuple[Piece, int]:
    ref = chain[0 if first else -1]
    piece = spread.style.piece(ref.piece)
    return piece, end_corners(piece, ref)[0 if first else 1]


def _line_beside(piece: Piece, corner: int, seam: Seam) -> Role:
    sewn = {ref.edge for ref in (*seam.a, *seam.b) if ref.piece == piece.name}
    before, after = edges_at(piece, corner)
    edge = before if before.name in sewn else after
    return neighbour(piece, edge.name, corner).role


def _through(
    case: Case, seam: Seam, ends: tuple[tuple[Piece, int], tuple[Piece, int]], lines: tuple[Role, Role]
) -> Finding:
    total = sum(interior_angle(case.spread, piece, corner) for piece, corner in ends)
    base = _base_sum(case, ends)
    pointed = base is not None and abs(base - 180.0) > ANGLE_DEG
    off = total - (base if base is not None and pointed else 180.0)
    word = " and ".join(once(ROLE_WORDS[role] for role in lines))
    pieces = tuple(piece.name for piece, _ in ends)
    titles = " and ".join(once(piece.title.lower() for piece, _ in ends))
    name = f"{word} across the {_lowered(seam_title(case.style, seam))}"
    if base is None and _is_centre(case.style, seam) and abs(total - 180.0) > 2 * POINT_DEG:
        return shown("join", name, total - 180.0, pieces, f"A point of {total:.0f} degrees, as drawn.", "deg")
    good = "Runs through smoothly." if not pointed else "Left as in the base, which has a point here."
    bad = f"The {word} of {titles} meets at {total:.1f} degrees in all: redraw it so that it runs through smoothly."
    return within("join", name, off, ANGLE_DEG, pieces, (good, bad), "deg")


def _is_centre(style: Style, seam: Seam) -> bool:
    """Whether left and right are sewn together here, where neckline and peak may come to a point."""
    return all(style.piece(ref.piece).edge(ref.edge).role is Role.CENTRE for ref in (*seam.a, *seam.b))


def _lowered(text: str) -> str:
    return text[:1].lower() + text[1:]


def _base_sum(case: Case, ends: tuple[tuple[Piece, int], tuple[Piece, int]]) -> float | None:
    angles = [_base_angle(case, piece, corner) for piece, corner in ends]
    return None if None in angles else sum(angle for angle in angles if angle is not None)


def _base_angle(case: Case, piece: Piece, corner: int) -> float | None:
    found = case.base_piece(piece)
    if case.base is None or found is None or corner >= len(found.edges):
        return None
    return interior_angle(case.base, found, corner)


def _mirrored(case: Case) -> Iterator[Finding]:
    """Where left and right are both drawn and sewn at the centre, their angles mirror, peaks too."""
    for seam in case.style.seams:
        if not _is_centre(case.style, seam):
            continue
        for (one, a), (other, b) in _seam_ends(case.spread, seam):
            off = interior_angle(case.spread, one, a) - interior_angle(case.spread, other, b)
            titles = f"{one.title.lower()} and {other.title.lower()}"
            said = ("Left and right mirror.", f"Left and right differ on {titles}: draw one after the other.")
            name = f"left and right angle at the centre, {titles}"
            yield within("mirror", name, off, ANGLE_DEG, (one.name, other.name), said, "deg")


def _at_centres(case: Case) -> Iterator[Finding]:
    """Corners of centre and closure lines: right angles, unless there is a point."""
    for piece in case.style.pieces:
        for corner in range(len(piece.edges)):
            before, after = edges_at(piece, corner)
            if before.role.is_vertical != after.role.is_vertical:
                line, other = (before, after) if before.role.is_vertical else (after, before)
                if other.role in RUNNING:
                    name = f"{ROLE_WORDS[other.role]} at the {edge_title(piece, line.name)}"
                    yield _right_angle(case, piece, corner, name)


def _right_angle(case: Case, piece: Piece, corner: int, name: str) -> Finding:
    angle, base = interior_angle(case.spread, piece, corner), _base_angle(case, piece, corner)
    if base is None:
        return _drawn_angle(angle, piece, name)
    if abs(base - 90.0) > ANGLE_DEG:
        advice = f"A point of {angle:.0f} degrees, {base:.0f} in the base."
        return shown("centre_angle", name, angle - base, (piece.name,), advice, "deg")
    bad = f"{angle:.1f} degrees on the {piece.title.lower()}: redraw the corner to a right angle."
    return within("centre_angle", name, angle - 90.0, ANGLE_DEG, (piece.name,), ("A right angle.", bad), "deg")


def _drawn_angle(angle: float, piece: Piece, name: str) -> Finding:
    """Without a base: a right angle or clearly a point; what lies between the two is worth a look."""
    if abs(angle - 90.0) > POINT_DEG:
        advice = f"A point of {angle:.0f} degrees, as drawn."
        return shown("centre_angle", name, angle - 90.0, (piece.name,), advice, "deg")
    bad = f"{angle:.1f} degrees on the {piece.title.lower()} is neither a right angle nor a clear point."
    off = angle - 90.0
    return within("centre_angle", name, off, ANGLE_DEG, (piece.name,), ("A right angle.", bad), "deg", Verdict.WARN)
