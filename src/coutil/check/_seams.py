"""Seams: both sides equally long, in all and from match to match; the cradle as well against the base."""

from __future__ import annotations

from collections.abc import Iterator

from coutil.alter import PlanRow
from coutil.check._case import Case
from coutil.check._findings import Finding
from coutil.check._judge import shown, within
from coutil.check._words import mm, seam_pieces, seam_title
from coutil.pattern import Role, Seam, SeamLengths, Spread, Style, seam_lengths

SEAM_MM = 0.5
CRADLE_MM = 0.2

# What may change the cradle's length: rows of these groups, of the underbust, and those named after its ends.
CRADLE_GROUPS = frozenset({"length", "centre", "side"})
CRADLE_WORDS = ("peak", "side_end", "fitting")


def check_seams(case: Case) -> tuple[Finding, ...]:
    """Every seam but the cradle: A against B plus ease, in total and between match points."""
    return tuple(
        _lengths(case, seam, "seam", SEAM_MM) for seam in case.style.seams if not is_cradle(case.style, seam)
    )


def check_cradle(case: Case) -> tuple[Finding, ...]:
    """Cups against panels, in total and at the foot; and what has changed the cradle's length."""
    found: list[Finding] = []
    for seam in case.style.seams:
        if is_cradle(case.style, seam):
            found += [_lengths(case, seam, "cradle", CRADLE_MM), *_change(case, seam)]
    return tuple(found)


def is_cradle(style: Style, seam: Seam) -> bool:
    """Whether a seam sews cups into their cradle: all its edges are cradle edges."""
    return all(style.piece(ref.piece).edge(ref.edge).role is Role.CRADLE for ref in (*seam.a, *seam.b))


def _lengths(case: Case, seam: Seam, code: str, limit: float) -> Finding:
    walked = seam_lengths(case.spread, seam)
    worst = walked.worst
    longer = seam.b if worst.difference > 0 else seam.a
    piece = case.style.piece(longer[0].piece).title.lower()
    good = f"{mm(walked.total.a)} on {mm(walked.total.b)}{_eased(walked)}."
    bad = (
        f"{worst.name[:1].upper()}{worst.name[1:]}: {mm(worst.a)} on {mm(worst.b)}{_eased(walked)}; "
        f"the side with the {piece} is {mm(abs(worst.difference))} too long. True the seam."
    )
    name = f"{seam_title(case.style, seam)}, both sides"
    return within(code, name, worst.difference, limit, seam_pieces(seam), (good, bad))


def _eased(walked: SeamLengths) -> str:
    return f", {mm(walked.total.ease)} of it ease" if walked.total.ease else ""


def _change(case: Case, seam: Seam) -> Iterator[Finding]:
    """Old and new length of the panels' side, and the rows that name it."""
    if case.base is None or not _has_seam(case.base, seam):
        return
    old, new = case.base.chain_length(seam.b), case.spread.chain_length(seam.b)
    name, pieces = f"{seam_title(case.style, seam)}, length against the base", seam_pieces(seam)
    figures = f"{mm(old)} in the base, {mm(new)} now"
    if case.plan is None:
        yield shown("cradle_length", name, new - old, pieces, f"{figures}.")
        return
    rows = [row for row in case.plan.rows if may_change_cradle(row)]
    if rows:
        titles = ", ".join(row.title for row in rows)
        yield shown("cradle_length", name, new - old, pieces, f"{figures}, by the rows {titles}.")
        return
    bad = f"{figures}, though no row of the alteration chart names it: true the cups to the cradle of the base."
    yield within("cradle_length", name, new - old, CRADLE_MM, pieces, (f"{figures}.", bad))


def may_change_cradle(row: PlanRow) -> bool:
    """Whether a row that moves something may change how long the cradle is."""
    if not row.amount:
        return False
    named = any(word in row.key for word in CRADLE_WORDS)
    return row.group in CRADLE_GROUPS or row.measurement.startswith("underbust") or named


def _has_seam(base: Spread, seam: Seam) -> bool:
    return all((ref.piece, ref.edge) in base.places for ref in seam.b)
