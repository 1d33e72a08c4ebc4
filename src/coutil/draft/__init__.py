"""Base styles drafted from a chart."""

from coutil.draft._charts import CUPS_CM, UNDERBUSTS_CM, base_chart
from coutil.draft._cupped import draft_cupped
from coutil.draft._order import Width, garment_widths, usual_fit

__all__ = [
    "CUPS_CM",
    "UNDERBUSTS_CM",
    "Width",
    "base_chart",
    "draft_cupped",
    "garment_widths",
    "usual_fit",
]
