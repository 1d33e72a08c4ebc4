"""Panelled overbust and waist corset measure what their charts say, over the whole range of each style."""

from __future__ import annotations

import math
import os
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from shapely.geometry import Polygon

from coutil.check import Verdict, check_style
from coutil.draft import (
    BACKS,
    FRONTS,
    NECKLINES,
    PLAIN,
    STYLES,
    Variant,
    draft_panelled,
    draft_waist_corset,
    panelled_chart,
    style_kind,
    usual_fit,
    waist_chart,
)
from coutil.errors import BadInput, CannotDraft
from coutil.measure import Chart
from coutil.pattern import Piece, Role, Style, find_faults, girth, measure_style, seam_lengths, widths

LONG = os.environ.get("COUTIL_LONG_TESTS") == "1"
PANELLED_GRID = [(under, cup) for under in (62, 68, 75, 82, 90, 99, 108) for cup in (0, 4, 8, 12, 16, 20)]
WAIST_GRID = [*range(52, 105, 2), 57, 65, 73, 81]
# A draft is too slow to run all 73 each time; every ninth and eighth meet the ends and the middle.
GRID = [
    *(("panelled", size) for size in (PANELLED_GRID if LONG else [*PANELLED_GRID[::9], PANELLED_GRID[-1]])),
    *(("waist", (waist,)) for waist in (WAIST_GRID if LONG else WAIST_GRID[::8])),
]
LENGTHS = (
    "bust_point_separation",
    "underbust_to_waist",
    "bust_level_to_waist",
    "waist_to_high_hip",
    "side_height",
    "centre_front_height",
    "centre_back_height",
    "centre_front_below_waist",
    "side_below_waist",
    "centre_back_below_waist",
)


def drafted(word: str, size: tuple[int, ...], variant: Variant = PLAIN) -> Style:
    kind = STYLES[word]
    return kind.draft(kind.chart(size), None, variant)


def outline(piece: Piece) -> Polygon:
    return Polygon([tuple(p) for edge in piece.edges for p in edge.curve.flatten(0.05)[:-1]])


def wrong(style: Style, chart: Chart) -> dict[str, float]:
    """What the pattern measures otherwise than the chart says: body less the gap, at the waist a tenth of it too."""
    found = measure_style(style)
    wanted = {key: chart[key] for key in LENGTHS if key in chart}
    for level in style.levels:
        taken = min(0.1 * chart["waist_girth"], 100.0) if level.name == "waist" else 0.0
        wanted[f"{level.name}_girth"] = chart[f"{level.name}_girth"] - taken - 50.0
        wanted[f"{level.name}_front"] = chart[f"{level.name}_front"] - taken / 2
    return {key: found[key] - value for key, value in wanted.items() if abs(found[key] - value) > 0.2}


@pytest.mark.parametrize(("word", "size"), GRID)
def test_every_size_is_sound_and_measures_what_its_chart_says(word: str, size: tuple[int, ...]) -> None:
    style = drafted(word, size)
    assert wrong(style, style.base_chart) == {}
    assert find_faults(style) == ()
    assert [f.name for f in check_style(style) if f.verdict is Verdict.FAIL] == []
    assert all(outline(piece).is_valid and outline(piece).exterior.is_ccw for piece in style.pieces)
    for seam in style.seams:
        total = seam_lengths(style, seam).total
        assert total.b - total.a == pytest.approx(0.0, abs=1e-5), seam.name
    widths_add_up(style)
    upright_at_the_waist(style)
    square_at_centre_and_closure(style)


def widths_add_up(style: Style) -> None:
    """At every level the panels of both halves and the gap go once round the body less what is pulled in."""
    found, chart, fit = widths(style), style.base_chart, style.base_fit
    for level in style.levels:
        panels = [found[piece.name, level.name] for piece in style.pieces]
        assert len(panels) == len(style.pieces)
        pulled = fit.reduction if level.name == "waist" else 0.0
        assert 2 * sum(panels) + fit.lacing_gap == pytest.approx(chart[f"{level.measure}_girth"] - pulled, abs=0.1)


