"""The alteration chart and the check list in words."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import replace

import pytest

from coutil import job
from coutil.alter import (
    Conflict,
    GirthOrder,
    Move,
    Plan,
    PlanRow,
    State,
    Wishes,
    brought_by_others,
    difference_on_pattern,
)
from coutil.check import Finding, Verdict
from coutil.commands.alter import base_for
from coutil.shipped import demo_clients
from coutil.tables import (
    chart_csv,
    chart_table,
    check_table,
    checks_csv,
    conflict_remarks,
    girth_table,
    plan_remarks,
    where_words,
    with_half,
)


def row(**changes: object) -> PlanRow:
    given: dict[str, object] = {
        "key": "curves_waist_front",
        "group": "curves",
        "title": "Waist, front",
        "measurement": "waist_front",
        "base": 360.0,
        "client": 384.0,
        "difference": 24.0,
        "wanted": 12.0,
        "amount": 12.0,
        "moves": (
            Move("side_front", "panel_seam", "waist", "sideways", 6.0),
            Move("side_front", "panel_seam", "hem", "sideways", -2.0),
            Move("side_front", "side_seam", "waist", "sideways", 6.0),
        ),
        "reason": "what is still missing",
    }
    return PlanRow(**{**given, **changes})  # type: ignore[arg-type]


def plan(*rows: PlanRow) -> Plan:
    girths = (GirthOrder("waist", 720.0, 0.0, 80.0, 50.0, 330.0, 260.0),)
    return Plan(rows, girths, {}, 80.0, 50.0, 0.0)


def test_girths_are_full_with_the_half_in_brackets() -> None:
    assert with_half(720.0, "waist_girth", "cm") == "72.0 (36.0)"
    assert with_half(24.0, "waist_front", "cm", sign="+") == "+2.4 (+1.2)"
    assert with_half(-24.0, "waist_back", "cm", sign="+") == "-2.4 (-1.2)"
    assert with_half(60.0, "waist_reduction", "cm") == "6.0 (3.0)"
    assert with_half(85.0, "underbust_to_waist", "cm") == "8.5"
    # Half of an odd difference is told to the half: 0.5 is 0.25 twice.
    assert with_half(5.0, "underbust_front", "cm", sign="+") == "+0.5 (+0.25)"
    assert with_half(25.4 * 3 / 16, "waist_front", "in", sign="+") == "+3/16 (+3/32)"
    assert with_half(25.4, "waist_girth", "in") == "1 (1/2)"
    # Half of 14 13/16 is 7 13/32: in sixteenths the two halves would add up to 14 3/4 or 14 7/8.
    assert with_half(25.4 * (14 + 13 / 16), "waist_front", "in") == "14 13/16 (7 13/32)"
    assert with_half(0.0, "waist_girth", "cm", sign="+") == "0.0 (0.0)"


def test_the_chart_in_the_terminal() -> None:
    heads, line = chart_table(plan(row()), "cm", 2)
    figures = ("base, cm", "client, cm", "difference, cm", "others, mm", "this row, mm")
    assert heads == ("row", "measurement", *figures, "where it goes")
    assert line[:5] == ("curves_waist_front", "Waist, front", "36.0 (18.0)", "38.4 (19.2)", "+2.4 (+1.2)")
    assert line[5:7] == ("0", "+12")
    panel, side = line[7].split("; ")
    assert panel == "side front panel seam let out 6 mm at waist, taken in 2 mm at hem"
    assert side == "side front side seam let out 6 mm at waist"


@pytest.mark.parametrize(
    ("changes", "sides", "others", "moved"),
    [
        # The waist's front wants 24 more, 12 on the half; centre and side seam bring 2.5, this row the rest.
        ({"wanted": 9.5, "amount": 9.5}, 2, "+2.5", "+9.5"),
        # On a whole pattern the full difference counts.
        ({"wanted": 19.0, "amount": 19.0}, 1, "+5", "+19"),
        # The side seam lets out by more than its difference of 4, 2 on the half, where the centre takes in 1.
        ({"group": "side", "difference": 4.0, "wanted": 3.0, "amount": 3.0}, 2, "-1", "+3"),
        # The maker took half of what was wanted: what other rows bring stays what it is.
        ({"wanted": 9.5, "amount": 4.0}, 2, "+2.5", "+4"),
        # A reduction that grows by 10 takes in 5 on the half.
        ({"key": "reduction", "difference": 10.0, "wanted": -5.0, "amount": -5.0}, 2, "0", "-5"),
        # The length row has lowered all by 13; a top that is to come down by 6 goes up by 7.
        ({"group": "cup", "measurement": "centre_front_height", "difference": -6.0, "wanted": 7.0, "amount": 7.0},
         2, "-13", "+7"),
        # Half the cup's depth by the maker's rule: nobody else brings the other half.
        ({"group": "cup", "measurement": "bust_point_to_underbust", "difference": 8.0, "wanted": 4.0, "amount": 4.0},
         2, "0", "+4"),
    ],
)  # fmt: skip
def test_what_other_rows_bring_and_what_this_one_moves_add_up(changes, sides, others, moved) -> None:
    _, line = chart_table(plan(row(**changes)), "cm", sides)
    assert line[5:7] == (others, moved)


def test_the_parts_of_a_difference_in_inches_are_thirty_seconds() -> None:
    # 9.5 / 25.4 * 32 = 11.97; 2.5 / 25.4 * 32 = 3.15; 24 / 2 / 25.4 * 32 = 15.1.
    _, line = chart_table(plan(row(wanted=9.5, amount=9.5)), "in", 2)
    assert line[4:7] == ("+15/16 (+15/32)", "+3/32", "+3/8")


def test_others_bring_what_the_moves_of_the_other_rows_add_up_to() -> None:
    """Reckoned from the moves, edge by edge, for a client whose every row moves."""
    chart = demo_clients()["contralto"]
    made = job.run(job.Order(base_for("75-22", chart), chart, Wishes(), "cm")).alteration
    rows = [made.plan.row(key) for key in ("side_front", "curves_waist_front", "curves_waist_back", "curves_hem_front")]
    for at in filter(None, rows):
        level = at.measurement.rpartition("_")[0] if at.group == "curves" else "underbust"
        name = next(lv.name for lv in made.base.levels if lv.measure == level)
        own = {p.name for p in made.base.pieces if p.part == at.measurement.rpartition("_")[2] and name in p.levels}
        before = made.plan.rows[: made.plan.rows.index(at)]
        moves = [m for r in before if r.key != "reduction" for m in r.moves]
        brought = sum(m.amount for m in moves if m.kind == "sideways" and m.piece in own and m.level in (None, name))
        assert brought_by_others(at, 2) == pytest.approx(brought, abs=1e-9)
        assert brought + at.amount == pytest.approx(difference_on_pattern(at, 2), abs=1e-6)
        assert abs(brought) >= 1.0


def test_parts_that_no_ruler_shows_are_left_out() -> None:
    parts = (
        Move("side_front", "panel_seam", "waist", "sideways", 6.0),
        Move("side_front", "side_seam", "waist", "sideways", 0.1),
        Move("centre_front", "panel_seam", "waist", "sideways", 0.5),
    )
    shown = "side front panel seam let out 6 mm at waist; centre front panel seam let out 0.5 mm at waist"
    assert where_words(row(moves=parts), "cm") == shown
    # 0.5 mm is less than 1/32 in.
    assert where_words(row(moves=parts), "in") == "side front panel seam let out 1/4 in at waist"
    # A row that is that small itself is told as it is.
    assert where_words(row(moves=parts[1:2]), "cm") == "side front side seam let out 0.1 mm at waist"
    assert where_words(row(moves=parts[1:2]), "in") == "side front side seam let out less than 1/32 in at waist"


def test_words_for_what_was_decided_and_what_is_missing() -> None:
    assert where_words(row(state=State.LEFT, moves=(), amount=0.0), "cm") == "left as in the base"
    assert where_words(row(moves=(), remainder=2.0), "cm") == "still missing 0.2 cm"
    assert where_words(row(moves=()), "cm") == "What is still missing."
    lifted = Move("outer_cup", "side_seam", None, "upwards", -10.0)
    assert where_words(row(moves=(lifted,)), "cm") == "outer cup side seam lowered 10 mm"
    assert where_words(row(moves=(lifted,)), "in") == "outer cup side seam lowered 13/32 in"
    assert where_words(row(moves=(), decision=True), "cm") == "yours to decide"
    assert chart_table(plan(row(estimated=True)), "cm", 2)[1][1] == "Waist, front (estimated)"


def test_edges_that_do_the_same_are_named_together() -> None:
    pairs = (
        ("side_front", "side_seam"),
        ("outer_cup", "side_seam"),
        ("side_back", "side_seam"),
        ("top", "edge"),
    )
    moves = tuple(Move(piece, edge, None, "sideways", 2.5) for piece, edge in pairs)
    nothing = Move("centre_back", "closure", None, "upwards", 0.04)
    assert where_words(row(moves=(*moves, nothing)), "cm") == (
        "side front, outer cup and side back side seam, top edge let out 2.5 mm"
    )


def test_what_the_rows_ask_to_look_at() -> None:
    asked = replace(plan(row(warnings=("too far", "19.0 mm too much.")), row()), warnings=("the hem is estimated",))
    assert plan_remarks(asked, "in") == (
        "The hem is estimated.",
        "Waist, front: too far.",
        "Waist, front: 3/4 in too much.",
    )


def test_wishes_that_cannot_both_be_kept() -> None:
    torn = Conflict(("cup_depth",), 2.0, "Cup depth, Armhole: cannot all be kept; 2.0 mm apart", "leave one")
    assert conflict_remarks((torn,), "cm") == ("Cup depth, Armhole: cannot all be kept; 2.0 mm apart: leave one.",)


def test_the_ordered_girths() -> None:
    # 720 - 80 - 50 = 590, half 295: the worked case of the trade.
    assert girth_table(plan(), "cm")[1] == ("waist", "72.0", "0.0", "-8.0", "-5.0", "59.0 (29.5)")


def test_the_chart_as_csv_is_read_back_by_a_spreadsheet() -> None:
    made = row(state=State.OVERRULED, why='she said "tight", twice', warnings=("Over the cap.", "Look."))
    heads, line = csv.reader(io.StringIO(chart_csv(plan(made), "in", 2)))
    cells = dict(zip(heads, line, strict=True))
    assert cells["base (in)"] == "14 3/16"  # 360 / 25.4 = 14.173; the nearest sixteenth is 14.1875.
    assert cells["state"] == 'overruled: she said "tight", twice'
    assert cells["remarks"] == "Over the cap. Look."


def test_the_check_list() -> None:
    found = Finding("seam", "Side seam", 0.123, 0.5, "mm", Verdict.PASS, ("side_front", "side_back"), "")
    shown = Finding("notches", "Notches", 3.0, None, "count", Verdict.WARN, (), "Look at them.")
    nothing = Finding("hollow", "Hollow radius", math.inf, 17.0, "mm", Verdict.PASS, (), "")
    _, *lines = check_table((found, shown, nothing))
    assert lines[0] == ("Side seam", "0.12 mm", "0.5 mm", "pass", "side front, side back", "")
    assert lines[1][:4] == ("Notches", "3", "", "warn")
    assert lines[2][1] == "none"
    heads, line, *_ = csv.reader(io.StringIO(checks_csv((found, shown))))
    assert dict(zip(heads, line, strict=True))["figure"] == "0.123"


def test_the_check_list_in_inches() -> None:
    off = Finding("seam", "side seam", -6.35, 0.5, "mm", Verdict.FAIL, (), "true it by 6.4 mm")
    assert check_table((off,), "in")[1] == ("Side seam", "-0.250 in", "0.02 in", "fail", "", "True it by 1/4 in.")
    heads, line = csv.reader(io.StringIO(checks_csv((off,), "in")))
    cells = dict(zip(heads, line, strict=True))
    assert (cells["figure"], cells["limit"], cells["unit"]) == ("-0.25", "0.01969", "in")


def test_a_figure_a_hair_below_nothing_is_shown_as_nothing() -> None:
    """A girth that is met to rounding reads 0.00 mm, not minus nothing."""
    met = Finding("girth", "laced girth inside", -1e-9, 1.0, "mm", Verdict.PASS, (), "Met.")
    _, line = check_table((met,))
    assert line[1] == "0.00 mm"
