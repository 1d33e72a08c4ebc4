"""Base and client side by side: body, fit and garment columns for every level and every length.

Garment = body + ease - reduction - lacing gap - closure gap.  Differences are taken between garments, so whatever
ease the base carries, measured off it with the tape, the client's garment carries too.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from coutil.alter._plan import GirthOrder, Wishes
from coutil.errors import BadInput
from coutil.measure import REDUCTION_MOST, Chart, complete_chart
from coutil.pattern import Level, Style, girth, measure_style


@dataclass(frozen=True, slots=True)
class LevelDifference:
    """What one level's garment girth changes by, full mm, front and back, reduction apart."""

    level: Level
    base_body: float
    client_body: float
    base_front: float
    base_back: float
    front: float
    back: float
    estimated: bool


@dataclass(frozen=True, slots=True)
class Differences:
    """Everything that differs, before it is shared."""

    base: Style
    client: Chart
    levels: tuple[LevelDifference, ...]
    base_measures: Mapping[str, float]
    reduction: float
    base_reduction: float
    lacing_gap: float
    closure_gap: float
    sentences: tuple[str, ...]

    def value(self, key: str) -> tuple[float, float] | None:
        """(base, client) of a length where both are known, mm."""
        client = self.client.get(key)
        base = self.base.base_chart.get(key)
        if base is None:
            base = self.base_measures.get(key)
        return None if client is None or base is None else (base, client)

    def level(self, name: str) -> LevelDifference | None:
        """The difference at that level, or None where it is not measured."""
        return next((found for found in self.levels if found.level.name == name), None)


def find_differences(base: Style, client: Chart, wishes: Wishes) -> Differences:
    """Complete the client's chart from the base's and take the differences between the garments.

    Raises BadInput where a needed reading is missing on either side.
    """
    depths = {level.measure: level.depth for level in base.levels if level.measure is not None}
    completed = complete_chart(client, base.base_chart, depths)
    chart = completed.chart
    fit = base.base_fit
    gap = fit.lacing_gap if wishes.lacing_gap is None else wishes.lacing_gap
    closure = fit.closure_gap if wishes.closure_gap is None else wishes.closure_gap
    base_reduction = measured_reduction(base)
    reduction = _client_reduction(base, chart, wishes, base_reduction)
    levels = tuple(
        _level_difference(base, chart, level, gap, closure) for level in base.levels if _is_measured(base, chart, level)
    )
    return Differences(
        base,
        chart,
        levels,
        measure_style(base),
        reduction,
        base_reduction,
        gap,
        closure,
        completed.sentences,
    )


def measured_reduction(base: Style) -> float:
    """Reduction of the base, full mm: its chart's waist less what it laces to inside, measured off the pattern."""
    waist = _waist(base)
    if waist is None:
        return 0.0
    fit = base.base_fit
    laced = girth(base, waist.name).full + fit.lacing_gap + fit.closure_gap
    return base.base_chart["waist_girth"] + fit.ease.get("waist", 0.0) - laced


def _waist(style: Style) -> Level | None:
    return next((level for level in style.levels if level.measure == "waist"), None)


def _client_reduction(base: Style, chart: Chart, wishes: Wishes, base_reduction: float) -> float:
    """As ordered, or the smallest of the base's share of this client's waist, 100 mm and what the pulled tape shows.

    Worked case: base 72 off 720, a tenth; a waist of 660 that can be pulled to 595 takes 65, not 66.
    """
    if wishes.reduction is not None:
        return wishes.reduction
    if _waist(base) is None:
        return 0.0
    waist, pulled = chart["waist_girth"], chart.get("waist_girth_compressed")
    share = base_reduction / base.base_chart["waist_girth"] * waist
    return min(share, max(REDUCTION_MOST, base_reduction), math.inf if pulled is None else max(waist - pulled, 0.0))


def _is_measured(base: Style, chart: Chart, level: Level) -> bool:
    if level.measure is None:
        return False
    key = f"{level.measure}_girth"
    known = (key in base.base_chart, key in chart)
    if level.depth == 0.0 and not all(known):
        whose = "client's" if known[0] else "base's"
        raise BadInput(f"the {whose} chart has no {key}: measure the waist, everything else is counted from it")
    return all(known)


def _level_difference(base: Style, chart: Chart, level: Level, gap: float, closure: float) -> LevelDifference:
    stem = level.measure
    own = base.base_chart
    base_girth, client_girth = own[f"{stem}_girth"], chart[f"{stem}_girth"]
    base_front, client_front = own[f"{stem}_front"], chart[f"{stem}_front"]
    garment = girth(base, level.name)
    front = client_front - base_front - (closure - base.base_fit.closure_gap)
    back = (client_girth - client_front) - (base_girth - base_front) - (gap - base.base_fit.lacing_gap)
    return LevelDifference(
        level,
        base_girth,
        client_girth,
        garment.front,
        garment.back,
        front,
        back,
        chart.estimated(f"{stem}_girth") or chart.estimated(f"{stem}_front"),
    )


def girth_order(found: Differences, level: LevelDifference, reduced_front: float, reduced_back: float) -> GirthOrder:
    """What the pieces must add up to at a level; `reduced_*` is the change of reduction taken there, full mm."""
    at_waist = level.level.measure == "waist"
    reduction = found.reduction if at_waist else 0.0
    gap = found.lacing_gap + found.closure_gap
    front = level.base_front + level.front - reduced_front
    back = level.base_back + level.back - reduced_back
    ease = front + back + reduction + gap - level.client_body
    return GirthOrder(level.level.name, level.client_body, ease, reduction, gap, front, back)
