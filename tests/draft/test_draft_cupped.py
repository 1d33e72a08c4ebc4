"""Drafts measure what their charts say, over the whole range of the style."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely.geometry import Polygon

from coutil.alter import alter
from coutil.check import Verdict, check_style
from coutil.draft import CUPS_CM, UNDERBUSTS_CM, base_chart, draft_cupped, garment_widths, usual_fit
from coutil.errors import CannotDraft
from coutil.measure import Chart, Reading
from coutil.pattern import Fit, Piece, Style, find_faults, girth, laced_inside, measure_style, seam_lengths

UNDERBUSTS = (*range(62, 109, 5), 108)
CUPS = (8, 11, 14, 18, 22, 26)
GRID = [(under, cup) for under in UNDERBUSTS for cup in CUPS]
LEVELS = ("bust", "underbust", "waist", "high_hip", "hem")
LENGTHS = (
    "bust_point_separation",
    "bust_point_to_underbust",
    "bust_point_to_upper_corner",
    "bust_point_to_armhole",
    "underbust_to_waist",
    "side_height",
    "centre_back_height",
    "centre_front_height",
    "waist_to_high_hip",
    "centre_front_below_waist",
    "side_below_waist",
    "centre_back_below_waist",
)


def outline(piece: Piece) -> Polygon:
    points = [tuple(p) for edge in piece.edges for p in edge.curve.flatten(0.05)[:-1]]
    return Polygon(points)


def expected(chart: Chart) -> dict[str, float]:
    """By hand: body less the gap of 50, at the waist also a tenth of it; half of the reduction lies in front."""
    wanted = {key: chart[key] for key in LENGTHS}
    for level in LEVELS:
        taken = min(0.1 * chart["waist_girth"], 100.0) if level == "waist" else 0.0
        wanted[f"{level}_girth"] = chart[f"{level}_girth"] - taken - 50.0
        wanted[f"{level}_front"] = chart[f"{level}_front"] - taken / 2
    return wanted


def wrong(style: Style, chart: Chart, within: float = 0.2) -> dict[str, float]:
    found = measure_style(style)
    return {k: found[k] - v for k, v in expected(chart).items() if abs(found[k] - v) > within}


@pytest.mark.parametrize(("under", "cup"), GRID)
def test_a_draft_is_sound_and_measures_what_its_chart_says(under: int, cup: int) -> None:
    chart = base_chart(under, cup)
    style = draft_cupped(chart)
    assert wrong(style, chart) == {}
    assert list(find_faults(style)) == []
    assert [finding.name for finding in check_style(style) if finding.verdict is Verdict.FAIL] == []
    for piece in style.pieces:
        shape = outline(piece)
        assert shape.is_valid, piece.name
        assert shape.exterior.is_ccw, piece.name
    for seam in style.seams:
        total = seam_lengths(style, seam).total
        assert total.b - total.a == pytest.approx(seam.ease, abs=1e-5), seam.name


def test_the_worked_waist() -> None:
    """Body 720 less 80 reduction and 50 gap: 590 of cloth, 295 in the half, 640 inside when laced."""
    chart = base_chart(76, 14).with_value("waist_girth", 720.0).with_value("waist_front", 370.0)
    fit = usual_fit(chart, reduction=80.0)
    half = garment_widths(chart, fit)["waist"]
    assert (half.front, half.back) == (165.0, 130.0)
    assert half.front + half.back == 295.0
    style = draft_cupped(chart, fit)
    assert girth(style, "waist").full == pytest.approx(590.0, abs=0.01)
    assert girth(style, "waist").front == pytest.approx(330.0, abs=0.01)
    assert laced_inside(style, "waist", gap=50.0) == pytest.approx(640.0, abs=0.01)


def test_ease_is_added_at_its_level_alone() -> None:
    chart = base_chart(85, 14)
    plain = usual_fit(chart)
    eased = draft_cupped(chart, replace(plain, ease={**plain.ease, "hem": 20.0}))
    usual = draft_cupped(chart)
    for level in LEVELS:
        more = girth(eased, level).full - girth(usual, level).full
        assert more == pytest.approx(20.0 if level == "hem" else 0.0, abs=0.01), level


def test_a_front_closure_gap_comes_off_the_front() -> None:
    chart = base_chart(85, 14)
    fit = Fit(usual_fit(chart).ease, reduction=0.0, lacing_gap=50.0, closure_gap=6.0)
    half = garment_widths(chart, fit)["waist"]
    assert half.front == (chart["waist_front"] - 6.0) / 2
    assert half.back == (chart["waist_girth"] - chart["waist_front"] - 50.0) / 2


def test_a_chart_without_a_reading_names_it() -> None:
    chart = base_chart(85, 14)
    readings = {k: v for k, v in chart.readings.items() if k not in ("waist_front", "side_height")}
    with pytest.raises(CannotDraft, match=r"waist_front, side_height"):
        draft_cupped(replace(chart, readings=readings))


@pytest.mark.parametrize(
    ("under", "cup", "named"),
    [
        (61, 14, "underbust_girth is 61"),
        (109, 14, "underbust_girth is 109"),
        (85, 7, "bust_girth less"),
        (85, 27, "bust_girth less"),
    ],
)
def test_outside_the_range_is_refused(under: int, cup: int, named: str) -> None:
    with pytest.raises(CannotDraft, match=named):
        draft_cupped(base_chart(under, cup))


def test_a_side_too_low_for_a_bust_is_refused() -> None:
    chart = base_chart(85, 14)
    low = replace(chart, readings={**chart.readings, "side_height": Reading(chart["underbust_to_waist"] + 20.0)})
    with pytest.raises(CannotDraft, match="side_height"):
        draft_cupped(low)


def test_the_bases_cover_their_own_range() -> None:
    assert len(UNDERBUSTS_CM) * len(CUPS_CM) == 36
    names = {base_chart(u, c).name for u in UNDERBUSTS_CM for c in CUPS_CM}
    assert len(names) == 36


def test_a_draft_is_the_same_twice() -> None:
    chart = base_chart(85, 14)
    one, other = draft_cupped(chart), draft_cupped(chart)
    for piece in one.pieces:
        for edge in piece.edges:
            assert (edge.curve.points == other.piece(piece.name).edge(edge.name).curve.points).all()


def hip_taken_at(depth: float) -> Chart:
    """Waist 810 (front 416); a high hip of 910 (front 476) taken so far below."""
    chart = base_chart(85, 14).with_value("high_hip_girth", 910.0).with_value("high_hip_front", 476.0)
    return chart.with_value("waist_to_high_hip", depth)


def test_a_high_hip_taken_elsewhere_is_read_at_the_style_s_depth() -> None:
    """Half-way between waist and 80 mm: 810 + 100 / 2 = 860, in front 416 + 60 / 2 = 446; less the gap of 50."""
    style = draft_cupped(hip_taken_at(80.0))
    found = girth(style, "high_hip")
    assert found.full == pytest.approx(860.0 - 50.0, abs=0.2)
    assert found.front == pytest.approx(446.0, abs=0.2)
    assert style.base_chart["waist_to_high_hip"] == 40.0
    assert style.base_chart.estimated("high_hip_girth")


def test_within_ten_millimetres_a_high_hip_is_taken_as_it_is() -> None:
    assert girth(draft_cupped(hip_taken_at(48.0)), "high_hip").full == pytest.approx(860.0, abs=0.2)


def test_a_high_hip_taken_too_high_names_what_to_measure() -> None:
    with pytest.raises(CannotDraft, match=r"25 mm below the waist .* at 40 mm: .* hip_girth and waist_to_hip"):
        draft_cupped(hip_taken_at(25.0))


def test_a_draft_and_an_alteration_agree_on_a_high_hip_taken_elsewhere() -> None:
    chart = hip_taken_at(80.0)
    drafted, altered = draft_cupped(chart), alter(draft_cupped(base_chart(85, 14)), chart).style
    assert girth(altered, "high_hip").full == pytest.approx(girth(drafted, "high_hip").full, abs=0.5)
