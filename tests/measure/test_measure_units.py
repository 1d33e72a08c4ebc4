"""Lengths as they are written, and as they are shown."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coutil.errors import BadInput
from coutil.measure import format_figure, format_length, parse_length, parse_unit
from coutil.measure._units import exact_figure


@pytest.mark.parametrize(
    ("text", "unit", "mm"),
    [
        # By hand: 34.5 x 25.4 = 876.3.
        ("34 1/2", "in", 876.3),
        ("34-1/2", "in", 876.3),
        ("34½", "in", 876.3),
        ("34 ½ in", "cm", 876.3),
        ("34.5", "in", 876.3),
        ("34,5", "in", 876.3),
        ('34"', "cm", 863.6),
        ("34 1/2 inches", "mm", 876.3),
        ("5/8", "in", 15.875),
        ("875 mm", "in", 875.0),
        ("87.5", "cm", 875.0),
        ("  87,5 CM ", "in", 875.0),
        ("-3", "mm", -3.0),
        (".5", "cm", 5.0),
    ],
)
def test_a_written_length_is_read(text: str, unit: str, mm: float) -> None:
    assert parse_length(text, unit) == mm


@pytest.mark.parametrize(
    "text",
    [
        "",
        "nan",
        "inf",
        "1e999",
        "3/0",
        "34 5/4",
        "1 000",
        "12 feet",
        "34 1/2 1/2",
        "٣٤",
        "1" * 5000,
        "--3",
        "½½",
    ],
)
def test_what_is_no_length_is_refused_in_one_sentence(text: str) -> None:
    with pytest.raises(BadInput) as caught:
        parse_length(text, "cm")
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 130


def test_a_comma_that_may_mean_thousands_is_asked_about() -> None:
    with pytest.raises(BadInput, match="thousands or decimals"):
        parse_length("1,250", "mm")


def test_a_length_beyond_any_tape_is_refused() -> None:
    with pytest.raises(BadInput, match="longer than any tape"):
        parse_length("99999", "in")


@pytest.mark.parametrize(
    ("mm", "unit", "shown"),
    [
        (885.04, "cm", "88.5 cm"),
        (885.0, "mm", "885 mm"),
        (885.25, "mm", "885.2 mm"),
        # By hand: 885 / 25.4 = 34.843 in, and 0.843 x 16 = 13.5, so 13/16 or 14/16; 885 is nearer to 13/16.
        (885.0, "in", "34 13/16 in"),
        (876.3, "in", "34 1/2 in"),
        (3.175, "in", "1/8 in"),
        (-12.7, "in", "-1/2 in"),
        (25.3, "in", "1 in"),
        (0.2, "in", "0 in"),
        (-0.01, "cm", "0.0 cm"),
    ],
)
def test_a_length_is_shown(mm: float, unit: str, shown: str) -> None:
    assert format_length(mm, unit) == shown
    assert format_figure(mm, unit) == shown.removesuffix(f" {unit}")


@given(st.integers(0, 16 * 200), st.sampled_from(["in"]))
def test_sixteenths_come_back_exactly(sixteenths: int, unit: str) -> None:
    mm = sixteenths * 25.4 / 16
    assert parse_length(format_length(mm, unit), "cm") == pytest.approx(mm, abs=1e-9)


@given(st.integers(-3_000_000, 3_000_000), st.sampled_from(["mm", "cm", "in"]))
def test_an_exact_figure_comes_back_to_a_thousandth(thousandths: int, unit: str) -> None:
    assert (
        round(parse_length(exact_figure(thousandths / 1000, unit) + f" {unit}", "mm"), 3)
        == thousandths / 1000
    )


def test_an_unknown_unit_is_refused() -> None:
    with pytest.raises(BadInput, match="mm, cm or in, not 'ell'"):
        parse_unit("ell")
