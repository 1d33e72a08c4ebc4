"""Paper, tiles and shelves: the arithmetic of the printed sheet."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString

from coutil.errors import BadInput
from coutil.sheet._paper import PAPERS, paper_of
from coutil.sheet._tiles import Tile, tile_count, tile_grid, tiles_by_shape

A4 = PAPERS["a4"]

lengths = st.floats(1, 2000)


def test_a4_prints_190_by_277_in_steps_of_180_by_267() -> None:
    assert A4.printable == (190, 277)
    assert A4.step == (180, 267)


def test_the_worked_example_by_hand() -> None:
    # (900 - 10) / 180 = 4.94 and (600 - 10) / 267 = 2.2.
    grid = tile_grid(900, 600, A4)
    assert len(grid) == 15
    assert (grid[-1].column + 1, grid[-1].row + 1) == (5, 3)


def test_what_fits_one_sheet_exactly_needs_one() -> None:
    assert tile_count(190, 190, 10) == 1
    assert tile_count(190.01, 190, 10) == 2
    assert tile_count(370, 190, 10) == 2


def test_labels_go_by_letter_down_and_by_number_across() -> None:
    assert [tile.label for tile in tile_grid(300, 400, A4)] == ["A1", "A2", "B1", "B2"]
    assert Tile(25, 0, (0, 0, 1, 1)).label == "Z1"
    assert Tile(26, 9, (0, 0, 1, 1)).label == "AA10"
    assert Tile(52, 0, (0, 0, 1, 1)).label == "BA1"


def test_row_a_starts_at_the_top() -> None:
    first, below = tile_grid(100, 400, A4)
    assert first.box == (0, 123, 190, 400)
    assert below.box == (0, 123 - 267, 190, 133)


@given(lengths, lengths)
def test_tiles_cover_the_drawing_and_neighbours_share_the_overlap(width: float, height: float) -> None:
    grid = tile_grid(width, height, A4)
    boxes = np.array([tile.box for tile in grid])
    assert boxes[:, 0].min() == 0
    assert boxes[:, 3].max() == height
    assert boxes[:, 2].max() >= width - 1e-5
    assert boxes[:, 1].min() <= 1e-5
    by_place = {(tile.row, tile.column): tile.box for tile in grid}
    for (row, column), box in by_place.items():
        right, below = by_place.get((row, column + 1)), by_place.get((row + 1, column))
        assert right is None or box[2] - right[0] == pytest.approx(10)
        assert below is None or below[3] - box[1] == pytest.approx(10)


@given(lengths)
def test_one_tile_less_would_not_reach(length: float) -> None:
    count = tile_count(length, 190, 10)
    assert count == 1 or (count - 1) * 180 + 10 < length


def test_a_tile_holds_what_touches_it() -> None:
    grid = tile_grid(370, 277, A4)
    held = tiles_by_shape(grid, [LineString([(5, 5), (50, 50)]), LineString([(185, 5), (185, 50)])])
    assert held.tolist() == [[True, True], [False, True]]


def test_paper_is_known_in_either_case_and_nothing_else_is() -> None:
    assert paper_of("Letter") == PAPERS["letter"]
    with pytest.raises(BadInput, match="no paper 'a7': name one of a4, letter, a3, a0, roll:WIDTH or single"):
        paper_of("a7")
