"""The long sheet: every copy at true size, packed on paper, and the tiles that carry it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from coutil.errors import BadInput
from coutil.pattern import Style
from coutil.sheet._copies import LOOK_MM, Copy, copies_to_print, drawn_shape, text_shape, without_holes
from coutil.sheet._drawing import Floats, Moved, Recorder
from coutil.sheet._packing import MANY, Packing, Spot, packings, placed
from coutil.sheet._paper import LONGEST_MM, Paper
from coutil.sheet._piece_label import PrintOptions
from coutil.sheet._test_lines import ALONG_X, ALONG_Y, WORDS_AT_MM, long_line, rectangle, square_pair
from coutil.sheet._tiles import Tile, tile_grid, tiles_by_shape

# Room between pieces, enough to cut each out with a strip of paper around it.
GAP_MM = 6.0

# Texts of a piece keep this far from the joint between two tiles, and from what is written along it.
JOINT_MM = 1.5

# Widths tried: for tiles whole numbers of them, for a single page between its widest and its longest form.
MOST_WIDTHS, WIDTHS_FOR_MANY = 9, 4

# A test line or square, drawn with its words at another place when that is asked for.
Extra = Callable[..., Recorder]


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """A copy, or a test line (copy None), as it lies on the sheet: drawing, all it covers, outline for maps."""

    copy: Copy | None
    drawing: Recorder
    shape: BaseGeometry
    outline: Floats


@dataclass(frozen=True, slots=True, eq=False)
class PatternSheet:
    """Parts on the sheet, copies first, every tile of the grid, and which tile holds which part.

    `holds` is (tiles, parts).  Tiles that hold nothing are part of the grid, but are not printed.
    """

    parts: tuple[Part, ...]
    width: float
    height: float
    paper: Paper
    tiles: tuple[Tile, ...]
    holds: NDArray[np.bool_]

    @property
    def copies(self) -> tuple[Copy, ...]:
        """The copies, in printing order."""
        return tuple(part.copy for part in self.parts if part.copy is not None)

    @property
    def printed(self) -> tuple[Tile, ...]:
        """The tiles that hold a line of some part, in reading order."""
        return tuple(tile for tile, held in zip(self.tiles, self.holds, strict=True) if held.any())

    def tiles_of(self, part: int) -> tuple[Tile, ...]:
        """The tiles that hold a line of that part; copies count first."""
        return tuple(tile for tile, held in zip(self.tiles, self.holds[:, part], strict=True) if held)

    def parts_on(self, tile: Tile) -> list[Part]:
        """What has a line on that tile."""
        return [self.parts[i] for i in np.flatnonzero(self.holds[self.tiles.index(tile)])]


@dataclass(frozen=True, slots=True, eq=False)
class _Laid:
    """One way tried: where things lie, on which paper, and how many tiles it takes."""

    packing: Packing
    paper: Paper
    tiles: tuple[Tile, ...]
    printed: int

    @property
    def cost(self) -> tuple[int, float, int, float]:
        """Tiles first, then the paper's area, then turned pieces, then the width."""
        turned = sum(spot.turned != 0 for spot in self.packing.spots)
        area = self.paper.width * self.paper.height if len(self.tiles) == 1 else 0.0
        return self.printed, area, turned, self.packing.width


def pattern_sheet(style: Style, paper: Paper, options: PrintOptions, base: Style | None = None) -> PatternSheet:
    """All copies laid to need the fewest tiles, or the least of a roll or a single page.

    With test lines unless everything fits one office sheet, or one row or column of them where a line would take a
    tile of its own, with test squares on large paper.
    Raises BadInput for a layer the style has not and for a single page over LONGEST_MM, and BadStyle for
    layers that no piece is cut from.
    """
    return laid_sheet(copies_to_print(style, options, base), paper, options)


