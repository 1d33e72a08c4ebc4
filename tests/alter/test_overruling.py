"""The maker's own decisions: overruled, left and locked rows, rounding in the workroom's step, and conflicts."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coutil.alter import Alteration, Alterer, Override, State, Wishes, alter
from coutil.check import check_style
from coutil.errors import BadInput
from coutil.measure import Chart
from coutil.pattern import (
    EdgeShare,
    Role,
    Style,
    bust_point_to_upper_corner,
    find_faults,
    girth,
    measure_style,
    seam_lengths,
)
from coutil.result_file import result_to_json
from helpers.altering import LEVELS, alterer_of, base_of, client_of, everywhere, most_moved
from helpers.seamed_tubes import shared_tube

BASE = base_of()
SAME = BASE.base_fit.reduction
BODY_LEVELS = ("underbust", "waist", "high_hip", "hem")
WHY = "she carries her arms forward, the side seam stays back"
SIXTEENTH = 25.4 / 16
FULLER = everywhere(20.0, 10.0)


def altered(*overrides: Override, changes: dict[str, float] | None = None, **wishes: bool | float) -> Alteration:
    """The base for a body 20 fuller all round (half of it in front), or with other changes, and some rows decided."""
    chart = client_of(BASE, **(FULLER if changes is None else changes))
    return alterer_of().alter(chart, Wishes(reduction=SAME, overrides=overrides, **wishes))


def at_level(outcome: Alteration, level: str, part: str) -> float:
    """What all rows but the reduction's, which is ordered apart, move at a level of one part, mm on the stored half."""
    pieces = {p.name for p in outcome.base.pieces if p.part == part and level in p.levels}
    return sum(
        move.amount
        for row in outcome.plan.rows
        if row.key != "reduction"
        for move in row.moves
        if move.kind == "sideways" and move.piece in pieces and move.level in (None, level)
    )


def amounts(outcome: Alteration, key: str) -> dict[tuple[str, str], float]:
    row = outcome.plan.row(key)
    assert row is not None, key
    return {(move.piece, move.edge): move.amount for move in row.moves}


# --- overruled, left, locked -------------------------------------------------------------------------------


def test_the_computed_side_takes_the_common_part() -> None:
    """20 fuller, 10 in front: 5 for the half front, all of it at the side; nothing left for the curves."""
    outcome = altered()
    row = outcome.plan.row("side_front")
    assert row is not None
    assert (row.state, row.amount, row.why) == (State.COMPUTED, 5.0, "")
    assert not [row for row in outcome.plan.rows if row.key.startswith("curves_")]


def test_an_overruled_row_moves_the_makers_amount_and_the_rest_is_shared_anew() -> None:
    """5 wanted, 2 at the side: 3 more at every level, 1 on each of three edges; the bust's 3 at the outer cup."""
    outcome = altered(Override("side_front", State.OVERRULED, WHY, 2.0))
    row = outcome.plan.row("side_front")
    assert row is not None
    assert (row.state, row.wanted, row.amount, row.why) == (State.OVERRULED, 5.0, 2.0, WHY)
    for level in BODY_LEVELS:
        assert list(amounts(outcome, f"curves_{level}_front").values()) == pytest.approx([1.0, 1.0, 1.0])
    assert amounts(outcome, "bust_surplus") == {("outer_cup", "cup_seam"): pytest.approx(3.0)}
    assert outcome.plan.row("curves_waist_back") is None


@pytest.mark.parametrize(
    "override",
    [
        Override("side_front", State.OVERRULED, WHY, 2.0),
        Override("side_front", State.LEFT, WHY),
        Override("side_front", State.LOCKED, WHY, 3.0),
        Override("side_back", State.OVERRULED, WHY, 8.0),
    ],
)
def test_the_ordered_girths_are_met_however_the_side_was_decided(override: Override) -> None:
    outcome = altered(override)
    assert outcome.residual <= 1e-6
    for order in outcome.plan.girths:
        found = girth(outcome.style, order.level)
        assert found.full == pytest.approx(order.garment, abs=0.2), order.level
        assert found.front == pytest.approx(order.garment_front, abs=0.2), order.level
        assert found.full - girth(BASE, order.level).full == pytest.approx(20.0, abs=0.2), order.level
    for part in ("front", "back"):
        for level in BODY_LEVELS:
            assert at_level(outcome, level, part) == pytest.approx(5.0, abs=1e-9), (level, part)


