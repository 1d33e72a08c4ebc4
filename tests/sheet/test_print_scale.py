"""What the maker measured: read, judged by 0.2 mm on 100, and printed larger by it on request."""

import numpy as np
import pytest
from sheet_samples import panel, style

from coutil.errors import BadInput
from coutil.sheet import PrintOptions, is_true_to_size, measured_square, print_pdf
from coutil.sheet._paper import PAPERS, rescaled
from helpers.pdf_reading import MM_PER_POINT, darkness, drawn_paths, pages, texts

STYLE = style(panel("front", "Centre front"), panel("back", "Back", width=120.0, waist=100.0))


@pytest.mark.parametrize(
    ("words", "square"),
    [
        ("99.6", (99.6, 99.6)),
        ("99,6 mm", (99.6, 99.6)),
        ("99.6x100.3", (99.6, 100.3)),
        ("99.6 × 100.3", (99.6, 100.3)),
        # 3.98 in of 4 in: 3.98 × 25 = 99.5 on 100.
        ("3.98in", (99.5, 99.5)),
    ],
)
def test_a_measured_square_is_read(words: str, square: tuple[float, float]) -> None:
    assert measured_square(words) == pytest.approx(square)


@pytest.mark.parametrize("words", ["", "abc", "9.96", "0", "-100", "nan", "inf", "99x99x99", "1000", "x"])
def test_what_is_no_measure_of_the_square_is_refused(words: str) -> None:
    with pytest.raises(BadInput, match="is no measure of the 100 mm square"):
        measured_square(words)


@pytest.mark.parametrize(
    ("square", "is_true"),
    [((100, 100), True), ((99.8, 100.2), True), ((99.79, 100), False), ((100, 100.21), False), ((99.6, 99.6), False)],
)
def test_more_than_a_fifth_of_a_millimetre_is_too_much(square, is_true: bool) -> None:
    assert is_true_to_size(square) is is_true


def test_a_printer_that_shrinks_gets_a_page_of_fewer_pattern_millimetres() -> None:
    """By hand: at 99.6 an A4 sheet holds 210 × 0.996 = 209.16 mm, and is drawn 100 / 99.6 = 1.004016 times larger."""
    paper = rescaled(PAPERS["a4"], (99.6, 99.6))
    assert paper.width == pytest.approx(209.16)
    assert paper.enlarged == pytest.approx((1.0040161, 1.0040161))


@pytest.mark.parametrize("paper", ["a4", "roll:900"])
def test_rescaled_the_square_comes_out_100_mm_on_that_printer(paper: str) -> None:
    """The printer makes 99.6 of 100 across and 100.4 down: what it does to the file gives the true square."""
    content = print_pdf(STYLE, None, (), paper, PrintOptions(measured=(99.6, 100.4)))
    first, last = pages(content)[0], pages(content)[-1]
    assert np.array(first.get_size()) * MM_PER_POINT == pytest.approx((210, 297), abs=0.001)
    sizes = [np.ptp(path, axis=0) * (0.996, 1.004) for path in drawn_paths(first) if 4 <= len(path) <= 5]
    assert sum(np.allclose(size, 100.0, atol=0.001) for size in sizes) == 1
    assert sum(np.allclose(size, 101.6, atol=0.001) for size in sizes) == 1
    if paper != "a4":
        assert last.get_size()[0] * MM_PER_POINT == pytest.approx(900, abs=0.001)


def test_a_rescaled_pattern_keeps_inside_the_margins_of_the_page() -> None:
    content = print_pdf(STYLE, None, (), "a4", PrintOptions(measured=(98.0, 99.0)))
    for page in pages(content):
        dark, (across, down) = darkness(page, 72)
        edge_x, edge_y = int(9.9 * across), int(9.9 * down)
        dark[edge_y:-edge_y, edge_x:-edge_x] = 0
        assert not dark.any()


def test_a_rescaled_seam_is_true_on_that_printer() -> None:
    content = print_pdf(STYLE, None, (), "a4", PrintOptions(measured=(99.6, 99.6)))
    # The sample's sides run in two straight spans from (90, -100) over (80, 0) to (90, 150).
    wanted = np.diff(STYLE.pieces[0].edges[1].curve.points, axis=0)
    paths = [np.diff(path, axis=0) * 0.996 for page in pages(content) for path in drawn_paths(page) if len(path) == 7]
    assert any(np.allclose(path, wanted, atol=0.01) for path in paths)


def test_the_first_page_says_what_was_rescaled() -> None:
    words = texts(print_pdf(STYLE, None, (), "a4", PrintOptions(measured=(99.6, 100.4))))[0]
    assert "came out 99.6 mm across and 100.4 mm down" in words
    assert "100.40 per cent wide and 99.60 per cent high" in words
    assert "Rescaled" not in texts(print_pdf(STYLE))[0]
