"""Finished seam lengths, sewing order with match points, and the toile pack."""

from __future__ import annotations

import pytest

from coutil.cut import OrderOptions, make_toile, seam_rows, sewing_order, toile_style
from coutil.pattern import Role, find_faults
from helpers.making_samples import drafted, tube

USUAL = OrderOptions()


def test_finished_seam_lengths_of_the_tube():
    (side,) = seam_rows(tube())

    assert (side.a, side.b, side.start, side.end) == (("Front",), ("Back",), Role.HEM, Role.TOP)
    assert (side.total.a, side.total.b, side.total.difference) == pytest.approx((250, 250, 0))
    assert [(s.name, s.a) for s in side.segments] == [
        ("start to waist", pytest.approx(100)),
        ("waist to end", pytest.approx(150)),
    ]


def test_the_order_of_a_cupped_garment_goes_by_roles():
    roles = [step.role for step in sewing_order(drafted())]

    assert roles == [
        Role.CUP_SEAM,
        Role.PANEL_SEAM,
        Role.PANEL_SEAM,
        Role.CENTRE,
        Role.CENTRE,
        Role.CRADLE,
        Role.SIDE_SEAM,
    ]


def test_it_does_not_go_by_names():
    from dataclasses import replace

    style = drafted()
    renamed = replace(style, seams=tuple(replace(s, name=f"x{i}") for i, s in enumerate(reversed(style.seams))))

    assert [s.a for s in sewing_order(renamed)] == [s.a for s in sewing_order(style)]


def test_panels_are_sewn_from_the_centre_front_outward():
    panels = [step for step in sewing_order(drafted()) if step.role is Role.PANEL_SEAM]

    assert [step.a for step in panels] == [("Centre front",), ("Side back",)]


def test_no_chain_is_sewn_before_its_pieces_are_joined():
    style = drafted()
    joined: list[set[str]] = []
    for step in sewing_order(style):
        for chain in (step.a, step.b):
            if len(chain) > 1:
                assert any(set(chain) <= group for group in joined), chain
        both = {*step.a, *step.b}
        touched = [group for group in joined if group & both]
        joined = [group for group in joined if not group & both] + [both.union(*touched)]


def test_match_points_of_the_tube_lie_at_the_levels():
    # From the hem at -100: high hip 10, waist 100, underbust 200.
    side = sewing_order(tube())[-1]

    assert (side.start, side.sides) == (Role.HEM, 2)
    assert [(m.name, m.a, m.b) for m in side.matches] == [
        ("high_hip", pytest.approx(10), pytest.approx(10)),
        ("waist", pytest.approx(100), pytest.approx(100)),
        ("underbust", pytest.approx(200), pytest.approx(200)),
    ]


def test_the_centre_seam_is_sewn_upwards_once():
    centre = sewing_order(tube())[0]

    assert (centre.role, centre.sides, centre.start) == (Role.CENTRE, 1, Role.HEM)
    assert [(m.name, m.a) for m in centre.matches] == [
        ("high_hip", pytest.approx(10)),
        ("waist", pytest.approx(100)),
        ("underbust", pytest.approx(200)),
    ]


def test_a_fold_is_no_seam():
    from dataclasses import replace

    style = tube()
    folded = style.with_pieces({"front": replace(style.piece("front"), centre_cut="fold")})

    assert [step.role for step in sewing_order(folded)] == [Role.SIDE_SEAM]


def test_inlays_of_a_toile():
    # 25 at side seams, centre back and upper edge; 15 elsewhere.
    toile = make_toile(tube(), USUAL)
    found = {(row.piece, edge.edge): edge.width for row in toile.rows for edge in row.allowances}

    assert found == {
        ("front", "hem"): 15,
        ("front", "side"): 25,
        ("front", "top"): 25,
        ("front", "centre"): 15,
        ("back", "hem"): 15,
        ("back", "closure"): 25,
        ("back", "top"): 25,
        ("back", "side"): 25,
    }
    assert {row.layer for row in toile.rows} == {"toile"}
    assert {row.count for row in toile.rows} == {2}


def test_levels_and_bust_point_are_marked():
    toile = make_toile(drafted(), USUAL)

    assert {(point.piece, point.name) for point in toile.points} == {
        ("inner_cup", "bust_point"),
        ("outer_cup", "bust_point"),
    }
    marked = {(line.piece, line.level) for line in toile.levels}
    assert marked >= {
        (piece.name, level) for piece in drafted().pieces for level in piece.levels if "cup" not in piece.name
    }
    assert all(line.ends[0, 0] < line.ends[1, 0] for line in toile.levels)


def test_one_upright_bone_up_the_middle_of_each_panel():
    # The middle of 140 is 70; 250 less 24 is 226, sold 225.
    toile = make_toile(tube(), USUAL)

    assert [(b.channel.piece, b.length, b.count) for b in toile.bones] == [("front", 225, 2), ("back", 225, 2)]
    assert toile.bones[0].channel.curve.knots[:, 0] == pytest.approx([70, 70])


def test_lacing_strips_are_5_in_wide():
    (strip,) = make_toile(tube(), USUAL).strips

    assert (strip.count, strip.length, strip.width) == (2, 290, 127)


def test_a_toile_is_a_sound_style():
    assert not find_faults(toile_style(drafted()))
