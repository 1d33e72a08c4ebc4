"""Caps: how narrow a panel, how steep a seam and how far an edge may go before another size is the better answer."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from coutil.check._case import Case
from coutil.check._findings import Finding, Verdict
from coutil.check._judge import at_least, within
from coutil.check._words import at_level, edge_title, mm, seam_pieces, seam_title
from coutil.pattern import Edge, EdgeRef, KnotRef, Piece, Role, Spread, widths

SEWN = frozenset({Role.PANEL_SEAM, Role.SIDE_SEAM})
ANOTHER = "start from another size"


def check_widths(case: Case) -> tuple[Finding, ...]:
    """Every panel wide enough at the waist, one with eyelets wider still."""
    caps, found = case.style.sharing.caps, widths(case.spread)
    panels = [
        (found[piece.name, "waist"], caps.eyelet_panel_width if piece.eyelets else caps.panel_width, piece)
        for piece in case.style.pieces
        if "waist" in piece.levels
    ]
    if not panels:
        return ()
    has, least, piece = min(panels, key=lambda panel: panel[0] - panel[1])
    title = piece.title.lower()
    said = (f"The {title} is the nearest to its limit.", f"The {title} is too narrow at the waist: {ANOTHER}.")
    name = "narrowest panel at the waist"
    return (at_least("panel_width", name, has, least, (piece.name,), said, beyond=Verdict.WARN),)


def check_slopes(case: Case) -> tuple[Finding, ...]:
    """The steepest stretch of a seam between two levels, against the grain; steeper than in a steep base is refused."""
    steepest = max(_slopes(case.spread), key=lambda found: found[0], default=None)
    if steepest is None:
        return ()
    caps, (slope, piece, edge, lower, upper) = case.style.sharing.caps, steepest
    stretch = f"{at_level(lower)[7:]} to {at_level(upper)[7:]}"
    place = f"{edge_title(piece, edge.name)}, {stretch}"
    own = max((found[0] for found in _slopes(case.base)), default=0.0) if case.base is not None else 0.0
    refused = slope > caps.slope_refuses and slope > own + 1e-6
    limit = max(caps.slope_refuses, own) if refused else caps.slope_warns
    advice = ANOTHER if refused else "mind the stretch of the bias"
    bad = f"The {place}, leans by {slope:.0f} degrees: {advice}."
    beyond = Verdict.FAIL if refused else Verdict.WARN
    said = (f"Steepest on the {place}.", bad)
    return (within("slope", "slope of the seams to the grain", slope, limit, (piece.name,), said, "deg", beyond),)


def check_moves(case: Case) -> tuple[Finding, ...]:
    """How far edges, seams and whole levels have been moved from the base; nothing without one."""
    if case.base is None:
        return ()
    moves = _moves(case.spread, case.base)
    return (*_edge_moves(case, moves), *_seam_moves(case, moves), *_level_moves(case))


_Moves = dict[tuple[str, str, str], float]


def _slopes(spread: Spread) -> Iterator[tuple[float, Piece, Edge, str, str]]:
    """Angle between the grain and the line from one level mark to the next, degrees, on pieces that carry the waist."""
    for piece in spread.style.pieces:
        grain = math.radians(piece.grain_deg)
        for edge in piece.edges:
            if "waist" in piece.levels and edge.role in SEWN:
                marks = [(float(y), float(x), level) for level, (x, y) in _marked(spread, piece, edge)]
                for (y0, x0, lower), (y1, x1, upper) in _neighbours(sorted(marks)):
                    turned = math.degrees(math.atan2(y1 - y0, x1 - x0) - grain)
                    yield abs((turned + 90.0) % 180.0 - 90.0), piece, edge, lower, upper


def _marked(spread: Spread, piece: Piece, edge: Edge) -> Iterator[tuple[str, np.ndarray]]:
    for mark in piece.level_marks:
        if mark.at.edge == edge.name:
            yield mark.level, spread.point(piece.name, mark.at)


_Mark = tuple[float, float, str]


def _neighbours(marks: list[_Mark]) -> Iterator[tuple[_Mark, _Mark]]:
    return ((one, other) for one, other in pairwise(marks) if other[0] > one[0])


def _moves(spread: Spread, base: Spread) -> _Moves:
    """How far each marked knot has moved outwards since the base, mm, by piece, edge and level."""
    return {
        (piece.name, mark.at.edge, mark.level): _moved_out(spread, base, piece, mark.at)
        for piece in spread.style.pieces
        for mark in piece.level_marks
        if piece.edge(mark.at.edge).role in SEWN | {Role.CUP_SEAM} and _has_knot(base, piece.name, mark.at)
    }


def _has_knot(base: Spread, piece: str, at: KnotRef) -> bool:
    place = base.places.get((piece, at.edge))
    return place is not None and at.knot <= place.stop - place.start


def _moved_out(spread: Spread, base: Spread, piece: Piece, at: KnotRef) -> float:
    """The outline runs anticlockwise: an edge that goes up has its outside to the right."""
    place = base.place(piece.name, at.edge)
    rises = base.spans[place.stop - 1, 3, 1] > base.spans[place.start, 0, 1]
    step = float(spread.point(piece.name, at)[0] - base.point(piece.name, at)[0])
    return step if rises else -step


def _edge_moves(case: Case, moves: _Moves) -> Iterator[Finding]:
    caps = case.style.sharing.caps
    at_side = {key: move for key, move in moves.items() if _role(case, key) is Role.SIDE_SEAM}
    others = {key: move for key, move in moves.items() if key not in at_side}
    for chosen, limit, name in ((at_side, caps.side_edge, "side seams"), (others, caps.edge, "other seam edges")):
        if not chosen:
            continue
        key = max(chosen, key=lambda found: abs(chosen[found]))
        place = f"{edge_title(case.style.piece(key[0]), key[1])} {at_level(key[2])}"
        said = (f"Most at the {place}.", f"The {place} has moved by {mm(abs(chosen[key]))}: {ANOTHER}.")
        title = f"furthest move of an edge, {name}"
        yield within("edge_move", title, chosen[key], limit, (key[0],), said, beyond=Verdict.WARN)


def _role(case: Case, key: tuple[str, str, str]) -> Role:
    return case.style.piece(key[0]).edge(key[1]).role


def _seam_moves(case: Case, moves: _Moves) -> Iterator[Finding]:
    totals = [
        (_at(moves, seam.a, level) + _at(moves, seam.b, level), level, seam)
        for seam in case.style.seams
        for level in {key[2] for key in moves}
    ]
    if not totals:
        return
    total, level, seam = max(totals, key=lambda found: (abs(found[0]), found[1]))
    place = f"{seam_title(case.style, seam)}, {at_level(level)}"
    said = (f"Most at: {place}.", f"{place}: {mm(abs(total))} in one seam: {ANOTHER}.")
    limit = case.style.sharing.caps.seam
    yield within("seam_move", "most taken by one seam", total, limit, seam_pieces(seam), said, beyond=Verdict.WARN)


def _at(moves: _Moves, chain: tuple[EdgeRef, ...], level: str) -> float:
    return sum(moves.get((ref.piece, ref.edge, level), 0.0) for ref in chain)


def _level_moves(case: Case) -> Iterator[Finding]:
    keys = [k for k in case.measures if k.endswith("_girth") and k in case.base_measures]
    if not keys:
        return
    key = max(keys, key=lambda name: abs(case.measures[name] - case.base_measures[name]))
    change = case.measures[key] - case.base_measures[key]
    place = at_level(key.removesuffix("_girth"))
    said = (f"Most {place}.", f"The girth {place} has changed by {mm(abs(change))}: {ANOTHER}.")
    limit = case.style.sharing.caps.level_girth
    yield within("girth_move", "largest change of a girth", change, limit, (), said, beyond=Verdict.WARN)