def test_a_row_left_out_moves_nothing_and_the_others_make_up_for_it() -> None:
    """5 wanted at the side, left: 5 over weights 0.5, 1 and 1 is 1, 2, 2."""
    outcome = altered(Override("side_front", State.LEFT, WHY))
    row = outcome.plan.row("side_front")
    assert row is not None
    assert (row.state, row.amount) == (State.LEFT, 0.0)
    for level in BODY_LEVELS:
        assert list(amounts(outcome, f"curves_{level}_front").values()) == pytest.approx([1.0, 2.0, 2.0])


def test_a_locked_row_stays_and_the_rest_is_shared_anew() -> None:
    """Locked at 3: 2 left, over weights 0.5, 1 and 1 (0.4, 0.8, 0.8) in whole millimetres 0, 1, 1."""
    outcome = altered(Override("side_front", State.LOCKED, WHY, 3.0))
    row = outcome.plan.row("side_front")
    assert row is not None
    assert (row.state, row.amount) == (State.LOCKED, 3.0)
    for level in BODY_LEVELS:
        assert list(amounts(outcome, f"curves_{level}_front").values()) == pytest.approx([0.0, 1.0, 1.0])


def test_a_row_locked_without_an_amount_keeps_the_computed_one() -> None:
    free, locked = altered(), altered(Override("side_front", State.LOCKED, WHY))
    row = locked.plan.row("side_front")
    assert row is not None
    assert (row.state, row.amount, row.why) == (State.LOCKED, 5.0, WHY)
    assert most_moved(free.style, locked.style) <= 1e-9


def test_what_a_curve_is_denied_is_declared_as_still_missing() -> None:
    """Waist 16 fuller, 8 in front, 4 for the half; 3 allowed: 1 missing on the half, 2 of the whole front."""
    override = Override("curves_waist_front", State.OVERRULED, "the toile sits well here", 3.0)
    outcome = altered(override, changes={"waist_girth": 16.0, "waist_front": 8.0})
    row = outcome.plan.row("curves_waist_front")
    assert row is not None
    assert row.remainder == pytest.approx(2.0)
    wanted = next(order for order in outcome.plan.girths if order.level == "waist")
    assert girth(outcome.style, "waist").front == pytest.approx(wanted.garment_front - 2.0, abs=0.1)


@pytest.mark.parametrize(("decided", "missing"), [(4.0, 4.0), (0.0, 8.0), (8.0, 0.0)])
def test_half_of_a_cup_depth(decided: float, missing: float) -> None:
    """8 deeper on the body, 4 allowed: 4 still missing, and the tape reads 4 more than on the base."""
    override = Override("cup_depth", State.OVERRULED, "half now, half after the toile", decided)
    outcome = altered(override, changes={"bust_point_to_underbust": 8.0})
    row = outcome.plan.row("cup_depth")
    assert row is not None
    assert row.remainder == pytest.approx(missing, abs=0.01)
    key = "bust_point_to_underbust"
    assert measure_style(outcome.style)[key] - measure_style(BASE)[key] == pytest.approx(decided, abs=0.01)


def test_the_reason_is_kept_in_the_result_file() -> None:
    outcome = altered(Override("side_front", State.OVERRULED, WHY, 2.0))
    text = result_to_json(outcome, ())
    written = text.decode("utf-8") if isinstance(text, bytes) else text
    assert WHY in written
    assert '"overruled"' in written


