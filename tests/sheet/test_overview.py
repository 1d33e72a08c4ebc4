"""The overview: base under result, levels in one line, nothing over anything else."""

from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from sheet_samples import cup, panel, style

from coutil.alter import GirthOrder, Plan
from coutil.pattern import CutFrom
from coutil.sheet._drawing import text_box
from coutil.sheet._overview import NO_HEADING, Heading, overview, overview_svg

SVG = "{http://www.w3.org/2000/svg}"
BASE = style(cup("inner_cup", "Inner cup"), panel("front", "Front"), panel("back", "Back", width=80))
ALTERED = style(
    cup("inner_cup", "Inner cup"),
    panel("front", "Front", width=96),
    panel("back", "Back", width=80, waist=66),
)
PLAN = Plan((), (GirthOrder("waist", 720, 0, 80, 50, 300, 290),), {}, 80, 50, 0)


def extent(drawing, name):
    """(xmin, ymin, xmax, ymax) of everything inside that group."""
    points = np.concatenate([stroke.points for stroke in drawing.strokes_in(name)])
    return (*points.min(axis=0), *points.max(axis=0))


def wall():
    return overview(BASE, ALTERED, PLAN, "Sample", NO_HEADING)


def test_every_piece_has_base_and_result_in_one_frame():
    drawing = wall()

    for piece, under in zip(ALTERED.pieces, BASE.pieces, strict=True):
        strokes = [s for s in drawing.strokes_in(f"piece:{piece.name}") if s.cubic]
        base = next(s for s in strokes if "base" in s.groups)
        result = next(s for s in strokes if "stitching" in s.groups)
        shift = result.points[0] - piece.edges[0].curve.points[0]
        assert base.points == pytest.approx(under.edges[0].curve.points + shift)
        assert base.line.dash
        assert not result.line.dash


def test_the_waist_of_all_panels_lies_on_one_line():
    drawing = wall()
    heights = {
        round(float(s.points[0, 1]), 9)
        for name in ("front", "back")
        for s in drawing.strokes_in(f"piece:{name}")
        if "levels" in s.groups and np.allclose(s.points[:, 1], 0)
    }

    assert heights == {0.0}


def test_no_piece_lies_over_another_and_cups_stand_above():
    drawing = wall()
    areas = {p.name: shapely.box(*extent(drawing, f"piece:{p.name}")) for p in ALTERED.pieces}

    assert not areas["front"].intersects(areas["back"])
    assert areas["front"].bounds[2] < areas["back"].bounds[0]
    assert areas["inner_cup"].bounds[1] > max(areas["front"].bounds[3], areas["back"].bounds[3])


def test_the_legend_stands_clear_of_all_pieces():
    drawing = wall()
    highest = max(extent(drawing, f"piece:{p.name}")[3] for p in ALTERED.pieces)
    boxes = [text_box(w.position, w.string, w.height) for w in drawing.writings if "legend" in w.groups]

    assert min(box[:, 1].min() for box in boxes) > highest


def test_the_file_names_its_groups_and_tells_what_was_ordered():
    text = overview_svg(BASE, ALTERED, PLAN, "Sample & <co>", Heading("Client 12", "2026-11-25"))
    root = ElementTree.fromstring(text.encode())

    names = {g.get("data-name") for g in root.iter(f"{SVG}g")}
    words = {t.text for t in root.iter(f"{SVG}text")}
    assert {"piece:front", "base", "stitching", "cut:outer", "levels", "legend"} <= names
    assert {"Sample & <co>", "waist: pieces 590 mm (295)"} <= words
    assert any("Client 12" in (word or "") and "2026-11-25" in (word or "") for word in words)


def test_the_file_is_as_large_as_its_drawing():
    root = ElementTree.fromstring(overview_svg(BASE, ALTERED, None, "Sample").encode())

    width, height = (float(root.get(name).removesuffix("mm")) for name in ("width", "height"))
    assert [float(n) for n in root.get("viewBox").split()][2:] == [width, height]


def test_a_piece_that_the_base_has_not_is_drawn_alone():
    drawing = overview(style(panel("front", "Front")), ALTERED, None, "Sample", NO_HEADING)

    assert not [s for s in drawing.strokes_in("piece:back") if "base" in s.groups]


def test_a_style_without_cups_is_one_row():
    bodice = style(panel("front", "Front"), panel("back", "Back"))
    drawing = overview(bodice, bodice, None, "Sample", NO_HEADING)

    assert extent(drawing, "piece:front")[3] == pytest.approx(extent(drawing, "piece:back")[3])


def test_the_label_lists_every_layer_the_piece_is_cut_from():
    layers = tuple(CutFrom(name, 2, True) for name in ("outer", "strength", "lining", "cup foam"))
    bodice = style(replace(cup("inner_cup", "Inner cup"), cut=layers))
    words = {w.string for w in overview(bodice, bodice, None, "Sample", NO_HEADING).writings}

    assert {f"2 × {layer.layer}, mirrored" for layer in layers} <= words
