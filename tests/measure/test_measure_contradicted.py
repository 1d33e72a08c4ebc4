"""Which reading is blamed where several are wrong, and that the program's own charts raise no remark."""

from __future__ import annotations

from itertools import combinations, product

import pytest

from coutil.drawing import usual_gap
from coutil.measure import Chart, Reading, chart_from_text, chart_to_csv, inspect_chart
from coutil.measure._contradicted import contradicted
from coutil.measuring import measure_pattern
from coutil.pattern import Fit
from coutil.shipped import base_names, shipped_base

INCH = 25.4
GOOD = {
    "bust_girth": 38.5, "underbust_girth": 31, "waist_girth": 27, "high_hip_girth": 33, "waist_to_high_hip": 3.375,
    "hip_girth": 38.5, "waist_to_hip": 8,
}  # fmt: skip
GIRTHS = ("bust_girth", "underbust_girth", "waist_girth", "high_hip_girth", "hip_girth")


def inch_chart(**changes: float) -> Chart:
    return Chart("client", {key: Reading(value * INCH) for key, value in (GOOD | changes).items()})


def blamed(chart: Chart) -> set[str]:
    """The readings that are called unlikely or wrongly written."""
    findings = inspect_chart(chart, unit="in")
    return {key for finding in findings if finding.code in ("unlikely", "wrong_unit") for key in finding.keys}


def test_the_reading_is_blamed_that_costs_least() -> None:
    """By hand: bust 1000 and waist 1200, with the survey's figures and 15 mm of widening each.

    Means 964.2 and 799.8; variances 8425 and 9244, covariance 6106.
    Waist given bust: 825.75, deviation 69.40: (1200 - 825.75) / 69.40 = 5.393, squared 29.08.
    Bust given waist: 964.2 + 6106 / 9244 x 400.2 = 1228.5, deviation 66.27: -3.448, squared 11.89, less than 12.25.
    Left without the waist: 35.8^2 / 8425 = 0.152, and 12.25 for the blamed one.
    """
    keys, cost = contradicted({"bust_girth": 1000.0, "waist_girth": 1200.0})
    assert keys == ("waist_girth",)
    assert cost == pytest.approx(12.25 + 0.152, abs=0.01)


def test_a_bust_in_centimetres_and_a_misread_underbust_leave_the_waist_alone() -> None:
    """98 is 38 9/16 in written in centimetres, and 13 is 31 with its figures changed over: the waist of 27 is right."""
    findings = inspect_chart(inch_chart(bust_girth=98, underbust_girth=13), unit="in")
    told = {finding.keys: finding.sentence for finding in findings if finding.code != "impossible"}
    assert set(told) == {("bust_girth",), ("underbust_girth",)}
    assert "98 in and would be likely as 38 9/16 in" in told["bust_girth",]


@pytest.mark.parametrize("pair", list(combinations(GIRTHS, 2)), ids=" ".join)
def test_two_wrong_girths_of_five_are_the_ones_to_retake(pair: tuple[str, str]) -> None:
    for wrong in product((98, 76, 13), repeat=2):
        assert blamed(inch_chart(**dict(zip(pair, wrong, strict=True)))) == set(pair)


def test_one_wrong_reading_costs_more_than_an_ordinary_body_is_off() -> None:
    assert blamed(inch_chart()) == set()
    assert contradicted({}) == ((), 0.0)


@pytest.mark.parametrize("name", base_names())
def test_a_base_s_own_chart_and_the_one_measured_off_it_raise_no_remark(name: str) -> None:
    base = shipped_base(name)
    measured = measure_pattern(base, Fit(lacing_gap=usual_gap(base))).chart
    for chart in (base.base_chart, chart_from_text(chart_to_csv(measured, "cm"), ".csv")):
        assert [finding.sentence for finding in inspect_chart(chart) if finding.code != "estimated"] == []


@pytest.mark.parametrize(("depth", "is_slip"), [(3.375, True), (4.0, True), (6.3, False), (8.6, False), (16.5, True)])
def test_a_depth_in_inches_is_told_by_its_range_or_by_how_fast_the_body_grows(depth: float, is_slip: bool) -> None:
    """A chart headed cm: waist 68.6 and high hip 83.8 grow by 15.2 cm, which 2.4 x 6.33 cm allows and 2.4 x 4 does not.

    3 3/8 is 3.375 cm, under any high hip; 16.5 cm is over it.
    """
    depth_mm = 10.0 * depth
    findings = inspect_chart(inch_chart(waist_to_high_hip=depth_mm / INCH))
    named = [f.code for f in findings if "waist_to_high_hip" in f.keys and f.code in ("wrong_unit", "unlikely")]
    assert bool(named) is is_slip
    assert named in ([], ["wrong_unit"], ["unlikely"])


def test_an_upper_edge_may_lie_under_the_armpit_but_not_over_it() -> None:
    """The survey's side height runs up to the armpit; 5 in is a waist corset's, and 12 in is nobody's."""
    assert blamed(inch_chart(side_height=5)) == set()
    assert blamed(inch_chart(side_height=12)) == {"side_height"}


def test_an_estimate_is_not_to_be_measured_again() -> None:
    high = inch_chart().with_value("waist_girth", 40 * INCH)
    assert blamed(high) == {"waist_girth"}
    assert blamed(high.with_value("waist_girth", 40 * INCH, "estimated")) == set()
