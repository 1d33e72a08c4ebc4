"""Heights of the top and lower edge: the seams are cut or drawn on along their own line, both mates alike."""

from __future__ import annotations

import csv
import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from coutil.alter import Alteration, Alterer, Move, Wishes
from coutil.alter._recut import FADES_MM, lengthened, recut, shortened
from coutil.check import Finding, Verdict, check_style
from coutil.curves import Curve
from coutil.errors import CoutilError
from coutil.job import nearest_base
from coutil.measure import Chart, chart_from_survey_row
from coutil.pattern import Style, measure_style, side_height
from coutil.shipped import shipped_base
from helpers.altering import LONG

TAKE = Wishes(take_heights=True)
BODIES = Path(__file__).parents[1] / "data" / "bodies.csv"
BASES = ("80-18", "panelled-85-10")
TOPS = ("side_height", "centre_back_height", "centre_front_height")
STEPS = (-30.0, -20.0, -10.0, 10.0, 20.0, 30.0)


@cache
def alterer(name: str) -> Alterer:
    return Alterer(shipped_base(name))


@cache
def taken(name: str, step: float, keys: tuple[str, ...] = ("side_height",)) -> Alteration:
    chart = shipped_base(name).base_chart
    for key in keys:
        chart = chart.with_value(key, chart[key] + step)
    return alterer(name).alter(chart, TAKE)


def findings(outcome: Alteration) -> dict[str, Finding]:
    found = check_style(
        outcome.style,
        base=outcome.base,
        plan=outcome.plan,
        conflicts=outcome.conflicts,
        chart=outcome.style.base_chart,
    )
    order = (Verdict.PASS, Verdict.DECISION, Verdict.EXPLAINED, Verdict.WARN, Verdict.FAIL)
    return {f.code: f for f in sorted(found, key=lambda f: order.index(f.verdict))}


def side_seam(style: Style, piece: str = "side_back") -> Curve:
    return style.piece(piece).edge("side_seam").curve


# --- one line drawn on or cut, by hand ---------------------------------------------------------------------


def leaning(degrees: float, length: float = 60.0) -> Curve:
    """A straight line upwards that leans to the right."""
    angle = math.radians(degrees)
    return Curve.line((0, 0), (length * math.sin(angle), length * math.cos(angle)))


def test_a_shortened_line_keeps_its_own_line() -> None:
    """60 mm less 20: the end lies 40 mm along the old line."""
    cut = shortened(leaning(10), 20.0)
    assert cut.length == pytest.approx(40.0)
    assert cut.end == pytest.approx(leaning(10).point_at(40.0))


def test_a_straight_line_is_drawn_on_straight() -> None:
    """60 mm and 20 more at 10 degrees: the end lies at 80 sin 10 = 13.89 and 80 cos 10 = 78.78."""
    drawn = lengthened(leaning(10), 20.0, 1.0)
    assert drawn.end == pytest.approx((13.892, 78.785), abs=1e-3)


def arc(lean: float, per_mm: float, length: float = 60.0) -> Curve:
    """A line upwards that ends leaning to the right by `lean` degrees and turns there by `per_mm` degrees a mm."""
    leans = np.radians(lean - per_mm * length * np.array([1.0, 0.0]))
    places = np.radians(lean + per_mm * (np.linspace(0, length, 2001) - length))
    mean = length / 2000
    across = np.concatenate(([0.0], np.cumsum(np.sin((places[1:] + places[:-1]) / 2)))) * mean
    up = np.concatenate(([0.0], np.cumsum(np.cos((places[1:] + places[:-1]) / 2)))) * mean
    end = np.array([across[-1], up[-1]])
    handle = length / 3
    first, last = (np.array([math.sin(a), math.cos(a)]) for a in leans)
    return Curve([np.zeros(2), handle * first, end - handle * last, end])


def end_lean(curve: Curve) -> float:
    x, y = curve.tangent_at(curve.length)
    return math.degrees(math.atan2(x, y))


def test_a_bend_fades_out_on_the_line_that_is_drawn_on() -> None:
    """Leaning out by 6 degrees and turning in by 0.1 a mm: over 30 mm the bend fades, 30 * (0.1 + 0) / 2 = 1.5."""
    assert FADES_MM == 30.0
    drawn = lengthened(arc(6.0, -0.1), 30.0, 1.0)
    assert end_lean(drawn) == pytest.approx(4.5, abs=0.05)
    assert drawn.length == pytest.approx(90.0, abs=0.05)


def test_a_line_that_leans_out_never_turns_further_out() -> None:
    drawn = lengthened(arc(6.0, 0.1), 30.0, 1.0)
    assert end_lean(drawn) == pytest.approx(6.0, abs=0.05)


def test_a_line_that_leans_in_straightens_no_further_than_upright() -> None:
    """Leaning in by 1 degree and turning out by 0.2 a mm it would lean out by 2 degrees after 30 mm."""
    drawn = lengthened(arc(-1.0, 0.2), 30.0, 1.0)
    assert end_lean(drawn) == pytest.approx(0.0, abs=1e-6)


# --- whole seams -------------------------------------------------------------------------------------------


def test_both_mates_lose_the_same_length_and_keep_their_line() -> None:
    """The side lowered by 20 mm: side back and outer cup are cut alike, on their own curves."""
    base = shipped_base("80-18")
    found = recut(base, [Move("side_back", "side_seam", "top", "upwards", -20.0)])
    assert found is not None
    lost = [side_seam(base, p).length - side_seam(found.style, p).length for p in ("side_back", "outer_cup")]
    assert lost[0] == pytest.approx(lost[1], abs=1e-6)
    assert lost[0] == pytest.approx(20.0, abs=0.05)
    for piece in ("side_back", "outer_cup"):
        for knot in side_seam(found.style, piece).knots:
            assert side_seam(base, piece).closest(knot).distance < 1e-6


