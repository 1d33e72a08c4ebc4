"""Drawings by other programs and other habits: two general libraries, strokes, loose lines, cut lines, halves."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import ezdxf
import numpy as np
import pytest
from drawing_samples import CINCHER, cincher, dxf_text, edge_roles, farthest, outlines, sewn, strokes, svg
from fontTools.pens.svgPathPen import SVGPathPen
from reportlab.graphics import renderSVG
from reportlab.graphics.shapes import Drawing as LibraryDrawing
from reportlab.graphics.shapes import Line, Path

from coutil.drawing import Imported, import_drawing
from coutil.pattern import Style, girth

BASE = cincher().style
ROLES = list(edge_roles(BASE).values())
MM_A_POINT = 25.4 / 72
UP_40 = np.array([0.0, 40.0])


def called_as_in_the_base(found: Imported) -> Style:
    """The imported pieces under the base's names, left to right."""
    pairs = zip(found.style.pieces, BASE.pieces, strict=True)
    return replace(found.style, pieces=tuple(replace(piece, name=own.name) for piece, own in pairs))


def assert_is_the_cincher(found: Imported, within: float) -> None:
    assert farthest(BASE, called_as_in_the_base(found)) < within
    assert list(edge_roles(found.style).values()) == ROLES
    order = [piece.name for piece in found.style.pieces]
    assert sewn(found.style) == {frozenset(order[k : k + 2]) for k in range(3)}
    assert [piece.part for piece in found.style.pieces] == ["front", "front", "back", "back"]


def test_a_drawing_by_one_general_library() -> None:
    # ReportLab's SVG: points written as px, the axis turned over, single strokes closed.
    sheet = LibraryDrawing(2000, 900)
    for curves in outlines(BASE).values():
        path = Path(fillColor=None)
        path.moveTo(*(curves[0].start / MM_A_POINT))
        for span in np.concatenate([curve.spans for curve in curves]):
            path.curveTo(*(span[1:] / MM_A_POINT).ravel())
        path.closePath()
        sheet.add(path)
    for height in (100.0, 175.0, 50.0):
        sheet.add(Line(-10, height / MM_A_POINT, 1800, height / MM_A_POINT))
    found = import_drawing(renderSVG.drawToString(sheet).encode(), ".svg", "x", scale=96 / 72)
    assert_is_the_cincher(found, 0.01)
    assert [(level.name, level.depth) for level in found.style.levels] == [
        ("underbust", pytest.approx(-75, abs=0.01)),
        ("waist", 0.0),
        ("high_hip", pytest.approx(50, abs=0.01)),
    ]


def test_a_drawing_by_another_general_library() -> None:
    paths = []
    for name, curves in outlines(BASE).items():
        pen = SVGPathPen(None)
        pen.moveTo(down(curves[0].start))
        for span in np.concatenate([curve.spans for curve in curves]):
            pen.curveTo(*(down(point) for point in span[1:]))
        pen.closePath()
        paths.append(f'<path id="{name}" d="{pen.getCommands()}"/>')
    waist = '<line id="level_waist" x1="-10" x2="590" y1="200" y2="200"/>'
    found = import_drawing(svg("".join(paths) + waist), ".svg", "x")
    assert_is_the_cincher(found, 1e-3)
    assert [piece.name for piece in found.style.pieces] == [piece.name for piece in BASE.pieces]


@pytest.mark.parametrize("named", [True, False])
def test_a_page_with_its_background_and_groups_with_numbers(named: bool) -> None:
    """As plotting programs write: points of 1/72 in, a white page, every path in a numbered group of its own."""
    points = 72 / 25.4
    body = f'<g id="patch_1"><path d="M0 {300 * points}L{620 * points} {300 * points}L{620 * points} 0L0 0z"/></g>'
    for number, (name, curves) in enumerate(outlines(BASE).items(), start=2):
        spans = np.concatenate([curve.spans for curve in curves]) * (1.0, -1.0) + (0.0, 300.0)
        steps = "".join("C" + " ".join(f"{x} {y}" for x, y in span[1:] * points) for span in spans)
        x, y = spans[0, 0] * points
        group = name if named else f"patch_{number}"
        body += f'<g id="axes_1"><g id="{group}"><path d="M{x} {y}{steps}z"/></g></g>'
    for number, (height, name) in enumerate(((100.0, "waist"), (175.0, "underbust"), (50.0, "high_hip")), start=1):
        group = f"level_{name}" if named else f"line2d_{number}"
        y = (300.0 - height) * points
        body += f'<g id="axes_1"><g id="{group}"><path d="M0 {y}L{600 * points} {y}"/></g></g>'
    head = f'width="{620 * points}pt" height="{300 * points}pt" viewBox="0 0 {620 * points} {300 * points}"'
    found = import_drawing(svg(f'<g id="figure_1">{body}</g>', head), ".svg", "x")
    assert_is_the_cincher(found, 1e-3)
    assert [level.name for level in found.style.levels] == ["underbust", "waist", "high_hip"]
    assert any("page's edge" in remark for remark in found.remarks)


