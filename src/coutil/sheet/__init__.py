"""Sheets: one drawing protocol; overview, tiled pattern and pieces as SVG, PDF and DXF, all at true size."""

from coutil.sheet._exports import pieces_dxf, pieces_svg
from coutil.sheet._guide_html import guide_html
from coutil.sheet._guide_pdf import guide_pdf
from coutil.sheet._lay_plan import lay_plan_pdf, lay_plan_svg
from coutil.sheet._overview import Heading, overview_svg
from coutil.sheet._paper import TOLERANCE_MM, is_true_to_size, measured_square, paper_of
from coutil.sheet._pattern_drawings import PatternDrawings, pattern_drawings
from coutil.sheet._pdf import print_pdf
from coutil.sheet._piece_label import MARKS, PrintOptions
from coutil.sheet._test_page import missing_in
from coutil.sheet._workroom_html import workroom_html
from coutil.sheet._workroom_pdf import workroom_pdf

__all__ = [
    "MARKS",
    "TOLERANCE_MM",
    "Heading",
    "PatternDrawings",
    "PrintOptions",
    "guide_html",
    "guide_pdf",
    "is_true_to_size",
    "lay_plan_pdf",
    "lay_plan_svg",
    "measured_square",
    "missing_in",
    "overview_svg",
    "paper_of",
    "pattern_drawings",
    "pieces_dxf",
    "pieces_svg",
    "print_pdf",
    "workroom_html",
    "workroom_pdf",
]
