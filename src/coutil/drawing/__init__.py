"""Drawings in and out: SVG and DXF read as styles with a proposal of what is what, and styles written back."""

from coutil.drawing._assemble import import_drawing, read_drawing
from coutil.drawing._own_chart import fitted, own_chart, usual_gap
from coutil.drawing._sure import Certainty, Imported
from coutil.drawing._values import LARGEST_DRAWING, Drawing, DrawnLine, DrawnPoint, DrawnText
from coutil.drawing._write import Exported, export_dxf, export_svg

__all__ = [
    "LARGEST_DRAWING",
    "Certainty",
    "Drawing",
    "DrawnLine",
    "DrawnPoint",
    "DrawnText",
    "Exported",
    "Imported",
    "export_dxf",
    "export_svg",
    "fitted",
    "import_drawing",
    "own_chart",
    "read_drawing",
    "usual_gap",
]
