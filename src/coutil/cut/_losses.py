"""How much of an allowance the corners take off an edge, beside what was ordered.

An allowance that is pressed back ends mirrored, so a slanting corner cuts some of it away near its end; where a seam
hooks at its end, the same rule would cut it away far along the seam.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import shapely
from numpy.typing import NDArray

from coutil.cut._corners import End, Joint, joint
from coutil.cut._outline import corner_ranks, cut_outline, pressed_first
from coutil.cut._ribbons import Floats, Side
from coutil.cut._widths import USUAL, edge_width
from coutil.pattern import Layer, Piece

PLAIN = Layer("plain")


def allowance_lost(piece: Piece, runs: Mapping[str, tuple[Floats, Floats]]) -> dict[str, Floats]:
    """What corners take off each edge's allowance at the given places, mm; only edges that have one.

    `runs` gives for every edge of the piece places (m, 2) on it in order and the unit normals (m, 2) out of it.
    """
    widths = {edge.name: edge_width(piece, edge, PLAIN, USUAL) for edge in piece.edges}
    sides = [Side(edge.name, *runs[edge.name], widths[edge.name]) for edge in piece.edges]
    ranks = corner_ranks(piece)
    joints = [joint(a, b, pressed_first(a, b, ranks)) for a, b in zip(sides, sides[1:] + sides[:1], strict=True)]
    return {side.name: _lost(side, joints[i - 1], joints[i]) for i, side in enumerate(sides) if side.width > 0.0}


def cloth_reaches(piece: Piece, places: Floats) -> NDArray[np.bool_]:
    """Which of the places (m, 2) lie on the cloth of the piece as it is cut."""
    outline = shapely.Polygon(cut_outline(piece, PLAIN).outline)
    return np.asarray(shapely.intersects_xy(outline, places[:, 0], places[:, 1]))


def _lost(side: Side, before: Joint, after: Joint) -> Floats:
    """At each place: the more of what both ends take off."""
    return np.maximum(_lost_to(before.after, side), _lost_to(after.before, side))


def _lost_to(end: End, side: Side) -> Floats:
    """What lies beyond an end's line on the way from each place straight out to the cut line."""
    reach = -min(end.inner, end.outer, 0.0)
    frame, width = end.frame, side.width
    ahead, out = (side.points - frame.at) @ frame.ahead, (side.points - frame.at) @ frame.outwards
    ahead_by, out_by = side.normals @ frame.ahead, side.normals @ frame.outwards
    slant = (end.outer - end.inner) / width
    at_line = ahead - end.inner - slant * out
    growth = ahead_by - slant * out_by
    beyond = at_line + width * growth
    with np.errstate(divide="ignore", invalid="ignore"):
        kept = np.where(at_line >= 0.0, 0.0, np.clip(-at_line / growth, 0.0, width))
    tip_ahead, tip_out = ahead + width * ahead_by, out + width * out_by
    within = (tip_ahead >= -2 * reach) & (tip_ahead <= width) & (tip_out >= -width) & (tip_out <= 2 * width)
    return np.where((beyond > 0.0) & within & (reach > 0.0), width - kept, 0.0)
