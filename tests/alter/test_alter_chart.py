"""An alteration leads from chart to chart: nothing for nothing, there and back, and where a draft would be."""

from __future__ import annotations

import pytest
from alter_samples import alterer, drafted, largest_shift

from coutil.alter import Wishes, alter
from coutil.draft import base_chart
from coutil.pattern import measure_style
from coutil.shipped import shipped_base

PAIRS = [((85, 14), (90, 18)), ((75, 14), (80, 10)), ((95, 18), (90, 18))]
TAKE = Wishes(take_heights=True)


def test_the_bases_own_chart_changes_nothing() -> None:
    outcome = alterer().alter(drafted().base_chart)
    assert outcome.plan.rows == ()
    assert outcome.conflicts == ()
    assert largest_shift(drafted(), outcome.style) <= 1e-6


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_there_and_back_measures_what_it_measured(one: tuple[int, int], other: tuple[int, int]) -> None:
    there = alterer(*one).alter(base_chart(*other), TAKE)
    back = alter(there.style, base_chart(*one), TAKE)
    before, after = measure_style(drafted(*one)), measure_style(back.style)
    for key in drafted(*one).base_chart.readings:
        assert after[key] == pytest.approx(before[key], abs=0.5), key
    assert there.residual <= 1e-6
    assert back.residual <= 1e-6


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_an_alteration_measures_what_a_draft_for_the_same_chart_measures(
    one: tuple[int, int], other: tuple[int, int]
) -> None:
    outcome = alterer(*one).alter(base_chart(*other), TAKE)
    found, wanted = measure_style(outcome.style), measure_style(drafted(*other))
    keys = set(base_chart(*other).readings)
    assert len(keys) == 22
    for key in keys:
        assert found[key] == pytest.approx(wanted[key], abs=0.1), key


@pytest.mark.parametrize(
    ("waist", "pulled", "expected"),
    [
        (660.0, None, 66.0),  # A tenth, as in the base: 72 off 720.
        (660.0, 595.0, 65.0),  # The tape can be pulled in by 65.
        (1040.0, None, 100.0),  # A tenth would be 104.
        (760.0, 684.0, 76.0),
        (760.0, 770.0, 0.0),  # A waist that does not give at all.
    ],
)
def test_an_unanswered_reduction_is_no_more_than_she_bears(waist: float, pulled: float | None, expected: float) -> None:
    base = shipped_base("76-14")
    assert base.base_chart["waist_girth"] == 720.0
    chart = base.base_chart.with_value("waist_girth", waist)
    chart = chart if pulled is None else chart.with_value("waist_girth_compressed", pulled)
    plan = alter(base, chart, Wishes()).plan
    assert plan.reduction == pytest.approx(expected, abs=0.01)
    ordered = alter(base, chart, Wishes(reduction=90.0)).plan
    assert ordered.reduction == 90.0
