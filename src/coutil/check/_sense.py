"""Whether a pattern can be one at all: what a drawing read the wrong way up, or with wrong mates, gives away."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise

import numpy as np

from coutil.check._case import Case
from coutil.check._findings import Finding
from coutil.check._judge import within
from coutil.pattern import Piece, Role, Style, girth

SEWN_ROLES = frozenset({Role.PANEL_SEAM, Role.SIDE_SEAM, Role.CUP_SEAM, Role.CRADLE})
FROM_ABOVE = ("bust", "underbust", "waist", "high_hip", "hip")
LEVELS_AGREE_MM = 1.0  # A level lies as far from the waist on every panel; tracing strays by less.
# Full girths that people have, with room: the smallest child's waist and the largest hip of published surveys (common
# practice, no source for the margins).
LEAST_GIRTH_MM, MOST_GIRTH_MM = 400.0, 2200.0
LEAST_WAIST_MM = 450.0  # The waist of the smallest shipped base, less what it is laced in by.
MIRRORED_MM = 0.5  # Two pieces whose edges lie so near once one is turned over are left and right of one body.


def check_all_sewn(case: Case) -> tuple[Finding, ...]:
    """Every edge with a seam's role is sewn to something."""
    style = case.style
    sewn = {(ref.piece, ref.edge) for seam in style.seams for ref in (*seam.a, *seam.b)}
    edges = [(piece.name, edge.name) for piece in style.pieces for edge in piece.edges if edge.role in SEWN_ROLES]
    left = [place for place in edges if place not in sewn]
    names = ", ".join(f"{piece}.{edge}" for piece, edge in left[:8])
    said = "Every seam edge has its mate.", f"Nothing is sewn to {names}: state the seams, or correct the edges' roles."
    pieces = tuple(dict.fromkeys(piece for piece, _ in left))
    return (within("unsewn", "seam edges without a mate", len(left), 0, pieces, said, "count"),)


def check_levels_in_order(case: Case) -> tuple[Finding, ...]:
    """From above: bust, underbust, waist, high hip, hip."""
    wrong = list(_out_of_order(case.style))
    told = "; ".join(f"{upper} does not lie above {lower}" for upper, lower in wrong).replace("_", " ")
    said = "The levels lie in their order.", f"The {told}: the drawing is upside down, or a level has a wrong name."
    return (within("level_order", "levels out of their order", len(wrong), 0, (), said, "count"),)


def _out_of_order(style: Style) -> Iterator[tuple[str, str]]:
    depths = {level.measure or level.name: level.depth for level in style.levels if level.depth is not None}
    known = [(name, depths[name]) for name in FROM_ABOVE if name in depths]
    yield from ((upper, lower) for (upper, a), (lower, b) in pairwise(known) if a >= b)


def check_levels_agree(case: Case) -> tuple[Finding, ...]:
    """A level lies as far from the waist on every panel that carries it."""
    off = dict(_strays(case.style))
    worst = max(off.values(), default=0.0)
    pieces = tuple(dict.fromkeys(piece for (piece, _), by in off.items() if by > LEVELS_AGREE_MM))
    said = (
        "Every level lies alike on all panels.",
        "A level lies at another height than on the other panels: correct its line or its height.",
    )
    return (within("levels_agree", "levels alike on all panels", worst, LEVELS_AGREE_MM, pieces, said),)


def _strays(style: Style) -> Iterator[tuple[tuple[str, str], float]]:
    depths = {level.name: level.depth for level in style.levels if level.depth is not None}
    for piece in style.pieces:
        if "waist" in piece.levels:
            for name, height in piece.levels.items():
                if name in depths:
                    yield (piece.name, name), abs(piece.levels["waist"] - height - depths[name])


def check_human(case: Case) -> tuple[Finding, ...]:
    """No girth that nobody has."""
    style = case.style
    measured = [level for level in style.levels if any(level.name in piece.levels for piece in style.pieces)]
    laced = {level.name: girth(style, level.name).full + case.gaps for level in measured if level.measure is not None}
    wrong = [name for name, full in laced.items() if not LEAST_GIRTH_MM <= full <= MOST_GIRTH_MM]
    told = ", ".join(f"{laced[name] / 10:.0f} cm at the {name.replace('_', ' ')}" for name in wrong)
    said = (
        "The girths are a body's.",
        f"The pattern has {told}, which no body has: look at its scale, and whether it is a half or whole.",
    )
    return (within("human", "girths that no body has", len(wrong), 0, (), said, "count"),)


def check_halves(case: Case) -> tuple[Finding, ...]:
    """A half whose pieces go round a body as they lie holds none that mirrors another: that is the other half's.

    Front and back may well mirror each other in a true half; but then a waist of its pieces is half of a body's.
    """
    style = case.style
    both = combinations(style.pieces, 2) if style.half and _goes_round(style) else ()
    pairs = [(a.name, b.name) for a, b in both if _is_mirrored(a, b) and not _is_mirrored(a, a)]
    told = ", ".join(f"{a} and {b}" for a, b in pairs[:4])
    said = (
        "No piece is there twice.",
        f"In a half {told} mirror each other: leave one half out, or name left and right.",
    )
    pieces = tuple(dict.fromkeys(name for pair in pairs for name in pair))
    return (within("halves", "mirror pairs in a half", len(pairs), 0, pieces, said, "count"),)


def _goes_round(style: Style) -> bool:
    return any(piece.levels.get("waist") is not None for piece in style.pieces) and (
        girth(style, "waist").full / style.sides >= LEAST_WAIST_MM
    )


def _is_mirrored(a: Piece, b: Piece) -> bool:
    if len(a.edges) != len(b.edges):
        return False
    mine, theirs = _outline(a, 1.0), _outline(b, -1.0)
    if np.abs(np.ptp(mine, axis=0) - np.ptp(theirs, axis=0)).max() > MIRRORED_MM:
        return False
    from shapely import LinearRing, hausdorff_distance

    return bool(hausdorff_distance(LinearRing(mine), LinearRing(theirs), 0.05) <= MIRRORED_MM)


def _outline(piece: Piece, turned: float) -> np.ndarray:
    """The outline in straight pieces, its box at the origin."""
    points = np.concatenate([edge.curve.flatten(0.1)[:-1] for edge in piece.edges]) * np.array([turned, 1.0])
    return np.asarray(points - points.min(axis=0))
