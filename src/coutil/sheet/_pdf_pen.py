"""PDF at true size: a pen that draws on a page in millimetres."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from coutil.sheet._drawing import BLACK, CAPITALS_PER_EM, Anchor, Colour, Floats, Line, text_width
from coutil.sheet._fonts import face, string_width

# 1 pt = 1/72 in, 1 in = 25.4 mm.
POINTS_PER_MM = 72 / 25.4


@dataclass(frozen=True, slots=True)
class PdfPen:
    """Draws on a reportlab canvas; (0, 0) is the canvas's own origin."""

    canvas: Any

    def begin_group(self, name: str) -> None:
        """See Pen.  A PDF page keeps no groups."""

    def end_group(self) -> None:
        """See Pen."""

    def curve(self, points: Floats, line: Line) -> None:
        """See Pen."""
        path, pt = self.canvas.beginPath(), points * POINTS_PER_MM
        path.moveTo(*map(float, pt[0]))
        for span in pt[1:].reshape(-1, 6):
            path.curveTo(*map(float, span))
        self._stroke(path, line)

    def polyline(self, points: Floats, line: Line, closed: bool = False) -> None:
        """See Pen."""
        path, pt = self.canvas.beginPath(), points * POINTS_PER_MM
        path.moveTo(*map(float, pt[0]))
        for point in pt[1:]:
            path.lineTo(*map(float, point))
        if closed:
            path.close()
        self._stroke(path, line)

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
        size = height / CAPITALS_PER_EM
        full = string_width(string, size)
        narrowed = min(1.0, text_width(string, height) / full) if full else 1.0
        left = {"start": 0.0, "middle": -0.5, "end": -1.0}[anchor] * full * narrowed
        self.canvas.saveState()
        self.canvas.translate(position[0] * POINTS_PER_MM, position[1] * POINTS_PER_MM)
        self.canvas.rotate(angle)
        self._write(left, string, size, narrowed, colour)
        self.canvas.restoreState()

    def _write(self, left: float, string: str, size: float, narrowed: float, colour: Colour) -> None:
        writing = self.canvas.beginText(left * POINTS_PER_MM, 0)
        writing.setFont(face(), size * POINTS_PER_MM)
        writing.setHorizScale(100 * narrowed)
        writing.setFillColorRGB(*_shares(colour))
        writing.textOut(string)
        self.canvas.drawText(writing)

    def _stroke(self, path: Any, line: Line) -> None:
        self.canvas.setLineWidth(line.width * POINTS_PER_MM)
        self.canvas.setDash([part * POINTS_PER_MM for part in line.dash])
        self.canvas.setStrokeColorRGB(*_shares(line.colour))
        self.canvas.drawPath(path, stroke=1, fill=0)


def _shares(colour: Colour) -> tuple[float, float, float]:
    red, green, blue = colour
    return red / 255, green / 255, blue / 255
