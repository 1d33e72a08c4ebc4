"""PDF at true size: a pen that draws on a page in millimetres, and the layers a viewer can switch off.

A layer is an optional content group of the PDF standard (ISO 32000-1, 8.11): what lies between BDC and EMC
belongs to it.  The page writer knows no such groups, so `with_layers` enters them into the finished file.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

import numpy as np

from coutil.sheet._drawing import BLACK, CAPITALS_PER_EM, Anchor, Colour, Floats, Line, text_width
from coutil.sheet._fonts import face, shown, string_width

# 1 pt = 1/72 in, 1 in = 25.4 mm.
POINTS_PER_MM = 72 / 25.4

# The layers by the name they bear inside the file, in the order a viewer lists them.
LAYERS: Mapping[str, str] = MappingProxyType(
    {
        "Stitching": "Stitching line",
        "Cut": "Cut line",
        "Marks": "Marks",
        "Text": "Text",
        "Base": "Base pattern",
        "Joining": "Joining marks",
    }
)

# Which layer the groups of a drawing belong to, by the first word of the group's name.
LAYER_OF: Mapping[str, str] = MappingProxyType(
    {
        "stitching": "Stitching",
        "cut": "Cut",
        "base": "Base",
        "levels": "Marks",
        "grain": "Marks",
        "fold": "Marks",
        "notches": "Marks",
        "landmarks": "Marks",
        "bones": "Marks",
        "label": "Text",
        "level names": "Text",
        "joining": "Joining",
        "test line": "Joining",
    }
)


@dataclass(slots=True)
class PdfPen:
    """Draws on a reportlab canvas; (0, 0) is the canvas's own origin."""

    canvas: Any
    _open: list[bool] = field(default_factory=list)

    def begin_group(self, name: str) -> None:
        """See Pen.  Groups that LAYER_OF names lie on their layer; others leave no trace."""
        layer = LAYER_OF.get(name.partition(":")[0])
        self._open.append(layer is not None)
        if layer is not None:
            self.canvas.addLiteral(f"/OC /{layer} BDC")

    def end_group(self) -> None:
        """See Pen."""
        if self._open.pop():
            self.canvas.addLiteral("EMC")

    def curve(self, points: Floats, line: Line) -> None:
        """See Pen."""
        pt = points * POINTS_PER_MM
        spans = [f"{_numbers(span)} c" for span in pt[1:].reshape(-1, 6)]
        self._stroke([f"{_numbers(pt[0])} m", *spans], line)

    def polyline(self, points: Floats, line: Line, closed: bool = False) -> None:
        """See Pen."""
        pt = np.asarray(points, dtype=float) * POINTS_PER_MM
        strokes = [f"{_numbers(point)} l" for point in pt[1:]]
        self._stroke([f"{_numbers(pt[0])} m", *strokes, *(["h"] if closed else [])], line)

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
        """See Pen.  Letters are drawn narrower where they would need more than the room kept for a text."""
        drawn, size = shown(string), height / CAPITALS_PER_EM
        full = string_width(drawn, size)
        narrowed = min(1.0, text_width(string, height) / full) if full else 1.0
        left = {"start": 0.0, "middle": -0.5, "end": -1.0}[anchor] * full * narrowed
        self.canvas.saveState()
        self.canvas.translate(position[0] * POINTS_PER_MM, position[1] * POINTS_PER_MM)
        self.canvas.rotate(angle)
        self._write(left, drawn, size, narrowed, colour)
        self.canvas.restoreState()

    def _write(self, left: float, string: str, size: float, narrowed: float, colour: Colour) -> None:
        writing = self.canvas.beginText(left * POINTS_PER_MM, 0)
        writing.setFont(face(), size * POINTS_PER_MM)
        writing.setHorizScale(100 * narrowed)
        writing.setFillColorRGB(*_shares(colour))
        writing.textOut(string)
        self.canvas.drawText(writing)

    def _stroke(self, steps: list[str], line: Line) -> None:
        self.canvas.setLineWidth(line.width * POINTS_PER_MM)
        self.canvas.setDash([part * POINTS_PER_MM for part in line.dash])
        self.canvas.setStrokeColorRGB(*_shares(line.colour))
        # Written as the operators they are: the canvas's own path takes several times as long.
        self.canvas.addLiteral(" ".join([*steps, "S"]))


def _numbers(values: Floats) -> str:
    """Points on the page to a ten-thousandth, 0.00004 mm."""
    return " ".join([f"{value:.4f}" for value in values.tolist()])


def _shares(colour: Colour) -> tuple[float, float, float]:
    red, green, blue = colour
    return red / 255, green / 255, blue / 255


def with_layers(content: bytes, layers: Mapping[str, str]) -> bytes:
    """The file with these layers entered, all of them switched on; the same input gives the same bytes."""
    import pikepdf

    with pikepdf.open(io.BytesIO(content)) as pdf:
        groups = {
            name: pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name=title))
            for name, title in layers.items()
        }
        order = pikepdf.Array(list(groups.values()))
        shown_first = pikepdf.Dictionary(Order=order, ON=order, Name="As printed")
        pdf.Root.OCProperties = pikepdf.Dictionary(OCGs=order, D=shown_first)
        known = pdf.make_indirect(pikepdf.Dictionary({f"/{name}": group for name, group in groups.items()}))
        for page in pdf.pages:
            page.resources.Properties = known
        return _saved(pdf)


def _saved(pdf: Any) -> bytes:
    written = io.BytesIO()
    pdf.save(written, deterministic_id=True, min_version="1.5", compress_streams=True)
    return written.getvalue()
