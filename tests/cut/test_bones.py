"""Bones and busk: each rule with an example worked by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coutil.curves import Curve
from coutil.cut import (
    BoneKind,
    Channel,
    ChannelRules,
    OrderOptions,
    bend_per_100,
    bone_for,
    bones_for,
    channel_rules,
    find_busk,
    find_channels,
    ordered_style,
    panel_middles,
)
from coutil.pattern import Role
from helpers.making_samples import bulged, drafted, tube

USUAL = OrderOptions()


def channel(length: float, lower: Role = Role.HEM, upper: Role = Role.TOP) -> Channel:
    return Channel("panel", "seam", "panel", Curve.line((0, 0), (0, length)), lower, upper, 2)


@pytest.mark.parametrize(
    ("length", "upper", "bone"),
    [
        # 281.4 less 2 x (8 + 4) is 257.4, so 255.
        (281.4, Role.TOP, 255),
        # A front bone ends 8 below the cradle: 189.2 less 12 and 8 is 169.2, so 165.
        (189.2, Role.CRADLE, 165),
        # 324 less 24 is 300 exactly, which is not rounded down.
        (324.0, Role.TOP, 300),
        (323.99, Role.TOP, 295),
    ],
)
def test_a_bone_is_the_channel_less_what_its_ends_keep_free(length, upper, bone):
    assert bone_for(channel(length, upper=upper), USUAL).length == bone


def test_in_quarter_inches():
    # 281.4 - 24 = 257.4; 257.4 / 6.35 = 40.5, so 40 quarter inches, 10 in.
    quarters = OrderOptions(flat=BoneKind("flat steel", step=6.35))

    assert bone_for(channel(281.4), quarters).length == pytest.approx(254.0)


def test_sold_lengths_win_over_steps():
    sold = OrderOptions(flat=BoneKind("flat steel", sold=(200, 250, 280)))

    assert bone_for(channel(281.4), sold).length == 250


def test_a_channel_too_short_for_any_bone_has_none():
    # 70 - 24 = 46, shorter than 50.
    assert bones_for([channel(70), channel(80)], USUAL) == (bone_for(channel(80), USUAL),)


@given(st.floats(80, 500), st.floats(1, 20), st.sampled_from([Role.TOP, Role.CRADLE]))
def test_a_bone_never_reaches_the_edges_and_wastes_less_than_a_step(length, step, upper):
    options = OrderOptions(flat=BoneKind("flat steel", step=step))
    bone = bone_for(channel(length, upper=upper), options)

    room = length - bone.off_lower - bone.off_upper
    assert room - step < bone.length <= room + 1e-6


def test_tips_for_what_is_cut_from_a_coil():
    # Bulging 9 on 300 is 3 per cent: spiral. Two bones have four ends.
    curved = replace(channel(300), curve=bulged(9))

    bone = bone_for(curved, USUAL)
    assert (bone.kind.name, bone.tips) == ("spiral steel", 4)
    assert bone_for(channel(300), USUAL).tips == 0


def test_flat_steel_only_within_2_on_100():
    # 5.7 on 300 is 1.9 per cent, 6.3 is 2.1.
    kinds = [bone_for(replace(channel(300), curve=bulged(d)), USUAL).kind.name for d in (5.7, 6.3)]

    assert kinds == ["flat steel", "spiral steel"]


@pytest.mark.parametrize("radius", [300.0, 1000.0, 5000.0])
def test_bend_of_an_arc_is_its_sagitta(radius):
    # The sagitta of a chord c on radius R is R - sqrt(R² - c²/4); over 200 mm that of the whole counts most.
    angle = 2 * math.asin(100 / radius)
    reach = 4 / 3 * math.tan(angle / 4) * radius
    a, b = -angle / 2, angle / 2
    ends = [np.array([math.cos(t), math.sin(t)]) * radius for t in (a, b)]
    ways = [np.array([-math.sin(t), math.cos(t)]) * reach for t in (a, b)]
    arc = Curve([ends[0], ends[0] + ways[0], ends[1] - ways[1], ends[1]])

    sagitta = radius - math.sqrt(radius**2 - 100**2)
    assert bend_per_100(arc) == pytest.approx(sagitta * 100 / arc.length, rel=1e-3)


def test_a_local_bend_counts_though_the_whole_is_nearly_straight():
    # An S of 400 mm comes back to its chord, yet bends by 5 on its halves of 200.
    points = [(0, 0), (6.67, 66), (6.67, 134), (0, 200), (-6.67, 266), (-6.67, 334), (0, 400)]
    bend = bend_per_100(Curve(points))

    assert bend == pytest.approx(5 * 100 / 400, abs=0.2)
    assert bend_per_100(Curve.line((0, 0), (3, 400))) == pytest.approx(0, abs=1e-9)


def test_channels_of_the_tube():
    # Front 140 wide from the centre to the side: one middle bone, since 140 / 90 = 1.6 needs two spaces.
    # Back: 140 less 28 held by the lacing is 112, so one there too, half-way between the side and 112.
    found = find_channels(tube(), channel_rules(USUAL))

    told = {(c.name, c.count): round(c.length, 6) for c in found}
    assert told == {
        ("front / back", 2): 250.0,
        ("centre front", 1): 250.0,
        ("front, middle", 2): 250.0,
        ("back, middle", 2): 250.0,
        ("back, outside the eyelets", 2): 250.0,
        ("back, inside the eyelets", 2): 250.0,
    }
    middle = next(c for c in found if c.name == "back, middle")
    assert middle.curve.points_at([0, 125, 250])[:, 0] == pytest.approx([56, 56, 56])


def test_bone_eyelet_bone():
    # Edge, 2 of stitching, half of a 9 mm channel: 6.5. Eyelets at 17, 6.5 for the washer, 4.5: 28.
    assert channel_rules(USUAL).closure == (6.5, 28.0)


def test_a_wider_panel_gets_more_bones():
    # 140 / 45 = 3.1: four spaces, three bones, at 35, 70 and 105.
    rules = replace(channel_rules(USUAL), widest=45.0)
    front = [c for c in find_channels(tube(), rules) if c.piece == "front" and c.place == "panel"]

    assert [c.curve.start[0] for c in front] == pytest.approx([35, 70, 105])


def test_the_side_bone_runs_past_the_cradle_and_front_bones_end_at_it():
    found = {c.name: c for c in find_channels(drafted(), ChannelRules())}

    side = found["side front / side back"]
    assert (side.piece, side.upper, side.lower) == ("side_back", Role.TOP, Role.HEM)
    assert found["centre front / side front"].upper is Role.CRADLE
    assert found["centre front"].upper is Role.CRADLE
    assert all(c.curve.start[1] < c.curve.end[1] for c in found.values())


def test_every_channel_lies_inside_its_piece():
    import shapely

    from coutil.cut import layer_stitching
    from coutil.pattern import Layer

    style = drafted()
    outlines = {p.name: shapely.Polygon(layer_stitching(p, Layer("net"))).buffer(0.05) for p in style.pieces}
    for c in (*find_channels(style, channel_rules(USUAL)), *panel_middles(style)):
        assert outlines[c.piece].contains(shapely.LineString(c.curve.flatten(0.01))), c.name


def test_a_busk_is_the_next_sold_length_below_its_room():
    # Centre front 250 less 19 and 20 is 211: 200 is sold, and 250 - 19 - 200 = 31 is left at the hem.
    busk = find_busk(tube(busk=True), USUAL)

    assert busk is not None
    assert (busk.front, busk.room, busk.length, busk.above_hem, busk.gap) == (250, 211, 200, 31, 4)


def test_the_closure_gap_of_the_pattern_wins():
    busk = find_busk(tube(busk=True, closure_gap=5.0), USUAL)

    assert busk is not None
    assert busk.gap == 5


def test_no_busk_is_short_enough():
    busk = find_busk(tube(busk=True), OrderOptions(busk_lengths=(230, 250)))

    assert busk is not None
    assert busk.length == 0


def test_no_busk_in_a_closed_front():
    assert find_busk(tube(), USUAL) is None


def test_a_busk_over_cups_runs_along_panel_and_cup():
    # The centre front of the panel and of the inner cup, one above the other.
    style = ordered_style(drafted(), OrderOptions(closure="busk"))
    busk = find_busk(style, USUAL)

    lengths = [style.piece(name).edge("centre").curve.length for name in ("centre_front", "inner_cup")]
    assert busk is not None
    assert busk.front == pytest.approx(sum(lengths))
    assert style.piece("inner_cup").edge("centre").role is Role.CLOSURE
