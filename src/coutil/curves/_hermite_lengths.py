"""Lengths of many spans at once by the numbers a solver moves, with exact first and second derivatives.

A span's numbers are its start, the derivative there, its end and the derivative there, all by the curve's own
parameter over a width w: control points p, p + w d / 3, q - w e / 3, q.  Length = integral of |dB/dt|.
"""

from __future__ import annotations

import numpy as np

from coutil.curves._cubic import Floats
from coutil.curves._lengths import LEAST_SPEED, SLOPES, WEIGHTS

# Control points by (start, w/3 derivative, end, w/3 derivative).
_CONTROL = np.array([[1.0, 0, 0, 0], [1, 1, 0, 0], [0, 0, 1, -1], [0, 0, 1, 0]])
# dB/dt at the quadrature's nodes by the same four numbers, (24, 4), and products of two of them, (24, 16).
_SLOPES = SLOPES @ _CONTROL
_SLOPES_ACROSS = np.ascontiguousarray(_SLOPES.T)
_WEIGHTED = np.ascontiguousarray(WEIGHTS[:, None] * _SLOPES)
_WEIGHTED_PAIRS = (_WEIGHTED[:, :, None] * _SLOPES[:, None]).reshape(-1, 16)

Speeds = tuple[Floats, Floats, Floats]


class HermiteLengths:
    """Spans given by their control points (m, 4, 2) and widths (m,), to be displaced."""

    def __init__(self, spans: Floats, widths: Floats) -> None:
        ones = np.ones(len(widths))
        self._scale = np.stack((ones, widths / 3, ones, widths / 3), axis=1)
        self._scales = self._scale[:, :, None] * self._scale[:, None]
        self._x, self._y = spans[:, :, 0] @ SLOPES.T, spans[:, :, 1] @ SLOPES.T

    def evaluate(self, x: Floats, y: Floats) -> tuple[Floats, Floats, Speeds]:
        """Lengths (m,) and gradient (m, 8) with the numbers displaced by x and y (m, 4), x before y.

        The third value is what `bends` needs.
        """
        ux = self._x + (x * self._scale) @ _SLOPES_ACROSS
        uy = self._y + (y * self._scale) @ _SLOPES_ACROSS
        speed = np.sqrt(ux * ux + uy * uy)
        lengths = speed @ WEIGHTS
        np.maximum(speed, LEAST_SPEED, out=speed)
        ux /= speed
        uy /= speed
        gradient = np.concatenate(((ux @ _WEIGHTED) * self._scale, (uy @ _WEIGHTED) * self._scale), axis=1)
        return lengths, gradient, (ux, uy, speed)

    def bends(self, speeds: Speeds, weights: Floats) -> Floats:
        """Second derivatives of weight * length, (m, 8, 8): only what stands across the curve bends a length."""
        ux, uy, speed = speeds
        across = weights[:, None] / speed
        ax, ay = across * ux, across * uy
        found = np.empty((len(weights), 2, 4, 2, 4))
        found[:, 0, :, 0] = self._pairs(ay * uy)
        found[:, 1, :, 1] = self._pairs(ax * ux)
        found[:, 0, :, 1] = found[:, 1, :, 0] = self._pairs(-ax * uy)
        return found.reshape(-1, 8, 8)

    def _pairs(self, by_node: Floats) -> Floats:
        return np.asarray((by_node @ _WEIGHTED_PAIRS).reshape(-1, 4, 4) * self._scales)
