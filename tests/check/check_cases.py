"""Styles, plans and questions shared by the tests of the checks."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from coutil.alter import GirthOrder, Plan, PlanRow, State
from coutil.check import Finding, Verdict, check_style
from coutil.draft import base_chart, draft_cupped
from coutil.pattern import Style
from helpers.tubes import tube_style


@cache
def cupped() -> Style:
    return draft_cupped(base_chart(80, 14))


@cache
def cylinder() -> Style:
    """Four panels a half, 600 all the way: every check that has something to look at passes."""
    return tube_style(4)


def found(style: Style, code: str, **given: object) -> tuple[Finding, ...]:
    """The findings of one check."""
    return tuple(f for f in check_style(style, **given) if f.code == code)  # type: ignore[arg-type]


def verdicts(style: Style, code: str, **given: object) -> set[Verdict]:
    """The verdicts of one check; fails where it gave no line at all."""
    lines = found(style, code, **given)
    assert lines, f"no line for {code}"
    return {line.verdict for line in lines}


def worst(style: Style, code: str, **given: object) -> Finding:
    """The finding of one check whose figure is largest."""
    return max(found(style, code, **given), key=lambda f: abs(f.figure))


def plan_for(style: Style, *rows: PlanRow, **targets: float) -> Plan:
    """A plan that orders what the tube's chart says, with rows and targets added."""
    fit, chart = style.base_fit, style.base_chart
    orders = []
    for level in style.levels:
        body = chart[f"{level.measure}_girth"]
        pulled = fit.reduction if level.measure == "waist" else 0.0
        garment = body - pulled - fit.lacing_gap
        orders.append(GirthOrder(level.name, body, 0.0, pulled, fit.lacing_gap, garment / 2, garment / 2))
    return Plan(rows, tuple(orders), targets, fit.reduction, fit.lacing_gap, fit.closure_gap)


def plan_row(key: str, measurement: str, remainder: float = 0.0, amount: float = 5.0) -> PlanRow:
    return PlanRow(
        key, "curves", key.capitalize(), measurement, 0.0, 5.0, 5.0, 5.0, amount, (), "", remainder=remainder
    )


def left(row: PlanRow) -> PlanRow:
    return replace(row, state=State.LEFT, amount=0.0, why="the client likes it so")
