"""Grading: tables of steps, the published example, the chart of every size, each size made and checked."""

from __future__ import annotations

import pytest

from coutil.alter import Wishes
from coutil.check import Verdict
from coutil.errors import BadInput
from coutil.grading import grade, grade_table, known_steps, size_chart, sizes_from_csv
from coutil.pattern import measure_style
from coutil.shipped import base_names, example_size_table, shipped_base
from helpers.altering import LONG

BASE = shipped_base("80-14")


def test_steps_and_figures_are_told_apart_by_their_sign() -> None:
    small, own = sizes_from_csv("# unit: cm\nsize,waist_girth,bust_girth\nS,-2,+1 1/2 in\nM,70,\n", "in")
    assert (small.steps, small.fixed) == ({"waist_girth": -20.0, "bust_girth": pytest.approx(38.1)}, {})
    assert (own.steps, own.fixed) == ({}, {"waist_girth": 700.0})


def test_the_unit_asked_for_holds_where_the_table_names_none() -> None:
    (size,) = sizes_from_csv("size,waist_girth\nL,+2\n", "in")
    assert size.steps == {"waist_girth": pytest.approx(50.8)}


def test_the_example_is_the_published_table() -> None:
    # ASTM D5585-11e1, Table 1 (inch-pound), misses, as printed: bust 36 1/4, 37 1/4, 38 3/4, 40 3/8, 42 1/8;
    # under-bust 30, 31, 32 1/2, 34, 35 3/4; waist, curvy figure, 28, 29, 30 3/4, 32 1/2, 34 1/2; size 12 is no step.
    printed = {
        "bust_girth": (36.25, 37.25, 38.75, 40.375, 42.125),
        "underbust_girth": (30, 31, 32.5, 34, 35.75),
        "waist_girth": (28, 29, 30.75, 32.5, 34.5),
    }
    sizes = sizes_from_csv(example_size_table(), "cm")
    assert [size.name for size in sizes] == ["8", "10", "12", "14", "16"]
    for key, inches in printed.items():
        for size, figure in zip(sizes, inches, strict=True):
            assert size.steps.get(key, 0.0) == pytest.approx((figure - inches[2]) * 25.4)


def test_a_sizes_chart_steps_from_the_bases_and_its_front_arcs_follow() -> None:
    (size,) = sizes_from_csv("size,waist_girth\nL,+3.8\n", "cm")
    chart = size_chart(BASE, size)
    # Waist 760, front 391: 798 has a front of 391 x 798 / 760 = 410.55.
    assert chart["waist_girth"] == pytest.approx(798)
    assert chart["waist_front"] == pytest.approx(410.55)
    assert chart.estimated("waist_front")
    assert chart["bust_girth"] == BASE.base_chart["bust_girth"]


def test_every_size_is_made_by_the_same_solve_and_checked() -> None:
    sizes = sizes_from_csv(example_size_table(), "cm")[1:4]
    made = grade(BASE, sizes, Wishes())
    middle = measure_style(made[1].alteration.style)
    assert middle["waist_girth"] == pytest.approx(measure_style(BASE)["waist_girth"], abs=0.01)
    for graded in made:
        found = measure_style(graded.alteration.style)
        step = graded.size.steps.get("underbust_girth", 0.0)
        assert found["underbust_girth"] == pytest.approx(middle["underbust_girth"] + step, abs=0.05)
        assert graded.findings
        assert not [f for f in graded.findings if f.verdict is Verdict.FAIL]
    head, *rows = grade_table(made)
    assert head == ("size", "bust", "underbust", "waist", "high_hip", "hem", "warnings", "failed checks")
    assert [row[0] for row in rows] == ["10", "12", "14"]
    assert [row[-1] for row in rows] == ["0", "0", "0"]


def test_a_waist_corset_takes_of_the_example_what_it_has() -> None:
    """Its chart has no bust and no hem: underbust, waist and high hip step, 1 3/4 in = 44.45 mm at the waist."""
    base = shipped_base("waist-72")
    sizes = known_steps(base, sizes_from_csv(example_size_table(), "cm"))
    assert set(sizes[0].steps) == {"underbust_girth", "waist_girth", "high_hip_girth"}
    chart = size_chart(base, sizes[1])
    assert base.base_chart["waist_girth"] - chart["waist_girth"] == pytest.approx(44.45)


@pytest.mark.parametrize("name", base_names() if LONG else ["panelled-85-10", "waist-72"])
def test_every_base_is_graded_by_the_published_table(name: str) -> None:
    """Sizes 8 to 16 from size 12: none fails a check."""
    base = shipped_base(name)
    sizes = known_steps(base, sizes_from_csv(example_size_table(), "cm"))
    for graded in grade(base, sizes if LONG else sizes[::4], Wishes()):
        assert [f.name for f in graded.findings if f.verdict is Verdict.FAIL] == [], graded.size.name


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "needs a head line"),
        ("size,waist_girth\n", "needs a head line"),
        ("name,waist_girth\nS,1\n", "begins with 'name'"),
        ("size,wast_girth\nS,1\n", "wast_girth"),
        ("size,waist_girth\nS,1,2\n", "Line 2"),
        ("size,waist_girth\nS,wide\n", "Line 2 of the table of sizes, waist_girth"),
        ("size,waist_girth\nS,+1\nS,+2\n", "size S twice"),
        ("size,waist_girth\n" + "".join(f"{k},+1\n" for k in range(99)), "at most 60"),
    ],
)
def test_a_bad_table_is_told_in_one_sentence(text: str, told: str) -> None:
    with pytest.raises(BadInput, match=told):
        sizes_from_csv(text, "cm")


def test_a_step_of_what_the_base_lacks_is_told() -> None:
    (size,) = sizes_from_csv("size,hip_girth\nL,+3\n", "cm")
    with pytest.raises(BadInput, match="hip_girth"):
        size_chart(BASE, size)
