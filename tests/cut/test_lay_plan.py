"""Lay plans: worked examples, grain, nap, fold, fixed parts, generated shapes, searches that fail."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lay_samples import (
    box,
    failing_search,
    forgetful_search,
    heaping_search,
    panel,
    part,
    part_lists,
    turning_search,
)
from shapely.geometry import Polygon

import coutil.cut
from coutil.cut import lay
from coutil.cut.lay import (
    LayCloth,
    Placement,
    Spot,
    find_lay_faults,
    lay_parts,
    outline_at,
    part_of,
    plan_of,
    rectangle,
)
from coutil.errors import BadInput
from coutil.shipped import shipped_base

# A few placings are enough where the layout is known.
plan_lay = partial(lay.plan_lay, placings=20)

PLAIN = LayCloth(1000.0, selvedge=0.0, gap=0.0)
USUAL = LayCloth(1400.0)
slow = settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def boxes_of(parts, plan):
    return [np.concatenate((o.min(axis=0), o.max(axis=0))) for o in outlines(parts, plan)]


def outlines(parts, plan):
    return [outline_at(part_of(parts, one), one) for one in plan.placements]


# Worked by hand


def test_four_quarters_of_a_cloth_lie_two_by_two():
    """Four boxes 300 long and 500 wide on 1000 mm: two side by side, two rows, 600 mm, all cloth used."""
    plan = plan_lay("s", (box("a", 300, 500, 4),), PLAIN)
    assert plan.length == pytest.approx(600, abs=0.02)
    assert plan.use == pytest.approx(100, abs=0.01)


def test_selvedge_and_gap_are_kept():
    """1000 mm less two selvedges of 10 takes two boxes of 488 with 4 between; two rows of 300 and 4: 604 mm."""
    cloth = LayCloth(1000.0, selvedge=10.0, gap=4.0)
    parts = (box("a", 300, 488, 4),)
    plan = plan_lay("s", parts, cloth)
    assert plan.length == pytest.approx(604, abs=0.1)
    ys = sorted({round(one.y) for one in plan.placements})
    assert ys == [10, 502]


def test_five_boxes_of_which_the_long_one_lies_beside_two():
    """One 400 x 600 and four 200 x 400 on 1000 mm: the four fill what is left beside the long one, 400 x 400 and more.

    Area 240,000 + 320,000 = 560,000 mm^2, so no lay is shorter than 560 mm; the long one and two beside it take
    400 mm of length, the other two lie side by side in 200 mm: 600 mm.
    """
    plan = plan_lay("s", (box("long", 400, 600), box("short", 200, 400, 4)), PLAIN)
    assert plan.length == pytest.approx(600, abs=0.02)


def test_two_triangles_make_a_square_where_one_may_be_turned():
    """Right triangles with legs 500 on a cloth of 500: a square if one is turned, one behind the other if not."""
    cloth = LayCloth(500.0, selvedge=0.0, gap=0.0)
    parts = (part("t", [(0, 0), (500, 0), (0, 500)], 2),)
    assert plan_lay("s", parts, cloth).length == pytest.approx(500, abs=0.05)
    with_nap = LayCloth(500.0, selvedge=0.0, gap=0.0, nap=True)
    assert plan_lay("s", parts, with_nap).length == pytest.approx(1000, abs=0.05)


def test_figures_of_a_plan():
    """600 mm at 20 a metre cost 12; 601 mm are sold as 610 and cost 12.20; use of 1000 x 601 is 600 / 601."""
    cloth = LayCloth(1000.0, selvedge=0.0, gap=0.0, price=20.0)
    even = plan_lay("s", (box("a", 300, 500, 4),), cloth)
    assert even.cost == pytest.approx(12.0)
    odd = plan_lay("s", (box("a", 300.5, 500, 4),), cloth)
    assert (odd.sold_length, odd.cost) == (610.0, pytest.approx(12.2))
    assert odd.use == pytest.approx(100, abs=0.01)
    assert plan_lay("s", (box("a", 300, 500, 4),), PLAIN).cost is None


# Grain, nap, hands, fold


def test_pieces_lie_along_their_grain():
    """A shipped base has its grain upright: each piece's height lies along the cloth, both hands once a layer."""
    style = shipped_base("90-14")
    parts = lay_parts(style, ("strength",), USUAL)
    heights = {p.name: np.concatenate([e.curve.flatten(0.1) for e in p.edges])[:, 1] for p in style.pieces}
    for one in parts:
        assert one.size[0] >= np.ptp(heights[one.piece])
    plan = plan_lay(style.name, parts, USUAL)
    hands = [(one.piece, one.hand) for one in plan.placements]
    assert sorted(hands) == sorted((p.name, hand) for p in style.pieces for hand in ("drawn", "mirrored"))


