"""An alteration leads from chart to chart: nothing for nothing, there and back, and where a draft would be."""

from __future__ import annotations

import pytest
from alter_samples import alterer, drafted, largest_shift

from coutil.alter import Wishes, alter
from coutil.draft import base_chart
from coutil.pattern import measure_style

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
