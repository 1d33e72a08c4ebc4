"""Marks: notches pair along each seam, levels meet across it, level marks lie on their lines."""

from __future__ import annotations

from collections.abc import Iterator

from coutil.check._case import Case
from coutil.check._findings import Finding, Verdict
from coutil.check._judge import within
from coutil.check._words import LEVEL_WORDS, edge_title, mm, seam_pieces, seam_title
from coutil.pattern import (
    MARK_LOST_MM,
    EdgeRef,
    LevelMark,
    Piece,
    Seam,
    Spread,
    level_places,
    place_on_chain,
)

NOTCH_MM = 0.5
LEVEL_MM = 1.0

# A notch so near a corner is left out, the corner being mark enough.
AT_CORNER_MM = 1.5

# Stands for a notch without a mate, so that it fails whatever the limit.
NO_MATE_MM = 999.0


def check_notches(case: Case) -> tuple[Finding, ...]:
    """Every notch on a seam has its mate on the other side, equally far along."""
    return tuple(_paired(case, seam) for seam in case.style.seams)


def check_levels_meet(case: Case) -> tuple[Finding, ...]:
    """Levels marked on both sides of a seam meet along it, the bust level of cup and back among them."""
    return tuple(finding for seam in case.style.seams for finding in _levels_of(case, seam))


def check_level_marks(case: Case) -> tuple[Finding, ...]:
    """No mark has slipped off its straight level line by more than a millimetre, or than it had in the base.

    One so far off that the pattern could not be read as a base has lost its level, and fails.
    """
    slips = [
        (_slip(case.spread, piece, mark), _allowed(case, piece, mark), piece, mark)
        for piece in case.style.pieces
        for mark in piece.level_marks
    ]
    if not slips:
        return ()
    worst, allowed, piece, mark = max(slips, key=lambda found: found[0] - found[1])
    others = sum(slip > limit for slip, limit, _, _ in slips) - 1
    place = f"{mark.level.replace('_', ' ')} mark on the {edge_title(piece, mark.at.edge)}"
    more = f", {others} more by less" if others > 0 else ""
    said = ("Every mark lies on its line.", f"The {place} has slipped by {mm(worst)}{more}: mark the level anew.")
    name = "level marks on their lines"
    beyond = Verdict.FAIL if worst > MARK_LOST_MM else Verdict.WARN
    return (within("level_marks", name, worst, allowed, (piece.name,), said, beyond=beyond),)


def _allowed(case: Case, piece: Piece, mark: LevelMark) -> float:
    """A millimetre, or what the same mark lies off its line in the base."""
    own = case.base_piece(piece)
    if case.base is None or own is None or mark not in own.level_marks:
        return LEVEL_MM
    return max(LEVEL_MM, _slip(case.base, own, mark))


def _slip(spread: Spread, piece: Piece, mark: LevelMark) -> float:
    return abs(float(spread.point(piece.name, mark.at)[1]) - piece.levels[mark.level])


def _levels_of(case: Case, seam: Seam) -> Iterator[Finding]:
    """The worst level but the bust, and the bust by itself."""
    on_a, on_b = dict(level_places(case.spread, seam.a)), dict(level_places(case.spread, seam.b))
    offs = {level: on_b[level] - on_a[level] - _ease(case, seam, on_a[level]) for level in on_a if level in on_b}
    bust = offs.pop("bust", None)
    if offs:
        level = max(offs, key=lambda name: abs(offs[name]))
        yield _meets(case, seam, level, offs[level], "levels meet")
    if bust is not None:
        yield _meets(case, seam, "bust", bust, "bust level meets")


def _meets(case: Case, seam: Seam, level: str, off: float, words: str) -> Finding:
    title = seam_title(case.style, seam)
    where = LEVEL_WORDS.get(level, f"at the {level}").removeprefix("at ")
    bad = f"Along this seam {where} is {mm(abs(off))} apart: mark it on one side from the other."
    said = ("They meet when sewn.", bad)
    return within("level_match", f"{title}, {words}", off, LEVEL_MM, seam_pieces(seam), said)


def _ease(case: Case, seam: Seam, along: float) -> float:
    return seam.ease * along / case.spread.chain_length(seam.a)


def _paired(case: Case, seam: Seam) -> Finding:
    on_a, on_b = _notches(case.spread, seam.a), _notches(case.spread, seam.b)
    offs = {name: on_b[name] - on_a[name] - _ease(case, seam, on_a[name]) for name in on_a if name in on_b}
    offs |= {name: NO_MATE_MM for name in on_a if name not in on_b and not _at_corner(case, seam.b, on_a[name])}
    offs |= {name: NO_MATE_MM for name in on_b if name not in on_a and not _at_corner(case, seam.a, on_b[name])}
    worst = max(offs, key=lambda name: abs(offs[name]), default=None)
    title = f"{seam_title(case.style, seam)}, notches"
    if worst is None:
        return within("notches", title, 0.0, NOTCH_MM, seam_pieces(seam), ("It needs no notch.", ""))
    off = offs[worst]
    bad = f"The {worst.replace('_', ' ')} notches are {mm(abs(off))} apart along the seam: mark both anew."
    if off == NO_MATE_MM:
        bad = f"The {worst.replace('_', ' ')} notch has no mate on the other side: mark both anew."
    return within("notches", title, off, NOTCH_MM, seam_pieces(seam), ("All pair.", bad))


def _notches(spread: Spread, chain: tuple[EdgeRef, ...]) -> dict[str, float]:
    """Notches on a chain by name, each with mm along it."""
    found, before = {}, 0.0
    for ref in chain:
        length = spread.length(ref.piece, ref.edge)
        for notch in spread.style.piece(ref.piece).notches:
            if notch.edge == ref.edge:
                found[notch.name] = before + (length - notch.along if ref.backward else notch.along)
        before += length
    return found


def _at_corner(case: Case, chain: tuple[EdgeRef, ...], distance: float) -> bool:
    """Whether that far along the other side there is a corner, which marks the place itself."""
    ref, along = place_on_chain(case.spread, chain, distance)
    return min(along, case.spread.length(ref.piece, ref.edge) - along) <= AT_CORNER_MM

