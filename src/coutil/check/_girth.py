"""Girths: laced inside at every level, the front's part, and nowhere tighter in between."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from coutil.check._case import Case, is_declared
from coutil.check._findings import Finding, Verdict
from coutil.check._judge import within
from coutil.check._words import at_level, full_half, mm
from coutil.errors import BadStyle
from coutil.pattern import Spread, girth, scan, thickness_loss

GIRTH_MM = 1.0  # Full girth.
SCAN_STEP_MM = 2.0


@dataclass(frozen=True, slots=True)
class Ordered:
    """What was ordered at a level, full mm: laced girth inside, and the front of the pieces where it is known.

    Inside is what the body meets: where the layers have a thickness, less than the pieces and gaps add up to.
    """

    level: str
    stem: str
    inside: float
    front: float | None


def check_girths(case: Case) -> tuple[Finding, ...]:
    """Laced girth inside against body + ease - reduction, and the front's net girth against its part."""
    return tuple(finding for ordered in orders(case) for finding in _at_level(case, ordered))


def orders(case: Case) -> tuple[Ordered, ...]:
    """What was ordered: by the plan, or where there is none by the base's own chart and fit."""
    return tuple(_planned(case) if case.plan is not None else _charted(case))


def check_scan(case: Case) -> tuple[Finding, ...]:
    """Nowhere between two levels tighter than the smaller of what was ordered there; a base's own narrow place counts.

    A pattern without a stretch between two levels of the body has nothing to scan.
    """
    names = body_levels(case.spread)
    if len(names) < 2:
        return ()
    found = _tightest(case.spread, names, _wanted(case, names))
    if found is None:
        return ()
    height, short = found
    allowed = _allowed(case)
    pieces = tuple(p.name for p in case.style.pieces if names[0] in p.levels and names[-1] in p.levels)
    place = f"{abs(height):.0f} mm {'above' if height >= 0 else 'below'} the waist"
    good = "Nowhere between the levels is it tighter than what was ordered there."
    if short > GIRTH_MM:
        good = f"Tighter by {mm(short)} {place}; the base has this narrow place too."
    bad = f"Tighter than ordered by {mm(short)} {place}: redraw the seams upright at the waist."
    name = "girth from level to level, tightest place"
    return (within("girth_scan", name, max(short, 0.0), allowed, pieces, (good, bad)),)


def body_levels(spread: Spread) -> tuple[str, ...]:
    """Levels carried by every piece that carries the waist, from underbust to high hip if it has them; downwards."""
    body = [piece for piece in spread.style.pieces if "waist" in piece.levels]
    if not body:
        return ()
    common = [name for name in body[0].levels if all(name in piece.levels for piece in body)]
    names = sorted(common, key=lambda name: -body[0].levels[name])
    start = names.index("underbust") if "underbust" in names else 0
    stop = names.index("high_hip") if "high_hip" in names else len(names) - 1
    return tuple(names[start : stop + 1])


def _planned(case: Case) -> Iterator[Ordered]:
    assert case.plan is not None
    stems = {level.name: level.measure or level.name for level in case.style.levels}
    for order in case.plan.girths:
        # The plan's ease is taken between the pieces and the body, so the cloth's thickness is part of it.
        inside = order.body + order.ease - order.reduction - thickness_loss(case.style)
        yield Ordered(order.level, stems.get(order.level, order.level), inside, order.garment_front)


def _charted(case: Case) -> Iterator[Ordered]:
    chart, fit = case.style.base_chart, case.style.base_fit
    for level in case.style.levels:
        body = chart.get(f"{level.measure}_girth") if level.measure else None
        if body is not None and any(level.name in piece.levels for piece in case.style.pieces):
            pulled = fit.reduction if level.measure == "waist" else 0.0
            yield Ordered(level.name, level.measure or "", body + fit.ease.get(level.name, 0.0) - pulled, None)


def _at_level(case: Case, ordered: Ordered) -> Iterator[Finding]:
    where, stem = at_level(ordered.level), ordered.stem
    pieces = tuple(p.name for p in case.style.pieces if ordered.level in p.levels)
    net = girth(case.spread, ordered.level)
    keys = tuple(f"{stem}_{part}" for part in ("girth", "front", "back", "reduction"))
    has = net.full + case.gaps - thickness_loss(case.style)
    yield _against(case, "laced_girth", f"laced girth inside, {where}", has, ordered.inside, pieces, keys)
    if ordered.front is not None:
        fronts = tuple(p.name for p in case.style.pieces if ordered.level in p.levels and p.part == "front")
        name = f"front of the pieces, {where}"
        keys = tuple(f"{stem}_{part}" for part in ("girth", "front", "reduction"))
        yield _against(case, "front_girth", name, net.front, ordered.front, fronts, keys)


def _against(
    case: Case, code: str, name: str, has: float, wanted: float, pieces: Sequence[str], keys: tuple[str, ...]
) -> Finding:
    figures = f"Wanted {full_half(wanted)}, has {full_half(has)}"
    miss = has - wanted
    if is_declared(case, miss, *keys):
        said = (f"{figures}.", f"{figures}; the alteration chart says what is still missing.")
        return within(code, name, miss, GIRTH_MM, pieces, said, beyond=Verdict.EXPLAINED)
    word = "let out" if miss < 0 else "take in"
    said = (f"{figures}.", f"{figures}: {word} the seams by {mm(abs(miss))} in all.")
    return within(code, name, miss, GIRTH_MM, pieces, said)


def _wanted(case: Case, names: Sequence[str]) -> dict[str, float]:
    """Net girth by level: as ordered, or as it is where nothing was."""
    taken = thickness_loss(case.style) - case.gaps
    ordered = {order.level: order.inside + taken for order in orders(case)}
    return {name: ordered[name] if name in ordered else girth(case.spread, name).full for name in names}


def _allowed(case: Case) -> float:
    """A millimetre, or by how much the base is tighter between its own levels."""
    if case.base is None:
        return GIRTH_MM
    names = body_levels(case.base)
    if len(names) < 2:
        return GIRTH_MM
    own = {name: girth(case.base, name).full for name in names}
    found = _tightest(case.base, names, own)
    return GIRTH_MM if found is None else max(GIRTH_MM, found[1])


def _tightest(spread: Spread, names: Sequence[str], wanted: dict[str, float]) -> tuple[float, float] | None:
    """Height above the waist of the worst place, and by how much it is below the smaller of its two levels, mm.

    None where hem and upper edge leave no stretch to scan.
    """
    try:
        found = scan(spread, SCAN_STEP_MM, names[0], names[-1])
    except BadStyle:
        return None
    piece = next(p for p in spread.style.pieces if "waist" in p.levels)
    heights = {name: piece.levels[name] - piece.levels["waist"] for name in names}
    limits = np.zeros(len(found))
    for upper, lower in pairwise(names):
        between = (found[:, 0] <= heights[upper]) & (found[:, 0] >= heights[lower])
        limits[between] = min(wanted[upper], wanted[lower])
    short = limits - found[:, 1]
    worst = int(np.argmax(short))
    return float(found[worst, 0]), float(short[worst])
