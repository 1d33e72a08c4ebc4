"""Pieces laid on paper: apart, whole, turned by quarters at most, on few tiles; large, long and many pieces."""

from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from sheet_samples import panel, style

from coutil.curves import Curve
from coutil.draft import base_chart, draft_cupped
from coutil.errors import BadInput
from coutil.pattern import Piece
from coutil.sheet import PrintOptions, paper_of, print_pdf
from coutil.sheet._copies import without_holes
from coutil.sheet._packing import packings, placed
from coutil.sheet._pattern_sheet import GAP_MM, PatternSheet, pattern_sheet
from helpers.pdf_reading import MM_PER_POINT, pages, texts

OPTIONS = PrintOptions("Client 7")
boxes = st.lists(st.tuples(st.floats(10, 300), st.floats(10, 300)), min_size=1, max_size=7)


def rectangle(name: str, width: float, height: float) -> Piece:
    """A panel of straight edges without marks."""
    corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height), (0.0, 0.0)]
    plain = panel(name, name.title())
    lines = [Curve.line(a, b) for a, b in pairwise(corners)]
    edges = tuple(replace(edge, curve=line) for edge, line in zip(plain.edges, lines, strict=True))
    return replace(plain, edges=edges, level_marks=(), levels={}, notches=())


def laid(paper: str, *pieces: Piece) -> PatternSheet:
    return pattern_sheet(style(*pieces), paper_of(paper), OPTIONS)


def require_sound(sheet: PatternSheet) -> None:
    """Nothing overlaps, everything is inside the tiles, no printed tile is empty."""
    shapes = [without_holes(part.shape) for part in sheet.parts]
    assert all(a.distance(b) > GAP_MM - 0.1 for a, b in combinations(shapes, 2))
    paper = shapely.union_all([shapely.box(*tile.box) for tile in sheet.printed])
    drawn = shapely.union_all([part.shape for part in sheet.parts])
    assert drawn.difference(paper.buffer(1e-6)).area < 1e-6
    assert all(drawn.intersects(shapely.box(*tile.box)) for tile in sheet.printed)


@settings(max_examples=20, deadline=None)
@given(boxes, st.floats(320, 1200))
def test_shapes_stay_apart_on_the_sheet_in_every_way_tried(sizes, width: float) -> None:
    shapes = [shapely.box(0, 0, *size) for size in sizes]
    for packing in packings(shapes, [width], 6.0, frozenset({0})):
        lying = [placed(shape, spot) for shape, spot in zip(shapes, packing.spots, strict=True)]
        assert all(a.distance(b) > 6.0 - 0.01 for a, b in combinations(lying, 2))
        xmin, ymin, xmax, ymax = shapely.union_all(lying).bounds
        assert (xmin, ymin, xmax, ymax) == pytest.approx((0, 0, packing.width, packing.height), abs=1e-6)
        assert packing.width <= width
        assert packing.spots[0].turned == 0
        assert {spot.turned for spot in packing.spots} <= {0.0, 90.0, 180.0, 270.0}


@pytest.mark.parametrize(("wide", "words"), [(700, ["400 mm"]), (250, [])])
def test_no_tile_is_printed_for_a_test_line_alone(wide: float, words: list[str]) -> None:
    """On A3 pieces side by side join across alone: a line down would need a second row for itself."""
    sheet = laid("a3", rectangle("one", wide, 180), rectangle("two", wide, 150))
    require_sound(sheet)
    held = sheet.holds[:, : len(sheet.copies)].any(axis=1)
    assert (held == sheet.holds.any(axis=1)).all()
    lines = [part.drawing for part in sheet.parts if part.copy is None]
    assert [line.writings[0].string[:6] for line in lines] == words
    assert all(np.ptp(line.strokes[0].points[:, 0]) == pytest.approx(400) for line in lines)


def test_slanting_shapes_nest_where_boxes_would_not() -> None:
    """Two halves of a 200 × 100 box, cut aslant, lie side by side in little more than its width.

    The sheet fills from its top, so the half with its wide end up is laid first, the other turned beneath its slant.
    """
    half = shapely.Polygon([(0, 0), (50, 0), (150, 100), (0, 100)])
    fewest = min(p.width * p.height for p in packings([half, half], [400.0], 6.0))
    assert fewest < 225 * 101
    assert fewest > 2 * half.area


def test_turning_takes_the_grain_arrow_along() -> None:
    sheet = laid("a4", rectangle("one", 380, 120), rectangle("two", 150, 200))
    require_sound(sheet)
    for part in sheet.parts:
        if part.copy is not None:
            arrow = part.drawing.strokes_in("grain")[0].points
            edges = np.concatenate([s.points for s in part.drawing.strokes_in("stitching")])
            along, wide, tall = arrow[1] - arrow[0], np.ptp(edges[:, 0]), np.ptp(edges[:, 1])
            # Along the grain the first is 120 and the second 200, whichever way they lie.
            length = 120 if part.copy.piece.name == "one" else 200
            assert (tall if abs(along[1]) > abs(along[0]) else wide) == pytest.approx(length, abs=0.01)


