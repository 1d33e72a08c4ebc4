"""Which base fits a client best: by how much each would have to change.

The energy is that of the solve, taken anew from the curves before and after: for every edge the integral along it of
1e4 mm2 |u''|2 + |u'|2, u the displacement, with the weights of seams 1, of cradle and free edges 0.1, of straight
edges 0.001.  It grows with what is bent or stretched; a piece that is merely shifted costs nothing.

All are compared for one garment.  A base whose chart is what it measures itself says nothing of how far it laces in:
it is ranked as if it did so by as much of the waist as the other bases do, or as is ordered.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from statistics import median

import numpy as np

from coutil.alter import Alteration, Alterer, PlanRow, Wishes
from coutil.curves import Curve
from coutil.errors import CoutilError
from coutil.measure import Chart
from coutil.pattern import Edge, Role, Style

BENDING_MM2 = 1e4
SOFT_ROLES = frozenset({Role.CRADLE, Role.NECKLINE, Role.ARMHOLE, Role.TOP, Role.HEM})
SOFT, STRAIGHT = 0.1, 0.001
# Bases that lace in by parts of the waist this near to each other lace in alike.
ALIKE = 0.005
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
    named = list(bases)
    order = _one_garment([base for _, base in named], client, wishes)
    ranked = []
    for name, base in named:
        if report is not None:
            report(name)
        ranked.append(_ranked(name, base, client, order))
    return tuple(sorted(ranked, key=_order))


def is_reduction_known(base: Style) -> bool:
    """Whether the base says how far it laces in: not where its chart's waist is what the pattern itself measures."""
    return base.base_fit.reduction != 0.0 or not base.base_chart.estimated("waist_girth")


def drafted_for(base: Style, share: float) -> Style:
    """The base as if drafted for a body that it laces in by that part of its waist; its lines are the same.

    Worked case (laced waist 648, a tenth): body 648 / 0.9 = 720, reduction 72, half of it in front.
    """
    chart = base.base_chart
    reduction = chart["waist_girth"] * share / (1.0 - share)
    for key, part in (("waist_girth", 1.0), ("waist_front", 0.5)):
        if key in chart:
            chart = chart.with_value(key, chart[key] + part * reduction, "estimated")
    return replace(base, base_chart=chart, base_fit=replace(base.base_fit, reduction=reduction))


@dataclass(frozen=True, slots=True)
class _Order:
    """What every base is altered to; `share` is the part of the waist that is laced in, where anything tells it."""

    wishes: Wishes
    share: float | None


def _one_garment(bases: list[Style], client: Chart, wishes: Wishes) -> _Order:
    """The wishes, and the reduction usual among the bases that know theirs, or else the ordered one."""
    waist = client.get("waist_girth")
    shares = [
        base.base_fit.reduction / base.base_chart["waist_girth"]
        for base in bases
        if base.base_chart.get("waist_girth") and is_reduction_known(base)
    ]
    if not shares or not waist:
        return _Order(wishes, wishes.reduction / waist if wishes.reduction is not None and waist else None)
    usual = median(shares)
    if wishes.reduction is None and max(shares) - min(shares) > ALIKE:
        return _Order(replace(wishes, reduction=usual * waist), usual)
    return _Order(wishes, usual)


def _order(found: Ranked) -> tuple[bool, bool, bool, float]:
    return bool(found.refused), found.conflicts > 0, bool(found.warnings), found.energy


def _ranked(name: str, base: Style, client: Chart, order: _Order) -> Ranked:
    unknown = "waist_girth" in base.base_chart and not is_reduction_known(base)
    assumed = order.share if unknown and order.share is not None and 0.0 < order.share < 1.0 else None
    try:
        drafted = base if assumed is None else drafted_for(base, assumed)
        alteration = Alterer(drafted).alter(client, order.wishes)
    except CoutilError as error:
        sentence = str(error)
        return Ranked(name, base.title, float("inf"), None, (), 0, "cannot be altered to this chart", sentence)
    plan = alteration.plan
    largest = max(plan.rows, key=lambda row: abs(row.amount), default=None)
    warnings = _warnings(alteration)
    energy = change_energy(alteration.base, alteration.style)
    conflicts = len(alteration.conflicts)
    reason = _reason(largest, warnings, conflicts) + _assumed(assumed)
    return Ranked(name, base.title, energy, largest, warnings, conflicts, reason)


def _assumed(share: float | None) -> str:
    """What was taken for granted about a base that does not say how far it laces in."""
    if share is None:
        return ""
    return f"; taken to lace in by {100 * share:.0f} % as its own reduction is not known: state it before altering"


def _warnings(alteration: Alteration) -> tuple[str, ...]:
    return tuple(dict.fromkeys(warning for row in alteration.plan.rows for warning in row.warnings))


def _reason(largest: PlanRow | None, warnings: tuple[str, ...], conflicts: int) -> str:
    if largest is None:
        return "nothing has to change"
    told = f"most at {largest.title[:1].lower()}{largest.title[1:]}: {largest.amount:+.1f} mm on the half"
    if conflicts:
        told += "; some wishes cannot both be kept"
    return told + (f"; beyond the caps: {warnings[0].rstrip('.')}" if warnings else "; nothing beyond the caps")


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
