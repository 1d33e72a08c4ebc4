"""The lower dart while a pattern is mended: brought back inside its limits, both feet alike."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from coutil.alter._dart import Dart
from coutil.alter._layout import Layout, lay_out
from coutil.pattern import CupRule
from helpers.altering import base_of


def laid() -> tuple[Layout, CupRule]:
    layout = lay_out(base_of())
    cup = layout.style.sharing.cup
    assert cup is not None
    return layout, cup


def test_a_dart_within_its_limits_needs_no_row() -> None:
    layout, cup = laid()
    assert Dart(layout, cup).rows(layout.nodes) == []


def test_a_base_beyond_the_limits_stays_where_it_is() -> None:
    layout, cup = laid()
    assert Dart(layout, replace(cup, dart_limits=(60.0, 75.0))).rows(layout.nodes) == []


def test_both_feet_come_in_by_the_same_share() -> None:
    """80 mm, 44 and 32 degrees open: 76 in all, one beyond; 74.9 / 76 of each stand 54.93 and 41.84 mm aside."""
    layout, cup = laid()
    dart = Dart(layout, cup)
    nodes = np.array(layout.nodes)
    for leg, degrees in zip(dart.legs, (44.0, 32.0), strict=True):
        side = math.copysign(1.0, nodes[leg.foot, 0] - nodes[leg.bust_point, 0])
        angle = math.radians(degrees)
        nodes[leg.foot] = nodes[leg.bust_point] + 80.0 * np.array((side * math.sin(angle), -math.cos(angle)))
    rows = dart.rows(nodes)
    assert [abs(row.target) for row in rows] == pytest.approx([54.93, 41.84], abs=0.005)
    assert [row.terms[0][0] for row in rows] == [leg.foot for leg in dart.legs]