def laid_sheet(copies: Sequence[Copy], paper: Paper, options: PrintOptions) -> PatternSheet:
    """As `pattern_sheet`, of copies that are made already."""
    if _fits_one_tile(copies, paper):
        return _sheet(copies, (), _best(copies, (), paper))
    extras = _extras(paper, options)
    sheet = _sheet(copies, extras, _best(copies, extras, paper))
    needed = extras if paper.is_large else _across_joints(sheet, extras)
    return sheet if len(needed) == len(extras) else _sheet(copies, needed, _best(copies, needed, paper))


def bare_sheet(style: Style, options: PrintOptions, base: Style | None = None) -> PatternSheet:
    """All copies upright on one page of any size without test lines, for files that are drawn on, not printed."""
    copies = copies_to_print(style, options, base)
    page = Paper("drawing", math.inf, math.inf, margin=0.0, overlap=0.0)
    return _sheet(copies, (), _best(copies, (), page, upright=len(copies)))


def _fits_one_tile(copies: Sequence[Copy], paper: Paper) -> bool:
    """Whether an office sheet carries everything, so that nothing is joined."""
    area = sum(without_holes(copy.shape).area for copy in copies)
    if paper.is_large or area > math.prod(paper.printable):
        return False
    return _best(copies, (), paper).printed == 1


def _across_joints(sheet: PatternSheet, lines: tuple[Extra, ...]) -> tuple[Extra, ...]:
    """The lines across and down; where one takes a tile of its own, only those along which pieces are joined."""
    pieces = np.asarray(sheet.holds[:, : len(sheet.copies)].any(axis=1))
    if bool((pieces == sheet.holds.any(axis=1)).all()):
        return lines
    held = [sheet.tiles[i] for i in np.flatnonzero(pieces)]
    joined = (len({tile.column for tile in held}) > 1, len({tile.row for tile in held}) > 1)
    return tuple(line for line, needed in zip(lines, joined, strict=True) if needed)


def _extras(paper: Paper, options: PrintOptions) -> tuple[Extra, ...]:
    """Test lines, and on large paper test squares; each is a drawing that may be made anew with its words elsewhere."""
    length = "400 mm = 15.748 in" if options.unit == "in" else "400 mm"
    words = f"{length}, to measure" + ("" if paper.is_large else " when joined")
    lines = (partial(long_line, ALONG_X, words), partial(long_line, ALONG_Y, words))
    return (*lines, *((_squares,) if paper.is_large else ()))


def _squares(_words_at: float = 0.0) -> Recorder:
    return square_pair()


def _best(copies: Sequence[Copy], extras: Sequence[Extra], paper: Paper, upright: int = 0) -> _Laid:
    """The way with the least cost; the first `upright` copies and all extras are not turned."""
    shapes = [without_holes(shape) for shape in _shapes(copies, extras)]
    fixed = frozenset([*range(upright), *range(len(copies), len(shapes))])
    lines = [shape.simplify(LOOK_MM).boundary for shape in shapes]
    tried = packings(shapes, _widths(shapes, paper), GAP_MM, fixed)
    return min((_laid(packing, lines, paper) for packing in tried), key=lambda laid: laid.cost)


def _widths(shapes: Sequence[BaseGeometry], paper: Paper) -> list[float]:
    sizes = np.array([shape.bounds for shape in shapes])
    wide, tall = sizes[:, 2] - sizes[:, 0], sizes[:, 3] - sizes[:, 1]
    if math.isinf(paper.width):
        return _page_widths(wide, tall)
    # One gap more, since half of it lies outside the outermost pieces on either side.
    step, fewest = paper.step[0], max(1, math.ceil((wide.max() - paper.overlap) / paper.step[0]))
    most = max(fewest, math.ceil(((wide + GAP_MM).sum() - paper.overlap) / step))
    if math.isinf(paper.height):
        most = fewest
    count = MOST_WIDTHS if len(shapes) <= MANY else WIDTHS_FOR_MANY
    return [columns * step + paper.overlap + GAP_MM for columns in range(fewest, min(most, fewest + count - 1) + 1)]