def test_a_leaning_grain_is_laid_straight():
    bias = rectangle("binding", "outer", 100 * 2**0.5, 20 * 2**0.5, 1, grain_deg=45.0)
    assert bias.size == (pytest.approx(120), pytest.approx(120))


def test_mirrored_copies_are_mirror_images_across_the_grain():
    corners = [(0, 0), (200, 0), (0, 100)]
    parts = (part("t", corners, 1, 1),)
    plan = plan_lay("s", parts, LayCloth(1000.0, nap=True))
    shapes = {one.hand: outline_at(part_of(parts, one), one) for one in plan.placements}
    right_angles = {hand: shape.min(axis=0) for hand, shape in shapes.items()}
    drawn = shapes["drawn"] - right_angles["drawn"]
    mirrored = shapes["mirrored"] - right_angles["mirrored"]
    assert np.allclose(mirrored, drawn * (1, -1) + (0, 100))


def test_a_folded_cloth_cuts_both_hands_at_once():
    """1660 mm folded: 830, less selvedge 10 and 5 at the fold 815, so two of 400 and a gap of 5 fit; two rows."""
    cloth = LayCloth(1660.0, selvedge=10.0, gap=5.0, folded=True)
    parts = (part("a", [(0, 0), (250, 0), (250, 400), (0, 400)], 4, 4),)
    plan = plan_lay("s", parts, cloth)
    assert [one.copies for one in plan.placements] == [2] * 4
    assert plan.length == pytest.approx(2 * 250 + 5, abs=0.1)
    assert plan.area == pytest.approx(8 * 250 * 400)
    assert all(one.y >= 5 - 1e-6 for one in plan.placements)


def test_an_odd_copy_on_folded_cloth_is_cut_from_one_ply():
    cloth = LayCloth(1000.0, folded=True)
    plan = plan_lay("s", (part("a", [(0, 0), (100, 0), (0, 100)], 2, 1), box("tape", 300, 30, 3)), cloth)
    copies = sorted((one.piece, one.copies) for one in plan.placements)
    assert copies == [("a", 1), ("a", 2), ("tape", 1), ("tape", 2)]


def test_a_half_on_the_fold_lies_on_it_and_keeps_its_fold_there_when_turned():
    cloth = LayCloth(1000.0, folded=True)
    half = part("front", [(0, 0), (300, 0), (200, 150), (0, 100)], 3, on_fold=True)
    plan = plan_lay("s", (half, panel("side", 280, 200)), cloth)
    fronts = [one for one in plan.placements if one.piece == "front"]
    assert [one.y for one in fronts] == [0.0] * 3
    assert {(one.hand, one.rotation) for one in fronts} <= {("drawn", 0), ("mirrored", 180)}
    assert half.area == pytest.approx(2 * Polygon(half.outline).area)


def test_a_centre_cut_on_the_fold_is_opened_out_on_a_single_cloth():
    from cut_samples import make_piece

    from coutil.cut import CutItem, cut_outline
    from coutil.cut.lay._parts import _part
    from coutil.pattern import Layer, Role

    roles = (Role.HEM, Role.PANEL_SEAM, Role.TOP, Role.CENTRE)
    piece = make_piece([(0, 0), (80, 0), (100, 200), (0, 200)], roles, [0, 0, 0, 0], centre_cut="fold")
    item = CutItem(cut_outline(piece, Layer("outer")), "Front", 1, False)
    opened, half = _part(item, piece, LayCloth(1400.0)), _part(item, piece, LayCloth(1400.0, folded=True))
    assert opened.size == (pytest.approx(200), pytest.approx(200))
    assert half.size == (pytest.approx(200), pytest.approx(100))
    assert opened.area == pytest.approx(half.area) == pytest.approx(2 * 200 * 90)
    assert half.outline[:, 1].min() == pytest.approx(0)
    assert not opened.on_fold
    assert half.on_fold


