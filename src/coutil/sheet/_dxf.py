"""Pieces as DXF for cutters and drawing programs, by the open interchange practice of the garment trade.

One block a piece, its content on numbered layers (numbers of ASTM D6673 from memory): 1 cut line, 2 turn
points, 3 curve points, 4 notches, 6 fold, 7 grain, 8 internal lines, 13 drill holes (bust point), 14 stitching
line, 15 texts.  R2000 keeps the stitching line's curves as splines, R12 knows only polylines.  Millimetres.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Literal

import numpy as np
from shapely.geometry.base import BaseGeometry

from coutil.curves import Curve
from coutil.sheet._copies import Copy, without_holes
from coutil.sheet._drawing import BLACK, FOLD, Anchor, Colour, Floats, Line, text_width
from coutil.sheet._labels import LINE_STEP, find_place
from coutil.sheet._pattern_sheet import Part, PatternSheet
from coutil.sheet._piece_label import PrintOptions

Kind = Literal["r12", "r2000"]

CUT, TURN, CURVE, NOTCH, MIRROR, GRAIN, INTERNAL, DRILL, SEW, TEXT = "1", "2", "3", "4", "6", "7", "8", "13", "14", "15"
LAYERS = (CUT, TURN, CURVE, NOTCH, MIRROR, GRAIN, INTERNAL, DRILL, SEW, TEXT)

# Where the groups of a piece's drawing go, by the first word of the group's name; other groups are left out.
LAYER_OF: Mapping[str, str] = MappingProxyType(
    {
        "cut": CUT,
        "notches": NOTCH,
        "grain": GRAIN,
        "levels": INTERNAL,
        "bones": INTERNAL,
        "landmarks": INTERNAL,
        "stitching": SEW,
        "label": TEXT,
        "level names": TEXT,
    }
)

# Curves become polylines within a fifth of what must come back the same, 0.01 mm.
CHORD_MM = 0.002

# An outline that turns by more than this at a point has a corner there.
CORNER_DEG = 10.0

# Capitals of the facts a cutter reads by itself: there for the machine, not for the eye.
FACTS_MM = 1.0

ALIGNMENT: Mapping[Anchor, str] = MappingProxyType({"start": "LEFT", "middle": "CENTER", "end": "RIGHT"})


@dataclass(slots=True)
class DxfPen:
    """Draws into a block of an ezdxf document."""

    block: Any
    splines: bool
    _open: list[str] = field(default_factory=list)

    @property
    def layer(self) -> str | None:
        """The layer of the innermost group that has one."""
        known = (LAYER_OF.get(name.partition(":")[0]) for name in reversed(self._open))
        return next((layer for layer in known if layer is not None), None)

    def begin_group(self, name: str) -> None:
        """See Pen."""
        self._open.append(name)

    def end_group(self) -> None:
        """See Pen."""
        self._open.pop()

    def curve(self, points: Floats, line: Line) -> None:
        """See Pen."""
        if self.layer is None:
            return
        if self.layer == SEW:
            self._add_points(points[[0, -1]], TURN)
        layer = MIRROR if line is FOLD else self.layer
        if self.splines:
            self._add_spline(points, layer)
        else:
            self._add_polyline(Curve(points).flatten(CHORD_MM), layer, closed=False)

    def polyline(self, points: Floats, line: Line, closed: bool = False) -> None:
        """See Pen."""
        layer = self.layer
        # A grain line is one stroke by that practice; its arrow heads would be read as more of them.
        if layer is None or (layer == GRAIN and len(points) > 2):
            return
        if layer == NOTCH:
            self._add_points(points[:1], NOTCH)
        if len(points) == 2:
            self.block.add_line(_pair(points[0]), _pair(points[1]), dxfattribs={"layer": layer})
            return
        self._add_polyline(points, layer, closed)
        if layer == CUT:
            self._add_outline_points(points)

    def text(
        self,
        position: tuple[float, float],
        string: str,
        height: float,
        *,
        angle: float = 0.0,
        anchor: Anchor = "start",
        colour: Colour = BLACK,
    ) -> None:
        """See Pen."""
        if self.layer is None:
            return
        from ezdxf.enums import TextEntityAlignment

        attributes = {"layer": TEXT, "rotation": angle}
        written = self.block.add_text(_plain(string), height=height, dxfattribs=attributes)
        written.set_placement(position, align=TextEntityAlignment[ALIGNMENT[anchor]])

    def _add_spline(self, points: Floats, layer: str) -> None:
        spans = (len(points) - 1) // 3
        knots = np.concatenate([[0.0], np.repeat(np.arange(spans + 1.0), 3), [float(spans)]])
        spline = self.block.add_spline(degree=3, dxfattribs={"layer": layer})
        spline.control_points = [(*_pair(point), 0.0) for point in points]
        spline.knots = [float(knot) for knot in knots]

    def _add_polyline(self, points: Floats, layer: str, closed: bool) -> None:
        pairs, attributes = [_pair(point) for point in points], {"layer": layer}
        if self.splines:
            self.block.add_lwpolyline(pairs, close=closed, dxfattribs=attributes)
        else:
            self.block.add_polyline2d(pairs, close=closed, dxfattribs=attributes)

    def _add_outline_points(self, outline: Floats) -> None:
        corners = _is_corner(outline)
        self._add_points(outline[corners], TURN)
        self._add_points(outline[~corners], CURVE)

    def _add_points(self, points: Floats, layer: str) -> None:
        for point in points:
            self.block.add_point(_pair(point), dxfattribs={"layer": layer})


def _is_corner(outline: Floats) -> Any:
    """Which points of a closed outline (m, 2) it turns at by more than CORNER_DEG."""
    before, after = outline - np.roll(outline, 1, axis=0), np.roll(outline, -1, axis=0) - outline
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turned = np.degrees(np.abs(np.arctan2(cross, (before * after).sum(axis=1))))
    return turned > CORNER_DEG


def pieces_dxf(sheet: PatternSheet, title: str, options: PrintOptions, kind: Kind) -> bytes:
    """The copies of a sheet as a DXF file, one block each, inserted where it lies on the sheet."""
    with _without_clock():
        document = _document(kind)
        space = document.modelspace()
        for i, part in enumerate(sheet.parts):
            if part.copy is not None:
                _add_copy(document, space, part, part.copy, i + 1, kind)
        _add_facts(space, title, options)
        text = io.StringIO()
        document.write(text)
    return str(text.getvalue()).encode(document.output_encoding, errors="dxfreplace")


@contextmanager
def _without_clock() -> Iterator[None]:
    """Inside, the writer leaves the hour and random marks out, so that the same pattern gives the same file."""
    from ezdxf._options import options

    kept = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = kept


def _document(kind: Kind) -> Any:
    """An empty file with the layers.  R12 has no unit of its own; there the facts say it."""
    from ezdxf import units
    from ezdxf.document import Drawing

    document = Drawing.new("AC1009" if kind == "r12" else "AC1015")
    if kind == "r2000":
        document.units = units.MM
    for layer in LAYERS:
        document.layers.add(layer)
    return document


def _add_copy(document: Any, space: Any, part: Part, copy: Copy, number: int, kind: Kind) -> None:
    """The block holds the piece as it lies on the sheet, so that every reader finds it in the same place."""
    block = document.blocks.new(f"{number}_{_name(copy.piece.name)}_{_name(copy.layer_name)}".rstrip("_"))
    part.drawing.replay(DxfPen(block, kind == "r2000"))
    for mark in copy.piece.landmarks:
        if mark.name == "bust_point":
            _add_bust_point(block, part.drawing)
    facts = (f"Piece Name: {copy.piece.title}", f"Quantity: {_count(copy)}", f"Material: {copy.layer_name or 'none'}")
    _add_lines(block, facts, part.shape)
    space.add_blockref(block.name, (0.0, 0.0), dxfattribs={"layer": CUT})


def _add_bust_point(block: Any, drawing: Any) -> None:
    """A drill hole in the middle of the crossed circle: where its two arms cross."""
    arms = [stroke.points for stroke in drawing.strokes_in("landmarks") if not stroke.cubic]
    if arms:
        block.add_point(_pair(arms[0].mean(axis=0)), dxfattribs={"layer": DRILL})


def _count(copy: Copy) -> int:
    return sum(source.count for source in copy.piece.cut if source.layer == copy.layer_name) or 1


def _add_lines(block: Any, facts: tuple[str, ...], drawn: BaseGeometry) -> None:
    """The facts by which a cutter knows the piece, on the cut line's layer, small, where nothing else is drawn."""
    free = without_holes(drawn).difference(drawn.buffer(FACTS_MM))
    place = find_place(free, facts, FACTS_MM)
    x, y = place.middle if place is not None else drawn.representative_point().coords[0]
    left, top = x - max(text_width(fact, FACTS_MM) for fact in facts) / 2, y + LINE_STEP * FACTS_MM
    for i, fact in enumerate(facts):
        at = (left, top - FACTS_MM - LINE_STEP * FACTS_MM * i)
        block.add_text(_plain(fact), height=FACTS_MM, dxfattribs={"layer": CUT, "insert": at})


def _add_facts(space: Any, title: str, options: PrintOptions) -> None:
    facts = (
        f"Style Name: {title}",
        f"Creation Date: {options.date}" if options.date else "",
        f"Reference: {options.reference}" if options.reference else "",
        "Units: METRIC",
    )
    for i, fact in enumerate(fact for fact in facts if fact):
        space.add_text(_plain(fact), height=3.0, dxfattribs={"layer": CUT, "insert": (0.0, -8.0 - 5.0 * i)})


def _name(words: str) -> str:
    """A block's name: capitals, digits and low lines."""
    return "".join(c if c.isascii() and c.isalnum() else "_" for c in words).upper()


def _plain(words: str) -> str:
    """One line of text without what DXF takes for a command."""
    return " ".join(words.split()).replace("%%", "% %").replace("^", "")


def _pair(point: Floats) -> tuple[float, float]:
    return float(point[0]), float(point[1])
