"""One pattern to draw on and to cut by: SVG and DXF from pieces that are drawn once."""

from __future__ import annotations

from dataclasses import dataclass

from coutil.pattern import Style
from coutil.sheet._dxf import pieces_dxf
from coutil.sheet._exports import sheet_svg
from coutil.sheet._pattern_sheet import bare_sheet
from coutil.sheet._piece_label import PrintOptions


@dataclass(frozen=True, slots=True)
class PatternDrawings:
    """The same pieces with the same labels: to draw on, and to cut by (R2000)."""

    svg: str
    dxf: bytes


def pattern_drawings(style: Style, options: PrintOptions) -> PatternDrawings:
    """As `pieces_svg` and `pieces_dxf` one after the other, in about half the time."""
    drawn = bare_sheet(style, options)
    return PatternDrawings(sheet_svg(drawn, style.title, options), pieces_dxf(drawn, style.title, options, "r2000"))
