"""Surveyed torsos through chart, plan and alteration: the taped girths are the ordered ones.

150 torsos of a parametric body model measured as a tape would (generated with the package anny, body data CC0);
shapes, not people.  The table is looked for in the folder named by the environment variable COUTIL_DATA, else in
../shared/data beside the repository.
"""

from __future__ import annotations

import os
import random
from functools import cache
from pathlib import Path

import pytest

from coutil.alter import Alteration, GirthOrder, Wishes
from coutil.job import nearest_sizes
from coutil.measure import Chart
from coutil.pattern import find_faults, girth, measure_style, seam_lengths
from helpers.altering import LONG, alterer_of, survey_charts

REPOSITORY = Path(__file__).parents[2]
SURVEY = Path(os.environ.get("COUTIL_DATA", REPOSITORY.parent / "shared" / "data")) / "bodies.csv"
HANDFUL = 8
FIXED = 1911


@cache
def bodies() -> tuple[Chart, ...]:
    if not SURVEY.is_file():
        return ()
    charts = survey_charts(SURVEY)
    return tuple(charts if LONG else random.Random(FIXED).sample(charts, HANDFUL))


@cache
def altered(index: int) -> Alteration:
    chart = bodies()[index]
    return alterer_of(*nearest_sizes(chart)[0]).alter(chart, Wishes())


def body(index: int) -> Alteration:
    if not bodies():
        pytest.skip("the table of surveyed torsos is not here; name its folder in COUTIL_DATA to run this")
    return altered(index)


EVERY = pytest.mark.parametrize("index", range(len(bodies()) or 1))


@EVERY
def test_every_row_that_must_hold_is_held(index: int) -> None:
    outcome = body(index)
    assert outcome.residual <= 1e-6
    assert outcome.conflicts == ()
    assert list(find_faults(outcome.style)) == []
    for seam in outcome.style.seams:
        total = seam_lengths(outcome.style, seam).total
        assert total.b - total.a == pytest.approx(seam.ease, abs=1e-4), seam.name


@EVERY
def test_taped_girths_are_the_ordered_ones_within_a_millimetre(index: int) -> None:
    outcome = body(index)
    assert {order.level for order in outcome.plan.girths} >= {"bust", "underbust", "waist", "high_hip"}
    for order in outcome.plan.girths:
        found = girth(outcome.style, order.level)
        missing = declared(outcome, order)
        assert found.full + missing == pytest.approx(order.garment, abs=1.0), order.level


def declared(outcome: Alteration, order: GirthOrder) -> float:
    """What the plan says is still missing at a level, full mm."""
    stem = outcome.style.level(order.level).measure
    keys = {f"{stem}_front", f"{stem}_back", f"{stem}_reduction"}
    return sum(row.remainder for row in outcome.plan.rows if row.measurement in keys)


@EVERY
def test_ordered_girths_follow_from_the_body(index: int) -> None:
    """Garment = body + ease - reduction - gaps, and where the body was taped there is no ease to speak of.

    The survey's high hip lies 10 cm below its waist, the style's at 4 cm: that girth is interpolated, so the body
    it is judged by is the plan's own.
    """
    outcome, chart = body(index), bodies()[index]
    for order in outcome.plan.girths:
        assert order.garment == pytest.approx(order.body + order.ease - order.reduction - order.gap, abs=1e-6)
        if order.level in ("bust", "underbust", "waist"):
            assert order.body == chart[f"{order.level}_girth"]
            assert abs(order.ease) <= 0.5, order.level


@EVERY
def test_the_bust_lies_where_it_does_on_the_body(index: int) -> None:
    """Separation and underbust height are met; the cup's depth too, or what is missing is declared."""
    outcome, chart = body(index), bodies()[index]
    found = measure_style(outcome.style)
    assert found["bust_point_separation"] == pytest.approx(chart["bust_point_separation"], abs=0.5)
    assert found["underbust_to_waist"] == pytest.approx(chart["underbust_to_waist"], abs=0.5)
    row = outcome.plan.row("cup_depth")
    missing = 0.0 if row is None else row.remainder
    wanted = chart["bust_point_to_underbust"]
    assert found["bust_point_to_underbust"] + missing == pytest.approx(wanted, abs=0.5)
