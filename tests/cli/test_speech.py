"""Sentences at the edge of the program: the maker's unit, a capital to begin with, a full stop to end."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coutil.speech import figure_in, in_unit, limit_in, sentence


@pytest.mark.parametrize(
    ("text", "cm", "inches"),
    [
        # 980 / 25.4 = 38.58, the nearest sixteenth 38 9/16; 976 / 25.4 = 38.43, 38 7/16.
        ("Wanted 980.0 mm, has 976.0 mm.", "Wanted 98.0 cm, has 97.6 cm.", "Wanted 38 9/16 in, has 38 7/16 in."),
        # Both are 4 3/16 to the sixteenth; 107 / 25.4 * 32 = 134.8 and 106.5 / 25.4 * 32 = 134.2 are told apart.
        ("Wanted 107.0 mm, has 106.5 mm.", "Wanted 10.7 cm, has 10.65 cm.", "Wanted 4 7/32 in, has 4 3/16 in."),
        ("Wanted 640.0 mm (320.0).", "Wanted 64.0 cm (32.0).", "Wanted 25 3/16 in (12 5/8)."),
        ("Let out by 4.0 mm in all.", "Let out by 4.0 mm in all.", "Let out by 3/16 in in all."),
        ("Off by 0.5 mm.", "Off by 0.5 mm.", "Off by 1/32 in."),
        ("Off by 0.1 mm.", "Off by 0.1 mm.", "Off by less than 1/64 in."),
        ("+14.0 mm is more than 12 mm.", "+14.0 mm is more than 12 mm.", "+9/16 in is more than 1/2 in."),
        ("Has 980.0 mm: take in by 4.0 mm.", "Has 98.0 cm: take in by 4.0 mm.", "Has 38 9/16 in: take in by 3/16 in."),
        ("It leans by 21 degrees.", "It leans by 21 degrees.", "It leans by 21 degrees."),
    ],
)
def test_lengths_are_told_in_the_maker_s_unit(text: str, cm: str, inches: str) -> None:
    assert in_unit(text, "mm") == text
    assert in_unit(text, "cm") == cm
    assert in_unit(text, "in") == inches


def test_a_sentence_begins_with_a_capital_and_ends_with_a_full_stop() -> None:
    assert sentence("the foot turns", "cm") == "The foot turns."
    assert sentence("Upright.", "cm") == "Upright."
    assert sentence(" is that meant? ", "cm") == "Is that meant?"
    assert sentence("7.0 mm of 76.0 mm", "cm") == "0.7 cm of 7.6 cm."
    assert sentence("", "in") == ""


def test_figures_and_limits_of_the_check_list() -> None:
    assert (figure_in(-0.001, "cm", 0.5), figure_in(406.59, "cm"), figure_in(406.59, "cm", 350.0)) == (
        "0.00 mm", "406.6 mm", "406.6 mm",
    )  # fmt: skip
    assert (figure_in(-0.001, "in", 0.5), figure_in(12.7, "in")) == ("0.000 in", "1/2 in")
    assert (limit_in(0.5, "cm"), limit_in(350.0, "in"), limit_in(0.5, "in")) == ("0.5 mm", "13 3/4 in", "0.02 in")
    # 12.4 and 12 mm: 7.8 and 7.6 sixteenths are alike, 15.6 and 15.1 of 32 parts are not.
    assert (figure_in(12.4, "in", 12.0), limit_in(12.0, "in", 12.4)) == ("1/2 in", "15/32 in")
    # 405.46 mm, 15.963 in: 255.4 sixteenths.
    assert figure_in(405.46, "in") == "15 15/16 in"


@given(st.lists(st.floats(0, 2000).map(lambda mm: round(mm, 1)), min_size=1, max_size=4))
def test_centimetres_keep_every_tenth_of_a_millimetre(figures: list[float]) -> None:
    told = in_unit(", ".join(f"{figure:.1f} mm" for figure in figures), "cm")
    read = [float(n) * (10 if unit == "cm" else 1) for n, unit in re.findall(r"([\d.]+) (mm|cm)", told)]
    assert read == pytest.approx(figures, abs=1e-9)


@given(st.floats(0, 2000).map(lambda mm: round(mm, 1)))
def test_no_length_stays_in_millimetres_for_who_works_in_inches(mm: float) -> None:
    told = in_unit(f"has {mm:.1f} mm ({mm / 2:.1f})", "in")
    assert "mm" not in told
    assert told.count(" in") == 1
