"""The cloth as it is cut: the allowance kept along every edge, and cloth under every notch."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from coutil.check._case import Case
from coutil.check._findings import Finding
from coutil.check._judge import within
from coutil.check._shape import Floats
from coutil.check._words import edge_title, mm, once
from coutil.cut import allowance_lost, cloth_reaches
from coutil.errors import BadStyle
from coutil.pattern import Edge, Notch, Piece, allowance_of

# A cutter follows the line to half a millimetre; more than this is no longer the ordered allowance.
LOST_MM = 0.3
# A slanting corner takes off its own part of an allowance: over a way of its width by the tangent of the slant.  No
# seam may lean by more than 25 degrees (0.47): nothing may be missing further than half the width from a corner, or
# further than a corner takes whose edge slants more for all of that width, as beneath a steep top edge or at a dart.
CORNER_SHARE = 0.5


def check_cloth(case: Case) -> tuple[Finding, ...]:
    """The cut line at its ordered distance along every edge, and cloth at every notch."""
    lost = [found for piece in case.style.pieces for found in _lost(case, piece)]
    return _allowances(lost), _notches(lost)


@dataclass(frozen=True, slots=True, eq=False)
class _Lost:
    """An edge with an allowance: how far along its places lie, and what each of them has lost of it, mm.

    `corners` is how far its two corners reach along it, mm.
    """

    piece: Piece
    edge: Edge
    along: Floats
    lost: Floats
    corners: tuple[float, float]

    def at(self, along: float) -> float:
        """What is lost so far along the edge, mm."""
        return float(np.interp(along, self.along, self.lost))

    @property
    def most(self) -> float:
        """What is lost away from both corners, mm."""
        at_start, at_end = self.corners
        inner = (self.along > at_start) & (self.along[-1] - self.along > at_end)
        return float(np.max(self.lost, where=inner, initial=0.0))

    @property
    def floating(self) -> list[Notch]:
        """The edge's notches that lie where its cloth is cut away."""
        own = (notch for notch in self.piece.notches if notch.edge == self.edge.name)
        return [notch for notch in own if self.at(notch.along) > LOST_MM]


def _lost(case: Case, piece: Piece) -> Iterator[_Lost]:
    runs = {edge.name: _run(case, piece, edge) for edge in piece.edges}
    names = [edge.name for edge in piece.edges]
    for name, lost in allowance_lost(piece, {name: (places, out) for name, (_, places, out) in runs.items()}).items():
        along, places, out = runs[name]
        width, place = allowance_of(piece.edge(name)), names.index(name)
        before, after = (runs[names[i % len(names)]] for i in (place - 1, place + 1))
        corners = (
            _reach(_chord(*before[:2], 0.0, True), _chord(along, places, width, False), width),
            _reach(_chord(along, places, width, True), _chord(*after[:2], 0.0, False), width),
        )
        found = _Lost(piece, piece.edge(name), along, lost, corners)
        faulty = found.most > LOST_MM or found.floating
        yield replace(found, lost=_not_given_back(found, places, out)) if faulty else found


def _chord(along: Floats, places: Floats, width: float, at_end: bool) -> Floats:
    """From a corner to the place on the edge one width away, or to the next place, (2,)."""
    if at_end:
        return np.asarray(places[(np.searchsorted(along, along[-1] - width)).clip(0, len(along) - 2)] - places[-1])
    return np.asarray(places[np.searchsorted(along, width).clip(1, len(along) - 1)] - places[0])


def _reach(into: Floats, out: Floats, width: float) -> float:
    """How far along its edge a corner reaches, mm: by the edge's chord over a width and the way its neighbour leaves.

    An edge that hooks at its corner slants there alone, and not over its width.

    Worked case (15 mm allowance, 55 degrees between the chords): 15 / tan 55 = 10.5 mm, more than half of 15.
    """
    across = abs(float(into[0] * out[1] - into[1] * out[0]))
    return width * max(CORNER_SHARE, float(into @ out) / max(across, 1e-9))


def _run(case: Case, piece: Piece, edge: Edge) -> tuple[Floats, Floats, Floats]:
    """Places of an edge in order, each once: mm along, points (m, 2), unit normals outwards."""
    place = case.spread.place(piece.name, edge.name)
    points, out = (_each_once(values[place]) for values in (case.shape.points, case.shape.outward))
    moving = ~np.isnan(out[:, 0])
    points, out = points[moving], out[moving]
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
    return along, points, out


def _each_once(found: Floats) -> Floats:
    """The rows of an edge (n, p, 2) in order, the knots its spans share only once."""
    return np.concatenate((found[:, :-1].reshape(-1, 2), found[-1:, -1]))


def _not_given_back(found: _Lost, places: Floats, out: Floats) -> Floats:
    """What an end takes off and no neighbour's allowance gives back: seen on the cut line itself."""
    beyond = places + (allowance_of(found.edge) - LOST_MM) * out
    try:
        return np.where(cloth_reaches(found.piece, beyond), 0.0, found.lost)
    except BadStyle:
        # An outline that crosses itself has no cut line; the check of outlines says so.
        return found.lost


def _allowances(lost: list[_Lost]) -> Finding:
    worst = max(lost, key=lambda found: found.most, default=None)
    name = "cut line at its distance from the stitching line"
    good = "Every edge keeps its allowance up to its corners."
    if worst is None:
        return within("allowance", name, 0.0, LOST_MM, (), (good, ""))
    place = edge_title(worst.piece, worst.edge.name)
    bad = f"At a corner {mm(worst.most)} of the allowance of the {place} are cut away: draw its end less slanting."
    return within("allowance", name, worst.most, LOST_MM, (worst.piece.name,), (good, bad))


def _notches(lost: list[_Lost]) -> Finding:
    found = [(edge.piece, notch) for edge in lost for notch in edge.floating]
    titles = (f"{notch.name.replace('_', ' ')} on the {edge_title(piece, notch.edge)}" for piece, notch in found)
    names = ", ".join(titles)
    said = ("Every notch lies on the cloth.", f"Not on the cloth: {names}. Draw the end of the edge less slanting.")
    pieces = once(piece.name for piece, _ in found)
    return within("notch_cloth", "notches on the cloth", len(found), 0.0, pieces, said, "count")
