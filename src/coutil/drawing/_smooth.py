"""A run of drawn spans as one smooth curve with few knots, within 0.1 mm of the drawing."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from shapely import LineString

from coutil.curves import Curve, fit_through
from coutil.drawing._corners import turn_between
from coutil.drawing._values import Bools, Floats
from coutil.errors import BadInput

FIT_MM = 0.045  # With 0.01 of the polyline and 0.045 of a knot left out the curve stays within a tenth of a mm.
FLATTEN_MM = 0.01
STRAIGHT_MM = 0.05
KINK_DEG = 1.5  # A smaller turn at a node is no kink to anyone; patterns refuse 2 degrees.
MOST_KEPT = 40  # Spans of an edge drawn in curves; more are thinned by fitting.
MOST_STROKES = 400  # Points of a stroked edge that are fitted; more are thinned first.
MOST_FITTED = 2000  # After thinning; half a metre drawn by a shaky hand has some hundreds.
FITS_MM = (FIT_MM, 0.03, 0.015)
# A traced line shakes: fitted more closely than that, the curve would follow the shaking and be too long.  Five times
# its spread reaches every point; half a millimetre is the most that can be seen on paper.
LEAST_SHAKEN = 12  # Points; of fewer nothing can be said.
SHAKES_FOLLOWED, MOST_SHAKEN_MM = 5.0, 0.5


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
    if len(points) > MOST_FITTED:
        raise BadInput(
            f"An edge of {len(spans)} strokes turns at more than {MOST_FITTED} places, which no seam does: simplify "
            "that line in the drawing program."
        )
    loose = min(SHAKES_FOLLOWED * shake(points), MOST_SHAKEN_MM)
    if loose > FIT_MM:
        return fit_through(points, loose)
    curve = fit_through(points, FIT_MM)
    for tolerance in FITS_MM[1:]:
        if _sharpest(curve.spans) <= KINK_DEG:
            break
        curve = fit_through(points, tolerance)
    return curve


def shake(points: Floats) -> float:
    """The spread of a polyline's points to either side of the line they stand for, mm; 0 for a line drawn by rule.

    Each point is compared with the cubic through two neighbours on either side, by length along the line.  Between
    even neighbours a point's own error e and theirs give e - 4/6 (a + b) + 1/6 (c + d), which spreads by the square
    root of 1 + 34/36, 1.394 times as much; the median keeps corners out.
    """
    if len(points) < LEAST_SHAKEN:
        return 0.0
    along = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))))
    places = np.stack([along[k : len(along) - 4 + k] for k in (0, 1, 3, 4)], axis=1)
    at, weights = along[2:-2], np.ones((len(along) - 4, 4))
    for i in range(4):
        for j in range(4):
            if i != j:
                weights[:, i] *= (at - places[:, j]) / (places[:, i] - places[:, j])
    around = np.stack([points[k : len(points) - 4 + k] for k in (0, 1, 3, 4)], axis=1)
    missed = points[2:-2] - np.einsum("ni,nij->nj", weights, around)
    ways = points[3:-1] - points[1:-3]
    normals = np.stack((-ways[:, 1], ways[:, 0]), axis=1) / np.maximum(np.linalg.norm(ways, axis=1), 1e-9)[:, None]
    aside = np.abs((missed * normals).sum(axis=1))
    return float(np.median(aside)) / (0.6745 * math.sqrt(1 + 34 / 36))
