"""What an inspection finds in charts with planted faults, and what it lets pass."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from coutil.errors import BadChart
from coutil.measure import Chart, ChartFinding, Reading, chart_from_survey_row, inspect_chart
from coutil.measure._distribution import KEYS, expectations, surveyed
from coutil.measure._wrong_unit import wrong_factors

BODIES = Path(__file__).parents[1] / "data" / "bodies.csv"


@pytest.fixture(scope="module")
def bodies() -> list[Chart]:
    with BODIES.open(newline="", encoding="utf-8") as file:
        return [chart_from_survey_row(row) for row in csv.DictReader(file)]


def chart(**values: float) -> Chart:
    return Chart("client", {key: Reading(value) for key, value in values.items()})


GOOD = {
    "bust_girth": 900, "underbust_girth": 770, "waist_girth": 700, "high_hip_girth": 830, "hip_girth": 970,
    "bust_front": 480, "underbust_front": 385, "waist_front": 360, "waist_to_high_hip": 90,
    "waist_to_hip": 200,
}  # fmt: skip


def codes(findings: tuple[ChartFinding, ...]) -> list[str]:
    return [finding.code for finding in findings]


def found(code: str, **changes: float) -> list[ChartFinding]:
    """The findings of that code in an ordinary chart with these changes."""
    return [f for f in inspect_chart(chart(**(GOOD | changes))) if f.code == code]


def test_an_ordinary_chart_passes() -> None:
    assert inspect_chart(chart(**GOOD), needs=GOOD) == ()


def test_no_surveyed_body_is_doubted(bodies: list[Chart]) -> None:
    assert [codes(inspect_chart(body)) for body in bodies] == [[]] * 150


def test_what_is_needed_and_missing_stops() -> None:
    (finding,) = inspect_chart(chart(**GOOD), needs=["side_height", "waist_girth", "side_height"])
    assert (finding.code, finding.severity, finding.retake) == ("missing", "stop", ("side_height",))
    assert finding.sentence.startswith("The side height is missing. Measure up")


def test_an_unknown_need_is_refused() -> None:
    with pytest.raises(BadChart, match="did you mean side_height"):
        inspect_chart(chart(**GOOD), needs=["side_heigth"])


@pytest.mark.parametrize(
    "changes",
    [
        {"underbust_girth": 911},
        {"bust_point_separation": 480},
        {"waist_girth_compressed": 701},
        {"bust_front": 900},
        {"side_height": -5},
        {"side_height": 0},
        {"waist_to_high_hip": 205},
    ],
)
def test_the_impossible_stops(changes: dict[str, float]) -> None:
    (finding,) = found("impossible", **changes)
    assert finding.severity == "stop"
    assert set(changes) <= set(finding.keys)
    assert finding.retake


@pytest.mark.parametrize("underbust", [900, 905, 910])
def test_a_chest_without_bust_difference_is_possible(underbust: float) -> None:
    assert not found("impossible", underbust_girth=underbust)


def test_a_mans_chart_stops_at_nothing() -> None:
    man = chart(
        bust_girth=1010, underbust_girth=960, waist_girth=880, hip_girth=990, waist_to_hip=190, height=1790,
        bust_front=505, underbust_front=470, waist_front=440,
    )  # fmt: skip
    assert all(finding.severity != "stop" for finding in inspect_chart(man))


def test_an_inch_figure_among_centimetres_is_named() -> None:
    # By hand: 27 1/2 in written as 27.5 cm is 275 mm; 275 x 2.54 = 698.5.
    (finding,) = found("wrong_unit", waist_girth=275)
    assert finding.keys == ("waist_girth",)
    assert "reads 27.5 cm and would be likely as 69.8 cm" in finding.sentence
    assert "inch figure" in finding.sentence
    assert finding.severity == "warn"


@pytest.mark.parametrize(("key", "value"), [("waist_to_lap", 84), ("waist_to_lap", 2100), ("centre_front_height", 20)])
def test_a_reading_the_survey_does_not_know_is_judged_by_its_range(key: str, value: float) -> None:
    assert [f.keys for f in found("wrong_unit", **{key: value})] == [(key,)]


def test_a_reading_outside_its_range_in_every_unit_is_unlikely() -> None:
    (finding,) = found("unlikely", waist_to_lap=35)
    assert finding.keys == ("waist_to_lap",)


PLANTED = {"inch in cm": 1 / 2.54, "cm in inches": 2.54, "mm in cm": 10.0, "cm in mm": 0.1}


@pytest.mark.parametrize("factor", PLANTED.values(), ids=PLANTED)
def test_a_planted_wrong_unit_is_found_and_nothing_else_blamed(bodies: list[Chart], factor: float) -> None:
    """One wrong reading a body, each key in turn: at least 95 % found, and never another one blamed."""
    blamed = []
    for number, body in enumerate(bodies):
        key = KEYS[number % len(KEYS)]
        values = surveyed(body)
        blamed.append((key, set(wrong_factors(values | {key: values[key] * factor}))))
    assert sum(keys == {key} for key, keys in blamed) >= 0.95 * len(bodies)
    assert all(keys <= {key} for key, keys in blamed)


@pytest.mark.parametrize("factor", PLANTED.values(), ids=PLANTED)
def test_a_whole_chart_in_the_wrong_unit_is_found(bodies: list[Chart], factor: float) -> None:
    for body in bodies[::10]:
        wrong = wrong_factors({key: value * factor for key, value in surveyed(body).items()})
        assert {"bust_girth", "waist_girth", "hip_girth"} <= set(wrong)
        assert all(1 / f == pytest.approx(factor) for f in wrong.values())


def test_a_whole_chart_in_the_wrong_unit_stops_and_a_single_slip_does_not() -> None:
    # An inch chart headed cm: 39 3/4 is written 39.75 cm, 397.5 mm, and so on.
    inches = {"bust_girth": 39.75, "underbust_girth": 33.5, "waist_girth": 29, "hip_girth": 41.25, "waist_to_hip": 8.25}
    headed_cm = chart(**{key: 10 * figure for key, figure in inches.items()})
    first = inspect_chart(headed_cm)[0]
    assert (first.code, first.severity) == ("wrong_unit", "stop")
    assert "39.8 cm and would be likely as 101.0 cm" in first.sentence
    (single,) = found("wrong_unit", waist_girth=275)
    assert single.severity == "warn"


def test_all_girths_in_inches_among_lengths_in_centimetres_are_found(bodies: list[Chart]) -> None:
    girths = [key for key in KEYS if key.endswith(("_girth", "_front"))]
    for body in bodies[::10]:
        values = surveyed(body)
        wrong = wrong_factors(values | {key: values[key] / 2.54 for key in girths})
        assert set(wrong) == set(girths)


def test_one_misread_girth_is_the_one_to_retake(bodies: list[Chart]) -> None:
    """A waist read 150 mm too large on every tenth body: that reading and no other is doubted."""
    for body in bodies[::10]:
        findings = inspect_chart(body.with_value("waist_girth", body["waist_girth"] + 150))
        assert [(f.code, f.retake) for f in findings] == [("unlikely", ("waist_girth",))]
        assert findings[0].severity == "warn"


def test_an_expectation_is_the_linear_regression_on_the_others() -> None:
    """By hand for two readings: bust 1000, waist 800 with the survey's figures and 15 mm of widening each.

    Means 964.2 and 799.8; variances 8200 + 225 and 9019 + 225, covariance 6106.
    Waist given bust: 799.8 + 6106 / 8425 x 35.8 = 825.75; deviation sqrt(9244 - 6106^2 / 8425) = 69.40.
    """
    waist = expectations({"bust_girth": 1000.0, "waist_girth": 800.0})["waist_girth"]
    assert waist.expected == pytest.approx(825.75, abs=0.05)
    assert waist.deviation == pytest.approx(69.40, abs=0.05)
    assert waist.off == pytest.approx((800 - 825.75) / 69.40, abs=0.002)


def test_a_front_that_does_not_go_with_its_girth_is_found() -> None:
    # By hand: 500 / 700 = 71 %, beyond the survey's 61 %.
    (finding,) = found("arcs", waist_front=500)
    assert finding.keys == ("waist_front", "waist_girth")
    assert "71 %" in finding.sentence


def test_halves_that_do_not_add_up_are_found() -> None:
    assert found("arcs", bust_front_left=235, bust_front_right=256)
    assert not found("arcs", bust_front_left=235, bust_front_right=255)


def test_sides_that_differ_much_are_found() -> None:
    assert found("sides", waist_to_lap_left=190, waist_to_lap_right=225)
    assert not found("sides", waist_to_lap_left=190, waist_to_lap_right=220)


@pytest.mark.parametrize(
    ("key", "readings", "is_found"),
    [
        ("waist_girth", [695, 705], False),
        ("waist_girth", [695, 700, 706], True),
        ("waist_to_lap", [200, 206], False),
        ("waist_to_lap", [200, 207], True),
    ],
)
def test_readings_that_differ_want_another(key: str, readings: list[float], is_found: bool) -> None:
    repeated = chart(**GOOD).with_reading(key, Reading.of_repeats(readings))
    assert ("repeated" in codes(inspect_chart(repeated))) is is_found


def test_a_hip_without_depth_is_asked_about() -> None:
    (finding,) = inspect_chart(chart(**GOOD).without(["waist_to_hip"]))
    assert (finding.code, finding.retake) == ("depth", ("waist_to_hip",))


@pytest.mark.parametrize(
    ("taken", "is_found"),
    [
        ("3026-10-01", True), ("2062-10-01", True), ("2032-01-01", True), ("2031-12-31", False),
        ("2026-10-01", False), ("1900-01-01", False), ("1899-12-31", True), ("0226-10-01", True), ("", False),
    ],
)  # fmt: skip
def test_a_date_on_which_nobody_can_have_measured(taken: str, is_found: bool) -> None:
    """Five years are left to a clock that is wrong: 2026 and 5 are 2031."""
    today = date(2026, 10, 1)
    dated = replace(chart(**GOOD), taken=taken)
    expected = [f"The chart is dated {taken}: correct the date."] if is_found else []
    assert [f.sentence for f in inspect_chart(dated, today=today)] == expected
    single = Chart("client", {**chart(**GOOD).readings, "waist_girth": Reading(700, taken=taken or None)})
    expected = [f"The reading of the waist girth is dated {taken}: correct the date."] if is_found else []
    assert [f.sentence for f in inspect_chart(single, today=today)] == expected


def test_a_far_date_is_told_by_the_machine_s_own_clock_too() -> None:
    (finding,) = inspect_chart(replace(chart(**GOOD), taken="9026-10-01"))
    assert (finding.code, finding.severity) == ("date", "warn")


def test_estimates_are_noted_and_stops_come_first() -> None:
    estimated = chart(**GOOD).with_value("bust_front", 480, "estimated")
    findings = inspect_chart(estimated, needs=["side_height"])
    assert [(f.code, f.severity) for f in findings] == [("missing", "stop"), ("estimated", "note")]


def test_an_empty_chart_and_a_single_reading_can_be_inspected() -> None:
    assert inspect_chart(Chart("client", {})) == ()
    assert inspect_chart(chart(height=1650)) == ()
    assert codes(inspect_chart(chart(waist_girth=72))) == ["impossible", "wrong_unit"]


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("waist_girth", 7600.0),
        ("waist_girth", 76.0),
        ("waist_front", 4000.0),
        ("side_height", 1980.0),
        ("height", 16500.0),
    ],
)
def test_what_no_body_measures_stops_the_work(key: str, value: float) -> None:
    """Millimetres in a column of centimetres: a waist of 760 cm."""
    first = inspect_chart(chart(**{key: value}))[0]
    assert (first.code, first.severity, first.keys) == ("impossible", "stop", (key,))
    assert "look at the figure and its unit" in first.sentence


@pytest.mark.parametrize(("key", "value"), [("waist_girth", 480.0), ("hip_girth", 1900.0), ("height", 1300.0)])
def test_a_rare_body_is_never_called_impossible(key: str, value: float) -> None:
    assert "impossible" not in codes(inspect_chart(chart(**{key: value})))


def test_a_length_given_as_a_whole_and_otherwise_by_side_is_asked_about() -> None:
    """The whole of 101 counts, not the left's 90."""
    twice = chart(bust_point_to_underbust=101, bust_point_to_underbust_left=90)
    assert twice["bust_point_to_underbust"] == 101
    (found,) = (f for f in inspect_chart(twice) if f.code == "sides")
    assert found.severity == "warn"
    assert "given as 10.1 cm and on the left as 9.0 cm" in found.sentence
    agreeing = chart(bust_point_to_underbust=101, bust_point_to_underbust_left=100)
    assert "sides" not in codes(inspect_chart(agreeing))