@pytest.mark.parametrize(
    ("override", "sentence"),
    [
        (Override("side_front", State.OVERRULED, " ", 2.0), "row side_front is overruled without a reason"),
        (Override("side_front", State.LEFT, ""), "row side_front is overruled without a reason"),
        (Override("side_front", State.OVERRULED, WHY), "row side_front is overruled without an amount"),
        (Override("sleeve", State.LEFT, WHY), "there is no row sleeve to overrule: the rows are side_front"),
    ],
)
def test_a_decision_that_cannot_be_understood_is_refused(override: Override, sentence: str) -> None:
    with pytest.raises(BadInput, match=sentence):
        altered(override)


# --- left as in the base -----------------------------------------------------------------------------------


def test_everything_left_as_in_the_base_changes_nothing() -> None:
    changes = {"bust_point_to_underbust": 8.0, "bust_point_to_upper_corner": -6.0, "bust_point_separation": 8.0}
    chart = client_of(BASE, **changes)
    wanted = [row.key for row in alterer_of().alter(chart).plan.rows]
    assert {"centre", "upper_corner", "cup_depth"} <= set(wanted)
    left = tuple(Override(key, State.LEFT, "left as in the base") for key in ("centre", "upper_corner", "cup_depth"))
    outcome = alterer_of().alter(chart, Wishes(overrides=left))
    assert most_moved(BASE, outcome.style) <= 1e-6
    missing = {row.key: row.remainder for row in outcome.plan.rows}
    assert missing == pytest.approx({"centre": 8.0, "upper_corner": -6.0, "cup_depth": 8.0})


def test_differences_within_the_tapes_error_are_left_in_one_move() -> None:
    """Under 5 mm of girth or 3 mm of length (common practice, no source)."""
    small = {"waist_girth": 3.0, "waist_front": 1.5, "bust_point_to_armhole": 2.0, "bust_point_to_upper_corner": -2.5}
    chart = client_of(BASE, **small)
    outcome = alterer_of().alter(chart, Wishes(leave_small=True))
    assert outcome.plan.rows
    assert {row.state for row in outcome.plan.rows} == {State.LEFT}
    assert all("within the tape's error" in row.why for row in outcome.plan.rows)
    assert most_moved(BASE, outcome.style) <= 1e-6
    larger = alterer_of().alter(client_of(BASE, bust_point_to_armhole=4.0), Wishes(leave_small=True))
    row = larger.plan.row("armhole")
    assert row is not None
    assert (row.state, row.amount) == (State.COMPUTED, 4.0)


def test_heights_are_left_until_the_maker_decides() -> None:
    chart = client_of(BASE, side_height=6.0, centre_back_height=-10.0)
    outcome = alterer_of().alter(chart)
    assert {row.key: row.amount for row in outcome.plan.rows} == {"side_height": 0.0, "centre_back_height": 0.0}
    assert most_moved(BASE, outcome.style) <= 1e-6


# --- rounding ----------------------------------------------------------------------------------------------


@cache
def tube_alterer(step: float) -> Alterer:
    return Alterer(shared_tube(6, step=step))


def tube_client(base: Style, levels: dict[str, tuple[float, float]]) -> Chart:
    """The tube's body with some levels' girth and front changed, mm."""
    girths = {f"{level}_girth": change[0] for level, change in levels.items()}
    return client_of(base, **girths, **{f"{level}_front": change[1] for level, change in levels.items()})


CHANGE = st.floats(-24.0, 24.0).map(lambda mm: round(mm, 1))


