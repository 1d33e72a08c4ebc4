"""Layers of the printed file: each can be switched off, and takes its own lines with it and no others."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from sheet_samples import panel, style

from coutil.curves import Curve
from coutil.pattern import Piece
from coutil.sheet import PrintOptions, print_pdf
from coutil.sheet._copies import text_shape
from coutil.sheet._paper import PAPERS
from coutil.sheet._pattern_sheet import PatternSheet, pattern_sheet
from helpers.pdf_reading import darkness, layer_titles, pages, with_layers_off

STYLE = style(panel("front", "Centre front"), panel("back", "Back"))


def shifted(piece: Piece) -> Piece:
    """The piece 4 mm to the side and 3 mm up, so that no line of it lies on the old one."""
    edges = tuple(replace(edge, curve=Curve(edge.curve.points + np.array([4.0, 3.0]))) for edge in piece.edges)
    return replace(piece, edges=edges)


BASE = style(*(shifted(piece) for piece in STYLE.pieces))
OPTIONS = PrintOptions("Client 7", "2026-11-25", "3")
A4 = PAPERS["a4"]
PER_MM = 5

# What shows each layer: the groups of a piece's drawing that lie on it.
SHOWN_BY = {
    "Stitching line": ("stitching",),
    "Cut line": ("cut:outer",),
    "Marks": ("grain", "notches", "levels"),
    "Base pattern": ("base",),
}


@pytest.fixture(scope="module")
def content() -> bytes:
    return print_pdf(STYLE, None, (), "a4", OPTIONS, BASE)


@pytest.fixture(scope="module")
def sheet() -> PatternSheet:
    return pattern_sheet(STYLE, A4, OPTIONS, BASE)


def first_tile(content: bytes, sheet: PatternSheet) -> np.ndarray:
    return darkness(pages(content)[-len(sheet.printed)], PER_MM * 25.4)[0]


def shown_length(dark: np.ndarray, sheet: PatternSheet, groups: tuple[str, ...]) -> float:
    """What share of the strokes of these groups is dark on the first tile, probed every millimetre."""
    (left, _, _, top), probes = sheet.printed[0].box, []
    for part in sheet.parts:
        for stroke in part.drawing.strokes:
            if any(group in stroke.groups for group in groups):
                line = shapely.LineString(stroke.points)
                probes += [line.interpolate(at).coords[0] for at in np.arange(0.5, line.length, 1.0)]
    x, y = (np.array(probes) + np.array([A4.margin - left, -top])).T
    columns, rows = (x * PER_MM).astype(int), ((A4.margin - y) * PER_MM).astype(int)
    here = (columns > 50) & (columns < 1000) & (rows > 50) & (rows < 1435)
    return float((dark[rows[here], columns[here]] > 0.3).mean())


def test_the_file_names_its_layers(content: bytes) -> None:
    assert layer_titles(content) == [
        "Stitching line", "Cut line", "Marks", "Text", "Base pattern", "Joining marks",
    ]  # fmt: skip


@pytest.mark.parametrize("title", SHOWN_BY)
def test_a_layer_switched_off_is_gone_and_the_others_stay(content: bytes, sheet: PatternSheet, title: str) -> None:
    off = first_tile(with_layers_off(content, title, "Text", "Joining marks"), sheet)
    on = first_tile(with_layers_off(content, "Text", "Joining marks"), sheet)
    shares = {name: shown_length(off, sheet, of) / shown_length(on, sheet, of) for name, of in SHOWN_BY.items()}
    # Where lines of two layers cross or run together, what stays of the other is still dark.
    assert shares.pop(title) < 0.5
    assert min(shares.values()) > 0.6


def test_without_text_only_the_text_is_gone(content: bytes, sheet: PatternSheet) -> None:
    with_text, without = first_tile(content, sheet), first_tile(with_layers_off(content, "Text"), sheet)
    changed = np.argwhere(np.abs(with_text - without) > 0.3) / PER_MM
    assert len(changed) > 500
    left, _, _, top = sheet.printed[0].box
    rooms = shapely.union_all([text_shape(w) for part in sheet.parts for w in part.drawing.writings])
    points = shapely.points(changed[:, 1] + left - A4.margin, top + A4.margin - changed[:, 0])
    assert shapely.distance(rooms, points).max() < 0.5


def test_without_joining_marks_the_pieces_alone_are_left(content: bytes, sheet: PatternSheet) -> None:
    dark = first_tile(with_layers_off(content, "Joining marks"), sheet)
    left, _, _, top = sheet.printed[0].box
    places = np.argwhere(dark > 0.3) / PER_MM
    points = shapely.points(places[:, 1] + left - A4.margin, top + A4.margin - places[:, 0])
    drawn = shapely.union_all([part.shape for part in sheet.parts])
    assert shapely.distance(drawn, points).max() < 0.5


def test_without_a_base_its_layer_is_empty() -> None:
    plain = print_pdf(STYLE, None, (), "a4", OPTIONS)
    assert b"FontFile2" in plain
    dark = [darkness(page, 72)[0] for page in pages(plain)]
    off = [darkness(page, 72)[0] for page in pages(with_layers_off(plain, "Base pattern"))]
    assert all(np.array_equal(a, b) for a, b in zip(dark, off, strict=True))
