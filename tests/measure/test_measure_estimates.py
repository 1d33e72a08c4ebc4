"""Girths between levels, completed charts, and the limits of tape and reduction."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from coutil.errors import BadChart, BadInput
from coutil.measure import (
    Chart,
    Reading,
    chart_from_survey_row,
    complete_chart,
    en_band,
    en_cup,
    girth_at_depth,
    noise,
    reduction_limit,
    technical_error,
)
from coutil.measure._levels import monotone_between

BODIES = Path(__file__).parents[1] / "data" / "bodies.csv"


def chart(**values: float) -> Chart:
    return Chart("client", {key: Reading(value) for key, value in values.items()})


LOWER = {
    "waist_girth": 700, "high_hip_girth": 850, "hip_girth": 980, "waist_to_high_hip": 90, "waist_to_hip": 200,
    "waist_front": 360, "high_hip_front": 440, "hip_front": 470,
}  # fmt: skip


@pytest.mark.parametrize(
    ("depth", "girth", "front"),
    [(0, 700, 360), (10, 700, 360), (-10, 700, 360), (81, 850, 440), (210, 980, 470)],
)
def test_near_a_measured_level_its_reading_counts(depth: float, girth: float, front: float) -> None:
    level = girth_at_depth(chart(**LOWER), depth)
    assert (level.girth, level.front, level.estimated) == (girth, front, False)


def test_a_measured_level_that_was_estimated_stays_marked() -> None:
    assert girth_at_depth(chart(**LOWER).with_value("hip_girth", 980, "estimated"), 200).estimated


def test_between_two_levels_the_girth_is_read_off_a_straight_line() -> None:
    # By hand: 700 + 280 x 50 / 200 = 770.
    two = chart(waist_girth=700, hip_girth=980, waist_to_hip=200)
    level = girth_at_depth(two, 50)
    assert level.girth == pytest.approx(770)
    assert level.front is None
    assert level.estimated


def test_between_three_levels_the_curve_is_the_monotone_one_worked_by_hand() -> None:
    """Chords 150/90 = 1.6667 and 130/110 = 1.1818; weights at the high hip 90 + 220 = 310, 180 + 110 = 290.

    Slope there 600 / (310 / 1.6667 + 290 / 1.1818) = 600 / 431.385 = 1.39087.  At 45 mm, half way:
    (700 + 850) / 2 + 90 / 8 x (1.66667 - 1.39087) = 775 + 3.1028 = 778.103.
    """
    assert girth_at_depth(chart(**LOWER), 45).girth == pytest.approx(778.103, abs=0.001)


@given(st.data())
def test_the_curve_stays_between_its_neighbours_and_keeps_to_the_published_slopes(
    data: st.DataObject,
) -> None:
    """Inner slopes agree with SciPy's PCHIP; its ends use another rule, so inner parts are compared."""
    steps = data.draw(st.lists(st.floats(5, 200), min_size=4, max_size=6))
    xs = [float(x) for x in np.cumsum(steps)]
    ys = data.draw(st.lists(st.floats(500, 1300), min_size=len(xs), max_size=len(xs)))
    x = data.draw(st.floats(xs[1], xs[-2]))
    got = monotone_between(xs, ys, x)
    assert got == pytest.approx(float(PchipInterpolator(xs, ys)(x)), abs=1e-6)
    i = min(int(np.searchsorted(xs, x, side="right")) - 1, len(xs) - 2)
    assert min(ys[i], ys[i + 1]) - 1e-9 <= got <= max(ys[i], ys[i + 1]) + 1e-9


@pytest.mark.parametrize(
    ("values", "depth", "says"),
    [
        (LOWER, 215, "215 mm below the waist lies outside the measured levels"),
        (LOWER, -15, "outside the measured levels"),
        ({"waist_girth": 700, "hip_girth": 980}, 100, "measure the waist to hip"),
        ({"waist_girth": 700}, 100, "measure the hip girth, the waist to hip"),
        ({}, 100, "measure the waist girth"),
    ],
)
def test_a_girth_that_cannot_be_read_names_the_reading(
    values: dict[str, float], depth: float, says: str
) -> None:
    with pytest.raises(BadChart, match=says):
        girth_at_depth(chart(**values), depth)


def test_two_levels_at_one_depth_do_no_harm() -> None:
    both = chart(waist_girth=700, high_hip_girth=900, hip_girth=980, waist_to_high_hip=200, waist_to_hip=200)
    assert girth_at_depth(both, 100).girth == pytest.approx(800)


