"""Small parts: each rule with an example worked by hand on the tube of straight panels, 560 net and 250 high."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coutil.cut import (
    OrderOptions,
    SmallPart,
    bones_for,
    casings_of,
    channel_rules,
    find_channels,
    small_parts,
    waist_tapes,
)
from coutil.pattern import Edge, Role, Style
from helpers.making_samples import drafted, tube

USUAL = OrderOptions()


def parts(style: Style, options: OrderOptions = USUAL) -> dict[str, SmallPart]:
    bones = bones_for(find_channels(style, channel_rules(options)), options)
    return {part.name: part for part in small_parts(style, bones, options)}


def test_the_waist_tape_of_a_closed_front_is_one():
    # Half waist 280, each half 2 short: 2 x 278 = 556, and 15 turned in at each end.
    tape = parts(tube())["waist tape"]

    assert (tape.count, tape.finished, tape.length, tape.width) == (1, pytest.approx(556), pytest.approx(586), 20)


def test_a_busk_cuts_the_waist_tape_in_two():
    tape = parts(tube(busk=True))["waist tape"]

    assert (tape.count, tape.finished, tape.length) == (2, pytest.approx(278), pytest.approx(308))


def test_the_waist_tapes_of_a_drafted_base_add_up_to_the_waist():
    from coutil.pattern import girth

    assert sum(waist_tapes(drafted(), USUAL)) == pytest.approx(girth(drafted(), "waist").full - 4)


def test_a_whole_style_has_the_same_tapes_as_its_half():
    # The other half as pieces of its own, joined at the centre by a seam or not at all.
    from coutil.pattern import EdgeRef, Seam

    for busk in (False, True):
        half = tube(busk=busk)
        others = tuple(replace(p, name=f"{p.name}_right") for p in half.pieces)
        sides = tuple(
            replace(s, name=f"{s.name}_right", a=(EdgeRef("front_right", "side"),), b=(EdgeRef("back_right", "side"),))
            for s in half.seams
        )
        centre = () if busk else (Seam("centre", (EdgeRef("front", "centre"),), (EdgeRef("front_right", "centre"),)),)
        whole = replace(half, half=False, pieces=half.pieces + others, seams=half.seams + sides + centre)
        assert waist_tapes(whole, USUAL) == pytest.approx(waist_tapes(half, USUAL))


def test_binding_is_four_times_its_width_and_the_edges_and_a_tenth():
    # Each edge runs 4 x 140 = 560 all round: 616, 48 wide for 12 finished, cut on the bias of the outer.
    found = parts(tube())

    for name in ("binding, upper edge", "binding, lower edge"):
        assert (found[name].length, found[name].width) == (pytest.approx(616), 48)
        assert (found[name].layer, found[name].grain) == ("outer", "bias")


def test_an_open_front_parts_the_binding_in_two():
    # Each half runs 2 x 140 = 280 along each edge: 308 with a tenth more.
    found = parts(tube(busk=True))

    for name in ("binding, upper edge", "binding, lower edge"):
        part = found[name]
        assert (part.count, part.finished, part.length) == (2, pytest.approx(280), pytest.approx(308))


def test_turned_edges_need_no_binding():
    assert not [name for name in parts(tube(), OrderOptions(finish="turned")) if name.startswith("binding")]


def test_the_modesty_panel_is_the_gap_and_45_under_each_edge():
    # 50 + 90 = 140 finished; 10 all round: 160 x 270, once from the outer and once from the strength.
    bones = ()
    panels = [part for part in small_parts(tube(), bones, USUAL) if part.name == "modesty panel"]

    assert [(p.count, p.length, p.width, p.layer) for p in panels] == [
        (1, 270, 160, "outer"),
        (1, 270, 160, "strength"),
    ]


def test_a_wider_gap_makes_a_wider_panel():
    assert parts(tube(gap=80))["modesty panel"].width == 80 + 90 + 20


def test_a_closure_that_turns_back_45_is_its_own_facing():
    facing = parts(tube())["back facing, back"]

    assert (facing.made_with, facing.width, facing.area) == ("Back", 45, 0)


def test_a_closure_with_a_seam_allowance_gets_a_facing():
    # 50 wide and the closure's own 10, 250 long and 10 at each end.
    style = tube(busk=True)
    front = style.piece("front")
    narrow = tuple(_with_allowance(edge, 10.0) for edge in front.edges)
    found = parts(style.with_pieces({"front": replace(front, edges=narrow)}))["busk facing, front"]

    assert (found.count, found.length, found.width, found.made_with) == (2, 270, 60, "")


def _with_allowance(edge: Edge, width: float) -> Edge:
    return replace(edge, allowance=width) if edge.role is Role.CLOSURE else edge


def test_casings_are_the_channel_and_both_turnings():
    # A 7 mm bone lies in 9; 3/8 in (9.5) turns in on both sides: 28, and 10 runs past each end.
    casing = parts(tube())["casing, front / back"]

    assert (casing.count, casing.length, casing.width, casing.grain) == (2, 270, 28, "bias")
    assert not [name for name in parts(tube()) if "eyelets" in name]


def test_a_sandwich_needs_no_casings():
    style = replace(tube(), construction="sandwich")

    assert casings_of(style, USUAL) == "between"
    assert not [name for name in parts(style) if name.startswith("casing")]
    assert casings_of(style, OrderOptions(casings="allowances")) == "allowances"


def test_the_neckline_is_stayed_along_its_whole_run():
    style = drafted()
    run = 2 * style.piece("inner_cup").edge("neckline").curve.length

    assert parts(style)["neckline stay tape"].finished == pytest.approx(run)
    assert "neckline stay tape" not in parts(tube())


def test_what_the_order_leaves_out_is_left_out():
    none = OrderOptions(waist_tape=False, modesty_panel=False, stay_tape=False, loops=False, finish="turned")

    assert {name.split(",")[0] for name in parts(tube(), none)} == {"casing", "back facing"}
