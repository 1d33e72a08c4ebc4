"""Tiles: a long drawing cut into sheets that overlap, row A at the top, column 1 at the left."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from coutil.sheet._paper import Paper

# A drawing may reach over its last tile by this much, far below a pen's width, without asking for one more.
SLACK_MM = 1e-6

LETTERS = 26


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet's part of the drawing: `box` is (xmin, ymin, xmax, ymax) on the drawing, mm."""

    row: int
    column: int
    box: tuple[float, float, float, float]

    @property
    def label(self) -> str:
        """Row as a letter, column as a number: B3.  After Z comes AA."""
        return f"{_letters(self.row)}{self.column + 1}"


def _letters(row: int) -> str:
    ahead = _letters(row // LETTERS - 1) if row >= LETTERS else ""
    return ahead + chr(ord("A") + row % LETTERS)


def tile_count(length: float, printable: float, overlap: float) -> int:
    """How many sheets in a row carry that length: ceil((length - overlap) / (printable - overlap))."""
    return max(1, math.ceil((length - overlap - SLACK_MM) / (printable - overlap)))


def tile_grid(width: float, height: float, paper: Paper) -> tuple[Tile, ...]:
    """All tiles of a drawing from (0, 0) to (width, height), row by row from the top left."""
    across, down = paper.printable
    columns = tile_count(width, across, paper.overlap)
    rows = tile_count(height, down, paper.overlap)
    return tuple(_tile(row, column, height, paper) for row in range(rows) for column in range(columns))


def _tile(row: int, column: int, height: float, paper: Paper) -> Tile:
    (across, down), (step_x, step_y) = paper.printable, paper.step
    left, top = column * step_x, height - row * step_y
    return Tile(row, column, (left, top - down, left + across, top))


def tiles_by_shape(tiles: Sequence[Tile], shapes: Sequence[BaseGeometry]) -> NDArray[np.bool_]:
    """Which tile holds something of which shape, (tiles, shapes)."""
    boxes = shapely.box(*np.array([tile.box for tile in tiles]).T)
    held = shapely.intersects(boxes[:, None], np.array(shapes, dtype=object)[None, :])
    return np.asarray(held, dtype=bool)
