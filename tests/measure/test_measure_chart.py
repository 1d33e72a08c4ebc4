"""A chart holds what was measured, and refuses what cannot be a measurement."""

from __future__ import annotations

import copy
import pickle

import pytest

from coutil.errors import BadChart
from coutil.measure import MEASUREMENTS, Chart, Reading, measurement, split_key, title


def chart(**values: float) -> Chart:
    return Chart("client", {key: Reading(value) for key, value in values.items()})


def test_a_measurement_is_read_in_millimetres() -> None:
    assert chart(waist_girth=720)["waist_girth"] == 720.0


def test_two_sides_of_an_arc_add_up() -> None:
    # By hand: 232.5 + 235 = 467.5.
    assert chart(bust_front_left=232.5, bust_front_right=235)["bust_front"] == 467.5


def test_two_sides_of_the_separation_add_up() -> None:
    assert (
        chart(bust_point_separation_left=93, bust_point_separation_right=97)["bust_point_separation"] == 190
    )


def test_of_two_sides_of_a_length_the_mean_counts() -> None:
    assert chart(waist_to_lap_left=210, waist_to_lap_right=215)["waist_to_lap"] == 212.5


def test_one_side_of_a_length_counts_and_one_half_of_an_arc_does_not() -> None:
    one = chart(side_height_left=170, bust_front_left=230)
    assert one["side_height"] == 170
    assert "bust_front" not in one


def test_the_whole_wins_over_its_sides() -> None:
    assert chart(bust_front=470, bust_front_left=230, bust_front_right=235)["bust_front"] == 470


def test_a_missing_measurement_is_named() -> None:
    with pytest.raises(BadChart, match=r"The chart of client has no hip_girth: measure it and add it\."):
        chart(waist_girth=720)["hip_girth"]


def test_get_gives_the_default_and_still_refuses_unknown_keys() -> None:
    assert chart(waist_girth=720).get("hip_girth", 5.0) == 5.0
    with pytest.raises(BadChart, match="did you mean hip_girth"):
        chart(waist_girth=720).get("hip_girt")


def test_an_unknown_key_names_the_nearest() -> None:
    with pytest.raises(BadChart, match="no measurement called 'wast_girth'; did you mean waist_girth"):
        chart(wast_girth=720)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), "88", True, None, 10**400])
def test_only_finite_numbers_are_readings(value: object) -> None:
    with pytest.raises(BadChart, match="A measurement is a"):
        Reading(value)  # type: ignore[arg-type]


def test_an_unknown_way_of_taking_is_refused() -> None:
    with pytest.raises(BadChart, match="measured, repeated or estimated"):
        Reading(880, "guessed")  # type: ignore[arg-type]


@pytest.mark.parametrize("taken", ["20261001", "2026-13-01", "yesterday"])
def test_a_date_is_year_month_day(taken: str) -> None:
    with pytest.raises(BadChart, match="year-month-day"):
        Chart("client", {}, taken=taken)


def test_repeated_readings_keep_their_median_and_spread() -> None:
    # By hand: 700, 703, 712 has the middle 703 and the spread 12.
    reading = Reading.of_repeats([712, 700, 703])
    assert (reading.value, reading.spread, reading.how) == (703, 12, "repeated")


def test_setting_the_whole_drops_the_sides() -> None:
    changed = chart(bust_front_left=230, bust_front_right=235).with_value("bust_front", 480, "estimated")
    assert changed["bust_front"] == 480
    assert changed.sides("bust_front") is None
    assert changed.estimated("bust_front")


def test_setting_the_second_side_drops_the_whole() -> None:
    one = chart(bust_front=470).with_value("bust_front_left", 230)
    assert one["bust_front"] == 470
    assert one.with_value("bust_front_right", 250)["bust_front"] == 480


def test_a_whole_is_estimated_when_one_side_is() -> None:
    half = chart(bust_front_left=230).with_value("bust_front_right", 235, "estimated")
    assert half.estimated("bust_front")
    assert not half.estimated("waist_girth")


def test_without_leaves_out_sides_too() -> None:
    assert chart(bust_front_left=230, waist_girth=700).without(["bust_front"]).keys() == ("waist_girth",)


def test_readings_cannot_be_changed_from_outside() -> None:
    source = {"waist_girth": Reading(720)}
    held = Chart("client", source)
    source["waist_girth"] = Reading(1)
    assert held["waist_girth"] == 720
    with pytest.raises(TypeError):
        held.readings["waist_girth"] = Reading(1)  # type: ignore[index]


def test_a_chart_can_be_copied_sent_and_hashed() -> None:
    one = chart(waist_girth=720)
    assert copy.deepcopy(one) == pickle.loads(pickle.dumps(one)) == one
    assert hash(copy.deepcopy(one)) == hash(one)


def test_a_name_is_one_printable_line() -> None:
    assert Chart(" The\nAlto ", {}).name == "The Alto"
    with pytest.raises(BadChart, match="cannot be printed"):
        Chart("bell \x07", {})
    with pytest.raises(BadChart, match="longer than 200"):
        Chart("x" * 201, {})


def test_keys_are_listed_in_order_and_stems_by_definition() -> None:
    one = chart(waist_girth=700, bust_front_right=235, bust_front_left=230)
    assert list(one) == ["waist_girth", "bust_front_right", "bust_front_left"]
    assert one.stems() == ("waist_girth", "bust_front")


def test_every_measurement_says_what_and_how() -> None:
    for key, one in MEASUREMENTS.items():
        assert one.key == key
        assert one.definition.endswith(".")
        assert one.how.endswith(".")
        assert one.iso is None or "memory" in one.iso or "not established" in one.iso


def test_keys_split_into_stem_and_side() -> None:
    assert split_key("waist_to_lap_left") == ("waist_to_lap", "left")
    assert title("waist_to_lap_left") == "waist to lap, seated, left"
    assert measurement("bust_front_right").kind == "front_arc"
