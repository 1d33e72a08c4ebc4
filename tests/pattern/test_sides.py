"""The tape on whole styles: what each side of the body measures."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coutil.draft import base_chart, draft_cupped
from coutil.pattern import EdgeRef, Role, Seam, Style, find_faults, measure_style
from helpers.tubes import tube_style
from helpers.whole import narrower, whole_style

GIRTHS = {"underbust": 700.0, "waist": 590.0, "high_hip": 720.0, "hem": 760.0}
ADDED_UP = ("_girth", "_front", "_separation", "top_edge_run")


@pytest.fixture(scope="module")
def half() -> Style:
    return draft_cupped(base_chart(80, 14))


@pytest.fixture(scope="module")
def whole(half: Style) -> Style:
    return whole_style(half)


def test_a_half_made_whole_is_sound_and_measures_the_same(half: Style, whole: Style) -> None:
    assert find_faults(whole) == ()
    found = measure_style(whole)
    for key, value in measure_style(half).items():
        assert found[key] == pytest.approx(value, abs=1e-6), key


def test_a_half_has_no_sides(half: Style) -> None:
    assert not [key for key in measure_style(half) if key.endswith(("_left", "_right"))]


def test_an_even_body_measures_the_same_on_both_sides(half: Style, whole: Style) -> None:
    """Round the body each side is half of the whole; along it each side has the whole length."""
    found = measure_style(whole)
    for key, value in measure_style(half).items():
        own = value / 2 if key.endswith(ADDED_UP) else value
        assert found[f"{key}_left"] == pytest.approx(own, abs=1e-6), key
        assert found[f"{key}_right"] == pytest.approx(own, abs=1e-6), key


def test_an_uneven_tube_by_hand() -> None:
    """Five equal panels a half, 590 / 10 = 59 wide at the waist; the right side's are 5 narrower at their widest."""
    even = whole_style(tube_style(5, GIRTHS))
    left = measure_style(even)["waist_girth_left"]
    assert left == pytest.approx(295.0)
    uneven = measure_style(narrower(even, "right", 5.0))
    assert uneven["waist_girth_left"] == pytest.approx(295.0)
    assert uneven["waist_girth_right"] < 295.0 - 15.0
    for key in ("waist_girth", "waist_front", "hem_girth"):
        assert uneven[f"{key}_left"] + uneven[f"{key}_right"] == pytest.approx(uneven[key], abs=1e-9)


def test_cup_depths_of_two_sides(whole: Style) -> None:
    """The right cup drawn 5 mm narrower: its depth changes, the left one's does not, the whole is their mean."""
    cups = {p.name: p for p in narrower(whole, "right", 5.0).pieces if p.name.endswith("cup_right")}
    before, after = measure_style(whole), measure_style(whole.with_pieces(cups))
    key = "bust_point_to_underbust"
    assert after[f"{key}_left"] == before[f"{key}_left"]
    assert after[f"{key}_right"] < before[f"{key}_right"] - 0.05
    assert after[key] == pytest.approx((after[f"{key}_left"] + after[f"{key}_right"]) / 2)


def test_a_piece_across_both_sides_leaves_them_untold(whole: Style) -> None:
    """With the two centre fronts sewn by a panel seam in place of the centre, no side can be told apart."""
    across = whole.with_pieces(
        {
            name: replace(
                p, edges=tuple(replace(e, role=Role.PANEL_SEAM) if e.role.is_vertical else e for e in p.edges)
            )
            for name in ("centre_front_left", "centre_front_right")
            for p in (whole.piece(name),)
        }
    )
    assert "waist_girth_left" not in measure_style(across)
    crossed = Seam("x", (EdgeRef("side_front_left", "hem"),), (EdgeRef("side_front_right", "hem", backward=True),))
    assert "waist_girth_left" not in measure_style(replace(whole, seams=(*whole.seams, crossed)))
