"""Measurements: definitions, charts, units, plausibility, estimates.  Millimetres throughout."""

from coutil.measure._chart import Chart, How, Reading
from coutil.measure._complete import Completed, complete_chart
from coutil.measure._csv_text import chart_from_csv, chart_to_csv
from coutil.measure._data import chart_from_data, chart_to_data
from coutil.measure._definitions import MEASUREMENTS, Measurement
from coutil.measure._findings import ChartFinding
from coutil.measure._inspect import inspect_chart
from coutil.measure._keys import SIDES, Side, measurement, split_key, title
from coutil.measure._levels import LevelGirth, girth_at_depth
from coutil.measure._sizes import en_band, en_cup
from coutil.measure._survey import chart_from_survey_row
from coutil.measure._tape import (
    NOISE_GIRTH,
    NOISE_LENGTH,
    REDUCTION_MOST,
    ReductionLimit,
    noise,
    reduction_limit,
    technical_error,
)
from coutil.measure._text import (
    chart_from_json,
    chart_from_text,
    chart_from_toml,
    chart_to_json,
    chart_to_toml,
)
from coutil.measure._units import (
    INCH_FRACTION,
    UNITS,
    Unit,
    fine_figure,
    format_figure,
    format_length,
    inch_figure,
    parse_length,
    parse_unit,
)

__all__ = [
    "INCH_FRACTION",
    "MEASUREMENTS",
    "NOISE_GIRTH",
    "NOISE_LENGTH",
    "REDUCTION_MOST",
    "SIDES",
    "UNITS",
    "Chart",
    "ChartFinding",
    "Completed",
    "How",
    "LevelGirth",
    "Measurement",
    "Reading",
    "ReductionLimit",
    "Side",
    "Unit",
    "chart_from_csv",
    "chart_from_data",
    "chart_from_json",
    "chart_from_survey_row",
    "chart_from_text",
    "chart_from_toml",
    "chart_to_csv",
    "chart_to_data",
    "chart_to_json",
    "chart_to_toml",
    "complete_chart",
    "en_band",
    "en_cup",
    "fine_figure",
    "format_figure",
    "format_length",
    "girth_at_depth",
    "inch_figure",
    "inspect_chart",
    "measurement",
    "noise",
    "parse_length",
    "parse_unit",
    "reduction_limit",
    "split_key",
    "technical_error",
    "title",
]
