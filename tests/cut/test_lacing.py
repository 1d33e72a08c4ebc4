"""Eyelets, opening and lace: each rule with an example worked by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coutil.cut import OrderOptions, eyelet_lines, find_lace, find_opening, lace_length, narrowest_net, spaced
from helpers.making_samples import drafted, tube

USUAL = OrderOptions()


def test_eyelets_of_a_closure_250_high_with_the_waist_at_100():
    # First and last at 13 and 237; astride the waist 93.5 and 106.5.  Below: 80.5 / 22 = 3.7, four steps of
    # 20.125.  Above: 130.5 / 22 = 5.9, six steps of 21.75.  Five below, seven above: 12.
    (line,) = eyelet_lines(tube(), USUAL)

    assert line.count == 12
    assert line.along[:2] == pytest.approx((13, 33.125))
    assert line.along[4:6] == pytest.approx((93.5, 106.5))
    assert line.along[-1] == pytest.approx(237)
    assert (line.waist, line.sides, line.length) == (4, 2, pytest.approx(250))
    assert line.points[:, 0] == pytest.approx([123] * 12)
    assert line.points[0, 1] == pytest.approx(-87)


def test_without_a_waist_between_the_ends_the_spacing_is_even():
    # 13 to 113 in 22: 100 / 22 = 4.5 and a little, so five steps of 20.
    assert spaced(13, 113, None, USUAL) == pytest.approx((13, 33, 53, 73, 93, 113))
    assert spaced(13, 113, 14, USUAL) == pytest.approx((13, 33, 53, 73, 93, 113))


@given(st.floats(120, 500), st.floats(0.2, 0.8), st.floats(15, 30), st.floats(12, 15), st.floats(12, 15))
def test_eyelets_begin_and_end_inside_and_stand_astride_the_waist(length, part, spacing, inset, pair):
    options = OrderOptions(eyelet_spacing=spacing, eyelet_inset=inset, eyelet_waist=pair)
    waist = part * length
    places = spaced(inset, length - inset, waist, options)

    steps = [b - a for a, b in pairwise(places)]
    assert places[0] == inset
    assert places[-1] == pytest.approx(length - inset)
    assert min(steps) > 0
    if inset + pair / 2 < waist - pair / 2 and waist + pair < length - inset:
        at = next(i for i, place in enumerate(places) if place > waist)
        assert places[at] - waist == pytest.approx(waist - places[at - 1])
        assert places[at] - places[at - 1] == pytest.approx(pair)


def test_the_opening_is_the_hip_less_the_narrowest_net_girth():
    # The tube is 560 everywhere; a hip of 960 needs 400, and over 350 a busk is advised.
    chart = tube().base_chart.with_value("hip_girth", 960)
    opening = find_opening(tube(), chart, USUAL)

    assert opening is not None
    assert (opening.narrowest, opening.needed, opening.busk_advised) == (pytest.approx(560), pytest.approx(400), True)


def test_just_350_needs_no_busk():
    chart = tube().base_chart.with_value("hip_girth", 909)
    opening = find_opening(tube(), chart, USUAL)

    assert opening is not None
    assert opening.needed == pytest.approx(349)
    assert not opening.busk_advised


def test_a_busk_opens_enough():
    chart = tube().base_chart.with_value("hip_girth", 960)
    opening = find_opening(tube(busk=True), chart, USUAL)

    assert opening is not None
    assert (opening.needed, opening.gap, opening.busk_advised) == (0, 200, False)


def test_without_any_hip_nothing_is_said():
    chart = replace(tube().base_chart, readings={"bust_girth": tube().base_chart.readings["bust_girth"]})

    assert find_opening(tube(), chart, USUAL) is None


def test_the_narrowest_place_of_a_drafted_base_is_its_waist():
    from coutil.pattern import girth

    height, net = narrowest_net(drafted())
    assert net <= girth(drafted(), "waist").full
    assert abs(height) < 5
    assert net == pytest.approx(girth(drafted(), "waist").full, abs=0.5)


def test_lace_through_the_eyelets_of_the_tube():
    # Opened to 300, 17 to the edge: 334 across.  Four steps of 20.125, one of 13, six of 21.75, each crossed
    # twice, one bar of 334, 1200 for loops and tails; rounded up to 10 cm.
    lines = eyelet_lines(tube(), USUAL)
    lace = find_lace(lines, 300, USUAL)

    crossings = 4 * math.hypot(334, 20.125) + math.hypot(334, 13) + 6 * math.hypot(334, 21.75)
    assert lace is not None
    assert lace.exact == pytest.approx(2 * crossings + 334 + 1200)
    assert (lace.pairs, lace.length) == (12, 8900)


def test_no_lace_without_eyelets():
    assert find_lace((), 200, USUAL) is None


@given(st.lists(st.floats(10, 40), min_size=1, max_size=20), st.floats(0, 400))
def test_a_wider_gap_needs_a_longer_lace(pitches, gap):
    assert lace_length(pitches, gap + 10, 17) > lace_length(pitches, gap, 17) > 1200