# Refusals


def test_a_piece_wider_than_the_cloth_is_named_with_both_widths():
    with pytest.raises(
        BadInput, match=r"Wide \(outer\) is 65\.0 cm wide across the grain, and the cloth takes 58\.0 cm"
    ):
        plan_lay("s", (box("wide", 300, 650),), LayCloth(600.0))
    with pytest.raises(BadInput, match="use a wider cloth or lay it single"):
        plan_lay("s", (part("Wide", [(0, 0), (9, 0), (9, 650), (0, 650)], 1, 1),), LayCloth(1200.0, folded=True))


def test_a_piece_longer_than_two_metres_is_laid():
    plan = plan_lay("s", (box("train", 2400, 300), box("small", 200, 200, 3)), USUAL)
    assert plan.length == pytest.approx(2400, abs=0.1)


@pytest.mark.parametrize(
    "corners",
    [[(0, 0), (10, 10), (10, 0), (0, 10)], [(0, 0), (10, 0)], [(0, 0), (5, 5), (9, 9)], [(0, 0), (np.nan, 1), (2, 2)]],
    ids=["crossed", "two points", "flat", "not a number"],
)
def test_what_cannot_be_cut_is_refused_before_any_search(corners):
    with pytest.raises(BadInput, match="outline that cannot be cut"):
        plan_lay("s", (part("odd", corners),), USUAL, search=failing_search)


@pytest.mark.parametrize(
    "fields",
    [{"width": 0.0}, {"width": float("nan")}, {"width": 1400.0, "gap": -1.0}, {"width": 15.0}, {"width": 2e4},
     {"width": 1400.0, "price": float("inf")}, {"width": 1400.0, "nap": True, "grain": False}],
    ids=str,
)  # fmt: skip
def test_a_cloth_that_cannot_be_is_refused(fields):
    with pytest.raises(BadInput):
        LayCloth(**fields)


def test_two_parts_of_one_name_are_refused():
    with pytest.raises(BadInput, match="Two parts are called a"):
        plan_lay("s", (box("a", 10, 10), box("a", 20, 20)), USUAL)


def test_unknown_and_empty_layers_are_refused():
    style = shipped_base("90-14")
    with pytest.raises(BadInput, match="no layer velvet"):
        lay_parts(style, ("velvet",), USUAL)
    with pytest.raises(BadInput, match="Nothing is cut"):
        lay_parts(style, (), USUAL)
    with pytest.raises(BadInput, match="more than the 500"):
        lay_parts(style, ("outer",), USUAL, small=(box("loop", 50, 10, 500),))


# Fixed parts


def test_fixed_parts_stay_and_the_others_lie_around_them():
    parts = (panel("front", 250, 180, 2, 2), box("tape", 400, 30, 4))
    fixed = (Placement("front", "outer", "drawn", 120.0, 500.0, fixed=True),)
    plan = plan_lay("s", parts, USUAL, fixed=fixed)
    held = [one for one in plan.placements if one.fixed]
    assert [(one.piece, one.hand, one.x, one.y) for one in held] == [("front", "drawn", 120.0, 500.0)]
    assert len(plan.placements) == 8
    assert find_lay_faults(parts, plan.placements, USUAL) == ()


@pytest.mark.parametrize(
    ("placement", "words"),
    [
        (Placement("front", "outer", "drawn", 0.0, 2.0), "reaches over"),
        (Placement("sleeve", "outer", "drawn", 0.0, 20.0), "There is no sleeve"),
        (Placement("front", "outer", "drawn", 0.0, 20.0, 90), "nap or grain forbids it"),
        (Placement("front", "outer", "drawn", float("nan"), 20.0), "lies nowhere"),
        (Placement("front", "outer", "drawn", 0.0, 1e9), "reaches over"),
    ],
)
def test_a_fixed_part_that_cannot_lie_so_is_refused(placement, words):
    with pytest.raises(BadInput, match=words):
        plan_lay("s", (panel("front", 250, 180),), USUAL, fixed=(placement,))


