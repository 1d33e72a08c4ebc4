"""One piece on a pen: every mark is there, and the label lies inside and over no line."""

import numpy as np
import pytest
import shapely
from sheet_samples import LAYERS, cup, panel

from coutil.cut import cut_outline
from coutil.sheet._drawing import Recorder, text_box
from coutil.sheet._marks import grain_line, level_lines, net_outline, notch_strokes
from coutil.sheet._piece_drawing import PieceOptions, draw_piece

LABEL = ("Centre front", "2 × outer, mirrored", "2 × lining, mirrored")


def drawn(piece, **options):
    recorder = Recorder()
    draw_piece(recorder, piece, PieceOptions(**options))
    return recorder


def label_boxes(recorder):
    return [
        shapely.Polygon(text_box(w.position, w.string, w.height, w.angle, w.anchor))
        for w in recorder.writings
        if "label" in w.groups
    ]


@pytest.mark.parametrize(
    "piece",
    [
        panel("front", "Front"),
        panel("narrow", "Narrow", width=42, waist=30),
        panel("fold", "Fold", centre_cut="fold"),
        cup("inner_cup", "Inner cup"),
    ],
    ids=lambda p: p.name,
)
def test_the_label_lies_inside_and_over_no_line(piece):
    recorder = drawn(piece, label=LABEL, cuts=(cut_outline(piece, LAYERS[0]),))

    boxes = label_boxes(recorder)
    inside = shapely.Polygon(net_outline(piece))
    strokes = shapely.union_all([shapely.LineString(s.points) for s in recorder.strokes])
    assert len(boxes) == len(LABEL)
    assert all(inside.contains(box) for box in boxes)
    assert not any(box.intersects(strokes) for box in boxes)


def test_level_names_cross_no_line_and_no_label():
    recorder = drawn(panel("front", "Front", centre_cut="fold"), label=LABEL)

    names = [w for w in recorder.writings if "level names" in w.groups]
    strokes = shapely.union_all([shapely.LineString(s.points) for s in recorder.strokes])
    areas = [shapely.Polygon(text_box(w.position, w.string, w.height)) for w in names]
    assert {w.string for w in names} == {"waist", "underbust"}
    assert not any(area.intersects(strokes) for area in areas)
    assert not any(area.intersects(box) for area in areas for box in label_boxes(recorder))


def test_in_a_small_piece_the_label_shrinks():
    small = drawn(panel("narrow", "Narrow", width=36, waist=28), label=LABEL)
    large = drawn(panel("front", "Front", width=120, waist=110), label=LABEL)

    assert {w.height for w in large.writings if "label" in w.groups} == {4.0}
    assert max(w.height for w in small.writings if "label" in w.groups) < 4.0


def test_a_label_that_fits_nowhere_stands_beside_the_piece():
    piece = panel("strip", "Strip", width=5, waist=4)
    boxes = label_boxes(drawn(piece, label=LABEL))

    assert all(box.bounds[0] > net_outline(piece)[:, 0].max() for box in boxes)


def test_the_outline_is_drawn_as_the_very_curves():
    piece = panel("front", "Front")
    strokes = drawn(piece).strokes_in("stitching")

    assert [np.array_equal(s.points, e.curve.points) for s, e in zip(strokes, piece.edges, strict=True)] == [
        True
    ] * 4


def test_levels_join_their_marks_and_cross_the_piece_without_marks():
    """By hand: the waist is 80 wide (10 less on the right); the underbust at 85 is 80 + 10 × 85/150 wide."""
    lines = level_lines(panel("front", "Front", width=90, waist=70))

    assert lines["waist"] == pytest.approx(np.array([(0, 0), (80, 0)]))
    assert lines["underbust"] == pytest.approx(np.array([(0, 85), (80 + 10 * 85 / 150, 85)]), abs=0.1)


def test_the_grain_arrow_is_upright_inside_and_nearly_as_long_as_the_piece():
    piece = panel("front", "Front")
    arrow = grain_line(piece)

    assert arrow[0, 0] == pytest.approx(arrow[1, 0])
    assert shapely.Polygon(net_outline(piece)).contains(shapely.LineString(arrow))
    assert np.ptp(arrow[:, 1]) == pytest.approx(250 - 2 * 8, abs=0.5)


def test_the_grain_the_base_carries_is_never_turned():
    arrow = grain_line(panel("front", "Front", grain_deg=80.0))

    away = arrow[1] - arrow[0]
    assert np.degrees(np.arctan2(away[1], away[0])) % 180 == pytest.approx(80)


def test_a_double_notch_has_two_strokes_from_the_cut_edge_inwards():
    """By hand: 15 outside a seam, each stroke runs from 15 to 10 outside it, the two 3 apart."""
    piece = panel("front", "Front", width=90, waist=90)
    first, second = notch_strokes(piece, piece.notches[0], 15.0)

    assert first[:, 0] == pytest.approx([105, 100])
    assert abs(first[0, 1] - second[0, 1]) == pytest.approx(3)


def test_the_bust_point_is_a_crossed_circle():
    strokes = drawn(cup("inner_cup", "Inner cup")).strokes_in("landmarks")

    ring, *cross = strokes
    assert np.linalg.norm(ring.points[::3] - (10, 0), axis=1) == pytest.approx(4)
    assert [stroke.points.mean(axis=0).tolist() for stroke in cross] == [[10, 0], [10, 0]]


def test_only_a_fold_has_a_bracket():
    assert drawn(panel("fold", "Fold", centre_cut="fold")).strokes_in("fold")
    assert not drawn(panel("open", "Open", centre_cut="open")).strokes_in("fold")


def test_each_cut_layer_is_its_own_group():
    piece = panel("front", "Front")
    recorder = drawn(piece, cuts=tuple(cut_outline(piece, layer) for layer in LAYERS))

    assert [len(recorder.strokes_in(f"cut:{layer.name}")) for layer in LAYERS] == [1, 1]
