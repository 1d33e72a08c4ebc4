"""Tiles joined by their marks against the same sheet on one page, by raster; seams measured on the page."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.ndimage import binary_dilation
from sheet_samples import cup, panel, style

from coutil.curves import Curve
from coutil.pattern import Edge, Role
from coutil.sheet import PrintOptions
from coutil.sheet._paper import PAPERS
from coutil.sheet._pattern_sheet import PatternSheet, pattern_sheet
from coutil.sheet._pdf import sheet_pdf
from coutil.sheet._tiles import tile_grid
from helpers.pdf_reading import MM_PER_POINT, pages, with_layers_off

# Five pixels a millimetre: one pixel is the 0.2 mm by which the two may differ.  A4 is then 1050 by 1485 whole.
PER_MM = 5
A4 = PAPERS["a4"]

BOW = Edge("side", Curve(np.array([(260, -120), (150, -20), (160, 160), (230, 260)], dtype=float)), Role.SIDE_SEAM)


def wide_panel():
    """A panel that no single A4 tile carries, with a long curved seam."""
    lines = [((0, -120), (260, -120)), ((230, 260), (0, 260)), ((0, 260), (0, -120))]
    hem, top, left = (Curve.line(a, b) for a, b in lines)
    edges = (Edge("hem", hem, Role.HEM), BOW, Edge("top", top, Role.TOP), Edge("left", left, Role.CENTRE))
    return replace(panel("front", "Centre front"), edges=edges, level_marks=(), notches=())


STYLE = style(wide_panel(), cup("inner", "Inner cup"))
OPTIONS = PrintOptions("Client 7", "2026-11-25", "3")


@pytest.fixture(scope="module")
def sheet() -> PatternSheet:
    return pattern_sheet(STYLE, A4, OPTIONS)


@pytest.fixture(scope="module")
def tiled(sheet: PatternSheet) -> bytes:
    return sheet_pdf(STYLE, sheet, OPTIONS, None, ())


@pytest.fixture(scope="module")
def one_page(sheet: PatternSheet) -> np.ndarray:
    """The same layout as one page, as large as all joined tiles."""
    (step_x, step_y), last = A4.step, sheet.tiles[-1]
    width, height = (last.column + 1) * step_x + 30, (last.row + 1) * step_y + 30
    paper = replace(A4, name="joined", width=width, height=height)
    tiles = tile_grid(sheet.width, sheet.height, paper)
    whole = replace(sheet, paper=paper, tiles=tiles, holds=np.ones((1, len(sheet.parts)), dtype=bool))
    content = sheet_pdf(STYLE, whole, OPTIONS, None, ())
    return raster(pages(with_layers_off(content, "Joining marks"))[-1])


def raster(page) -> np.ndarray:
    """Which pixels are dark; the page must be a whole number of them."""
    size = np.array(page.get_size()) * MM_PER_POINT * PER_MM
    assert np.allclose(size, np.round(size), atol=0.01)
    # A hair less, since pdfium rounds a page up to the next pixel.
    grey = np.asarray(page.render(scale=PER_MM * MM_PER_POINT * (1 - 1e-6)).to_pil().convert("L"))
    assert grey.shape == (round(size[1]), round(size[0]))
    return grey < 140


def tile_rasters(content: bytes, sheet: PatternSheet) -> list[np.ndarray]:
    return [raster(page) for page in pages(with_layers_off(content, "Joining marks"))[-len(sheet.printed) :]]


def joined(rasters: list[np.ndarray], sheet: PatternSheet) -> np.ndarray:
    """Every tile trimmed at its left and upper joint and laid upon its neighbours' strips."""
    (step_x, step_y), last = A4.step, sheet.tiles[-1]
    edge, half = int(A4.margin * PER_MM), int(A4.overlap / 2 * PER_MM)
    shape = ((last.row + 1) * step_y + 30, (last.column + 1) * step_x + 30)
    whole = np.zeros([round(side * PER_MM) for side in shape], dtype=bool)
    for tile, dark in zip(sheet.printed, rasters, strict=True):
        trimmed = dark[edge + half * (tile.row > 0) : -edge, edge + half * (tile.column > 0) : -edge]
        top = round(tile.row * step_y * PER_MM) + edge + half * (tile.row > 0)
        left = round(tile.column * step_x * PER_MM) + edge + half * (tile.column > 0)
        whole[top : top + trimmed.shape[0], left : left + trimmed.shape[1]] = trimmed
    return whole


def differing(one: np.ndarray, other: np.ndarray) -> int:
    """Dark pixels of either that have no dark one within 0.2 mm in the other."""
    near = np.ones((3, 3), dtype=bool)
    return int((one & ~binary_dilation(other, near)).sum() + (other & ~binary_dilation(one, near)).sum())


def test_joined_tiles_are_the_one_page_plot_within_0_2_mm(tiled, sheet, one_page) -> None:
    assert len(sheet.printed) >= 4
    whole = joined(tile_rasters(tiled, sheet), sheet)
    assert whole.sum() > 10_000
    assert differing(whole, one_page) == 0


def test_a_tile_that_slipped_by_0_6_mm_would_be_seen(tiled, sheet, one_page) -> None:
    first, *others = tile_rasters(tiled, sheet)
    assert differing(joined([np.roll(first, 3, axis=1), *others], sheet), one_page) > 100


def test_a_seam_followed_on_the_joined_page_has_its_length(tiled, sheet) -> None:
    """The thick stitching line alone, walked along the seam's own course: every 5 mm it is where it should be."""
    off = ("Joining marks", "Cut line", "Marks", "Text", "Base pattern")
    rasters = [raster(page) for page in pages(with_layers_off(tiled, *off))[-len(sheet.printed) :]]
    whole = joined(rasters, sheet)
    course = next(s for s in sheet.parts[0].drawing.strokes_in("stitching") if len(s.points) == 4 and is_bow(s.points))
    curve = Curve(course.points)
    found = np.array([middle_of_line(whole, curve, along, sheet) for along in np.arange(2.0, curve.length - 1, 5.0)])
    measured = np.hypot(*np.diff(found, axis=0).T).sum()
    exact = np.array([curve.point_at(along) for along in np.arange(2.0, curve.length - 1, 5.0)])
    chords = np.hypot(*np.diff(exact, axis=0).T).sum()
    assert measured == pytest.approx(chords, abs=0.2)
    assert chords + 2.0 + (curve.length - 2.0) % 5.0 == pytest.approx(BOW.curve.length, abs=1.1)


def is_bow(points: np.ndarray) -> bool:
    chord = np.linalg.norm(BOW.curve.end - BOW.curve.start)
    return abs(np.linalg.norm(points[-1] - points[0]) - chord) < 1e-6


def middle_of_line(whole: np.ndarray, curve: Curve, along: float, sheet: PatternSheet) -> np.ndarray:
    """Where the line's darkness lies across its course, within 1.5 mm of it, on the sheet in mm."""
    point, tangent = curve.point_at(along), curve.tangent_at(along)
    across = np.array([-tangent[1], tangent[0]])
    offsets = np.arange(-1.5, 1.51, 0.05)
    places = point + offsets[:, None] * across
    columns = ((places[:, 0] + A4.margin) * PER_MM).astype(int)
    rows = ((sheet.height - places[:, 1] + A4.margin) * PER_MM).astype(int)
    dark = whole[rows, columns]
    assert dark.any(), f"the line is not there {along:.0f} mm along the seam"
    return np.asarray(point + offsets[dark].mean() * across)