def test_fixed_parts_may_not_overlap_or_be_more_than_are_cut():
    parts = (panel("front", 250, 180, 2, 0),)
    one = Placement("front", "outer", "drawn", 0.0, 20.0)
    with pytest.raises(BadInput, match="over or too near"):
        plan_lay("s", parts, USUAL, fixed=(one, one))
    apart = [Placement("front", "outer", "drawn", 300.0 * i, 20.0) for i in range(3)]
    with pytest.raises(BadInput, match="fixed more often"):
        plan_lay("s", parts, USUAL, fixed=apart)


# The search: what it offers is never believed unchecked


@pytest.mark.parametrize("search", [heaping_search])
def test_a_layout_with_overlaps_is_not_believed(search):
    parts = (panel("front", 250, 180), box("tape", 400, 30, 2))
    plan = plan_lay("s", parts, USUAL, search=search)
    assert plan.method == "part by part"
    assert find_lay_faults(parts, plan.placements, USUAL) == ()


@pytest.mark.parametrize("search", [failing_search, forgetful_search, turning_search])
def test_a_search_that_fails_leaves_our_own_lay_and_a_remark(search):
    parts = (panel("front", 250, 180), box("tape", 400, 30, 2))
    plan = plan_lay("s", parts, USUAL, search=search)
    (remark,) = plan.remarks
    assert remark.endswith("This lay was made part by part instead.")
    assert plan.placements == plan_lay("s", parts, USUAL).placements


def test_the_shorter_of_both_is_taken():
    """The search is offered the best lay of five boxes, and a longer one after it."""
    parts = (box("long", 400, 600), box("short", 200, 400, 4))
    good = [(0, 0), (0, 600), (200, 600), (400, 0), (400, 400)]
    reports = []

    def search(task, offer):
        offer([Spot(min(i, 1), float(x), float(y), 0) for i, (x, y) in enumerate(good)])
        offer([Spot(min(i, 1), float(x) + 50, float(y), 0) for i, (x, y) in enumerate(good)])

    plan = plan_lay("s", parts, PLAIN, search=search, report=reports.append)
    assert plan.length == pytest.approx(600, abs=0.02)
    lengths = [report.length for report in reports]
    assert lengths == sorted(lengths, reverse=True)
    assert reports[-1].length == plan.length


def test_a_search_beside_fixed_parts_lays_the_rest_beyond_them():
    """A fixed box 300 long; those of 280 fit beside it, those of 320 lie beyond it."""
    parts = (box("motif", 300, 700), box("short", 280, 250), box("long", 320, 400, 2))
    asked = []

    def search(task, offer):
        asked.append(task)
        offer([Spot(0, 0.0, 0.0, 0), Spot(0, 0.0, 500.0, 0)])

    fixed = (Placement("motif", "outer", "drawn", 0.0, 0.0),)
    plan = plan_lay("s", parts, PLAIN, fixed=fixed, search=search)
    assert [shape.count for shape in asked[0].shapes] == [2]
    assert plan.length == pytest.approx(620, abs=0.05)
    assert find_lay_faults(parts, plan.placements, PLAIN) == ()


# The check


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"x": -1.0}, "over the cloth's end"),
        ({"y": 860.0}, "selvedge"),
        ({"rotation": 180}, "allows 0"),
        ({"x": 150.0}, "over or too near"),
        ({"x": 201.0}, "over or too near"),
        ({"copies": 2}, "cannot be cut 2 times"),
        ({"hand": "mirrored"}, "needed"),
    ],
)
def test_the_check_finds_a_planted_fault(change, words):
    cloth = LayCloth(1000.0, selvedge=10.0, gap=3.0, nap=True)
    parts = (part("a", [(0, 0), (200, 0), (200, 150), (0, 100)], 2),)
    first, second = (Placement("a", "outer", "drawn", x, 10.0) for x in (0.0, 203.0))
    assert find_lay_faults(parts, (first, second), cloth) == ()
    fields = {name: getattr(second, name) for name in Placement.__slots__}
    faults = find_lay_faults(parts, (first, Placement(**{**fields, **change})), cloth)
    assert any(words in fault for fault in faults)


