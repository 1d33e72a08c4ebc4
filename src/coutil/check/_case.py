"""What is judged: a style on the table beside its base, its plan and the client's chart, measured once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from coutil.alter import Conflict, Plan, PlanRow, State
from coutil.check._shape import Shape, shape_of
from coutil.measure import Chart
from coutil.pattern import Piece, Spread, Style, measure_style, spread_out


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """One style to judge.

    `base`, `base_shape` and `base_measures` are None and empty where the style is judged by itself; `chart` is the
    client's, or the base's own.
    """

    spread: Spread
    shape: Shape
    measures: Mapping[str, float]
    base: Spread | None
    base_shape: Shape | None
    base_measures: Mapping[str, float]
    plan: Plan | None
    conflicts: tuple[Conflict, ...]
    chart: Chart

    @property
    def style(self) -> Style:
        """The style that is judged."""
        return self.spread.style

    @property
    def gaps(self) -> float:
        """Lacing gap and closure gap together, full mm."""
        if self.plan is not None:
            return self.plan.lacing_gap + self.plan.closure_gap
        fit = self.style.base_fit
        return fit.lacing_gap + fit.closure_gap

    def base_piece(self, piece: Piece) -> Piece | None:
        """The same piece of the base, or None."""
        if self.base is None:
            return None
        return next((p for p in self.base.style.pieces if p.name == piece.name), None)


def open_case(
    style: Style,
    base: Style | None = None,
    plan: Plan | None = None,
    conflicts: Sequence[Conflict] = (),
    chart: Chart | None = None,
) -> Case:
    """Lay a style out for judging; without a chart it is judged for the body it was drafted for."""
    spread = spread_out(style)
    below = None if base is None else spread_out(base)
    return Case(
        spread,
        shape_of(spread),
        measure_style(spread),
        below,
        None if below is None else shape_of(below),
        {} if below is None else measure_style(below),
        plan,
        tuple(conflicts),
        style.base_chart if chart is None else chart,
    )


def is_declared(case: Case, miss: float, *measurements: str) -> bool:
    """Whether a miss (has less wanted, mm) is what the plan says is still missing, within half a millimetre.

    What cannot both be kept may lie on either side; a row the maker overruled or left counts with what it leaves.
    """
    if case.plan is None:
        return False
    rows = [row for row in case.plan.rows if row.measurement in measurements]
    missing = sum(_rest(case, row) for row in rows)
    named = {row.key for row in rows}
    torn = sum(conflict.gap for conflict in case.conflicts if named & set(conflict.rows)) * case.style.sides
    if not missing and not torn:
        return False
    return abs(miss + missing) <= DECLARED_MM + 2 * torn


DECLARED_MM = 0.5


def _rest(case: Case, row: PlanRow) -> float:
    if row.remainder or row.state is State.COMPUTED:
        return row.remainder
    doubled = row.measurement.endswith(("_girth", "_front", "_back", "_reduction", "_separation"))
    sign = -1.0 if row.measurement.endswith("_reduction") else 1.0
    return sign * (row.wanted - row.amount) * (case.style.sides if doubled else 1)
