"""The alteration chart and the check list in words."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import replace

from coutil.alter import Conflict, GirthOrder, Move, Plan, PlanRow, State
from coutil.check import Finding, Verdict
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
    assert with_half(25.4, "waist_girth", "in") == "1 (1/2)"
    assert with_half(0.0, "waist_girth", "cm", sign="+") == "0.0 (0.0)"


def test_the_chart_in_the_terminal() -> None:
    heads, line = chart_table(plan(row()), "cm")
    assert heads == ("row", "measurement", "base, cm", "client, cm", "difference, cm", "where it goes")
    assert line[:5] == ("curves_waist_front", "Waist, front", "36.0 (18.0)", "38.4 (19.2)", "+2.4 (+1.2)")
    panel, side = line[5].split("; ")
    assert panel == "side front panel seam let out 6 mm at waist, taken in 2 mm at hem"
    assert side == "side front side seam let out 6 mm at waist"


def test_words_for_what_was_decided_and_what_is_missing() -> None:
    assert where_words(row(state=State.LEFT, moves=(), amount=0.0), "cm") == "left as in the base"
    assert where_words(row(moves=(), remainder=2.0), "cm") == "still missing 0.2 cm"
    assert where_words(row(moves=()), "cm") == "What is still missing."
    lifted = Move("outer_cup", "side_seam", None, "upwards", -10.0)
    assert where_words(row(moves=(lifted,)), "cm") == "outer cup side seam lowered 10 mm"
    assert where_words(row(moves=(lifted,)), "in") == "outer cup side seam lowered 3/8 in"
    assert where_words(row(moves=(), decision=True), "cm") == "yours to decide"
    assert chart_table(plan(row(estimated=True)), "cm")[1][1] == "Waist, front (estimated)"


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
    heads, line = csv.reader(io.StringIO(chart_csv(plan(made), "in")))
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