def test_a_missing_part_is_found_and_a_given_lay_measured():
    parts = (box("a", 200, 100, 2),)
    one = Placement("a", "outer", "drawn", 0.0, 0.0)
    assert "laid 1 times and needed 2" in find_lay_faults(parts, (one,), PLAIN)[0]
    assert find_lay_faults(parts, (one,), PLAIN, complete=False) == ()
    plan = plan_of("s", parts, PLAIN, (one, Placement("a", "outer", "drawn", 250.0, 0.0)))
    assert plan.length == pytest.approx(450)


# Generated


@slow
@given(part_lists(), st.sampled_from([0.0, 3.0]), st.sampled_from(["plain", "nap", "folded", "no grain"]))
def test_whatever_is_laid_overlaps_nothing_and_lies_on_the_cloth(parts, gap, kind):
    """Looked at without the program's own check: areas of intersections, boxes, turns."""
    cloth = LayCloth(700.0, gap=gap, nap=kind == "nap", folded=kind == "folded", grain=kind != "no grain")
    plan = plan_lay("s", parts, cloth, placings=10)
    shapes = [Polygon(outline) for outline in outlines(parts, plan)]
    for i, a in enumerate(shapes):
        for b in shapes[:i]:
            assert a.intersection(b).area <= 0.02 * min(a.length, b.length)
            assert a.distance(b) >= gap - 0.02
    for shape in shapes:
        left, low, right, high = shape.bounds
        assert left >= -0.02
        assert right <= plan.length + 1e-6
        assert cloth.low - 0.02 <= low
        assert high <= cloth.high + 0.02
    assert {one.rotation for one in plan.placements} <= set(cloth.turns)
    assert sum(one.copies for one in plan.placements) == sum(one.count for one in parts)


@slow
@given(part_lists(most=4))
def test_the_same_parts_always_lie_the_same(parts):
    cloth = LayCloth(600.0)
    assert plan_lay("s", parts, cloth) == plan_lay("s", parts, cloth)


def test_a_hollow_that_fits_its_own_half_turn_is_laid_apart():
    """Edges of these shapes nearly coincide once one is turned round, where unions in floating point lose area."""
    hollow = [
        (-72.15344962300335, -89.01822796659359), (7.516696539383002, -19.608653016839977),
        (16.78947517031324, -2.6671189522470273), (41.55876489878548, 51.27249808705907),
        (-16.823082731000007, 43.8860329424514), (-23.961701253741296, 3.8064744069508487),
    ]  # fmt: skip
    parts = (lay.LayPart("hollow", "Hollow", "outer", np.array(hollow), 2),)
    cloth = LayCloth(600.0)
    plan = plan_lay("s", parts, cloth, placings=0)
    assert find_lay_faults(parts, plan.placements, cloth) == ()


def test_sixty_pieces_are_laid_densely():
    """Sixty waisted panels, largest first: three quarters of the cloth are used."""
    sizes = [(240 + 3 * i, 110 + 7 * (i % 5)) for i in range(15)]
    parts = tuple(panel(f"p{i}", *size, 2, 2) for i, size in enumerate(sizes))
    plan = plan_lay("s", parts, USUAL, placings=0)
    assert len(plan.placements) == 60
    assert find_lay_faults(parts, plan.placements, USUAL) == ()
    assert plan.use > 75


# The door


def test_the_door_is_sorted_and_the_room_hands_it_on():
    key = {name: (0 if name.isupper() else 1 if name[0].isupper() else 2, name) for name in lay.__all__}
    assert list(lay.__all__) == sorted(lay.__all__, key=key.get)
    for name in ("LayCloth", "LayPlan", "plan_lay", "lay_parts", "pack_on_paper"):
        assert getattr(coutil.cut, name) is getattr(lay, name)