def test_the_statistics_are_those_of_the_survey(bodies: list[Chart]) -> None:
    """The committed table against means computed here with plain arithmetic."""
    from coutil.measure._bodies import COVARIANCE, MEANS

    columns = [[body[key] for body in bodies] for key in KEYS]
    means = [sum(column) / len(column) for column in columns]
    assert means == pytest.approx(MEANS, abs=0.051)
    for row, entries in enumerate(COVARIANCE):
        for column, entry in enumerate(entries):
            pairs = zip(columns[row], columns[column], strict=True)
            total = sum((a - means[row]) * (b - means[column]) for a, b in pairs)
            assert entry == pytest.approx(total / (len(bodies) - 1), abs=0.51)


def test_a_survey_row_is_mapped() -> None:
    row = {
        "body": "7", "bust_girth": "90.0", "waist_z": "100.0", "highhip_z": "90.0", "highhip_front": "45.5",
        "apex_to_armfold_L": "12.0", "apex_to_armfold_R": "12.4", "side_height_vert_L": "19.0",
        "side_height_vert_R": "19.2", "apex_separation": "",
    }  # fmt: skip
    body = chart_from_survey_row(row)
    # By hand: 0.75 x 122 = 91.5; 191 - 30 = 161; 1000 - 900 = 100.
    expected = {"bust_girth": 900, "high_hip_front": 455, "bust_point_to_armhole": 91.5, "side_height": 161}
    assert {key: body[key] for key in body} == expected | {"waist_to_high_hip": 100}
    assert body.invented
    with pytest.raises(BadChart, match="column bust_girth holds 'wide'"):
        chart_from_survey_row({"bust_girth": "wide"})
