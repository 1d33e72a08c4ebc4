"""The families over every whole centimetre, and a few sizes held to golden figures."""

from __future__ import annotations

import os
from itertools import product

import pytest
from renew_golden import FOLDER, NAMES, golden_text

from coutil.check import Verdict, check_style
from coutil.draft import STYLES
from coutil.errors import BadInput
from coutil.pattern import find_faults
from coutil.shipped import base_names, shipped_base

LONG = os.environ.get("COUTIL_LONG_TESTS") == "1"
# Half of the last digit written, and a little for another machine's last bits.
GOLDEN_MM = 0.011
# All 1,933 take a minute and a half; a step prime to the rows' lengths meets every row and column of them.
STEP = 1 if LONG else 41
EVERY = [kind.base_name(size) for kind in STYLES.values() for size in product(*kind.ranges)]


@pytest.mark.parametrize("name", NAMES)
def test_a_draft_is_what_it_was(name: str) -> None:
    """Where drafting was changed on purpose: look at the difference, then python tests/draft/renew_golden.py."""
    found, golden = golden_text(name).split(), (FOLDER / f"{name}.txt").read_text(encoding="utf-8").split()
    assert len(found) == len(golden)
    for now, then in zip(found, golden, strict=True):
        assert numbers(now) == pytest.approx(numbers(then), abs=GOLDEN_MM) if numbers(then) else now == then


def numbers(word: str) -> list[float]:
    """The numbers in 12.30 or 12.30,-4.00; none in a name."""
    try:
        return [float(part) for part in word.split(",")]
    except ValueError:
        return []


def test_there_are_as_many_sizes_as_the_ranges_hold() -> None:
    """47 underbusts by 19 cups, 47 by 21, and 53 waists."""
    assert len(EVERY) == 47 * 19 + 47 * 21 + 53
    assert set(base_names()) < set(EVERY)


@pytest.mark.parametrize("name", EVERY[::STEP])
def test_every_whole_centimetre_is_a_sound_base(name: str) -> None:
    style = shipped_base(name)
    assert find_faults(style) == ()
    assert [f.name for f in check_style(style, chart=style.base_chart) if f.verdict is Verdict.FAIL] == []


def test_a_name_is_a_size() -> None:
    cupped, panelled, waist = STYLES.values()
    assert cupped.size_of("78-16") == (78, 16)
    assert panelled.size_of("panelled-83-7") == (83, 7)
    assert waist.size_of("waist-69") == (69,)
    assert shipped_base("78-16").base_chart["underbust_girth"] == 780.0
    assert shipped_base("78-16").base_chart["bust_girth"] == 940.0


@pytest.mark.parametrize(
    "name", ["", "78", "78-16-3", "078-16", "7８-16", "61-14", "78-27", "panelled-78-21", "waist-51", "waist-"]
)
def test_other_names_are_no_size(name: str) -> None:
    assert all(kind.size_of(name) is None for kind in STYLES.values())
    with pytest.raises(BadInput, match=r"62-8 to 108-26, panelled-62-0 to panelled-108-20 .* or waist-52 to waist-104"):
        shipped_base(name)


def test_nearest_is_the_size_next_to_the_reading() -> None:
    """Underbust 787 and bust 951 mm: 79 cm, and 16.4 more is next to 16."""
    chart = shipped_base("78-16").base_chart.with_value("underbust_girth", 787.0).with_value("bust_girth", 951.0)
    assert STYLES["cupped"].nearest(chart)[0] == (79, 16)
    # Beyond the range, the last size there is.
    beyond = chart.with_value("underbust_girth", 1200.0).with_value("bust_girth", 1300.0)
    assert STYLES["cupped"].nearest(beyond)[0] == (108, 10)
