"""Sheets: one drawing protocol; the overview as SVG and the tiled pattern as PDF, both at true size."""

from coutil.sheet._overview import Heading, overview_svg
from coutil.sheet._pdf import print_pdf
from coutil.sheet._piece_label import PrintOptions

__all__ = ["Heading", "PrintOptions", "overview_svg", "print_pdf"]
