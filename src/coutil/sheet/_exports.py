"""Pieces as files that are drawn on or cut by: SVG and DXF at true size, laid side by side."""

from __future__ import annotations

from coutil.pattern import Style
from coutil.sheet._drawing import Bounds, Recorder, group
from coutil.sheet._dxf import Kind
from coutil.sheet._dxf import pieces_dxf as sheet_dxf
from coutil.sheet._pattern_sheet import PatternSheet, bare_sheet
from coutil.sheet._piece_label import PrintOptions, head_words
from coutil.sheet._svg import svg_text

MARGIN_MM = 5.0


def pieces_svg(style: Style, options: PrintOptions, base: Style | None = None) -> str:
    """The pieces as an SVG file: one user unit is 1 mm; a group for each layer of cloth, piece and kind of line."""
    return sheet_svg(bare_sheet(style, options, base), style.title, options)


def sheet_svg(sheet: PatternSheet, title: str, options: PrintOptions) -> str:
    """As `pieces_svg`, of a sheet that is laid already."""
    drawing = _by_layer(sheet)
    bounds = Bounds()
    drawing.replay(bounds)
    xmin, ymin, xmax, ymax = bounds.box
    box = (xmin - MARGIN_MM, ymin - MARGIN_MM, xmax + MARGIN_MM, ymax + MARGIN_MM)
    return svg_text(drawing, box, " · ".join(word for word in (title, head_words(options)) if word))


def pieces_dxf(style: Style, options: PrintOptions, kind: Kind) -> bytes:
    """The pieces as a DXF file in mm: `r2000` with splines, `r12` with polylines."""
    return sheet_dxf(bare_sheet(style, options), style.title, options, kind)


def _by_layer(sheet: PatternSheet) -> Recorder:
    drawing = Recorder()
    for layer in dict.fromkeys(copy.layer_name for copy in sheet.copies):
        with group(drawing, f"layer:{layer or 'none'}"):
            for part in sheet.parts:
                if part.copy is not None and part.copy.layer_name == layer:
                    part.drawing.replay(drawing)
    return drawing
