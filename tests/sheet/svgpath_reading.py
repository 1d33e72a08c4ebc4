"""A path of M, L, C and Z as its points, read by fontTools."""

import numpy as np
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path


def path_points(steps: str) -> np.ndarray:
    """All points in order, handles included."""
    pen = RecordingPen()
    parse_path(steps, pen)
    return np.array([point for _, points in pen.value for point in points], dtype=float)
