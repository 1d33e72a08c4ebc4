"""An alteration leads from chart to chart: to its own chart nothing moves, there and back it measures what it did,
and what it measures is what a draft for that chart would.

A handful of neighbouring sizes; with COUTIL_LONG_TESTS=1 every size and every pair of neighbours.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from coutil.alter import Alteration, Wishes, alter
from coutil.draft import CUPS_CM, UNDERBUSTS_CM
from coutil.pattern import measure_style
from helpers.altering import LONG, Size, alterer_of, base_of, client_of, most_moved

TAKE = Wishes(take_heights=True)
SIZES: list[Size] = [(under, cup) for under in UNDERBUSTS_CM for cup in CUPS_CM]
NEIGHBOURS = [
    (one, other)
    for one in SIZES
    for other in SIZES
    if one != other and abs(one[0] - other[0]) <= 5 and abs(one[1] - other[1]) <= 4
]
FEW_SIZES: list[Size] = [(65, 10), (65, 22), (75, 14), (85, 14), (90, 18), (105, 10), (105, 22)]
FEW_PAIRS: list[tuple[Size, Size]] = [
    ((85, 10), (90, 10)),
    ((70, 22), (70, 18)),
    ((100, 18), (95, 14)),
    ((95, 10), (100, 14)),
    ((65, 22), (70, 18)),
    ((105, 14), (100, 10)),
    ((80, 18), (75, 22)),
    ((95, 22), (100, 22)),
]
# Read off the pattern, but set by no reading of the bases' charts: they follow from the shape of the edges.
FREE = frozenset({"top_edge_run", "bust_point_to_centre_top"})

EVERY_SIZE = pytest.mark.parametrize("size", SIZES if LONG else FEW_SIZES)
EVERY_PAIR = pytest.mark.parametrize(("one", "other"), NEIGHBOURS if LONG else FEW_PAIRS)


@cache
def there(one: Size, other: Size) -> Alteration:
    # The other draft's own reduction: beyond a waist of 100 cm it is 100 mm, no tenth any more.
    wishes = replace(TAKE, reduction=base_of(*other).base_fit.reduction)
    return alterer_of(*one).alter(base_of(*other).base_chart, wishes)


@cache
def back(one: Size, other: Size) -> Alteration:
    return alter(there(one, other).style, base_of(*one).base_chart, TAKE)


def declared(outcome: Alteration, key: str) -> float:
    """What the plan says is still missing of a measured quantity, mm; cup depth counts for the way to the waist too."""
    names = {"bust_to_waist": "bust_point_to_underbust"}
    return sum(row.remainder for row in outcome.plan.rows if row.measurement == names.get(key, key))


@EVERY_SIZE
def test_to_its_own_chart_no_point_moves(size: Size) -> None:
    base = base_of(*size)
    for wishes in (Wishes(), TAKE):
        outcome = alterer_of(*size).alter(base.base_chart, wishes)
        assert outcome.plan.rows == ()
        assert outcome.conflicts == ()
        assert outcome.truing == ()
        assert most_moved(base, outcome.style) <= 1e-6
        assert measure_style(outcome.style) == pytest.approx(measure_style(base), abs=1e-6)


@EVERY_SIZE
def test_an_outcome_altered_to_its_own_client_stays_as_it_is(size: Size) -> None:
    """The client's pattern is a base like any other: its own chart changes nothing."""
    chart = client_of(base_of(*size), bust_point_separation=8.0, waist_girth=-12.0, waist_front=-6.0)
    first = alterer_of(*size).alter(chart, TAKE)
    again = alter(first.style, first.style.base_chart, TAKE)
    assert most_moved(first.style, again.style) <= 1e-3
    assert all(abs(row.amount) <= 1e-3 for row in again.plan.rows)


@EVERY_PAIR
def test_there_and_back_measures_the_same(one: Size, other: Size) -> None:
    outcome = back(one, other)
    assert there(one, other).residual <= 1e-6
    assert outcome.residual <= 1e-6
    before, after = measure_style(base_of(*one)), measure_style(outcome.style)
    assert set(after) == set(before)
    for key in sorted(set(before) - {"top_edge_run"}):
        assert after[key] + declared(outcome, key) == pytest.approx(before[key], abs=0.5), key


@EVERY_PAIR
def test_an_alteration_measures_what_a_draft_measures(one: Size, other: Size) -> None:
    outcome = there(one, other)
    assert outcome.conflicts == ()
    found, wanted = measure_style(outcome.style), measure_style(base_of(*other))
    assert set(found) == set(wanted)
    for key in sorted(set(wanted) - FREE):
        assert found[key] + declared(outcome, key) == pytest.approx(wanted[key], abs=0.2), key


@EVERY_PAIR
def test_fit_and_chart_are_brought_along(one: Size, other: Size) -> None:
    """The outcome is a base for its client: her chart, the reduction as ordered, the gap the base's."""
    style, base, client = there(one, other).style, base_of(*one), base_of(*other).base_chart
    assert style.base_chart["bust_girth"] == client["bust_girth"]
    assert style.base_fit.reduction == pytest.approx(base_of(*other).base_fit.reduction, abs=0.01)
    assert style.base_fit.lacing_gap == base.base_fit.lacing_gap


@pytest.mark.xfail(strict=True, reason="nothing holds the run of the top edge: after a change of cup it is 4 mm off")
def test_there_and_back_the_top_edge_runs_as_long() -> None:
    before, after = base_of(70, 22), back((70, 22), (70, 18)).style
    assert measure_style(after)["top_edge_run"] == pytest.approx(measure_style(before)["top_edge_run"], abs=0.5)


@pytest.mark.xfail(
    strict=True, reason="the bust level stays where it is above the waist, so another cup's centre top lies 4 mm off"
)
def test_the_centre_top_lies_as_far_from_the_bust_point_as_a_drafts() -> None:
    found, wanted = measure_style(there((70, 22), (70, 18)).style), measure_style(base_of(70, 18))
    assert found["centre_front_height"] == pytest.approx(wanted["centre_front_height"], abs=0.2)
    assert found["bust_point_to_centre_top"] == pytest.approx(wanted["bust_point_to_centre_top"], abs=0.5)