def test_a_piece_larger_than_a_page_has_its_tiles() -> None:
    sheet = laid("a4", rectangle("wide", 700, 500))
    require_sound(sheet)
    assert len(sheet.printed) >= 4 * 2


def test_a_piece_two_metres_long_on_tiles_and_whole_on_a_roll() -> None:
    strip = rectangle("strip", 120, 2000)
    tiled, rolled = laid("letter", strip), laid("roll:900", strip)
    require_sound(tiled)
    require_sound(rolled)
    assert max(tile.row for tile in tiled.tiles) + 1 >= 8
    assert len(rolled.tiles) == 1
    assert rolled.paper.width == 900
    assert rolled.paper.height == pytest.approx(rolled.height + 20)


def test_a_roll_longer_than_a_page_can_be_is_parted() -> None:
    """A PDF page ends at 5080 mm (ISO 32000-1): 7 m of strip lie on two pages that overlap."""
    sheet = laid("roll:450", *(rectangle(f"strip {i}", 300, 1700) for i in range(4)))
    require_sound(sheet)
    assert len(sheet.printed) == 2
    assert sheet.paper.height == 5000


def test_sixty_pieces() -> None:
    rng = np.random.default_rng(7)
    sizes = rng.uniform((60, 60), (160, 420), (60, 2))
    sheet = laid("a0", *(rectangle(f"part {i}", *size) for i, size in enumerate(sizes)))
    require_sound(sheet)
    assert len(sheet.copies) == 60
    # The allowance is 15 at sides, 10 at the centre: cloth area against the paper's.
    pieces = sum(without_holes(part.shape).area for part in sheet.parts)
    assert pieces / (sheet.width * sheet.height) > 0.6


def test_a_single_page_is_as_large_as_needed_and_no_larger() -> None:
    sheet = pattern_sheet(draft_cupped(base_chart(75, 18)), paper_of("single"), OPTIONS)
    require_sound(sheet)
    assert len(sheet.tiles) == 1
    assert (sheet.paper.width, sheet.paper.height) == pytest.approx((sheet.width + 20, sheet.height + 20))
    assert 0.4 < sheet.paper.width / sheet.paper.height < 2.5


def test_a_page_over_five_metres_is_refused() -> None:
    with pytest.raises(BadInput, match="need a page over 5 m"):
        laid("single", rectangle("endless", 100, 5200))


def test_what_fits_one_sheet_has_no_line_to_join_for() -> None:
    sheet = laid("a4", rectangle("small", 60, 80))
    assert [part.copy is None for part in sheet.parts] == [False]


def test_test_lines_of_400_mm_run_across_joints_each_way() -> None:
    sheet = laid("a4", rectangle("wide", 700, 500))
    lines = [part.drawing.strokes_in("test line")[0].points for part in sheet.parts if part.copy is None]
    assert [np.abs(line[1] - line[0]).tolist() for line in lines] == [pytest.approx([400, 0]), pytest.approx([0, 400])]
    across, down = lines
    upright = {tile.box[2] - sheet.paper.overlap / 2 for tile in sheet.tiles}
    level = {tile.box[1] + sheet.paper.overlap / 2 for tile in sheet.tiles}
    assert any(across[:, 0].min() < joint < across[:, 0].max() for joint in upright)
    assert any(down[:, 1].min() < joint < down[:, 1].max() for joint in level)


def test_large_paper_bears_its_own_squares() -> None:
    sheet = laid("roll:900", rectangle("one", 200, 300))
    squares = [s for part in sheet.parts for s in part.drawing.strokes_in("test square") if s.closed]
    sides = [np.ptp(s.points, axis=0).tolist() for s in squares]
    assert sides == [pytest.approx([100, 100]), pytest.approx([101.6, 101.6])]


@pytest.mark.parametrize(("paper", "size"), [("a3", (297, 420)), ("a0", (841, 1189)), ("roll:914.4", (914.4, None))])
def test_pattern_pages_have_the_size_of_the_paper(paper: str, size) -> None:
    content = print_pdf(style(rectangle("one", 200, 300)), None, (), paper, OPTIONS)
    first, last = (np.array(pages(content)[i].get_size()) * MM_PER_POINT for i in (0, -1))
    assert last[0] == pytest.approx(size[0], abs=0.001)
    assert size[1] is None or last[1] == pytest.approx(size[1], abs=0.001)
    # Words for a plotter's pattern are printed in the office.
    assert first == pytest.approx((297, 420) if paper == "a3" else (210, 297), abs=0.001)
    assert "One" in texts(content)[1]


@pytest.mark.parametrize("words", ["roll:", "roll:abc", "roll:20", "roll:90000", "roll:-900", "b5", "", "a4 landscape"])
def test_paper_that_is_none_is_refused_in_one_sentence(words: str) -> None:
    with pytest.raises(BadInput, match=r"^(There is no paper|A roll of)"):
        paper_of(words)


def test_a_roll_by_inches() -> None:
    assert paper_of("Roll:36in").width == pytest.approx(914.4)
    assert paper_of("roll:90cm").width == pytest.approx(900)
