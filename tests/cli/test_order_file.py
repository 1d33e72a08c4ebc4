"""Orders from TOML: units, cloths and bones, one sentence for what cannot be meant."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coutil.cut import BoneKind, Cloth, OrderOptions
from coutil.errors import BadInput
from coutil.order_file import INCH_BUSKS, QUARTER_INCH, order_from_toml

FULL = """
unit = "cm"
reference = "opera 12"
due = 2026-12-01
wear = "stage"
remarks = ["red thread"]
construction = "sandwich"
closure = "busk"
finish = "turned"
casings = "between"
currency = "crowns"
eyelet_spacing = "7/8 in"
widest_gap = 8
foam = "4 mm"
measured_over_foam = true
loops = false
busk_lengths = [25, 28]

[cloths.outer]
name = "silk"
width = 140
thickness = "0.4 mm"
price = 38
turn = "1 mm"

[bones.spiral]
width = "7 mm"
step = "1/4 in"

[bones.flat]
sold = [20, 22.5]
"""


def test_everything_that_can_be_ordered() -> None:
    # 7/8 in = 22.225 mm; 8 cm = 80 mm; busks of 25 and 28 cm.
    assert order_from_toml(FULL, "in") == OrderOptions(
        reference="opera 12",
        due="2026-12-01",
        wear="stage",
        remarks=("red thread",),
        construction="sandwich",
        closure="busk",
        finish="turned",
        casings="between",
        currency="crowns",
        eyelet_spacing=22.225,
        widest_gap=80.0,
        foam=4.0,
        measured_over_foam=True,
        loops=False,
        busk_lengths=(250.0, 280.0),
        cloths=(Cloth("outer", "silk", 1400.0, 0.4, 38.0, 1.0),),
        spiral=BoneKind("spiral steel", 7.0, 6.35, tipped=True),
        flat=BoneKind("flat steel", sold=(200.0, 225.0)),
    )


def test_an_empty_order_is_the_usual_one() -> None:
    assert order_from_toml("", "cm") == OrderOptions()


def test_where_inches_are_spoken_steels_and_busks_come_in_inches() -> None:
    order = order_from_toml("", "in")

    assert (order.flat.step, order.spiral.step) == (QUARTER_INCH, QUARTER_INCH)
    assert order.busk_lengths == INCH_BUSKS
    assert order_from_toml('unit = "cm"', "in") == OrderOptions()


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("colour = 1", "unknown field colour"),
        ('closure = "zip"', "closure is 'zip': name one of busk, closed"),
        ('construction = "glued"', "name one of single, mounted, sandwich, floating_lining"),
        ("busk_top = [1]", "expected a length, got a list"),
        ("binding = true", "expected a length, got true or false"),
        ("loops = 1", "expected true or false, got a number"),
        ("eyelet_line = 5", "eyelet line is 50 mm: give 16 to 18 mm"),
        ('closure_gap = "9 mm"', "closure gap is 9 mm: give 3 to 6 mm"),
        ("due = 3", "due is a day"),
        ('unit = "ell"', "unit is mm, cm or in"),
        ("cloths = 3", "expected a table"),
        ('[cloths.outer]\nwidth = "wide"', "cloths.outer, width: 'wide' is not a length"),
        ("[cloths.outer]\nprice = -1", "price of outer is -1: give 0"),
        ("[cloths.outer]\nwidth = 0", "width of outer is 0 mm"),
        ("[bones.flat]\nstep = 0", "step of the flat steel bone is 0 mm"),
        ("[bones.whale]\nstep = 1", "unknown field whale"),
        ("eyelet_line = nan", "is not a length"),
        ("x = ", "not TOML"),
    ],
)
def test_what_cannot_be_meant_is_one_sentence(text: str, sentence: str) -> None:
    with pytest.raises(BadInput, match=r"^The |^Under") as caught:
        order_from_toml(text, "cm")
    assert sentence in str(caught.value)
    assert "\n" not in str(caught.value)


VALUES = st.recursive(
    st.one_of(st.booleans(), st.integers(-999, 9999), st.text(max_size=6), st.floats(0, 99)),
    lambda inner: st.lists(inner, max_size=2),
    max_leaves=4,
)


@given(st.sampled_from(["unit", "closure", "due", "busk_lengths", "foam", "remarks", "cloths", "bones"]), VALUES)
@settings(max_examples=60)
def test_any_value_is_an_order_or_one_sentence(key: str, value: object) -> None:
    try:
        order = order_from_toml(f"{key} = {_toml(value)}", "cm")
    except BadInput:
        return
    assert isinstance(order, OrderOptions)


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return f"[{', '.join(map(_toml, value))}]"
    if isinstance(value, str):
        return '"' + "".join(c for c in value if c.isalnum()) + '"'
    return repr(value)


def test_the_order_in_the_readme_can_be_read() -> None:
    text = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    (block,) = (found for found in re.findall(r"```toml\n(.*?)```", text, re.DOTALL) if "construction" in found)
    order = order_from_toml(block, "cm")

    assert (order.construction, order.closure, order.eyelet_spacing) == ("sandwich", "busk", 22.0)
    assert order.cloth("outer").price == 38.0
