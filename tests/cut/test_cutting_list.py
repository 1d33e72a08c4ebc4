"""Cutting list, the style as ordered, cloth, and everything together."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from coutil.cut import (
    Allowances,
    Cloth,
    OrderOptions,
    SmallPart,
    cloth_needs,
    cutting_rows,
    finished_girths,
    order_allowances,
    ordered_style,
    plan_making,
)
from coutil.errors import BadInput
from coutil.pattern import Layer
from helpers.making_samples import drafted, tube
from helpers.whole import whole_style

USUAL = OrderOptions()


def test_one_row_a_piece_and_layer_with_what_lies_beyond_the_stitching_line():
    rows = {(row.piece, row.layer): row for row in cutting_rows(tube(), Allowances())}

    front = rows["front", "strength"]
    assert len(rows) == 4
    assert (front.count, front.mirrored, front.on_fold, front.turn) == (2, True, False, (0.0, 0.0))
    assert {edge.edge: edge.width for edge in front.allowances} == {"hem": 0, "side": 15, "top": 0, "centre": 10}
    # 140 and 15 and 10 across, 250 high.
    assert front.size == pytest.approx((165, 250))
    assert front.area == pytest.approx(165 * 250)


def test_turn_of_cloth_is_in_the_size_and_not_in_the_allowance():
    rows = {(row.piece, row.layer): row for row in cutting_rows(tube(), Allowances())}

    outer = rows["front", "outer"]
    assert outer.turn == (0.5, 0.5)
    assert {edge.edge: edge.width for edge in outer.allowances} == {"hem": 0, "side": 15, "top": 0, "centre": 10}
    assert outer.size == pytest.approx((166, 251))


def test_turned_edges_keep_12():
    turned = OrderOptions(finish="turned")
    (front, *_) = cutting_rows(tube(), order_allowances(turned))

    assert {edge.edge: edge.width for edge in front.allowances}["hem"] == 12


def test_a_turned_edge_is_on_the_pattern_itself():
    """Sheets print the ordered style, lays cut it: 12 mm at hem and top, an edge with a width of its own keeps it."""
    style = tube()
    front = style.piece("front")
    own = replace(front, edges=tuple(replace(e, allowance=20.0) if e.name == "top" else e for e in front.edges))
    front = ordered_style(style.with_pieces({"front": own}), OrderOptions(finish="turned")).piece("front")

    (row, *_) = cutting_rows(replace(style, pieces=(front,)), Allowances())
    assert {edge.edge: edge.width for edge in row.allowances} == {"hem": 12, "side": 15, "top": 20, "centre": 10}


def test_on_the_fold_the_centre_has_no_allowance_and_is_not_listed():
    style = tube()
    folded = replace(style.piece("front"), centre_cut="fold")
    (front, *_) = cutting_rows(style.with_pieces({"front": folded}), Allowances())

    assert front.on_fold
    assert "centre" not in {edge.edge for edge in front.allowances}


@pytest.mark.parametrize(
    ("construction", "turns"),
    [
        # Turn of cloth and half of what a seam takes up: 0, 0.5 or 1 mm a seam.
        ("single", {"strength": (0.0, 0.0)}),
        ("mounted", {"outer": (0.25, 0.0), "strength": (0.25, 0.0)}),
        ("sandwich", {"outer": (1.0, 0.5), "strength": (0.5, 0.0)}),
        ("floating_lining", {"outer": (0.25, 0.0), "strength": (0.25, 0.0), "lining": (-0.25, -2.0)}),
    ],
)
def test_layers_by_construction(construction, turns):
    style = ordered_style(drafted(), OrderOptions(construction=construction))

    found = {layer.name: (layer.turn, layer.turn_at_edges) for layer in style.layers if layer.allowance}
    assert found == turns
    assert {source.layer for piece in style.pieces for source in piece.cut} == {*turns, "cup foam"}


def test_without_a_construction_the_layers_of_the_style_stay():
    assert ordered_style(drafted(), USUAL).layers == drafted().layers


def test_brocade_has_its_own_turn():
    style = ordered_style(drafted(), OrderOptions(cloths=(Cloth("outer", turn=1.0),)))

    assert next(layer.turn for layer in style.layers if layer.name == "outer") == 1.0


def test_a_cover_over_foam_of_3_is_3_3_larger():
    style = ordered_style(drafted(), OrderOptions(foam=3.0))
    measured = ordered_style(drafted(), OrderOptions(foam=3.0, measured_over_foam=True))

    assert {layer.name: layer.over_foam for layer in style.layers if layer.over_foam} == {"outer": pytest.approx(3.3)}
    assert not any(layer.over_foam for layer in measured.layers)


def test_a_cloth_for_no_layer_is_refused():
    with pytest.raises(BadInput, match="'velvet', a layer that is not made: name one of outer, strength"):
        ordered_style(tube(), OrderOptions(cloths=(Cloth("velvet"),)))


def test_a_style_without_the_layer_of_a_construction_is_refused():
    style = replace(tube(), layers=(Layer("lining"),))

    with pytest.raises(BadInput, match="single garment needs a layer strength; the style has lining"):
        ordered_style(style, OrderOptions(construction="single"))


def test_cloth_is_the_area_and_15_per_cent_by_the_width():
    # Strength: 2 x 165 x 250 and 2 x (140 + 15 + 45) x 250 = 182 500 square mm, with a part of 100 000:
    # 1.15 x 282 500 / 1000 wide = 324.9, so 400 mm; at 20 a metre 8.
    options = OrderOptions(cloths=(Cloth("strength", width=1000, price=20),))
    rows = cutting_rows(tube(), Allowances())
    part = SmallPart("strip", 2, 500, 100, "strength", "bias", 500)
    need = {n.cloth.layer: n for n in cloth_needs(tube(), rows, [part], options)}["strength"]

    assert (need.length, need.cost) == (400, pytest.approx(8.0))


def test_closes_up_to_and_lets_out_to():
    # Net 560; laced with a gap of 50: 610; at most 100: 660.  Two cloths of 0.5: 2 pi outside.
    waist = next(row for row in finished_girths(tube(), USUAL) if row.level == "waist")

    assert (waist.net, waist.closed, waist.laced, waist.open) == pytest.approx((560, 560, 610, 660))
    assert waist.outside == pytest.approx(610 + 2 * math.pi)


def test_a_closed_busk_stands_open_and_adds_to_the_girth():
    waist = next(row for row in finished_girths(tube(busk=True), USUAL) if row.level == "waist")

    assert (waist.closed, waist.laced) == pytest.approx((564, 614))


def test_everything_together_and_what_to_buy():
    chart = tube().base_chart.with_value("hip_girth", 900)
    making = plan_making(tube(), chart, USUAL)

    stock = {(item.name, item.size): item.count or item.length for item in making.hardware}
    # Eleven flat steels of 225 (250 less 24 is 226): a pair at the side, two by two in the panels and four at the
    # lacing, one in the centre front; 24 eyelets.
    assert stock["flat steel", 225] == 11
    assert stock["eyelets with washers", None] == 24
    assert stock["waist tape", 20] == pytest.approx(586)
    assert making.remarks == ()


def test_what_to_look_at_is_said():
    chart = tube().base_chart.with_value("hip_girth", 1000)
    told = " ".join(
        remark
        for options in (USUAL, OrderOptions(closure="busk", busk_lengths=(240,)), OrderOptions(casings="allowances"))
        for remark in plan_making(tube(), chart, options).remarks
    )

    assert "would have to open 440 mm" in told
    assert "leaves no closure gap" in told
    assert "No busk is sold short enough for the 211 mm" in told
    assert "cannot be combined with channels in the seam allowances" in told
    assert "allowance" in told


def test_too_narrow_allowances_for_channels_are_named():
    # A 12 mm bone needs 12 + 2 x 2.5 = 17; the side seam has 15.
    from coutil.cut import BoneKind

    options = OrderOptions(casings="allowances", waist_tape=False, flat=BoneKind("flat steel", width=12))
    told = plan_making(tube(), tube().base_chart.with_value("hip_girth", 900), options).remarks

    assert told == ("Channels in the seam allowances need 17 mm of allowance; the narrowest has 15 mm.",)


@pytest.mark.parametrize("options", [USUAL, OrderOptions(closure="busk")])
def test_a_whole_style_is_made_of_the_same_as_its_half(options):
    chart = drafted().base_chart.with_value("hip_girth", 900)
    half, whole = (plan_making(style, chart, options) for style in (drafted(), whole_style(drafted())))

    def stock(making):
        return [(item.name, item.size, item.count, round(item.length or 0, 3)) for item in making.hardware]

    assert stock(whole) == stock(half)
    assert sum(bone.count for bone in whole.bones) == sum(bone.count for bone in half.bones)
    assert [(c.cloth.layer, c.length) for c in whole.cloths] == [(c.cloth.layer, c.length) for c in half.cloths]
    assert [round(row.laced, 6) for row in whole.girths] == [round(row.laced, 6) for row in half.girths]


def test_no_estimate_is_shorter_than_the_longest_piece():
    # The panels are 250 high with bound edges: on 5 m of cloth their area alone would ask for 0.1 m; 0.3 m is sold.
    wide = OrderOptions(cloths=(Cloth("strength", width=5000.0),), waist_tape=False, modesty_panel=False)
    needs = {c.cloth.layer: c.length for c in plan_making(tube(), tube().base_chart, wide).cloths}

    assert needs["strength"] == 300.0