@pytest.mark.parametrize("step", [1.0, SIXTEENTH, 0.5])
@settings(max_examples=6, deadline=None)
@given(changes=st.tuples(CHANGE, CHANGE, CHANGE, CHANGE))
def test_totals_are_exact_after_rounding(step: float, changes: tuple[float, float, float, float]) -> None:
    """Every level's amounts add up to a quarter of twice its change; all but one edge lie on whole steps."""
    alterer = tube_alterer(step)
    base = alterer.layout.style
    levels = {level: (2 * change, change) for level, change in zip(BODY_LEVELS, changes, strict=True)}
    outcome = alterer.alter(tube_client(base, levels), Wishes(reduction=0.0))
    for level, (_, front) in levels.items():
        for part in ("front", "back"):
            assert at_level(outcome, level, part) == pytest.approx(front / 2, abs=1e-9)
            row = outcome.plan.row(f"curves_{level}_{part}")
            odd = [m.amount for m in row.moves if off_step(m.amount, step) > 1e-6] if row is not None else []
            assert len(odd) <= 1, (level, part)
        assert girth(outcome.style, level).full - girth(base, level).full == pytest.approx(2 * front, abs=0.2), level


def off_step(amount: float, step: float) -> float:
    return abs(amount / step - round(amount / step)) * step


def test_seven_over_five_edges_in_whole_millimetres() -> None:
    """Front of a tube of six: panel seams 1|2 and 2|3 with two edges each, and the side seam's one edge.

    28 fuller, 14 in front, 7 for the half: 7 / 5 = 1.4 each; five whole, two left: the first pair takes one each.
    """
    alterer = tube_alterer(1.0)
    chart = tube_client(alterer.layout.style, {"waist": (28.0, 14.0)})
    outcome = alterer.alter(chart, Wishes(reduction=0.0))
    found = amounts(outcome, "curves_waist_front")
    assert sorted(found.values()) == pytest.approx([1.0, 1.0, 1.0, 2.0, 2.0])
    assert found["panel_1", "backward"] == found["panel_2", "forward"]
    assert found["panel_2", "backward"] == found["panel_3", "forward"]
    assert found["panel_3", "backward"] == 1.0


def test_the_same_in_sixteenths_of_an_inch() -> None:
    """7 mm are 4.41 sixteenths: four whole, a pair of them each one, 0.65 mm more at the side seam's edge."""
    alterer = tube_alterer(SIXTEENTH)
    chart = tube_client(alterer.layout.style, {"waist": (28.0, 14.0)})
    found = amounts(alterer.alter(chart, Wishes(reduction=0.0)), "curves_waist_front")
    rest = 7.0 - 4 * SIXTEENTH
    assert rest == pytest.approx(0.65)
    assert sorted(found.values()) == pytest.approx([rest, *[SIXTEENTH] * 4])
    assert found["panel_3", "backward"] == pytest.approx(rest)


@settings(max_examples=12, deadline=None)
@given(CHANGE)
def test_sewn_pairs_take_alike(change: float) -> None:
    alterer = tube_alterer(1.0)
    chart = tube_client(alterer.layout.style, {"waist": (2 * change, change)})
    outcome = alterer.alter(chart, Wishes(reduction=0.0))
    for key in ("curves_waist_front", "curves_waist_back"):
        if outcome.plan.row(key) is None:
            continue
        found = amounts(outcome, key)
        for seam in outcome.base.seams:
            one, other = ((ref.piece, ref.edge) for ref in (*seam.a, *seam.b))
            if one in found and other in found:
                assert found[one] == pytest.approx(found[other], abs=1e-9), (key, seam.name)


def test_sewn_pairs_take_alike_wherever_the_side_stands_in_the_list() -> None:
    """Front of a tube of four: 1.5 over a side edge and a sewn pair, the pair named last."""
    tube = shared_tube(4)
    front = tuple(sorted(tube.sharing.curves["front"], key=lambda share: is_side(tube, share), reverse=True))
    rules = replace(tube.sharing, curves={**tube.sharing.curves, "front": front})
    base = replace(tube, sharing=rules)
    outcome = alter(base, tube_client(base, {"waist": (6.0, 3.0)}), Wishes(reduction=0.0))
    found = amounts(outcome, "curves_waist_front")
    assert found["panel_1", "backward"] == pytest.approx(found["panel_2", "forward"])


def is_side(style: Style, share: EdgeShare) -> bool:
    return style.piece(share.piece).edge(share.edge).role is Role.SIDE_SEAM


