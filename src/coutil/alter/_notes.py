"""What truing moved: how far each edge's knots went beyond the amounts of the plan."""

from __future__ import annotations

import numpy as np

from coutil.alter._goals import Goals, nearest_level, outward, raised, sideways
from coutil.alter._layout import EdgeSlots, Floats, Layout
from coutil.alter._plan import TruingNote
from coutil.alter._solve import Solution
from coutil.pattern import Piece, Role

# Less than this cannot be drawn.
NOTED_MM = 0.5


def truing_notes(layout: Layout, goals: Goals, solution: Solution) -> tuple[TruingNote, ...]:
    """One note for every edge whose knots moved at least half a millimetre beyond the plan, largest first."""
    n = len(layout.nodes)
    shift = np.stack((solution.z[:n], solution.z[n:]), axis=1)
    notes = []
    for piece in layout.style.pieces:
        for edge in piece.edges:
            slots = layout.slots(piece.name, edge.name)
            moved = _beyond_plan(layout, goals, piece, slots, shift)
            if moved >= NOTED_MM:
                notes.append(_note(piece, edge.name, moved))
    return tuple(sorted(notes, key=lambda note: -note.moved))


def _beyond_plan(layout: Layout, goals: Goals, piece: Piece, slots: EdgeSlots, shift: Floats) -> float:
    worst = 0.0
    on_seam = slots.edge.role in (Role.PANEL_SEAM, Role.SIDE_SEAM, Role.CENTRE, Role.CLOSURE)
    for knot, node in enumerate(slots.positions):
        planned = np.zeros(2)
        if on_seam:
            level = nearest_level(layout, piece, slots, knot)
            planned[0] = outward(slots) * sideways(goals, piece, slots, level)[0]
            planned[1] = raised(layout, goals, piece, slots, knot)[0]
        worst = max(worst, float(np.hypot(*(shift[node] - planned))))
    return worst


def _note(piece: Piece, edge: str, moved: float) -> TruingNote:
    what = edge.replace("_", " ")
    return TruingNote(
        piece.name,
        edge,
        moved,
        f"{piece.title}, {what}: truing moved its points by up to {moved:.1f} mm so that seams and joins fit.",
    )