def upright_at_the_waist(style: Style) -> None:
    for piece in style.pieces:
        for at in piece.marks_of("waist"):
            x, y = piece.edge(at.edge).curve.tangent_at(float(piece.edge(at.edge).curve.knot_lengths[at.knot]))
            assert abs(math.degrees(math.atan2(x, abs(y)))) < 1e-4, f"{piece.name} {at.edge}"


def square_at_centre_and_closure(style: Style) -> None:
    for piece, role in ((style.pieces[0], Role.CENTRE), (style.pieces[-1], Role.CLOSURE)):
        straight = next(edge for edge in piece.edges if edge.role is role)
        assert np.ptp(straight.curve.points[:, 0]) == pytest.approx(0.0, abs=1e-9)
        # The hem runs to the right and the top to the left, so the first piece's hem starts at the centre.
        hem, top = piece.edge("hem").curve, piece.edge("top").curve
        ends = ((hem, 0.0), (top, top.length)) if role is Role.CENTRE else ((hem, hem.length), (top, 0.0))
        for curve, along in ends:
            assert abs(float(curve.tangent_at(along)[1])) < 1e-5, piece.name


def test_six_panels_and_five() -> None:
    assert [p.part for p in drafted("panelled", (85, 10)).pieces] == ["front"] * 3 + ["back"] * 3
    assert [p.part for p in drafted("waist", (72,)).pieces] == ["front"] * 3 + ["back"] * 2


def test_the_worked_waist() -> None:
    """Body 720 less 80 reduction and 50 gap: 590 of cloth; the front is 370 - 40 = 330 of it."""
    chart = waist_chart(72).with_value("waist_front", 370.0)
    style = draft_waist_corset(chart, usual_fit(chart, reduction=80.0))
    assert girth(style, "waist").full == pytest.approx(590.0, abs=0.01)
    assert girth(style, "waist").front == pytest.approx(330.0, abs=0.01)


def test_the_seam_over_the_bust_point_stands_half_the_separation_from_the_centre() -> None:
    """Base 85-18: separation 0.15 x 850 + 0.3 x 180 + 22 = 203.5, rounded to 204: 102 from the centre."""
    style = drafted("panelled", (85, 18))
    assert style.base_chart["bust_point_separation"] == 204.0
    piece = style.piece("centre_front")
    mark = piece.landmark("bust_point")
    assert mark is not None
    assert float(piece.point(mark)[0]) == pytest.approx(102.0, abs=0.01)
    assert float(piece.point(mark)[1]) == pytest.approx(style.base_chart["bust_level_to_waist"], abs=0.2)


def test_a_chest_without_a_bust_difference_is_drawn_nearly_straight() -> None:
    """No seam of the front turns out above the underbust by more than 3 mm an edge where bust and underbust agree."""
    style = drafted("panelled", (90, 0))
    for piece in style.pieces[:3]:
        for edge in piece.edges:
            heights = {m.level: piece.point(m.at)[0] for m in piece.level_marks if m.at.edge == edge.name}
            if edge.role is Role.PANEL_SEAM:
                assert abs(heights["bust"] - heights["underbust"]) < 3.0, f"{piece.name} {edge.name}"


@pytest.mark.parametrize("word", ["panelled", "waist"])
@pytest.mark.parametrize(
    "variant",
    [
        Variant(back="dipped", neckline="sweetheart"),
        Variant(back="low", front="busk"),
        Variant("low", "sweetheart", "busk"),
    ],
)
def test_every_choice_is_sound(word: str, variant: Variant) -> None:
    style = drafted(word, (85, 10) if word == "panelled" else (72,), variant)
    assert find_faults(style) == ()
    assert [f.name for f in check_style(style) if f.verdict is Verdict.FAIL] == []
    roles = {edge.role for edge in style.pieces[0].edges}
    assert (Role.CLOSURE in roles) == (variant.front == "busk")
    assert style.base_fit.closure_gap == (5.0 if variant.front == "busk" else 0.0)


ENDS = {
    "cupped": [(62, 8), (62, 26), (85, 14), (108, 26), (108, 8)],
    "panelled": [(62, 0), (62, 20), (85, 10), (108, 20), (108, 0)],
    "waist": [(52,), (72,), (104,)],
}


