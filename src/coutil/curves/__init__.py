"""Curves: plane piecewise cubics, their lengths, crossings, turning and fitting.  Knows no garments."""

from coutil.curves._curve import Curve
from coutil.curves._fit import fit_through
from coutil.curves._hermite_lengths import HermiteLengths
from coutil.curves._lengths import span_lengths, span_lengths_and_gradient
from coutil.curves._queries import Closest, Crossing
from coutil.curves._splines import hermite_c2, join, length_gradient, smooth_through
from coutil.curves._steps import StepRun, runs_of_steps, step_turns
from coutil.curves._turning import Run, has_new_inflection, in_sight, turning_runs, turnings, visible_signs

__all__ = [
    "Closest",
    "Crossing",
    "Curve",
    "HermiteLengths",
    "Run",
    "StepRun",
    "fit_through",
    "has_new_inflection",
    "hermite_c2",
    "in_sight",
    "join",
    "length_gradient",
    "runs_of_steps",
    "smooth_through",
    "span_lengths",
    "span_lengths_and_gradient",
    "step_turns",
    "turning_runs",
    "turnings",
    "visible_signs",
]
