"""Cut lines: widths, corners, layers, and what is refused."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from cut_samples import SQUARE, gentle_pieces, make_piece
from hypothesis import given, settings

from coutil.cut import USUAL, Allowances, cut_outline, edge_width, layer_stitching
from coutil.errors import BadStyle
from coutil.pattern import Layer, Role

PLAIN = Layer("strength")
FOAM = Layer("cup_foam", allowance=False)
R = Role


def box_of(cut):
    return shapely.Polygon(cut.outline).bounds


def test_a_square_of_100_with_15_all_round_becomes_one_of_130():
    cut = cut_outline(make_piece(SQUARE, [R.HEM] * 4, [15] * 4), PLAIN)

    assert box_of(cut) == pytest.approx((-15, -15, 115, 115))
    assert cut.area == pytest.approx(130 * 130)
    assert len(cut.outline) == 4


def test_every_edge_has_its_own_width():
    cut = cut_outline(make_piece(SQUARE, [R.HEM, R.SIDE_SEAM, R.TOP, R.PANEL_SEAM], [3, 15, 5, 12]), PLAIN)

    assert box_of(cut) == pytest.approx((-12, -3, 115, 105))
    assert cut.widths == {"e0": 3, "e1": 15, "e2": 5, "e3": 12}
    assert cut.area == pytest.approx(127 * 108)


def test_usual_widths_follow_the_role():
    cut = cut_outline(make_piece(SQUARE, [R.HEM, R.CLOSURE, R.CRADLE, R.SIDE_SEAM]), PLAIN)

    assert cut.widths == {"e0": 0, "e1": 45, "e2": 8, "e3": 15}


def test_other_widths_by_role_replace_the_usual_but_not_the_edges_own():
    piece = make_piece(SQUARE, [R.TOP, R.SIDE_SEAM, R.TOP, R.PANEL_SEAM], [4, None, None, None])
    toile = Allowances(by_role={R.SIDE_SEAM: 25, R.TOP: 25})

    assert cut_outline(piece, PLAIN, toile).widths == {"e0": 4, "e1": 25, "e2": 25, "e3": 15}


def leaning(angle, hem=0.0, seam=15.0):
    """A panel whose seam e1 meets the hem at `angle` degrees inside, at (100, 0)."""
    top = (100 - 100 / math.tan(math.radians(angle)), 100)
    return make_piece(
        [(0, 0), (100, 0), top, (0, 100)], [R.HEM, R.PANEL_SEAM, R.TOP, R.TOP], [hem, seam, 0, 0]
    )


def test_pressed_open_at_80_degrees_the_allowance_ends_on_the_hem():
    """By hand: the allowance ends 15 / tan 80° = 2.645 above the corner, measured along the seam.

    The seam runs along (-cos 80°, sin 80°) = (-0.17365, 0.98481), outwards is (0.98481, 0.17365); the
    corner is (100, 0) + 15 (0.98481, 0.17365) + 2.645 (-0.17365, 0.98481) = (114.313, 5.209).
    A mitre would give (100 + 15 / sin 80°, 0) = (115.231, 0), which pressed open would hang below the hem.
    """
    cut = cut_outline(leaning(80), PLAIN)

    corner = cut.corners[0]
    assert (corner.before, corner.after, corner.mirrored) == ("e0", "e1", "e1")
    assert corner.tip == pytest.approx([114.3128, 5.2094], abs=1e-3)
    assert np.min(np.linalg.norm(cut.outline - corner.tip, axis=1)) < 1e-5


def test_pressed_open_at_100_degrees_the_allowance_reaches_below_the_corner():
    """By hand: 15 / tan 100° = -2.645 along the seam, the mirror of the case at 80°."""
    cut = cut_outline(leaning(100), PLAIN)

    seam, outwards = np.array([0.173648, 0.984808]), np.array([0.984808, -0.173648])
    assert cut.corners[0].tip == pytest.approx(np.array([100, 0]) + 15 * outwards - 2.64490 * seam, abs=1e-3)


@pytest.mark.parametrize("angle", [60, 75, 90, 105, 120])
@pytest.mark.parametrize("hem", [0.0, 6.0, 15.0])
def test_folded_back_along_its_seam_the_allowance_lies_on_the_neighbours_cut_line(angle, hem):
    cut = cut_outline(leaning(angle, hem), PLAIN)

    radians = math.radians(angle)
    along = np.array([-math.cos(radians), math.sin(radians)])
    away = cut.corners[0].tip - np.array([100, 0])
    folded = 2 * (away @ along) * along - away
    assert folded[1] == pytest.approx(-hem, abs=1e-6)


def test_edges_that_are_not_pressed_open_are_mitred():
    """By hand at 80°: the cut lines 10 outside meet 10 / tan 40° = 11.918 along each from the corner."""
    piece = make_piece(
        [(0, 0), (100, 0), (100 - 100 / math.tan(math.radians(80)), 100), (0, 100)], [R.HEM] * 4, [10] * 4
    )

    corner = cut_outline(piece, PLAIN).corners[0]
    assert corner.mirrored is None
    assert corner.tip == pytest.approx([100 + 10 / math.tan(math.radians(40)), -10], abs=1e-6)


def test_a_sharp_tip_is_cut_off_at_twice_the_width():
    """A 20 degree corner: the whole mitre would reach 15 / sin 10° = 86 mm; it ends 30 mm from the corner."""
    half = math.tan(math.radians(10)) * 200
    piece = make_piece([(0, 0), (200, -half), (200, half)], [R.HEM] * 3, [15] * 3)

    cut = cut_outline(piece, PLAIN)
    assert cut.corners[-1].blunt
    assert cut.outline[:, 0].min() == pytest.approx(-30, abs=1e-5)


def test_a_foam_cup_is_cut_on_the_net_line_and_trimmed_where_it_would_show():
    piece = make_piece(SQUARE, [R.CRADLE, R.CUP_SEAM, R.NECKLINE, R.CENTRE], [8, 8, 5, 10])

    cut = cut_outline(piece, FOAM)
    assert cut.no_allowance
    assert box_of(cut) == pytest.approx((0, 2.5, 100, 97.5))
    assert cut.area == pytest.approx(100 * 95)


def test_trimming_follows_an_edge_into_an_obtuse_corner():
    """With 2.5 off every edge, obtuse corners included, what is left is the piece shrunk by 2.5."""
    corners = [(0, 0), (100, 0), (150, 100 * math.sin(math.radians(60))), (0, 100)]
    piece = make_piece(corners, [R.CRADLE, R.ARMHOLE, R.NECKLINE, R.CRADLE])

    expected = shapely.Polygon(corners).buffer(-2.5, join_style="mitre")
    assert shapely.Polygon(cut_outline(piece, FOAM).outline).symmetric_difference(expected).area < 1e-3


def test_turn_of_cloth_is_added_at_every_seam_and_edge():
    piece = make_piece(SQUARE, [R.HEM, R.SIDE_SEAM, R.TOP, R.PANEL_SEAM], [0, 15, 0, 15])
    outer, lining = Layer("outer", 0.5, 0.5), Layer("lining", -0.5, -2.0)

    assert box_of(cut_outline(piece, outer)) == pytest.approx((-15.5, -0.5, 115.5, 100.5))
    assert box_of(cut_outline(piece, lining)) == pytest.approx((-14.5, 2.0, 114.5, 98.0))


def test_the_outer_layers_stitching_line_gains_half_a_millimetre_an_edge():
    """Two seams each way: 100 + 2 × 0.5 = 101; four panels a half would gain 8 × 0.5 × 2 = 8 mm of girth."""
    line = layer_stitching(make_piece(SQUARE, [R.HEM, R.SIDE_SEAM, R.TOP, R.PANEL_SEAM]), Layer("outer", 0.5))

    assert np.ptp(line, axis=0) == pytest.approx([101, 100])


def test_a_centre_on_the_fold_has_no_allowance_and_an_open_one_has():
    roles = [R.HEM, R.PANEL_SEAM, R.TOP, R.CENTRE]
    folded = cut_outline(make_piece(SQUARE, roles, centre_cut="fold"), Layer("outer", 0.5))
    opened = cut_outline(make_piece(SQUARE, roles, centre_cut="open"), Layer("outer", 0.5))

    assert (folded.fold, folded.widths["e3"]) == ("e3", 0)
    assert (opened.fold, opened.widths["e3"]) == (None, 10.5)
    assert folded.outline[:, 0].min() == pytest.approx(0)


def test_beside_a_fold_the_cut_line_opens_out_as_one_line():
    """A peak of 60 degrees: the cradle's cut line runs on to the fold, 8 / sin 60° above the peak."""
    rise = 100 / math.tan(math.radians(60))
    corners = [(0, 0), (100, 0), (100, 100), (0, 100 + rise)]
    piece = make_piece(corners, [R.HEM, R.PANEL_SEAM, R.CRADLE, R.CENTRE], centre_cut="fold")

    outline = cut_outline(piece, PLAIN).outline
    on_fold = outline[np.abs(outline[:, 0]) < 1e-6]
    assert on_fold[:, 1].max() == pytest.approx(100 + rise + 8 / math.sin(math.radians(60)), abs=1e-5)
    assert outline[:, 0].min() == pytest.approx(0, abs=1e-6)


