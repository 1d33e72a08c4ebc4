"""Outlines packed on rolls and sheets of paper: apart, inside, in order, the same every time."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lay_samples import star_shapes
from shapely.geometry import Polygon

from coutil.cut.lay import pack_on_paper
from coutil.cut.lay._values import oriented
from coutil.errors import BadInput

BOX = np.array([(0.0, 0), (300, 0), (300, 200), (0, 200)])


def shapes(outlines, spots):
    moves = [np.array((spot.x, spot.y)) for spot in spots]
    turned = [oriented(outlines[spot.index], "drawn", spot.rotation) for spot in spots]
    return [Polygon(outline + move) for outline, move in zip(turned, moves, strict=True)]


def test_four_boxes_on_a_roll_of_410_lie_two_by_two():
    """Two of 200 with 10 between take 410 across; two rows of 300 with 10 between take 610 of the roll."""
    spots = pack_on_paper([BOX] * 4, 410, gap=10)
    assert max(spot.x + 300 for spot in spots) == pytest.approx(610, abs=0.1)
    assert [spot.index for spot in spots] == [0, 1, 2, 3]
    assert {spot.sheet for spot in spots} == {0}


def test_five_boxes_on_sheets_for_four_begin_a_second_sheet():
    spots = pack_on_paper([BOX] * 5, 410, 620, gap=10)
    assert sorted(spot.sheet for spot in spots) == [0, 0, 0, 0, 1]


def test_an_outline_larger_than_the_sheet_is_refused_with_both_sizes():
    with pytest.raises(BadInput, match="Outline 1 is 300 mm long, and the sheet takes 277 mm"):
        pack_on_paper([BOX], 410, 277)
    with pytest.raises(BadInput, match=r"20\.0 cm wide"):
        pack_on_paper([BOX], 190)


def test_nothing_to_pack_is_no_sheet():
    assert pack_on_paper([], 600) == ()


def test_without_turning_everything_stands_as_it_was_drawn():
    wedge = np.array([(0.0, 0), (300, 0), (0, 200)])
    assert {spot.rotation for spot in pack_on_paper([wedge] * 4, 450, turn=False)} == {0}
    assert {spot.rotation for spot in pack_on_paper([wedge] * 4, 450)} == {0, 180}


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(star_shapes(), min_size=1, max_size=6), st.booleans())
def test_outlines_keep_their_distance_on_every_sheet(outlines, turn):
    spots = pack_on_paper(outlines, 400, 450, gap=5, turn=turn)
    placed = shapes(outlines, spots)
    for i, a in enumerate(placed):
        left, low, right, high = a.bounds
        assert left >= -0.01
        assert low >= -0.01
        assert right <= 450.01
        assert high <= 400.01
        for j in range(i):
            assert spots[i].sheet != spots[j].sheet or a.distance(placed[j]) >= 5 - 0.02
    assert spots == pack_on_paper(outlines, 400, 450, gap=5, turn=turn)
