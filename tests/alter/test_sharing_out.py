"""Sharing one amount over edges in the workroom's step: the total stays exact and sewn edges round alike."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coutil.alter import Wishes
from coutil.alter._differences import find_differences
from coutil.alter._planning import make_plan
from coutil.alter._sharing import share_out
from coutil.pattern import EdgeShare
from coutil.shipped import shipped_base
from helpers.altering import client_of, everywhere
from helpers.whole import whole_style


def edges(*weights: float) -> list[EdgeShare]:
    return [EdgeShare(f"piece {i}", "seam", weight) for i, weight in enumerate(weights)]


def test_fifteen_over_eight_edges() -> None:
    """15 / 8 = 1.875; thirty half millimetres: six edges take four, two take three (common practice, no source)."""
    found = [p.amount for p in share_out(15.0, edges(*[1.0] * 8), 0.5)]
    assert Counter(found) == {2.0: 6, 1.5: 2}
    assert sum(found) == 15.0


def test_what_no_step_can_hold_goes_to_the_last_of_the_heaviest() -> None:
    """10.3 over weights 1, 2, 2, 1 in whole mm: 1.72, 3.43, 3.43, 1.72 -> 2, 3, 3, 2 and the 0.3 at the third edge."""
    found = [p.amount for p in share_out(10.3, edges(1, 2, 2, 1), 1.0)]
    assert found == pytest.approx([2.0, 3.0, 3.3, 2.0], abs=1e-12)


def test_taking_in_mirrors_letting_out() -> None:
    out, taken = share_out(7.3, edges(1, 2, 3), 0.5), share_out(-7.3, edges(1, 2, 3), 0.5)
    assert [p.amount for p in taken] == [-p.amount for p in out]


def test_nothing_to_share_and_edges_without_weight() -> None:
    assert share_out(0.0, edges(1, 1), 0.5) == ()
    assert share_out(5.0, edges(0, 0), 0.5) == ()
    assert [p.piece for p in share_out(5.0, edges(0, 1), 0.5)] == ["piece 1"]


@given(
    st.floats(-80, 80).filter(lambda v: abs(v) > 1e-6),
    st.lists(st.sampled_from([0.5, 1.0, 2.0]), min_size=1, max_size=8),
    st.sampled_from([0.5, 1.0]),
)
def test_totals_are_exact_and_nobody_is_off_by_more_than_a_step(
    total: float, weights: list[float], step: float
) -> None:
    found = share_out(total, edges(*weights), step)
    assert sum(p.amount for p in found) == pytest.approx(total, abs=1e-9)
    heaviest = max(i for i, w in enumerate(weights) if w == max(weights))
    for i, (portion, weight) in enumerate(zip(found, weights, strict=True)):
        if i != heaviest:
            ideal = total * weight / sum(weights)
            assert abs(portion.amount - ideal) <= step + 1e-6
            assert abs(portion.amount / step - round(portion.amount / step)) <= 1e-9


@given(st.floats(-60, 60).filter(lambda v: abs(v) > 1e-6), st.sampled_from([0.5, 1.0]))
def test_mates_take_alike(total: float, step: float) -> None:
    """Two pairs of mates and an odd, heavier edge that takes the rest."""
    found = [p.amount for p in share_out(total, edges(1, 1, 1, 1, 2), step, ((0, 1), (2, 3)))]
    assert found[0] == found[1]
    assert found[2] == found[3]
    assert sum(found) == pytest.approx(total, abs=1e-9)


def test_the_last_correction_lies_at_the_side_seam() -> None:
    """-7.4 over side 1, panel seam 1 and its mate 0.5: 2.96, 2.96 and 1.48; in whole mm 3, 3 and 1, and 0.4 remain."""
    shares = (
        EdgeShare("side_back", "side_seam", 1.0),
        EdgeShare("side_back", "panel_seam", 1.0),
        EdgeShare("centre_back", "panel_seam", 0.5),
    )
    portions = share_out(-7.4, shares, 1.0, mates=((1, 2),))
    assert [portion.amount for portion in portions] == pytest.approx([-3.4, -3.0, -1.0])


def test_a_whole_patterns_side_seams_take_their_own_sides_part() -> None:
    """40 mm more all round, 20 of it in front: 10 at each side seam's front, whether one side is stored or both."""
    half = shipped_base("waist-72")
    wider = {key: mm for key, mm in everywhere(40.0, 20.0).items() if key in half.base_chart}
    client = client_of(half, **wider)
    plans = [make_plan(find_differences(base, client, Wishes()), Wishes()) for base in (half, whole_style(half))]
    for key in ("side_front", "side_back"):
        amounts = [move.amount for plan in plans for move in plan.row(key).moves]
        assert amounts == pytest.approx([10.0] * len(amounts))
    assert len(plans[1].row("side_front").moves) == 2 * len(plans[0].row("side_front").moves)
    assert not plans[1].row("curves_waist_front")
