"""Outlines: simple and closed, straight where straight, without a cusp, and no hollow too tight to turn."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray

from coutil.check._case import Case
from coutil.check._findings import Finding
from coutil.check._judge import at_least, within
from coutil.check._shape import LOOKS, Floats, Shape
from coutil.check._words import edge_title, mm, once
from coutil.pattern import Edge, Piece, allowance_of

STRAIGHT_MM = 0.1
CLOSED_MM = 1e-3  # A knot is stored to a thousandth.
FLAT_MM = 0.02
HOLLOW_MM = 2.0  # Beyond the allowance, so that the allowance still lies flat.
CORNER_DEG = 5.0  # Inside an edge a turn this sharp between two places would be a corner.
TURN_BACK_DEG = 90.0


def check_outlines(case: Case) -> tuple[Finding, ...]:
    """Each outline closed, anticlockwise, and never crossing itself."""
    faults = _outline_faults(case.shape)
    first = next(iter(faults.values()), "")
    said = ("Every outline is closed and crosses itself nowhere.", first)
    return (within("outline", "outlines simple and closed", len(faults), 0.0, tuple(faults), said, "count"),)


def check_straight(case: Case) -> tuple[Finding, ...]:
    """Straight edges are straight, centre and closure lines upright."""
    bent = max(_deviations(case.shape), key=lambda found: found[0], default=None)
    leaning = max(_leanings(case.shape), key=lambda found: found[0], default=None)
    found = []
    if bent is not None:
        off, piece, edge = bent
        bad = f"The {edge_title(piece, edge.name)} leaves its straight line by {mm(off)}: rule it again."
        said = ("Straight where it must be.", bad)
        found.append(within("straight", "straight edges", off, STRAIGHT_MM, (piece.name,), said))
    if leaning is not None:
        off, piece, edge = leaning
        bad = f"The {edge_title(piece, edge.name)} leans by {mm(off)}: rule it upright."
        said = ("Upright.", bad)
        found.append(within("upright", "centre and closure upright", off, STRAIGHT_MM, (piece.name,), said))
    return tuple(found)


def check_cusps(case: Case) -> tuple[Finding, ...]:
    """No edge turns back on itself or has a corner inside."""
    broken = _broken(case.shape)
    places = [(piece, edge) for piece, edge, place in case.shape.edges() if broken[place].any()]
    first = f"The {edge_title(places[0][0], places[0][1].name)} has a corner inside: redraw it." if places else ""
    said = ("Every edge is smooth from corner to corner.", first)
    pieces = once(piece.name for piece, _ in places)
    return (within("cusp", "edges smooth inside", len(places), 0.0, pieces, said, "count"),)


def check_hollows(case: Case) -> tuple[Finding, ...]:
    """The tightest hollow, against its edge's allowance: radius at least allowance + 2 mm; none is endless."""
    hollows = ((radius, HOLLOW_MM + allowance_of(edge), piece, edge) for radius, piece, edge in _hollows(case.shape))
    worst = min(hollows, key=lambda found: found[0] - found[1], default=None)
    name = "tightest hollow, radius"
    if worst is None:
        return (at_least("hollow", name, np.inf, HOLLOW_MM, (), ("There is no hollow.", "")),)
    radius, limit, piece, edge = worst
    place = edge_title(piece, edge.name)
    good = f"On the {place}; its allowance lies flat."
    bad = f"The {place} is hollowed too tightly for its allowance: draw it flatter or cut the allowance narrower."
    return (at_least("hollow", name, radius, limit, (piece.name,), (good, bad)),)


def check_cut_lines(case: Case) -> tuple[Finding, ...]:
    """The stitching line set out by its allowance crosses itself on no edge; corners are the cutter's."""
    edges = [found for found in case.shape.edges() if allowance_of(found[1])]
    lines = [shapely.linestrings(_set_out(case.shape, edge, place)) for _, edge, place in edges]
    simple = shapely.is_simple(lines)
    turned = [_turns_back(case.shape, edge, place) for _, edge, place in edges]
    crossed = [
        (piece, edge) for (piece, edge, _), good, back in zip(edges, simple, turned, strict=True) if back or not good
    ]
    first = f"Set out, the {edge_title(crossed[0][0], crossed[0][1].name)} crosses itself." if crossed else ""
    said = ("The cut line of no edge crosses itself.", f"{first} Cut its allowance narrower.")
    pieces = once(piece.name for piece, _ in crossed)
    return (within("cut_line", "cut lines free of crossings", len(crossed), 0.0, pieces, said, "count"),)


