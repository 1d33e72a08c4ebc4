"""Wishes from TOML: units, overruled rows with their reasons, one sentence for what cannot be meant."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coutil.alter import Override, State, Wishes
from coutil.errors import BadInput
from coutil.wishes_file import length_of, wishes_from_toml

FULL = """
unit = "in"
reduction = 2.5
lacing_gap = "5 cm"
depth_share = 0.5
take_heights = true
leave_small = true
exact_centre_top = true

[rows.side]
state = "overruled"
amount = "1/4 in"
why = "  it sat forward at the last fitting "

[rows.centre]
state = "left"
why = "tight on purpose"

[rows.length]
state = "locked"
why = "as agreed"
"""


def test_everything_that_can_be_wished() -> None:
    # 2.5 in = 63.5 mm, 5 cm = 50 mm, a quarter inch = 6.35 mm.
    assert wishes_from_toml(FULL, "cm") == Wishes(
        reduction=63.5,
        lacing_gap=50.0,
        depth_share=0.5,
        exact_centre_top=True,
        take_heights=True,
        leave_small=True,
        overrides=(
            Override("side", State.OVERRULED, "it sat forward at the last fitting", 6.35),
            Override("centre", State.LEFT, "tight on purpose"),
            Override("length", State.LOCKED, "as agreed"),
        ),
    )


def test_no_wishes() -> None:
    assert wishes_from_toml("", "cm") == Wishes()


def test_numbers_are_in_the_unit_given() -> None:
    assert wishes_from_toml("reduction = 6", "cm").reduction == 60.0
    assert wishes_from_toml("reduction = 60", "mm").reduction == 60.0
    assert wishes_from_toml("reduction = 0", "cm").reduction == 0.0
    assert wishes_from_toml('unit = "in"\nreduction = 2', "cm").reduction == pytest.approx(50.8)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("reduction =", "The wishes file is"),
        ("reductoin = 6", "no field 'reductoin' in the wishes"),
        ("reduction = true", "Under reduction: True is no length."),
        ("reduction = nan", "nan is no length"),
        ('reduction = "lots"', "Under reduction: 'lots' is not a length"),
        ('take_heights = "yes"', "Under take_heights, write true or false."),
        ("depth_share = 1.5", "from 0 to 1"),
        ('unit = "ell"', "The unit is mm, cm or in"),
        ("unit = 3", "write a word"),
        ("rows = 3", "a table is needed"),
        ("[rows]\nside = 3", "Under rows.side, a table is needed"),
        ('[rows.side]\nstate = "bent"\nwhy = "x"', "state is overruled, left or locked, not bent"),
        ('[rows.side]\nstate = "computed"\nwhy = "x"', "state is overruled, left or locked"),
        ('[rows.side]\nstate = "left"', "Under row side, say why"),
        ('[rows.side]\nstate = "left"\nwhy = " "', "Under row side, say why"),
        ('[rows.side]\nstate = "overruled"\nwhy = "x"', "give the amount"),
        ('[rows.side]\nstate = "left"\namount = 1\nwhy = "x"', "has no amount"),
        ('[rows.side]\nstate = "left"\nwhy = "x"\ncolour = 1', "no field 'colour' in row side"),
        ("a = " + "[" * 5000 + "]" * 5000, "The wishes file is"),
    ],
)
def test_what_cannot_be_meant_is_refused_in_one_sentence(text: str, words: str) -> None:
    with pytest.raises(BadInput) as caught:
        wishes_from_toml(text, "cm")
    assert words in str(caught.value)


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=60))
def test_any_text_gives_wishes_or_one_sentence(text: str) -> None:
    answer: object = None
    try:
        answer = wishes_from_toml(text, "cm")
    except BadInput as error:
        answer = str(error)
    assert isinstance(answer, Wishes | str)


def test_lengths_on_the_command_line() -> None:
    assert length_of("2 1/2 in", "cm", "--gap") == 63.5
    assert length_of("6", "cm", "--gap") == 60.0
    with pytest.raises(BadInput, match=r"^Under --gap: "):
        length_of("wide", "cm", "--gap")
