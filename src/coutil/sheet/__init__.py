"""Sheets: one drawing protocol; the overview as SVG and the tiled pattern as PDF, both at true size."""

from coutil.sheet._lay_plan import lay_plan_pdf, lay_plan_svg
from coutil.sheet._overview import Heading, overview_svg
from coutil.sheet._pdf import print_pdf
from coutil.sheet._piece_label import PrintOptions
from coutil.sheet._workroom_html import workroom_html
from coutil.sheet._workroom_pdf import workroom_pdf

__all__ = [
    "Heading",
    "PrintOptions",
    "lay_plan_pdf",
    "lay_plan_svg",
    "overview_svg",
    "print_pdf",
    "workroom_html",
    "workroom_pdf",
]