def test_both_edges_of_the_side_seam_take_alike() -> None:
    """Waist 16 less, 8 of it in front: 4 for each quarter, weights 0.5, 1, 1 on both sides of the side seam."""
    outcome = altered(changes={"waist_girth": -16.0, "waist_front": -8.0})
    front, back = amounts(outcome, "curves_waist_front"), amounts(outcome, "curves_waist_back")
    assert front["side_front", "side_seam"] == pytest.approx(back["side_back", "side_seam"])


# --- conflicts ---------------------------------------------------------------------------------------------


@cache
def straight_seamed(**changes: float) -> Alteration:
    tube = shared_tube(2, straight=True)
    return alter(tube, client_of(tube, **changes), Wishes(reduction=0.0))


def test_a_waist_cannot_be_taken_in_on_a_straight_seam() -> None:
    """A seam that must stay straight, 4 taken in at the waist and nothing at the levels 100, -50 and -80 mm from it.

    By hand: all four give alike, so the seam becomes the straight line of best fit through 0, -4, 0, 0.  With mean
    height -7.5 and sum of squares 18675 the waist's own weight is 1/4 + 7.5^2 / 18675 = 0.2530; it lacks
    4 * (1 - 0.2530) = 2.988.
    """
    outcome = straight_seamed(waist_girth=-8.0, waist_front=-8.0)
    (conflict,) = outcome.conflicts
    assert conflict.rows == ("curves_waist_front",)
    assert conflict.gap == pytest.approx(2.988, abs=0.001)
    assert conflict.sentence == "Waist, front: cannot all be kept; 3.0 mm apart."
    assert conflict.heal == "Leave one of these as in the base: Waist, front."
    row = outcome.plan.row("curves_waist_front")
    assert row is not None
    assert row.remainder == pytest.approx(-2 * 2.988, abs=0.01)
    assert "Still missing: 6.0 mm." in row.warnings


def test_two_contradictory_wishes_are_both_named() -> None:
    """Waist 4 in and high hip 4 out on a seam that must stay straight: best fit through 0, -4, 4, 0.

    By hand: slope (7.5 * -4 - 42.5 * 4) / 18675 = -0.01071; at the waist the line lies at -0.080, 3.920 too far out.
    Neither wish alone can be kept either, so leaving one of them heals nothing.
    """
    outcome = straight_seamed(waist_girth=-8.0, waist_front=-8.0, high_hip_girth=8.0, high_hip_front=8.0)
    (conflict,) = outcome.conflicts
    assert conflict.rows == ("curves_waist_front", "curves_high_hip_front")
    assert conflict.gap == pytest.approx(3.920, abs=0.001)
    assert conflict.sentence == "Waist, front, High hip, front: cannot all be kept; 3.9 mm apart."
    assert conflict.heal == "Start from another size, or go half the way."
    for seam in outcome.style.seams:
        total = seam_lengths(outcome.style, seam).total
        assert total.a == pytest.approx(total.b, abs=1e-3)


def test_a_straight_seam_can_be_let_out_parallel() -> None:
    """The same seam, 4 at every level: nothing to quarrel about."""
    changes = {f"{level}_girth": 16.0 for level in BODY_LEVELS} | {f"{level}_front": 8.0 for level in BODY_LEVELS}
    outcome = straight_seamed(**changes)
    assert outcome.conflicts == ()
    assert outcome.residual <= 1e-6
    for level in BODY_LEVELS:
        assert girth(outcome.style, level).full - girth(outcome.base, level).full == pytest.approx(16.0, abs=0.05)


@cache
def lowered_beyond_reason() -> Alteration:
    """Upper corner 100 lower by the maker's own order: 15 mm of cup seam above the bust point."""
    beyond = Override("upper_corner", State.OVERRULED, "as she wants it", -100.0)
    return altered(beyond, changes={"bust_point_to_upper_corner": -100.0})