def test_of_two_seams_the_one_sewn_first_is_mirrored():
    piece = make_piece(SQUARE, [R.CRADLE, R.CUP_SEAM, R.NECKLINE, R.SIDE_SEAM])
    first = {(c.before, c.after): c.mirrored for c in cut_outline(piece, PLAIN).corners}

    assert first[("e0", "e1")] == "e1"
    assert first[("e3", "e0")] == "e0"


def test_an_edge_that_bends_inwards_tighter_than_its_allowance_still_gives_one_outline():
    """A hollow of about 12 mm radius and 20 mm of allowance: the normals cross, the outline must not."""
    piece = make_piece(SQUARE, [R.HEM] * 4, [20] * 4, [0, -0.9, 0, 0])

    assert shapely.Polygon(cut_outline(piece, PLAIN).outline).is_valid


@settings(max_examples=60, deadline=None)
@given(gentle_pieces())
def test_the_cut_line_never_crosses_itself_and_contains_the_piece(piece):
    cut = shapely.Polygon(cut_outline(piece, PLAIN).outline)
    net = shapely.Polygon(np.concatenate([e.curve.flatten(0.001)[:-1] for e in piece.edges]))

    assert cut.is_valid
    assert cut.exterior.is_ccw
    assert cut.buffer(0.01).contains(net)  # Both are chords within a hundredth of the curves.


