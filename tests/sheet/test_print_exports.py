"""Pieces as SVG and DXF, read back: every stitching and cut line within 0.01 mm, names and layers kept."""

import io

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf.lldxf.encoding import decode_dxf_unicode
from lxml import etree
from sheet_samples import cup, panel, style
from svgpath_reading import path_points

from coutil.curves import Curve
from coutil.cut import cut_outline
from coutil.draft import base_chart, draft_cupped
from coutil.sheet import PrintOptions, pieces_dxf, pieces_svg
from coutil.sheet._copies import copies_to_print

STYLE = draft_cupped(base_chart(75, 18))
OPTIONS = PrintOptions("Ψάλτη & Жуковская <7>", "2026-11-25", "3")
SMALL = style(panel("front", "Front", centre_cut="fold"), cup("inner", "Inner cup"))
NAMESPACE = "{http://www.w3.org/2000/svg}"
# One piece may come back turned, so shapes are compared by what turning leaves alone.
WITHIN_MM = 0.01


def same_shape(points: np.ndarray, wanted: np.ndarray) -> bool:
    """Whether a polygon is the wanted one after a quarter turn and a shift, each point within 0.01 mm."""
    for quarter in range(4):
        turned = wanted @ np.linalg.matrix_power(np.array([[0, 1], [-1, 0]]), quarter)
        moved = turned - turned.min(axis=0) + points.min(axis=0)
        if shapely.hausdorff_distance(shapely.LinearRing(points), shapely.LinearRing(moved)) < WITHIN_MM:
            return True
    return False


def stitching(piece) -> np.ndarray:
    return np.concatenate([edge.curve.flatten(0.001)[:-1] for edge in piece.edges])


# SVG


@pytest.fixture(scope="module")
def svg() -> etree._Element:
    return etree.fromstring(pieces_svg(STYLE, OPTIONS).encode())


def svg_groups(svg: etree._Element, name: str) -> list[etree._Element]:
    return [group for group in svg.iter(f"{NAMESPACE}g") if group.get("data-name") == name]


def test_svg_is_in_millimetres(svg: etree._Element) -> None:
    _, _, width, height = svg.get("viewBox").split()
    assert (svg.get("width"), svg.get("height")) == (f"{width}mm", f"{height}mm")


def test_svg_has_a_group_for_layer_piece_and_line(svg: etree._Element) -> None:
    layers = [group.get("data-name") for group in svg if group.tag == f"{NAMESPACE}g"]
    assert layers == ["layer:outer", "layer:cup foam"]
    for piece in STYLE.pieces:
        (first, *_) = svg_groups(svg, f"piece:{piece.name}")
        inside = {group.get("data-name") for group in first}
        assert {"stitching", "cut:outer", "levels", "grain", "label"} <= inside
    ids = [element.get("id") for element in svg.iter() if element.get("id")]
    assert len(ids) == len(set(ids))


def test_every_stitching_line_comes_back_from_svg_within_0_01_mm(svg: etree._Element) -> None:
    for piece in STYLE.pieces:
        for group in svg_groups(svg, f"piece:{piece.name}"):
            (lines,) = [child for child in group if child.get("data-name") == "stitching"]
            curves = [path_points(path.get("d")) for path in lines]
            found = np.concatenate([Curve(points * (1, -1)).flatten(0.001)[:-1] for points in curves])
            assert same_shape(found, stitching(piece)), piece.name


def test_every_cut_line_comes_back_from_svg_within_0_01_mm(svg: etree._Element) -> None:
    for copy in copies_to_print(STYLE, OPTIONS):
        (layer,) = svg_groups(svg, f"layer:{copy.layer_name}")
        (group,) = [child for child in layer if child.get("data-name") == f"piece:{copy.piece.name}"]
        (lines,) = [child for child in group if child.get("data-name") == f"cut:{copy.layer_name}"]
        found = path_points(lines[0].get("d")) * (1, -1)
        assert same_shape(found, cut_outline(copy.piece, copy.layer).outline)


def test_svg_keeps_letters_of_every_script(svg: etree._Element) -> None:
    assert any("Ψάλτη & Жуковская <7>" in (text.text or "") for text in svg.iter(f"{NAMESPACE}text"))


# DXF


@pytest.fixture(scope="module", params=["r12", "r2000"])
def written(request) -> tuple[str, bytes]:
    return request.param, pieces_dxf(STYLE, OPTIONS, request.param)


@pytest.fixture(scope="module")
def document(written: tuple[str, bytes]):
    return ezdxf.read(io.TextIOWrapper(io.BytesIO(written[1]), encoding="cp1252"))


def test_dxf_stands_the_audit(written, document) -> None:
    audit = document.audit()
    assert not audit.errors
    assert not audit.fixes
    assert document.dxfversion == {"r12": "AC1009", "r2000": "AC1015"}[written[0]]
    if written[0] == "r2000":
        assert document.units == ezdxf.units.MM


