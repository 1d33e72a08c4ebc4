"""Measurements: definitions, charts, units, plausibility, estimates.  Millimetres throughout."""

from coutil.measure._chart import Chart, How, Reading
from coutil.measure._definitions import MEASUREMENTS, Measurement
from coutil.measure._keys import measurement, split_key, title

__all__ = ["MEASUREMENTS", "Chart", "How", "Measurement", "Reading", "measurement", "split_key", "title"]