def test_a_rectangular_piece_with_its_stitching_line_is_no_page() -> None:
    paths = [
        f'<rect x="{x}" y="20" width="150" height="180"/><rect x="{x + 15}" y="35" width="120" height="150"/>'
        for x in (10, 200)
    ]
    paths.append('<rect x="60" y="60" width="12" height="12"/>')
    waist = '<line id="level_waist" x1="0" x2="390" y1="120" y2="120"/>'
    found = import_drawing(svg("".join(paths) + waist), ".svg", "x")
    assert [round(sum(edge.curve.length for edge in piece.edges)) for piece in found.style.pieces] == [540, 540]
    alone = import_drawing(svg(paths[0] + paths[2] + waist), ".svg", "x")
    assert [round(sum(edge.curve.length for edge in piece.edges)) for piece in alone.style.pieces] == [540]


def down(point: np.ndarray) -> tuple[float, float]:
    return float(point[0]), 300.0 - float(point[1])


def test_one_polyline_a_piece_in_centimetres_without_a_name() -> None:
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 5
    space = document.modelspace()
    for curves in outlines(BASE).values():
        space.add_lwpolyline(strokes(curves, 0.01) / 10, close=True)
    for height in (10.0, 17.5, 5.0):
        space.add_line((-1, height), (60, height))
    found = import_drawing(dxf_text(document), ".dxf", "x")
    assert_is_the_cincher(found, 0.1)
    assert max(edge.curve.n_spans for piece in found.style.pieces for edge in piece.edges) <= 8


def test_a_hundred_loose_lines_in_inches_without_any_level() -> None:
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 1
    for curves in outlines(BASE).values():
        for curve in curves:
            points = curve.flatten(0.01) / 25.4
            for a, b in pairwise(points):
                document.modelspace().add_line(a, b)
    found = import_drawing(dxf_text(document), ".dxf", "x")
    (waist,) = (c for c in found.certainties if c.about == "level waist")
    assert waist.sure < 0.5
    # The narrowest place of a smooth waist is found within a couple of millimetres.
    assert abs(float(re.findall(r"[\d.]+", waist.proposal)[0]) - 100.0) < 3.0
    assert sewn(found.style) == {frozenset({f"piece_{k}", f"piece_{k + 1}"}) for k in (1, 2, 3)}


def test_blocks_on_the_layers_of_the_interchange_practice() -> None:
    # One block a piece, boundary on layer 1, sew line on 14, turn points on 2, grain on 7, internal line on 8.
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    for name, curves in outlines(BASE).items():
        block = document.blocks.new(name)
        sew = strokes(curves, 0.01)
        low, high = sew.min(axis=0) - 15, sew.max(axis=0) + 15
        corners = [tuple(low), (high[0], low[1]), tuple(high), (low[0], high[1])]
        block.add_lwpolyline(corners, close=True, dxfattribs={"layer": "1"})
        block.add_lwpolyline(sew, close=True, dxfattribs={"layer": "14"})
        for curve in curves:
            block.add_point(curve.start, dxfattribs={"layer": "2"})
        middle = (low + high) / 2
        block.add_line(middle - UP_40, middle + UP_40, dxfattribs={"layer": "7"})
        line = block.add_line((low[0], 100), (high[0], 100), dxfattribs={"layer": "8"})
        block.add_text("level waist", dxfattribs={"layer": "15"}).set_placement(line.dxf.start)
        document.modelspace().add_blockref(name, (5, 7))
    found = import_drawing(dxf_text(document), ".dxf", "x")
    assert_is_the_cincher(found, 0.1)
    assert [piece.name for piece in found.style.pieces] == [piece.name for piece in BASE.pieces]
    assert all(piece.grain_deg == pytest.approx(90) for piece in found.style.pieces)
    assert sum("inner is taken as the stitching line" in remark for remark in found.remarks) == 4


