"""The marks of the alteration guide: a worked example by hand, and a student's tracing against every step."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from guide_samples import CLIENTS, apart, demo_alteration, moves_in, points_on, redrawn
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline, PchipInterpolator
from sheet_samples import line, panel, style

from coutil.errors import BadInput
from coutil.measure import Unit
from coutil.sheet._guide_marks import STEP_MM, mark_pieces, moves_of, rounded_moves, smooth_weights
from coutil.sheet._guide_picture import amount_words

TRACED_MM = 1.0


def natural(along: np.ndarray, moves: np.ndarray) -> CubicSpline:
    return CubicSpline(along, moves, bc_type="natural")


def straight(along: np.ndarray, moves: np.ndarray):
    return lambda at: np.stack([np.interp(at, along, moves[:, i]) for i in (0, 1)], axis=1)


def test_arrows_of_a_panel_worked_by_hand() -> None:
    # The side edge runs from (90, -100) over the waist (80, 0) to (90, 150).  Let out 4 mm at the waist alone, it
    # goes over (84, 0): the marks at its ends stay; half-way below, the place (85, -50) comes to lie at
    # (87, -50), and half-way above, (85, 75) at (87, 75), each 2 mm to the right.  The other edges stay.
    before = style(panel("front", "Front"))
    piece = before.pieces[0]
    after = before.with_pieces({"front": piece.with_curves({"side": line((90, -100), (84, 0), (90, 150))})})

    (marked,) = mark_pieces(before, [after])
    ((moves,),) = moves_of([marked], [before, after], 0.5)

    run = marked.runs["side"]
    at = {marked.marks[i].place: i for i in run[:-1]} | {2.0: run[-1]}
    named = [at[place] for place in (0.0, 0.5, 1.0, 1.5, 2.0)]
    assert marked.marks[at[1.0]].name == "waist"
    assert np.allclose(moves.before[named], [(90, -100), (85, -50), (80, 0), (85, 75), (90, 150)], atol=0.01)
    assert moves.amounts[named].tolist() == [[0, 0], [2, 0], [4, 0], [2, 0], [0, 0]]
    assert moves.moved_edges() == ("side",)
    assert [amount_words(*moves.amounts[i], "cm") for i in named] == ["0", "→2", "→4", "→2", "0"]
    # The new line has a corner at the waist, which a smooth hand would cut: more marks stand beside it.
    more = set(at) - {0.0, 0.5, 1.0, 1.5, 2.0}
    assert more
    assert all(abs(place - 1.0) < 0.5 for place in more)


def test_every_corner_is_one_mark() -> None:
    before = style(panel("front", "Front"))
    (marked,) = mark_pieces(before, [])
    ends = [(run[0], run[-1]) for run in marked.runs.values()]
    assert [end for _, end in ends] == [start for start, _ in ends[1:]] + [ends[0][0]]


def test_rounding_owes_and_makes_up() -> None:
    # Step 0.5, as in the docstring: 0.3 is let go; 0.3 more is 0.6, of which 0.5 is written and 0.1 owed on.
    first, owed = rounded_moves(np.array([[0.3, 0.0]]), np.zeros((1, 2)), 0.5)
    second, left = rounded_moves(np.array([[0.3, 0.0]]), owed, 0.5)
    assert (first[0, 0], owed[0, 0]) == (0.0, pytest.approx(0.3))
    assert (second[0, 0], left[0, 0]) == (0.5, pytest.approx(0.1))


@given(st.lists(st.floats(-30, 30), min_size=1, max_size=30), st.sampled_from(["cm", "in"]))
def test_written_amounts_never_lose_the_point(moved: list[float], unit: Unit) -> None:
    step, owed, written = STEP_MM[unit], np.zeros((1, 2)), 0.0
    for i, mm in enumerate(moved):
        amounts, owed = rounded_moves(np.array([[mm, -mm]]), owed, step)
        written += amounts[0, 0]
        assert abs(amounts[0, 0] / step - round(amounts[0, 0] / step)) < 1e-9
        assert abs(written - sum(moved[: i + 1])) <= 0.35 + 1e-9


def test_smooth_weights_are_the_natural_spline() -> None:
    marked, looked = np.array([0.0, 3.0, 10.0, 14.0]), np.linspace(0.0, 14.0, 29)
    moves = np.array([[0.0, 1.0], [2.0, 0.0], [-1.0, 3.0], [4.0, 4.0]])
    assert np.allclose(smooth_weights(marked, looked) @ moves, natural(marked, moves)(looked))


@pytest.mark.parametrize("unit", ["cm", "in"])
@pytest.mark.parametrize("client", CLIENTS)
def test_a_tracing_from_the_written_amounts_lies_within_a_millimetre(client: str, unit: Unit) -> None:
    """Base + amounts as printed, redrawn smoothly between the marks, against the pattern after every step."""
    alteration = demo_alteration(client)
    so_far: dict[str, np.ndarray] = {}
    for frame, step in zip(alteration.frames, moves_in(alteration, unit), strict=True):
        for moves in step:
            name = moves.piece.name
            so_far[name] = so_far.get(name, 0.0) + moves.amounts
            for edge, run in moves.piece.runs.items():
                places = [moves.piece.marks[i].place for i in run[:-1]]
                base = alteration.base.piece(name).edge(edge)
                places = np.array([*places, float(base.curve.n_spans)])
                smooth = straight if base.straight else natural
                tracing = redrawn(base.curve, places, so_far[name][list(run)], smooth)
                miss = apart(tracing, frame.style.piece(name).edge(edge).curve)
                assert miss <= TRACED_MM, f"{frame.row}: {name} {edge} is {miss:.2f} mm off"


def test_a_cautious_hand_comes_as_near() -> None:
    """The same by an interpolation that never overshoots, on the finished pattern: the marks leave little to it."""
    alteration = demo_alteration("understudy")
    steps = moves_in(alteration, "cm")
    total = {moves.piece.name: sum(step[i].amounts for step in steps) for i, moves in enumerate(steps[0])}
    for moves in steps[0]:
        for edge, run in moves.piece.runs.items():
            base = alteration.base.piece(moves.piece.name).edge(edge).curve
            places = np.array([*(moves.piece.marks[i].place for i in run[:-1]), float(base.n_spans)])
            tracing = redrawn(base, places, total[moves.piece.name][list(run)], PchipInterpolator)
            assert apart(tracing, alteration.style.piece(moves.piece.name).edge(edge).curve) <= TRACED_MM


def test_arrows_are_measured_between_the_steps() -> None:
    alteration = demo_alteration("understudy")
    step = moves_in(alteration, "cm")[0]
    for moves in step:
        for mark, after in zip(moves.piece.marks, moves.after, strict=True):
            curve = alteration.frames[0].style.piece(moves.piece.name).edge(mark.edge).curve
            assert np.allclose(points_on(curve, np.array([mark.place]))[0], after, atol=1e-9)


def test_steps_of_another_pattern_are_refused() -> None:
    before = style(panel("front", "Front"))
    other = before.with_pieces({"front": replace(before.pieces[0], edges=before.pieces[0].edges[:-1])})
    with pytest.raises(BadInput, match="do not belong to its base"):
        mark_pieces(before, [other])


def test_inches_are_sixteenths_full_or_scant() -> None:
    sixteenth = 25.4 / 16
    assert amount_words(2 * sixteenth, 0.0, "in") == "→1/8"
    assert amount_words(-(2 + 1 / 3) * sixteenth, sixteenth, "in") == "←1/8+ ↑1/16"
    assert amount_words(0.0, -17 * sixteenth, "in") == "↓1 1/16"
    assert amount_words(0.0, -(16 - 1 / 3) * sixteenth, "in") == "↓1−"
    assert amount_words(2 / 3 * sixteenth, 0.0, "in") == "→1/16−"
    assert amount_words(1 / 3 * sixteenth, 0.0, "in") == "→0+"
    assert amount_words(0.0, 0.0, "in") == "0"