def piece_blocks(document) -> dict[str, object]:
    return {insert.dxf.name: document.blocks[insert.dxf.name] for insert in document.modelspace().query("INSERT")}


def test_dxf_has_a_block_a_copy_on_the_numbered_layers(document) -> None:
    copies = copies_to_print(STYLE, OPTIONS)
    names = list(piece_blocks(document))
    assert names == [
        f"{i + 1}_{copy.piece.name}_{copy.layer_name.replace(' ', '_')}".upper() for i, copy in enumerate(copies)
    ]
    for block in piece_blocks(document).values():
        layers = {entity.dxf.layer for entity in block}
        always = {"1", "2", "3", "4", "7", "8", "14", "15"}
        assert always <= layers <= always | {"6", "13"}


def points_of(entity) -> np.ndarray:
    if entity.dxftype() == "LWPOLYLINE":
        return np.array([point[:2] for point in entity.get_points()])
    if entity.dxftype() == "POLYLINE":
        return np.array([vertex.dxf.location.vec2 for vertex in entity.vertices])
    curve = Curve(np.array(entity.control_points)[:, :2])
    return np.asarray(curve.flatten(0.001))


def test_every_line_comes_back_from_dxf_within_0_01_mm(written, document) -> None:
    kind = "SPLINE" if written[0] == "r2000" else "POLYLINE"
    for block, copy in zip(piece_blocks(document).values(), copies_to_print(STYLE, OPTIONS), strict=True):
        (outline,) = block.query('LWPOLYLINE POLYLINE[layer=="1"]')
        assert outline.is_closed if kind == "POLYLINE" else outline.closed
        assert same_shape(points_of(outline), cut_outline(copy.piece, copy.layer).outline)
        sewn = [entity for entity in block.query(kind) if entity.dxf.layer == "14"]
        assert len(sewn) == len(copy.piece.edges)
        assert same_shape(np.concatenate([points_of(entity)[:-1] for entity in sewn]), stitching(copy.piece))


def test_a_spline_is_evaluated_by_others_as_our_curve(written, document) -> None:
    if written[0] != "r2000":
        pytest.skip("R12 knows no spline")
    for block in piece_blocks(document).values():
        for spline in block.query("SPLINE"):
            ours = shapely.LineString(Curve(np.array(spline.control_points)[:, :2]).flatten(0.0005))
            theirs = [point.vec2 for point in spline.construction_tool().approximate(200)]
            assert max(ours.distance(shapely.Point(*point)) for point in theirs) < 0.002


def test_what_a_cutter_reads_lies_over_no_line(document) -> None:
    for block in piece_blocks(document).values():
        lines = shapely.union_all(
            [shapely.LineString(points_of(e)) for e in block.query("LWPOLYLINE POLYLINE SPLINE") if e.dxf.layer != "8"]
        )
        for text in block.query('TEXT[layer=="1"]'):
            assert lines.distance(shapely.Point(*text.dxf.insert.vec2)) > 0.3


def test_dxf_says_what_to_cut(document) -> None:
    for block, copy in zip(piece_blocks(document).values(), copies_to_print(STYLE, OPTIONS), strict=True):
        facts = [text.dxf.text for text in block.query('TEXT[layer=="1"]')]
        assert facts == [f"Piece Name: {copy.piece.title}", "Quantity: 2", f"Material: {copy.layer_name}"]
    told = [text.dxf.text for text in document.modelspace().query("TEXT")]
    assert "Units: METRIC" in told
    assert f"Style Name: {STYLE.title}" in told


def test_letters_outside_the_code_page_come_back(document) -> None:
    texts = [text.dxf.text for block in piece_blocks(document).values() for text in block.query("TEXT")]
    assert any("Ψάλτη & Жуковская <7>" in decode_dxf_unicode(text) for text in texts)


def test_turn_points_are_the_corners_and_grain_is_one_stroke() -> None:
    document = ezdxf.read(io.StringIO(pieces_dxf(SMALL, OPTIONS, "r2000").decode("cp1252")))
    front, inner = list(piece_blocks(document).values())[:2]
    assert len(front.query('LINE[layer=="7"]')) == 1
    # The fold, as one line on the layer of mirror lines, and the bust point as a drill hole.
    assert len(front.query('SPLINE[layer=="6"]')) == 1
    assert len(inner.query('POINT[layer=="13"]')) == 1
    turned = {tuple(np.round(point.dxf.location.vec2, 3)) for point in front.query('POINT[layer=="2"]')}
    (cut,) = front.query('LWPOLYLINE[layer=="1"]')
    corners = {tuple(np.round(point[:2], 3)) for point in cut.get_points()}
    assert corners <= turned | {tuple(np.round(p.dxf.location.vec2, 3)) for p in front.query('POINT[layer=="3"]')}
    assert len(turned & corners) >= 4


@pytest.mark.parametrize("kind", ["r12", "r2000"])
def test_the_same_pieces_give_the_same_file(kind) -> None:
    assert pieces_dxf(SMALL, OPTIONS, kind) == pieces_dxf(SMALL, OPTIONS, kind)
