"""Girths and the scan."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from check_cases import cupped, cylinder, found, left, plan_for, plan_row, verdicts, worst

from coutil.alter import Conflict
from coutil.check import Verdict
from coutil.curves import Curve
from coutil.pattern import Fit, girth
from helpers.tubes import tube_style, with_chart, with_edge

GIRTHS = {"underbust": 700.0, "waist": 590.0, "high_hip": 720.0, "hem": 760.0}


def test_worked_case():
    """720 - 80 - 50 = 590 of cloth; laced inside, at the waist: wanted 640, has 640."""
    style = tube_style(5, GIRTHS, reduction=80.0)
    line = next(f for f in found(style, "laced_girth") if f.name == "laced girth inside, at the waist")
    assert line.verdict is Verdict.PASS
    assert line.limit == 1.0
    assert "Wanted 640.0 mm (320.0), has 640.0 mm (320.0)" in line.advice


@pytest.mark.parametrize(("body", "verdict"), [(720.9, Verdict.PASS), (721.1, Verdict.FAIL), (718.9, Verdict.FAIL)])
def test_a_millimetre_of_full_girth_is_allowed(body, verdict):
    style = with_chart(tube_style(5, GIRTHS, reduction=80.0), waist_girth=body)
    line = next(f for f in found(style, "laced_girth") if f.name.endswith("waist"))
    assert line.verdict is verdict
    assert line.figure == pytest.approx(720.0 - body)


def test_ease_is_ordered_by_level():
    style = with_chart(tube_style(5, GIRTHS), high_hip_girth=760.0)
    assert Verdict.FAIL in verdicts(style, "laced_girth")
    eased = replace(style, base_fit=Fit({"high_hip": 10.0}, 0.0, 50.0, 0.0))
    assert verdicts(eased, "laced_girth") == {Verdict.PASS}


def test_the_advice_says_what_to_do():
    style = with_chart(tube_style(5, GIRTHS), waist_girth=645.0)
    assert "let out the seams by 5.0 mm" in worst(style, "laced_girth").advice
    style = with_chart(tube_style(5, GIRTHS), waist_girth=635.0)
    assert "take in the seams by 5.0 mm" in worst(style, "laced_girth").advice


def test_a_plan_orders_front_and_back():
    style = tube_style(4, GIRTHS)
    assert verdicts(style, "front_girth", plan=plan_for(style)) == {Verdict.PASS}
    plan = plan_for(style)
    orders = tuple(replace(o, garment_front=o.garment_front + 4, garment_back=o.garment_back - 4) for o in plan.girths)
    shifted = replace(plan, girths=orders)
    assert verdicts(style, "front_girth", plan=shifted) == {Verdict.FAIL}
    assert verdicts(style, "laced_girth", plan=shifted) == {Verdict.PASS}


def _ordered_more(style, by, *rows):
    plan = plan_for(style, *rows)
    more = tuple(replace(o, body=o.body + by) if o.level == "waist" else o for o in plan.girths)
    return replace(plan, girths=more)


def test_a_declared_rest_explains_a_miss_of_its_size_and_sign():
    style = tube_style(4, GIRTHS)
    assert Verdict.FAIL in verdicts(style, "laced_girth", plan=_ordered_more(style, 6.0))
    rest = plan_row("curves_waist_front", "waist_front", remainder=6.2)
    explained = _ordered_more(style, 6.0, rest)
    assert verdicts(style, "laced_girth", plan=explained) == {Verdict.PASS, Verdict.EXPLAINED}
    for other in (5.0, -6.0):
        wrong = _ordered_more(style, 6.0, replace(rest, remainder=other))
        assert Verdict.FAIL in verdicts(style, "laced_girth", plan=wrong)
    elsewhere = _ordered_more(style, 6.0, replace(rest, measurement="high_hip_front"))
    assert Verdict.FAIL in verdicts(style, "laced_girth", plan=elsewhere)


def test_a_row_the_maker_left_explains_what_it_leaves():
    """5 mm on the half, so 10 mm of full girth."""
    style = tube_style(4, GIRTHS)
    plan = _ordered_more(style, 10.0, left(plan_row("curves_waist_front", "waist_front")))
    assert verdicts(style, "laced_girth", plan=plan) == {Verdict.PASS, Verdict.EXPLAINED}


def test_what_cannot_both_be_kept_explains_up_to_its_amount():
    style = tube_style(4, GIRTHS)
    plan = _ordered_more(style, 6.0, plan_row("curves_waist_front", "waist_front"))
    torn = Conflict(("curves_waist_front",), 3.0, "cannot both be kept", "leave one")
    assert verdicts(style, "laced_girth", plan=plan, conflicts=(torn,)) == {Verdict.PASS, Verdict.EXPLAINED}
    less = replace(torn, gap=1.0)
    assert Verdict.FAIL in verdicts(style, "laced_girth", plan=plan, conflicts=(less,))


# --- scan --------------------------------------------------------------------------------------------------


def pinched(by: float):
    """The closure panel's seam drawn in between waist and underbust by about `by`."""
    style = cylinder()
    x = style.piece("panel_1").edge("backward").curve.end[0]
    y = [-80.0, -50.0, 0.0, 100.0]
    spans = [Curve.line((x, a), (x, b)).points[:3] for a, b in pairwise(y)]
    points = np.concatenate([*spans, [[x, 100.0]]])
    points[7:9, 0] -= by * 4 / 3
    return with_edge(style, "panel_1", "backward", Curve(points))


def test_nowhere_tighter_than_ordered():
    assert verdicts(cylinder(), "girth_scan") == {Verdict.PASS}
    line = worst(pinched(3.0), "girth_scan")
    assert line.verdict is Verdict.FAIL
    assert line.figure == pytest.approx(2 * 3.0, abs=0.05)
    assert "50 mm above the waist" in line.advice


def test_a_narrow_place_of_the_base_is_said_in_words():
    line = worst(pinched(3.0), "girth_scan", base=pinched(3.0))
    assert line.verdict is Verdict.PASS
    assert "the base has this narrow place too" in line.advice
    assert worst(pinched(3.0), "girth_scan", base=pinched(2.0)).verdict is Verdict.FAIL


def test_the_drafted_cupped_overbust_is_nowhere_tighter():
    assert verdicts(cupped(), "girth_scan") == {Verdict.PASS}
    assert girth(cupped(), "waist").full < girth(cupped(), "underbust").full