def test_a_cup_seam_too_short_for_its_ends_is_named_with_what_heals_it() -> None:
    """15 mm of seam from the bust point to a corner that neckline and armhole must run through smoothly."""
    (conflict,) = lowered_beyond_reason().conflicts
    assert conflict.rows == ("upper_corner",)
    assert conflict.heal == "Leave one of these as in the base: Bust point to upper corner."
    left = Override("upper_corner", State.LEFT, "left as in the base")
    healed = altered(left, changes={"bust_point_to_upper_corner": -100.0})
    assert healed.conflicts == ()
    assert healed.residual <= 1e-6


def test_the_amount_of_a_conflict_is_what_the_tape_misses() -> None:
    outcome = lowered_beyond_reason()
    wanted = BASE.base_chart["bust_point_to_upper_corner"] - 100.0
    assert bust_point_to_upper_corner(outcome.style) - wanted == pytest.approx(outcome.conflicts[0].gap, abs=0.5)
    assert outcome.residual <= 1e-5


def test_a_bust_beyond_the_cup_names_its_row() -> None:
    """Front bust 300 fuller on the same underbust: no cup seam bends so far."""
    outcome = altered(changes={"bust_girth": 300.0, "bust_front": 300.0})
    assert outcome.residual <= 1e-6
    (conflict,) = outcome.conflicts
    assert conflict.rows == ("bust_surplus",)
    row = outcome.plan.row("bust_surplus")
    assert row is not None
    assert conflict.gap > 0.05
    assert row.remainder == pytest.approx(2 * conflict.gap, abs=0.5)
    wanted = girth(BASE, "bust").front + 300.0
    assert girth(outcome.style, "bust").front + row.remainder == pytest.approx(wanted, abs=0.5)


def test_a_centre_top_nearer_than_half_the_separation_is_a_conflict() -> None:
    """Half the separation is 96: no point of the centre line lies 80 from the bust point; 16 cannot be kept."""
    chart = client_of(BASE)
    readings = {key: value for key, value in chart.readings.items() if key != "centre_front_height"}
    chart = replace(chart, readings=readings).with_value("bust_point_to_centre_top", 80.0)
    outcome = alterer_of().alter(chart, Wishes(reduction=SAME, exact_centre_top=True))
    (conflict,) = outcome.conflicts
    assert "centre_top" in conflict.rows
    assert conflict.gap == pytest.approx(16.0, abs=0.5)


def test_what_a_conflict_leaves_missing_is_declared_in_full_girth() -> None:
    """The tape is to find what was ordered less what is declared: 8 less, 6 of it still missing."""
    outcome = straight_seamed(waist_girth=-8.0, waist_front=-8.0)
    rest = sum(row.remainder for row in outcome.plan.rows if row.measurement in ("waist_front", "waist_back"))
    wanted = next(order.garment for order in outcome.plan.girths if order.level == "waist")
    assert girth(outcome.style, "waist").full + rest == pytest.approx(wanted, abs=0.5)


# --- small and far too large differences ---------------------------------------------------------------------


def test_ordering_the_bases_own_reduction_is_no_row() -> None:
    outcome = alterer_of().alter(BASE.base_chart, Wishes(reduction=SAME))
    assert outcome.plan.rows == ()


def test_a_lowered_centre_top_leaves_the_cup_sound() -> None:
    """Centre top 30 lower: 13 of the centre edge are left above the bust level, 18 in all."""
    outcome = alterer_of().alter(client_of(BASE, centre_front_height=-30.0))
    assert list(find_faults(outcome.style)) == []


def test_a_centre_top_that_cannot_come_all_the_way_down_declares_the_rest() -> None:
    """80 lower asked, 36.2 taken so that 12 of the centre edge remain: 43.8 still missing."""
    outcome = alterer_of().alter(client_of(BASE, centre_front_height=-80.0))
    row = outcome.plan.row("centre_top")
    assert row is not None
    assert row.amount == pytest.approx(-36.2, abs=0.05)
    assert row.remainder == pytest.approx(-43.8, abs=0.05)