@pytest.mark.skipif(not LONG, reason="every choice at both ends of the range takes a minute: COUTIL_LONG_TESTS=1")
@pytest.mark.parametrize(("word", "size"), [(word, size) for word, sizes in ENDS.items() for size in sizes])
def test_every_choice_is_sound_at_the_ends_of_the_range(word: str, size: tuple[int, ...]) -> None:
    for words in product(BACKS, NECKLINES, FRONTS):
        if words[1] != "boat" or word == "cupped":
            style = drafted(word, size, Variant(*words))
            assert find_faults(style) == (), words
            assert [f.name for f in check_style(style) if f.verdict is Verdict.FAIL] == [], words


def test_a_busk_stands_open_and_the_bust_points_keep_their_distance() -> None:
    """The closed busk's 5 mm belong to the front: each centre front is 2.5 mm narrower at every level."""
    closed, busk = drafted("panelled", (85, 10)), drafted("panelled", (85, 10), Variant(front="busk"))
    chart = closed.base_chart
    for style in (closed, busk):
        assert measure_style(style)["bust_point_separation"] == pytest.approx(chart["bust_point_separation"], abs=0.01)
    one, other = (widths(style)["centre_front", "bust"] for style in (closed, busk))
    assert one - other == pytest.approx(2.5, abs=0.01)
    assert girth(closed, "waist").full - girth(busk, "waist").full == pytest.approx(5.0, abs=0.01)


def test_backs_differ_at_the_back_alone() -> None:
    plain, low = drafted("panelled", (95, 10)), drafted("panelled", (95, 10), Variant(back="low"))
    before, after = measure_style(plain), measure_style(low)
    assert after["side_height"] == pytest.approx(before["side_height"], abs=0.2)
    assert before["centre_back_height"] - after["centre_back_height"] == pytest.approx(20.0, abs=0.2)
    assert low.base_chart["centre_back_height"] == pytest.approx(after["centre_back_height"], abs=0.2)


def test_unknown_words_are_refused_and_named() -> None:
    assert (BACKS, NECKLINES, FRONTS) == (
        ("straight", "dipped", "low"),
        ("straight", "sweetheart", "boat"),
        ("closed", "busk"),
    )
    with pytest.raises(BadInput, match="no back open: choose straight, dipped, low"):
        Variant(back="open")  # type: ignore[arg-type]
    with pytest.raises(BadInput, match="no style longline: choose cupped, panelled, waist"):
        style_kind("longline")


@pytest.mark.parametrize(
    ("changes", "named"),
    [
        ({"underbust_girth": 610.0}, "underbust_girth is 61"),
        ({"bust_girth": 1060.0}, "bust_girth less underbust_girth is 21"),
        ({"bust_girth": 840.0}, "bust_girth less underbust_girth is -1"),
        ({"bust_level_to_waist": 90.0}, "bust_level_to_waist 90"),
        ({"centre_back_height": 100.0}, "centre_back_height 100"),
    ],
)
def test_what_a_panelled_overbust_cannot_be_drawn_for(changes: dict[str, float], named: str) -> None:
    chart = panelled_chart(85, 10)
    for key, value in changes.items():
        chart = chart.with_value(key, value)
    with pytest.raises(CannotDraft, match=named):
        draft_panelled(chart)


def test_what_a_waist_corset_cannot_be_drawn_for() -> None:
    chart = waist_chart(72)
    with pytest.raises(CannotDraft, match="waist_girth is 110"):
        draft_waist_corset(chart.with_value("waist_girth", 1100.0))
    with pytest.raises(CannotDraft, match="underbust_to_waist is 30"):
        draft_waist_corset(chart.with_value("underbust_to_waist", 30.0))
    lacking = replace(chart, readings={k: v for k, v in chart.readings.items() if k != "high_hip_front"})
    with pytest.raises(CannotDraft, match="high_hip_front"):
        draft_waist_corset(lacking)


def test_the_nearest_base_of_each_style() -> None:
    """Panelled by underbust, then by cup difference; the waist corset by the waist."""
    chart = panelled_chart(81, 7)
    assert STYLES["panelled"].nearest(chart)[:3] == ((81, 7), (81, 6), (81, 8))
    assert STYLES["waist"].nearest(waist_chart(75))[:3] == ((75,), (74,), (76,))
    assert STYLES["panelled"].base_name((85, 10)) == "panelled-85-10"