def test_the_edges_beside_a_cut_seam_run_into_its_new_corner() -> None:
    base = shipped_base("80-18")
    found = recut(base, [Move("side_back", "side_seam", "top", "upwards", -20.0)])
    assert found is not None
    for piece in found.style.pieces:
        for before, after in zip(piece.edges, (*piece.edges[1:], piece.edges[0]), strict=True):
            assert before.curve.end == pytest.approx(after.curve.start, abs=1e-9)


def test_no_seam_is_cut_where_a_level_is_measured() -> None:
    """The hem girth is measured at the corner of the cupped overbust: its seams end where that girth is."""
    assert recut(shipped_base("80-18"), [Move("side_back", "side_seam", "hem_line", "upwards", 5.0)]) is None


def test_what_cannot_be_cut_is_left_for_the_solve() -> None:
    """The last span of the side seam is 42 mm long and keeps 5: of 50 mm 37 are cut, 0.26 of them are left."""
    base = shipped_base("80-18")
    last = min(side_seam(base, "outer_cup").span_lengths[-1], side_seam(base).span_lengths[0])
    found = recut(base, [Move("side_back", "side_seam", "top", "upwards", -50.0)])
    assert found is not None
    assert found.left["side_back", "side_seam", "top"] == pytest.approx(1 - (last - 5.0) / 50.0, abs=0.02)


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("name", BASES)
def test_a_taken_side_height_is_met_and_bends_no_seam(name: str, step: float) -> None:
    outcome = taken(name, step)
    row = outcome.plan.row("side_height")
    assert row is not None
    before, after = side_height(outcome.base), side_height(outcome.style)
    assert before is not None
    assert after == pytest.approx(before + row.amount, abs=0.3)
    found = findings(outcome)
    assert {f.code for f in found.values() if f.verdict is Verdict.FAIL} == set()
    assert found["curvature"].verdict is Verdict.PASS
    assert found["allowance"].figure <= 0.3
    assert found["notch_cloth"].figure == 0.0


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("name", BASES)
def test_all_heights_together(name: str, step: float) -> None:
    found = findings(taken(name, step, TOPS))
    assert {f.code for f in found.values() if f.verdict is Verdict.FAIL} == set()


@pytest.mark.parametrize("name", BASES)
def test_the_cut_seam_lies_on_the_base_seam(name: str) -> None:
    """Lowered by 20 mm and nothing else changed, the back's side seam stays within half a millimetre of its line."""
    outcome = taken(name, -20.0)
    own = side_seam(outcome.base)
    away = [own.closest(place).distance for place in side_seam(outcome.style).flatten(0.05)]
    assert max(away) < 0.5


def test_every_step_of_the_guide_is_a_pattern_that_can_be_sewn() -> None:
    outcome = taken("80-18", -20.0)
    frames = alterer("80-18").frames(outcome.plan)
    assert len(frames) >= 1
    for frame in frames:
        front, back = side_seam(frame.style, "outer_cup"), side_seam(frame.style)
        lower = frame.style.piece("side_front").edge("side_seam").curve
        assert front.length + lower.length == pytest.approx(back.length, abs=0.01)


def test_the_lower_edge_keeps_off_the_lowest_level() -> None:
    """16 mm from the high hip to the lower edge at the side: 10 stay, so that 6 can be taken of 12."""
    base = shipped_base("waist-72")
    depth = measure_style(base)["side_below_waist"]
    outcome = alterer("waist-72").alter(base.base_chart.with_value("side_below_waist", depth - 12.0))
    row = outcome.plan.row("hem_side")
    assert row is not None
    seam = base.piece("side_back").edge("side_seam").curve
    room = float(-60.0 - min(seam.start[1], seam.end[1])) - 10.0
    assert row.amount == pytest.approx(-room, abs=0.01)
    assert "10 mm below the lowest level" in row.warnings[0]
    assert findings(outcome)["laced_girth"].verdict is not Verdict.FAIL


# --- every body --------------------------------------------------------------------------------------------


def bodies() -> list[Chart]:
    with BODIES.open(newline="", encoding="utf-8") as rows:
        return [chart_from_survey_row(row) for row in csv.DictReader(rows)]


def _base(chart: Chart, style: str) -> str:
    try:
        return nearest_base(chart, style)
    except CoutilError:
        return ""


@pytest.mark.skipif(not LONG, reason="minutes: COUTIL_LONG_TESTS=1; benchmarks/heights.py prints the whole table")
@pytest.mark.parametrize("step", [-30.0, 30.0])
@pytest.mark.parametrize("style", ["cupped", "panelled"])
def test_no_body_loses_allowance_to_a_height(style: str, step: float) -> None:
    lost = []
    for chart in bodies():
        if not (name := _base(chart, style)):
            continue
        cup = chart["bust_girth"] - chart["underbust_girth"]
        if not 620.0 <= chart["underbust_girth"] <= 1080.0 or not 80.0 <= cup <= 200.0:
            continue
        own = measure_style(alterer(name).alter(chart).style)
        outcome = alterer(name).alter(chart.with_value("side_height", own["side_height"] + step), TAKE)
        found = findings(outcome)
        lost += [chart.name for code in ("allowance", "notch_cloth") if found[code].verdict is Verdict.FAIL]
    assert lost == []