def test_the_belly_of_surveyed_bodies_is_met() -> None:
    """The abdomen girth, measured by the survey between waist and hip but not used by the curve."""
    misses = []
    with BODIES.open(newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            depth = 10 * (float(row["waist_z"]) - float(row["abdomen_z"]))
            misses.append(
                girth_at_depth(chart_from_survey_row(row), depth).girth - 10 * float(row["abdomen_girth"])
            )
    assert abs(np.mean(misses)) < 5
    assert np.std(misses) < 25


BASE = chart(
    **LOWER, bust_girth=900, bust_front=480, underbust_girth=770, underbust_front=385, hem_girth=850,
    hem_front=440, bust_point_to_underbust=80, underbust_to_waist=90, side_height=170,
    centre_front_height=200,
    waist_to_lap=200, height=1650, waist_girth_compressed=630,
)  # fmt: skip
LEVELS = {"bust": None, "underbust": None, "waist": 0.0, "high_hip": 90.0, "hip": None, "hem": 90.0}


def test_a_complete_chart_is_left_alone() -> None:
    done = complete_chart(BASE, BASE, LEVELS)
    assert (done.chart, done.estimated_keys, done.sentences) == (BASE, (), ())


def test_the_bust_front_follows_from_the_back() -> None:
    """By hand: the base's backs are 420 at the bust and 385 at the underbust, ratio 1.0909.

    Client: underbust 800 with front 395, so back 405; back bust 405 x 1.0909 = 441.818; front 1000 - 441.818.
    """
    client = BASE.with_value("bust_girth", 1000).with_value("underbust_girth", 800)
    client = client.with_value("underbust_front", 395).without(["bust_front"])
    done = complete_chart(client, BASE, LEVELS)
    assert done.estimated_keys == ("bust_front",)
    assert done.chart["bust_front"] == pytest.approx(558.182, abs=0.001)
    assert done.chart.estimated("bust_front")
    assert done.sentences[0].startswith(
        "The bust, front is estimated at 558 mm, the back taken from the back"
    )


def test_other_fronts_follow_the_bases_proportion_and_the_bust_follows_an_estimated_underbust() -> None:
    # By hand: underbust 800 x 385 / 770 = 400, back 400; bust 1000 - 400 x 420 / 385 = 563.636.
    client = BASE.with_value("bust_girth", 1000).with_value("underbust_girth", 800)
    done = complete_chart(client.without(["bust_front", "underbust_front"]), BASE, LEVELS)
    assert done.estimated_keys == ("underbust_front", "bust_front")
    assert done.chart["underbust_front"] == 400
    assert done.chart["bust_front"] == pytest.approx(563.636, abs=0.001)


def test_a_high_hip_taken_elsewhere_is_brought_to_the_styles_depth() -> None:
    client = BASE.with_value("waist_to_high_hip", 110)
    done = complete_chart(client, BASE, LEVELS)
    assert done.estimated_keys == ("high_hip_girth", "high_hip_front", "waist_to_high_hip")
    assert done.chart["waist_to_high_hip"] == 90
    assert done.chart["high_hip_girth"] == pytest.approx(girth_at_depth(client, 90).girth, abs=0.001)
    assert 700 < done.chart["high_hip_girth"] < 850


def test_a_high_hip_within_ten_millimetres_counts_as_taken() -> None:
    assert complete_chart(BASE.with_value("waist_to_high_hip", 100), BASE, LEVELS).estimated_keys == ()


def test_a_missing_hem_is_read_at_its_depth_or_stays_absent() -> None:
    done = complete_chart(BASE.without(["hem_girth", "hem_front"]), BASE, LEVELS)
    assert done.estimated_keys == ("hem_girth", "hem_front")
    assert done.chart["hem_girth"] == 850
    beyond = complete_chart(BASE.without(["hem_girth", "hem_front"]), BASE, LEVELS | {"hem": 260.0})
    assert "hem_girth" not in beyond.chart


def test_the_band_follows_from_bust_to_waist_less_cup_depth() -> None:
    # By hand: 185 - 84 = 101.
    client = BASE.with_value("bust_to_waist", 185).with_value("bust_point_to_underbust", 84)
    done = complete_chart(client.without(["underbust_to_waist"]), BASE, LEVELS)
    assert done.chart["underbust_to_waist"] == 101
    assert done.estimated_keys == ("underbust_to_waist",)


def test_other_lengths_are_the_bases_but_limits_and_girths_never() -> None:
    bare = chart(waist_girth=700, hip_girth=980)
    done = complete_chart(bare, BASE, LEVELS)
    assert done.chart["side_height"] == 170
    assert done.chart.estimated("side_height")
    for key in ("waist_to_lap", "centre_front_height", "height", "waist_girth_compressed", "bust_girth"):
        assert key not in done.chart
    assert set(done.estimated_keys) == set(done.chart) - set(bare)
    assert len(done.sentences) == len(done.estimated_keys)


def test_noise_is_five_of_girth_and_three_of_length() -> None:
    assert [noise(k) for k in ("waist_girth", "bust_front_left", "side_height", "height")] == [5, 5, 3, 3]


@pytest.mark.parametrize("pairs", [[], [(1.0, float("nan"))]])
def test_an_error_of_no_pairs_is_refused(pairs: list[tuple[float, float]]) -> None:
    with pytest.raises(BadInput, match="at least one pair"):
        technical_error(pairs)


@pytest.mark.parametrize(
    ("waist", "compressed", "limit", "words"),
    [
        # By hand: a tenth of 720 is 72; of 1100, 110, more than 100; 720 - 670 = 50.
        (720, None, 72, "72 mm of reduction is beyond a tenth of the waist"),
        (1100, None, 100, "the trade's habit"),
        (720, 670, 50, "as far as the tape can be pulled in"),
        (720, 600, 72, "a tenth"),
        (720, 725, 0, "pulled in"),
    ],
)
def test_the_reduction_is_limited(waist: float, compressed: float | None, limit: float, words: str) -> None:
    found = reduction_limit(waist, compressed)
    assert found.amount == pytest.approx(limit)
    assert words in found.sentence


@pytest.mark.parametrize("waist", [0, -1, float("nan")])
def test_a_waist_of_nothing_has_no_limit(waist: float) -> None:
    with pytest.raises(BadInput, match="above 0"):
        reduction_limit(waist, None)


def test_cup_letters_reach_from_ten_to_twenty_eight() -> None:
    assert [en_cup(d) for d in (100, 100.001, 120, 120.001, 280, 280.001)] == [
        None,
        "AA",
        "AA",
        "A",
        "H",
        None,
    ]


def test_a_band_rounds_a_half_upwards() -> None:
    assert [en_band(mm) for mm in (624.9, 625, 675, 1040)] == [60, 65, 70, 105]