def _page_widths(wide: Floats, tall: Floats) -> list[float]:
    """From about half as wide as tall to twice."""
    side = float(np.sqrt(((wide + GAP_MM) * (tall + GAP_MM)).sum()))
    narrowest = max(float(wide.max()), 0.7 * side) + GAP_MM
    count = MOST_WIDTHS if len(wide) <= MANY else WIDTHS_FOR_MANY
    return list(np.linspace(narrowest, max(narrowest, 1.5 * side), count))


def _laid(packing: Packing, lines: Sequence[BaseGeometry], paper: Paper) -> _Laid:
    sized = paper.around(packing.width, packing.height)
    if math.isinf(paper.width) and max(packing.width, packing.height) > LONGEST_MM:
        raise BadInput(f"The pieces need a page over {LONGEST_MM / 1000:g} m: print them on a roll, as in roll:900.")
    tiles = tile_grid(packing.width, packing.height, sized)
    lying = [placed(line, spot) for line, spot in zip(lines, packing.spots, strict=True)]
    return _Laid(packing, sized, tiles, int(tiles_by_shape(tiles, lying).any(axis=1).sum()))


def _sheet(copies: Sequence[Copy], extras: Sequence[Extra], laid: _Laid) -> PatternSheet:
    spots = laid.packing.spots
    lines = [placed(shape, spot) for shape, spot in zip(_shapes(copies, extras), spots, strict=True)]
    inner, whole = _rooms(laid, tiles_by_shape(laid.tiles, lines))
    parts = [_part(copy, spot, inner, whole) for copy, spot in zip(copies, spots, strict=False)]
    parts += [_extra_part(extra, spot, inner) for extra, spot in zip(extras, spots[len(copies) :], strict=True)]
    holds = tiles_by_shape(laid.tiles, [part.shape for part in parts])
    return PatternSheet(tuple(parts), laid.packing.width, laid.packing.height, laid.paper, laid.tiles, holds)


def _shapes(copies: Sequence[Copy], extras: Sequence[Extra]) -> list[BaseGeometry]:
    return [*(copy.shape for copy in copies), *(drawn_shape(extra()) for extra in extras)]


def _rooms(laid: _Laid, holds: NDArray[np.bool_]) -> tuple[BaseGeometry, BaseGeometry]:
    """Where texts of pieces may stand: between the joints of a printed tile; at worst anywhere on printed tiles."""
    boxes = [shapely.box(*tile.box) for tile, held in zip(laid.tiles, holds, strict=True) if held.any()]
    whole = shapely.union_all(boxes)
    if len(laid.tiles) == 1:
        return whole, whole
    inset = laid.paper.overlap / 2 + JOINT_MM
    return shapely.union_all([box.buffer(-inset, join_style="mitre") for box in boxes]), whole


def _part(copy: Copy, spot: Spot, room: BaseGeometry, fallback: BaseGeometry) -> Part:
    drawing = copy.redrawn(spot.turned, spot.dx, spot.dy, room, fallback)
    outline = Moved(drawing, spot.dx, spot.dy, spot.turned).place(copy.outline)
    return Part(copy, drawing, drawn_shape(drawing), outline)


def _extra_part(extra: Extra, spot: Spot, room: BaseGeometry) -> Part:
    """The first form whose words keep inside the room."""
    tried = [_moved(extra(at), spot) for at in WORDS_AT_MM]
    drawing = next((form for form in tried if all(map(room.contains, map(text_shape, form.writings)))), tried[0])
    shape = drawn_shape(drawing)
    xmin, ymin, xmax, ymax = shape.bounds
    return Part(None, drawing, shape, rectangle(xmax - xmin, ymax - ymin) + np.array([xmin, ymin]))


def _moved(drawing: Recorder, spot: Spot) -> Recorder:
    moved = Recorder()
    drawing.replay(Moved(moved, spot.dx, spot.dy, spot.turned))
    return moved