def test_splines_and_arcs_stay_what_they_are() -> None:
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    space.add_open_spline([(0, 0), (10, 60), (-10, 120), (0, 180)])
    space.add_lwpolyline([(0, 0, 0.0), (100, 0, 0.2), (100, 180, 0.0), (0, 180, 0.0)], format="xyb")
    space.add_line((-5, 90), (125, 90))
    found = import_drawing(dxf_text(document), ".dxf", "x")
    (piece,) = found.style.pieces
    by_role = {edge.name: edge.curve for edge in piece.edges}
    # The spline as drawn, walked down; its waist knot divides it and moves no point.
    spline = (
        by_role["panel_seam_1"].reversed()
        if "panel_seam_1" in by_role
        else next(edge.curve.reversed() for edge in piece.edges if edge.curve.start[1] > edge.curve.end[1] + 100)
    )
    for t in np.linspace(0, 1, 7):
        x = 3 * 10 * (1 - t) ** 2 * t - 3 * 10 * (1 - t) * t**2
        y = 3 * 60 * (1 - t) ** 2 * t + 3 * 120 * (1 - t) * t**2 + 180 * t**3
        # Its left end, 30 t (1 - t) (1 - 2 t) at its least, is 5 / sqrt 3 left of the drawing's x = 0.
        assert spline.closest((x + 5 / 3**0.5, y - 90)).distance < 1e-9
    # The bulge 0.2 is an arc of 4 atan 0.2 = 45.24 degrees on a chord of 180: radius 180 / (2 sin 22.62) = 234.
    arc = next(edge.curve for edge in piece.edges if edge.curve.end[1] > edge.curve.start[1] + 100)
    assert arc.length == pytest.approx(234 * np.radians(45.2397), abs=0.01)


# --- cut lines, halves, mirrors ----------------------------------------------------------------------------


def test_a_cut_line_is_shrunk_to_the_stitching_line() -> None:
    # Edge by edge 15 mm at seams, 45 at the closure, 10 at the centre, nothing at top and hem: the usual widths.
    widths = {"panel_seam": 15.0, "side_seam": 15.0, "closure": 45.0, "centre": 10.0, "top": 0.0, "hem": 0.0}
    paths = [cut_path(name, curves, widths) for name, curves in outlines(BASE, gap=90.0).items()]
    waist = '<line id="level_waist" x1="-20" x2="890" y1="200" y2="200"/>'
    marks = 'drawn = "cut"\n'
    found = import_drawing(svg("".join(paths) + waist), ".svg", "x", marks)
    assert farthest(BASE, called_as_in_the_base(found)) < 0.05
    (guess,) = {(c.sure, c.reason) for c in found.certainties if "allowances" in c.proposal}
    assert guess[0] < 0.5
    assert "no allowance stated" in guess[1]
    # The marks file says that the drawing is a cut line, so that it is shrunk again when it is given back.
    again = import_drawing(svg("".join(paths) + waist), ".svg", "x", found.marks_text)
    assert farthest(found.style, again.style) < 1e-3


def cut_path(name: str, curves: list, widths: dict[str, float]) -> str:
    """An outline moved out edge by edge on dense points, corners met by straight lines from their tangents."""
    piece = BASE.piece(name)
    moved = []
    for edge, curve in zip(piece.edges, curves, strict=True):
        along = np.linspace(0, curve.length, 400)
        points = curve.points_at(along)
        tangents = np.gradient(points, along, axis=0, edge_order=2)
        tangents /= np.hypot(*tangents.T)[:, None]
        moved.append(points + widths[edge.role.value] * np.stack((tangents[:, 1], -tangents[:, 0]), axis=1))
    corners = [crossing(moved[k - 1][-1], moved[k - 1][-2], moved[k][0], moved[k][1]) for k in range(len(moved))]
    outline = np.concatenate([np.concatenate((corners[k][None], moved[k][1:-1])) for k in range(len(moved))])
    data = " ".join(f"{x:.6f},{300 - y:.6f}" for x, y in outline)
    return f'<polygon id="{name}" points="{data}"/>'


def crossing(a: np.ndarray, a2: np.ndarray, b: np.ndarray, b2: np.ndarray) -> np.ndarray:
    steps = np.stack((a - a2, -(b - b2)), axis=1)
    return a + np.linalg.solve(steps, b - a)[0] * (a - a2)


def test_of_a_piece_drawn_whole_the_wearers_left_half_is_kept() -> None:
    front = (
        '<path id="centre_front" d="M20,200 V30 H200 V200 Z"/><line id="mirror" x1="110" x2="110" y1="20" y2="210"/>'
    )
    back = '<path id="centre_back" d="M250,30 H340 V200 H250 Z"/>'
    waist = '<line id="level_waist" x1="0" x2="390" y1="120" y2="120"/>'
    found = import_drawing(svg(front + back + waist), ".svg", "x")
    piece = found.style.piece("centre_front")
    assert sum(edge.curve.length for edge in piece.edges) == pytest.approx(2 * (90 + 170))
    assert {edge.role.value for edge in piece.edges} == {"centre", "hem", "side_seam", "top"}


