"""The greatest sound part of a change: what halving every part would find, with few solves."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coutil.alter._depth import PARTS, greatest_part
from coutil.alter._solve import Solution


def solution(z: float, is_met: bool = True) -> Solution:
    residual = 0.0 if is_met else 1.0
    return Solution(np.array([z]), residual, np.zeros(1), (), 1, 0.0, np.zeros(1))


class Change:
    """A pattern of one number that runs over a gentle curve as the change grows, sound up to `limit`."""

    def __init__(self, limit: float, bend: float) -> None:
        self.limit, self.bend, self.asked = limit, bend, 0

    def at(self, part: float) -> float:
        return float(part + self.bend * np.sin(2 * part))

    def solve(self, part: float, near: Solution | None) -> Solution:
        self.asked += 1
        return solution(self.at(part))

    def is_sound(self, one: Solution) -> bool:
        return bool(one.is_met and one.z[0] <= self.at(self.limit))


def halved(change: Change) -> int:
    """The same by solving every part on the way."""
    low, high = 0, PARTS
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if change.is_sound(solution(change.at(middle / PARTS))) else (low, middle)
    return low


@settings(max_examples=80, deadline=None)
@given(st.floats(0.0, 0.999), st.floats(-0.3, 0.3))
def test_it_ends_where_halving_every_part_ends(limit: float, bend: float) -> None:
    change = Change(limit, bend)
    part, found = greatest_part(solution(change.at(1.0)), change.solve, change.is_sound)
    assert abs(part * PARTS - halved(change)) <= 1
    assert change.is_sound(found) or part == 0.0
    assert change.asked <= 6


def test_a_third_of_a_straight_change() -> None:
    change = Change(1 / 3, 0.0)
    part, found = greatest_part(solution(1.0), change.solve, change.is_sound)
    # 85 of 256 parts are 0.332, 86 would be 0.336.
    assert part == 85 / 256
    assert found.z[0] == pytest.approx(85 / 256)
    assert change.asked == 2


def test_where_no_part_is_sound_nothing_of_the_change_is_made() -> None:
    part, found = greatest_part(solution(1.0), lambda part, near: solution(part), lambda one: False)
    assert (part, found.z[0]) == (0.0, 0.0)


def test_a_whole_change_that_cannot_be_met_is_no_guide() -> None:
    change = Change(0.5, 0.0)
    part, _ = greatest_part(solution(77.0, is_met=False), change.solve, change.is_sound)
    assert part == pytest.approx(0.5, abs=1 / PARTS)
