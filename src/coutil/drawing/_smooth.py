"""A run of drawn spans as one smooth curve with few knots, within 0.1 mm of the drawing."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from shapely import LineString

from coutil.curves import Curve, fit_through
from coutil.drawing._corners import turn_between
from coutil.drawing._values import Bools, Floats

FIT_MM = 0.045  # With 0.01 of the polyline and 0.045 of a knot left out the curve stays within a tenth of a mm.
FLATTEN_MM = 0.01
STRAIGHT_MM = 0.05
KINK_DEG = 1.5  # A smaller turn at a node is no kink to anyone; patterns refuse 2 degrees.
MOST_KEPT = 40  # Spans of an edge drawn in curves; more are thinned by fitting.
MOST_STROKES = 400  # Points of a stroked edge that are fitted; more are thinned first.
FITS_MM = (FIT_MM, 0.03, 0.015)


def smooth_curve(spans: Floats, flat: Bools) -> Curve:
    """The curve of a drawn edge.

    Smooth cubics are kept as drawn, a straight run becomes one line, everything else is fitted within 0.1 mm.
    """
    if flat.all() and _is_straight(spans):
        return Curve.line(spans[0, 0], spans[-1, 3])
    if len(spans) <= MOST_KEPT and not _is_stroked(flat) and _sharpest(spans) <= KINK_DEG:
        return Curve.from_spans(spans)
    return _fitted(spans)


def _is_stroked(flat: Bools) -> bool:
    """Whether the run is drawn in short straight strokes that stand for a curve."""
    return bool((flat[1:] & flat[:-1]).any())


def _is_straight(spans: Floats) -> bool:
    return Curve.from_spans(spans).is_straight(STRAIGHT_MM)


def _sharpest(spans: Floats) -> float:
    return max((turn_between(a, b) for a, b in pairwise(spans)), default=0.0)


def _fitted(spans: Floats) -> Curve:
    """Fitted closely enough that no kink is left; the closest fit where some always is."""
    points = Curve.from_spans(spans).flatten(FLATTEN_MM)
    if len(points) > MOST_STROKES:
        points = np.asarray(LineString(points).simplify(FLATTEN_MM / 2).coords)
    curve = fit_through(points, FIT_MM)
    for tolerance in FITS_MM[1:]:
        if _sharpest(curve.spans) <= KINK_DEG:
            break
        curve = fit_through(points, tolerance)
    return curve