@settings(max_examples=40, deadline=None)
@given(gentle_pieces(roles=(R.HEM, R.TOP, R.HEM, R.TOP)))
def test_along_the_edges_the_cut_line_is_the_allowance_away(piece):
    cut = cut_outline(piece, PLAIN)

    ring = shapely.Polygon(cut.outline).exterior
    for edge in piece.edges:
        # A corner reaches as far along an edge as twice the larger width.
        for along in np.linspace(edge.curve.length * 0.4, edge.curve.length * 0.6, 7):
            tangent = edge.curve.tangent_at(along)
            point = edge.curve.point_at(along) + cut.widths[edge.name] * np.array([tangent[1], -tangent[0]])
            assert ring.distance(shapely.Point(point)) < 0.01


@settings(max_examples=25, deadline=None)
@given(gentle_pieces())
def test_mirroring_the_piece_mirrors_its_cut_line(piece):
    flip = np.array([[-1.0, 0.0], [0.0, 1.0]])
    edges = tuple(replace(e, curve=e.curve.transformed(flip).reversed()) for e in reversed(piece.edges))

    one = shapely.Polygon(cut_outline(piece, PLAIN).outline * np.array([-1.0, 1.0]))
    other = shapely.Polygon(cut_outline(replace(piece, edges=edges), PLAIN).outline)
    assert one.symmetric_difference(other).area < 1e-2


def test_an_open_outline_is_refused_by_name():
    piece = make_piece(SQUARE, [R.HEM] * 4)
    gap = piece.with_curves({"e1": piece.edge("e1").curve.moved(2, 0)})

    with pytest.raises(BadStyle, match=r"edge e0 ends 2\.00 mm"):
        cut_outline(gap, PLAIN)


def test_a_crossing_stitching_line_is_refused():
    with pytest.raises(BadStyle, match="crosses itself"):
        cut_outline(make_piece([(0, 0), (100, 100), (100, 0), (0, 100)], [R.HEM] * 4), PLAIN)


def test_trimming_a_piece_to_nothing_is_refused():
    with pytest.raises(BadStyle, match="nothing is left"):
        cut_outline(make_piece([(0, 0), (50, 0), (50, 4), (0, 4)], [R.CRADLE] * 4), FOAM)


def test_the_width_of_an_edge_is_what_the_cut_line_uses():
    piece = make_piece(SQUARE, [R.HEM, R.SIDE_SEAM, R.TOP, R.PANEL_SEAM])

    assert edge_width(piece, piece.edge("e1"), Layer("outer", 0.5), USUAL) == 15.5
