"""Checks of a whole style: both sides by their own readings, and nothing that a half would not be told."""

from __future__ import annotations

from dataclasses import replace

import pytest
from check_cases import cupped, found

from coutil.check import Verdict, check_style
from coutil.pattern import Style
from helpers.whole import whole_style


@pytest.fixture(scope="module")
def whole() -> Style:
    return whole_style(cupped())


def test_a_half_made_whole_passes_every_check_that_the_half_passes(whole: Style) -> None:
    assert {f.verdict for f in check_style(cupped())} == {Verdict.PASS}
    assert [f for f in check_style(whole) if f.verdict is not Verdict.PASS] == []


def test_each_side_is_held_to_its_own_reading(whole: Style) -> None:
    """The cup depth is 78 on both sides; the left breast needs 79, the right one 70, the mean of both is 74.5."""
    depth = "bust_point_to_underbust"
    chart = whole.base_chart.with_value(f"{depth}_left", 79.0).with_value(f"{depth}_right", 70.0)
    lines = {f.name: f for f in found(replace(whole, base_chart=chart), "distance")}
    assert lines["cup depth, left"].figure == pytest.approx(-1.0, abs=1e-6)
    assert lines["cup depth, right"].figure == pytest.approx(8.0, abs=1e-6)
    assert lines["cup depth"].figure == pytest.approx(3.5, abs=1e-6)