@pytest.mark.parametrize(
    ("key", "less", "row", "amount"),
    [
        ("underbust_to_waist", -90.0, "length", -60.0),
        ("centre_front_below_waist", -70.0, "hem_front", -15.0),
        ("bust_point_to_armhole", -100.0, "armhole", -0.4 * 102.0),
        ("bust_point_to_upper_corner", -70.0, "upper_corner", -45.0),
        ("bust_point_to_upper_corner", -110.0, "upper_corner", -45.0),
        ("bust_point_to_underbust", -60.0, "cup_depth", -0.4 * 78.0),
    ],
)
def test_a_length_goes_as_far_as_its_cap_and_the_rest_is_said(key: str, less: float, row: str, amount: float) -> None:
    """Base 85-14: 99 from underbust to waist, 90 below it, 102 to the armhole, 115 to the corner, 78 of depth."""
    outcome = alterer_of().alter(client_of(BASE, **{key: less}))
    found = outcome.plan.row(row)
    assert found is not None
    assert found.amount == pytest.approx(amount, abs=1e-9)
    assert found.remainder == pytest.approx(less - amount, abs=0.01)
    assert any("start from another size" in sentence for sentence in found.warnings)
    assert outcome.conflicts == ()
    assert outcome.residual <= 1e-6
    assert list(find_faults(outcome.style)) == []
    assert outcome.style.base_chart[key] == pytest.approx(BASE.base_chart[key] + amount, abs=0.01)


def test_the_maker_may_go_beyond_a_cap_and_the_checks_say_so() -> None:
    beyond = Override("length", State.OVERRULED, "a doll's corset", -90.0)
    chart = client_of(BASE, underbust_to_waist=-90.0)
    outcome = alterer_of().alter(chart, Wishes(overrides=(beyond,)))
    row = outcome.plan.row("length")
    assert row is not None
    assert row.amount == -90.0
    found = check_style(outcome.style, base=BASE, plan=outcome.plan, conflicts=outcome.conflicts, chart=chart)
    assert "fail" in {finding.verdict for finding in found}


def test_every_sentence_of_a_plan_begins_with_a_capital_and_ends_with_a_full_stop() -> None:
    outcomes = (straight_seamed(waist_girth=-8.0, waist_front=-8.0), lowered_beyond_reason(), altered(changes=LARGE))
    for outcome in outcomes:
        said = [*outcome.plan.warnings, *(words for row in outcome.plan.rows for words in (row.reason, *row.warnings))]
        said += [words for conflict in outcome.conflicts for words in (conflict.sentence, conflict.heal)]
        assert said
        for words in said:
            assert words.endswith("."), words
            assert words[0] == words[0].upper(), words


LARGE = {"waist_girth": 80.0, "waist_front": 40.0, "underbust_to_waist": 90.0, "bust_point_to_armhole": 80.0}


def test_levels_are_what_the_base_is_measured_at() -> None:
    """The changes made above name every level of the base."""
    assert {level.name for level in BASE.levels} == set(LEVELS)


def test_small_differences_are_judged_on_what_is_still_to_be_moved() -> None:
    """The underbust is 36 larger, the waist 3: the side seams bring the waist 36 too, and 33 are to be taken back.

    Left because 3 are small, the garment would be 33 too loose at the waist.
    """
    chart = client_of(BASE, underbust_girth=36.0, underbust_front=18.0, waist_girth=3.0, waist_front=1.5)
    wishes = Wishes(leave_small=True, reduction=BASE.base_fit.reduction)
    outcome = alterer_of().alter(chart, wishes)
    waist = next(order for order in outcome.plan.girths if order.level == "waist")
    before = girth(BASE, "waist").full
    assert girth(outcome.style, "waist").full - before == pytest.approx(3.0, abs=5.0)
    assert waist.body == pytest.approx(BASE.base_chart["waist_girth"] + 3.0)
    rows = {row.key: row for row in outcome.plan.rows}
    assert rows["curves_waist_back"].state is not State.LEFT
    assert abs(rows["curves_waist_back"].amount) > 5.0
