"""Whole patterns with a straight seam at the centre front, darts, and lines drawn in tiny strokes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from coutil.alter import Alterer, alter
from coutil.alter._order_of_seams import seam_places
from coutil.alter._solve import solve_small
from coutil.check import Verdict, check_style
from coutil.pattern import Role, Style, find_faults, girth
from coutil.shipped import shipped_base
from helpers.altering import client_of, length, most_moved, moved
from helpers.darts import PIECE, darted_tube
from helpers.whole import whole_style

WHOLE = ("80-18", "panelled-83-7", "waist-69")
UNCHANGED_MM = 1e-6
NOT_SEEN_MM = 0.1  # A fifth of what can be kept on paper.


def with_role_at_centre(style: Style, role: Role) -> Style:
    """The centre-front seam called another role; it stays straight."""
    return style.with_pieces(
        {
            piece.name: replace(
                piece,
                centre_cut=None,
                edges=tuple(replace(e, role=role) if e.role is Role.CENTRE else e for e in piece.edges),
            )
            for piece in style.pieces
        }
    )


@pytest.mark.parametrize("role", [Role.CENTRE, Role.PANEL_SEAM])
@pytest.mark.parametrize("name", WHOLE)
def test_a_whole_pattern_with_a_straight_centre_seam_stays_as_it_is_on_its_own_chart(name: str, role: Role) -> None:
    style = with_role_at_centre(whole_style(shipped_base(name)), role)
    outcome = alter(style, style.base_chart)
    assert most_moved(style, outcome.style) < UNCHANGED_MM
    assert outcome.conflicts == ()


@pytest.mark.parametrize("name", WHOLE)
def test_a_whole_pattern_with_a_straight_centre_seam_is_altered_to_a_client(name: str) -> None:
    style = whole_style(shipped_base(name))
    client = client_of(style, waist_girth=30, high_hip_girth=20, underbust_girth=25)
    outcome = alter(style, client)
    assert outcome.conflicts == ()
    findings = check_style(outcome.style, base=style, plan=outcome.plan, chart=client)
    assert [f.name for f in findings if f.verdict is Verdict.FAIL] == []


def test_a_row_that_nothing_can_change_is_left_alone() -> None:
    """By hand: 4 x = 2 gives 0.5; the second row has no freedom at all, and what it wants is no number's affair."""
    small = np.array([[4.0, 0.0], [0.0, 0.0]])
    assert solve_small(small, np.array([2.0, 3.0])) == pytest.approx([0.5, 0.0])


def test_a_row_with_little_freedom_is_still_solved() -> None:
    """A thousandth of a millimetre a unit, squared 1e-6: 1e-6 x = 1e-6 gives 1."""
    small = np.array([[4.0, 0.0], [0.0, 1e-6]])
    assert solve_small(small, np.array([2.0, 1e-6])) == pytest.approx([0.5, 1.0])


# --- darts -------------------------------------------------------------------------------------------------


def test_the_dart_takes_its_width_from_the_girth() -> None:
    """By hand, half: 180 less 30, 24, 14 and 0 in front and 150 behind; full 600, 612, 632, 660."""
    style = darted_tube()
    assert find_faults(style) == ()
    full = [girth(style, level).full for level in ("hem", "high_hip", "waist", "underbust")]
    assert full == pytest.approx([600, 612, 632, 660])


def test_a_dart_stands_in_the_middle_of_its_panel() -> None:
    assert seam_places(darted_tube())[PIECE, "dart_in"] == 0.5


def test_a_pattern_with_a_dart_stays_as_it_is_on_its_own_chart() -> None:
    style = darted_tube()
    assert most_moved(style, alter(style, style.base_chart).style) < UNCHANGED_MM


def test_a_dart_takes_its_share_and_both_its_sides_stay_equal() -> None:
    """By hand: 6 mm of half the front waist over three edges, the side seam's and both of the dart's: 2 mm each."""
    style = darted_tube()
    changes = {f"{level}_{what}": by for level in ("waist", "high_hip") for what, by in (("girth", 12), ("front", 12))}
    outcome = alter(style, client_of(style, **changes))
    waist = 2
    assert moved(style, outcome.style, PIECE, "dart_in")[waist, 0] == pytest.approx(2.0, abs=0.05)
    assert moved(style, outcome.style, PIECE, "dart_out")[3 - waist, 0] == pytest.approx(-2.0, abs=0.05)
    sides = [length(outcome.style, PIECE, edge) for edge in ("dart_in", "dart_out")]
    assert sides[0] == pytest.approx(sides[1], abs=1e-6)
    assert girth(outcome.style, "waist").full == pytest.approx(644, abs=0.01)
    findings = check_style(outcome.style, base=style, plan=outcome.plan)
    assert [f.name for f in findings if f.verdict is Verdict.FAIL] == []


# --- tiny strokes ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("edge", ["hem", "top"])
@pytest.mark.parametrize("at", [0.5, 0.05, 0.01])
def test_a_tiny_stroke_at_a_corner_changes_nothing(edge: str, at: float) -> None:
    """A span of a hundredth of a millimetre, such as a gap that was closed, neither stops the work nor shows in it."""
    base = shipped_base("waist-69")
    piece = base.piece("centre_front")
    whole = alter(base, client_of(base, waist_girth=30)).style
    curve, knot = piece.edge(edge).curve.with_knot_at(at)
    style = base.with_pieces({piece.name: piece.with_curves({edge: curve})})
    made = Alterer(style).alter(client_of(base, waist_girth=30)).style
    knots = np.delete(made.piece(piece.name).edge(edge).curve.knots, knot, axis=0)
    assert np.abs(knots - whole.piece(piece.name).edge(edge).curve.knots).max() < NOT_SEEN_MM