def _outline_faults(shape: Shape) -> dict[str, str]:
    """One sentence for each piece whose outline is no outline, by the piece's name."""
    pieces = shape.spread.style.pieces
    rings = np.array([shapely.linearrings(_polyline(shape, piece)) for piece in pieces])
    found = {}
    for piece, simple, turned in zip(pieces, shapely.is_simple(rings), shapely.is_ccw(rings), strict=True):
        gap, title = _widest_gap(shape, piece), piece.title.lower()
        if gap > CLOSED_MM:
            found[piece.name] = f"The outline of the {title} is open by {mm(gap)}: join its corners."
        elif not simple:
            found[piece.name] = f"The outline of the {title} crosses itself: look for the edge that overlaps."
        elif not turned:
            found[piece.name] = f"The outline of the {title} runs the wrong way round: turn the piece over."
    return found


def _widest_gap(shape: Shape, piece: Piece) -> float:
    spans = shape.spread.spans[shape.spread.piece_place(piece.name)]
    return float(max(np.abs(spans[1:, 0] - spans[:-1, 3]).max(initial=0.0), np.abs(spans[0, 0] - spans[-1, 3]).max()))


def _polyline(shape: Shape, piece: Piece) -> Floats:
    """The outline within 0.02 mm: the places already looked at, or as many more as a strong bend needs."""
    parts = []
    for edge in piece.edges:
        place = shape.spread.place(piece.name, edge.name)
        bend = 6 * math.sqrt(2) * np.abs(np.diff(shape.spread.spans[place], n=2, axis=1)).max()
        seen = bend / (8 * LOOKS**2) <= FLAT_MM
        parts.append(shape.points[place, :-1].reshape(-1, 2) if seen else edge.curve.flatten(FLAT_MM)[:-1])
    return np.concatenate(parts)


def _deviations(shape: Shape) -> Iterator[tuple[float, Piece, Edge]]:
    for piece, edge, place in shape.edges():
        if edge.straight or edge.role.is_vertical:
            points = shape.points[place].reshape(-1, 2)
            ahead = points[-1] - points[0]
            away = points - points[0]
            off = np.abs(away[:, 0] * ahead[1] - away[:, 1] * ahead[0]) / max(float(np.hypot(*ahead)), CLOSED_MM)
            yield float(off.max()), piece, edge


def _leanings(shape: Shape) -> Iterator[tuple[float, Piece, Edge]]:
    for piece, edge, place in shape.edges():
        if edge.role.is_vertical:
            yield float(np.ptp(shape.points[place][..., 0])), piece, edge


def _broken(shape: Shape) -> NDArray[np.bool_]:
    """Spans that turn back or stand still, and those with a corner to the next one of their edge, (s,)."""
    turns = np.degrees(np.abs(shape.turns))
    stands = np.isnan(shape.curvature[:, 1:-1]).any(axis=1)
    return np.asarray(stands | (turns[:, :-1].max(axis=1) > TURN_BACK_DEG) | (turns[:, -1] > CORNER_DEG))


def _hollows(shape: Shape) -> Iterator[tuple[float, Piece, Edge]]:
    """The smallest radius of each edge's hollows; the outline runs anticlockwise, so a hollow turns to the right."""
    for piece, edge, place in shape.edges():
        bend = shape.curvature[place]
        tightest = float(np.min(bend, where=~np.isnan(bend), initial=0.0))
        if tightest < -1e-6 and not edge.straight:
            yield -1.0 / tightest, piece, edge


def _each_once(found: Floats) -> Floats:
    """The rows of an edge (n, p, 2) in order, the knots its spans share only once."""
    return np.concatenate((found[:, :-1].reshape(-1, 2), found[-1:, -1]))


def _turns_back(shape: Shape, edge: Edge, place: slice) -> bool:
    """Whether a hollow is tighter than the allowance, so that the line set out would run backwards there."""
    bend = shape.curvature[place]
    return bool((1.0 + allowance_of(edge) * bend[~np.isnan(bend)] < 0.0).any())


def _set_out(shape: Shape, edge: Edge, place: slice) -> Floats:
    line = _each_once(shape.points[place] + allowance_of(edge) * shape.outward[place])
    moving = ~np.isnan(line[:, 0])
    return line if moving.all() else line[moving]
