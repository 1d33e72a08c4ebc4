"""Base styles drafted from a chart."""

from coutil.draft._charts import CUPS_CM, UNDERBUSTS_CM, base_chart
from coutil.draft._cupped import draft_cupped
from coutil.draft._order import Width, garment_widths, usual_fit
from coutil.draft._panel_charts import PANELLED_CUPS_CM, PANELLED_UNDERBUSTS_CM, WAISTS_CM, panelled_chart, waist_chart
from coutil.draft._panelled import draft_panelled
from coutil.draft._styles import STYLES, StyleKind, style_kind
from coutil.draft._variants import BACKS, FRONTS, NECKLINES, PLAIN, Variant
from coutil.draft._waist_corset import draft_waist_corset

__all__ = [
    "BACKS",
    "CUPS_CM",
    "FRONTS",
    "NECKLINES",
    "PANELLED_CUPS_CM",
    "PANELLED_UNDERBUSTS_CM",
    "PLAIN",
    "STYLES",
    "UNDERBUSTS_CM",
    "WAISTS_CM",
    "StyleKind",
    "Variant",
    "Width",
    "base_chart",
    "draft_cupped",
    "draft_panelled",
    "draft_waist_corset",
    "garment_widths",
    "panelled_chart",
    "style_kind",
    "usual_fit",
    "waist_chart",
]