def test_a_drawing_from_the_back_is_turned_over() -> None:
    turned = CINCHER.replace(b'fill="none"', b'fill="none" transform="translate(504,0) scale(-1,1)"', 1)
    inner = turned.replace(
        b'<line id="level_waist"', b'<g transform="translate(504,0) scale(-1,1)"><line id="level_waist"'
    )
    inner = inner.replace(b"</svg>", b"</g></svg>")
    found = import_drawing(inner, ".svg", "x", "flip = true")
    assert farthest(BASE, found.style) < 1e-3


def test_a_piece_drawn_lying_is_set_upright() -> None:
    lying = (
        '<g transform="rotate(30 200 150)"><path id="front" d="M100,60 H200 V220 H100 Z"/>'
        '<line id="front.level waist" x1="90" x2="210" y1="140" y2="140"/></g>'
    )
    found = import_drawing(svg(lying), ".svg", "x")
    piece = found.style.piece("front")
    assert sorted(edge.curve.length for edge in piece.edges) == pytest.approx([100, 100, 160, 160])
    assert {edge.role.value for edge in piece.edges} >= {"hem", "top"}
    assert piece.levels["waist"] == pytest.approx(0, abs=1e-9)


def test_a_whole_uneven_pattern_has_both_sides_and_its_centre_seam() -> None:
    (body,) = re.findall(r"<path.*/>", CINCHER.decode(), re.DOTALL)
    sides = {
        "left": '<g transform="translate(504,0)">',
        "right": '<g transform="translate(504,0) scale(-1,1)">',
    }
    drawn = "".join(head + re.sub(r'id="(\w+)\.', rf'id="\1_{side}.', body) + "</g>" for side, head in sides.items())
    waist = '<line id="level_waist" x1="0" x2="1008" y1="120" y2="120"/>'
    found = import_drawing(svg(drawn + waist, 'width="1008mm" height="230mm" viewBox="0 0 1008 230"'), ".svg", "x")
    style = found.style
    assert not style.half
    assert len(style.pieces) == 8
    order = [piece.name for piece in style.pieces]
    assert order[3:5] == ["centre_front_right", "centre_front_left"]
    assert sewn(style) == {frozenset(order[k : k + 2]) for k in range(7)}
    # The same garment as the half: 2 x (82 + 70 + 72 + 80).
    assert girth(style, "waist").full == pytest.approx(608)


def test_pieces_laid_in_rows_follow_the_numbers_in_their_names() -> None:
    # The second and third piece stand above the others; levels are named by words alone, block by block.
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    places = ((0, 0), (-130, 300), (-290, 300), (0, 0))
    for number, (name, curves) in enumerate(outlines(BASE).items(), start=1):
        block = document.blocks.new(f"{number}_{name.upper()}")
        outline = strokes(curves, 0.01)
        block.add_lwpolyline(outline, close=True, dxfattribs={"layer": "14"})
        left, right = outline[:, 0].min(), outline[:, 0].max()
        for words, height in (("Waist", 100.0), ("High hip", 50.0)):
            block.add_line((left, height), (right, height), dxfattribs={"layer": "8"})
            block.add_text(words, dxfattribs={"layer": "15"}).set_placement((left + 3, height + 1))
        document.modelspace().add_blockref(block.name, places[number - 1])
    found = import_drawing(dxf_text(document), ".dxf", "x")
    assert_is_the_cincher(found, 0.1)
    assert [piece.name for piece in found.style.pieces][1] == "2_side_front"
    assert [(level.name, level.depth) for level in found.style.levels] == [("waist", 0.0), ("high_hip", 50.0)]


def test_an_outline_in_strokes_shorter_than_the_joining_distance_closes_once() -> None:
    # 0.2 mm strokes, in no order and in both directions: one outline, not hundreds of tiny ones.
    (curves,) = [curves for name, curves in outlines(BASE).items() if name == "side_front"]
    points = np.concatenate([curve.points_at(np.linspace(0, curve.length, 700))[:-1] for curve in curves])
    ring = np.concatenate((points, points[:1]))
    order = np.random.default_rng(3).permutation(len(points))
    body = "".join(stroke(ring[k], ring[k + 1]) if k % 3 else stroke(ring[k + 1], ring[k]) for k in order.tolist())
    found = import_drawing(svg(body), ".svg", "x")
    (piece,) = found.style.pieces
    assert sum(edge.curve.length for edge in piece.edges) == pytest.approx(sum(c.length for c in curves), abs=0.5)


def stroke(a: np.ndarray, b: np.ndarray) -> str:
    return f'<path d="M{a[0]:.4f},{300 - a[1]:.4f}L{b[0]:.4f},{300 - b[1]:.4f}"/>'
