"""Printed sheets against published figures: paper sizes, PDF units, the squares as a rule would measure them.

Sources: A4 by ISO 216 (210 x 297 mm); Letter 215.9 x 279.4 mm; 1 pt = 1/72 in and 1 in = 25.4 mm (PDF
Reference 1.6, ISO 32000-1; CSS absolute units). Margin, overlap and the sample of 900 x 600 mm on 5 x 3 sheets
are common practice and arithmetic, no source.
"""

import numpy as np
import pytest

from coutil.draft import base_chart, draft_cupped
from coutil.sheet import print_pdf
from coutil.sheet._paper import PAPERS
from coutil.sheet._tiles import tile_grid
from helpers.pdf_reading import darkness, drawn_paths, pages

POINTS = {"a4": (595.276, 841.890), "letter": (612.0, 792.0)}


@pytest.fixture(scope="module")
def style():
    return draft_cupped(base_chart(75, 18))


@pytest.fixture(scope="module", params=["a4", "letter"])
def printed(request, style) -> tuple[str, bytes]:
    return request.param, print_pdf(style, paper=request.param)


def test_page_boxes_are_the_paper(printed: tuple[str, bytes]) -> None:
    name, content = printed
    for page in pages(content):
        assert page.get_size() == pytest.approx(POINTS[name], abs=0.001)
        assert page.get_mediabox() == pytest.approx((0, 0, *POINTS[name]), abs=0.001)
        assert page.get_trimbox() == pytest.approx((0, 0, *POINTS[name]), abs=0.001)


def test_the_squares_measure_100_mm_and_4_in_in_the_file(printed: tuple[str, bytes]) -> None:
    sizes = [np.ptp(path, axis=0) for path in drawn_paths(pages(printed[1])[0]) if 4 <= len(path) <= 5]
    assert sum(np.allclose(size, 100.0, atol=0.001) for size in sizes) == 1
    assert sum(np.allclose(size, 101.6, atol=0.001) for size in sizes) == 1


def test_the_square_measures_100_mm_on_the_rendered_page(printed: tuple[str, bytes]) -> None:
    name, content = printed
    dark, (across, down) = darkness(pages(content)[0], 300)
    paper = PAPERS[name]
    inside = int((paper.margin + 35) * across)
    top = _first_line(dark[:, inside], down)
    # Ticks are 3 mm long and stand at whole centimetres, so 35 mm down and about as far in only
    # the sides are met.
    row, column = dark[int((top + 35) * down)], dark[:, inside]
    left = _line_near(row, paper.margin + 1, across)
    assert _line_near(row, left + 100, across) - left == pytest.approx(100, abs=0.1)
    assert _line_near(column, top + 100, down) - top == pytest.approx(100, abs=0.1)


def _first_line(pixels: np.ndarray, per_mm: float) -> float:
    """Where the square's upper side lies: the first line below the sheet's heading, 34 mm from the paper's edge."""
    return _line_near(pixels, 34.0, per_mm)


def _line_near(pixels: np.ndarray, place: float, per_mm: float) -> float:
    """The middle of the darkness within 0.8 mm of a place, mm: within the width of no other line."""
    low, high = int((place - 0.8) * per_mm), int((place + 0.8) * per_mm)
    near = pixels[low:high]
    assert near.sum() > 0, f"no line near {place:.1f} mm"
    return float((low + 0.5 + (np.arange(len(near)) * near).sum() / near.sum()) / per_mm)


def test_drawing_of_900_by_600_needs_5_by_3_sheets() -> None:
    for name in POINTS:
        last = tile_grid(900, 600, PAPERS[name])[-1]
        assert (last.column + 1, last.row + 1) == (5, 3)


def test_every_curve_of_the_pattern_is_in_the_file_at_its_true_size(style, printed: tuple[str, bytes]) -> None:
    drawn = [path for page in pages(printed[1]) for path in drawn_paths(page)]
    for piece in style.pieces:
        for edge in piece.edges:
            wanted = np.diff(edge.curve.points, axis=0)
            same = [path for path in drawn if len(path) == len(wanted) + 1]
            assert any(np.allclose(np.diff(path, axis=0), wanted, atol=0.01) for path in same), edge.name
