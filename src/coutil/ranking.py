"""Which base fits a client best: by how much each would have to change.

The energy is that of the solve, taken anew from the curves before and after: for every edge the integral along it of
1e4 mm2 |u''|2 + |u'|2, u the displacement, with the weights of seams 1, of cradle and free edges 0.1, of straight
edges 0.001.  It grows with what is bent or stretched; a piece that is merely shifted costs nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from coutil.alter import Alteration, Alterer, PlanRow, Wishes
from coutil.curves import Curve
from coutil.errors import CoutilError
from coutil.measure import Chart
from coutil.pattern import Edge, Role, Style

BENDING_MM2 = 1e4
SOFT_ROLES = frozenset({Role.CRADLE, Role.NECKLINE, Role.ARMHOLE, Role.TOP, Role.HEM})
SOFT, STRAIGHT = 0.1, 0.001
# Three points are exact for the squares of a cubic's derivatives.
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(3)


@dataclass(frozen=True, slots=True)
class Ranked:
    """One base: how much it changes (energy, mm), its largest row, what goes beyond the caps, and why in words.

    `refused` is the sentence with which the base could not be altered at all; then everything else is empty.
    """

    name: str
    title: str
    energy: float
    largest: PlanRow | None
    warnings: tuple[str, ...]
    conflicts: int
    reason: str
    refused: str = ""


def rank_bases(
    client: Chart, bases: Iterable[tuple[str, Style]], wishes: Wishes, report: Callable[[str], None] | None = None
) -> tuple[Ranked, ...]:
    """Every base altered to the client, the one that changes least first; what goes beyond the caps comes after.

    `report` is told each name before it is worked on.
    """
    ranked = []
    for name, base in bases:
        if report is not None:
            report(name)
        ranked.append(_ranked(name, base, client, wishes))
    return tuple(sorted(ranked, key=_order))


def _order(found: Ranked) -> tuple[bool, bool, bool, float]:
    return bool(found.refused), found.conflicts > 0, bool(found.warnings), found.energy


def _ranked(name: str, base: Style, client: Chart, wishes: Wishes) -> Ranked:
    try:
        alteration = Alterer(base).alter(client, wishes)
    except CoutilError as error:
        sentence = str(error)
        return Ranked(name, base.title, float("inf"), None, (), 0, "cannot be altered to this chart", sentence)
    plan = alteration.plan
    largest = max(plan.rows, key=lambda row: abs(row.amount), default=None)
    warnings = _warnings(alteration)
    energy = change_energy(alteration.base, alteration.style)
    conflicts = len(alteration.conflicts)
    return Ranked(name, base.title, energy, largest, warnings, conflicts, _reason(largest, warnings, conflicts))


def _warnings(alteration: Alteration) -> tuple[str, ...]:
    return tuple(dict.fromkeys(warning for row in alteration.plan.rows for warning in row.warnings))


def _reason(largest: PlanRow | None, warnings: tuple[str, ...], conflicts: int) -> str:
    if largest is None:
        return "nothing has to change"
    told = f"most at {largest.title[:1].lower()}{largest.title[1:]}: {largest.amount:+.1f} mm on the half"
    if conflicts:
        told += "; some wishes cannot both be kept"
    return told + (f"; beyond the caps: {warnings[0]}" if warnings else "; nothing beyond the caps")


def change_energy(before: Style, after: Style) -> float:
    """What altering bends and stretches, mm, over all stored pieces; the two styles have the same edges and knots."""
    return sum(
        _stiffness(edge) * _edge_energy(edge.curve, after.piece(piece.name).edge(edge.name).curve)
        for piece in before.pieces
        for edge in piece.edges
    )


def _stiffness(edge: Edge) -> float:
    if edge.straight:
        return STRAIGHT
    return SOFT if edge.role in SOFT_ROLES else 1.0


def _edge_energy(before: Curve, after: Curve) -> float:
    """Half the integral, along the edge as it was, of the displacement's squared derivatives by its parameter."""
    widths = np.diff(before.parameters)[:, None, None]
    moved = after.spans - before.spans
    first, second = np.diff(moved, axis=1), np.diff(moved, n=2, axis=1)
    t = ((_NODES + 1) / 2)[None, :, None]
    slope = 3 * ((1 - t) ** 2 * first[:, 0:1] + 2 * (1 - t) * t * first[:, 1:2] + t**2 * first[:, 2:3]) / widths
    bend = 6 * ((1 - t) * second[:, 0:1] + t * second[:, 1:2]) / widths**2
    density = BENDING_MM2 * (bend**2).sum(axis=2) + (slope**2).sum(axis=2)
    return float(0.5 * (density * (_WEIGHTS / 2)[None] * widths[:, :, 0]).sum())
