"""Arc length of cubic spans and its gradient: a fast batch for solvers, an adaptive one for measuring.

Length = integral of |dB/dt| over 0..1, by Gauss-Legendre quadrature (Abramowitz and Stegun 25.4.30).  The
gradient is the exact derivative of that sum, so a solver's residual and its Jacobian belong to one function.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from coutil.curves._cubic import Floats, Ints, derivatives, halves

# 24 nodes reach rounding on curves as flat as a pattern's; measured lengths divide spans that need more.
NODES = 24

# Two orders that agree to this part of the span's polygon leave far less than a thousandth of 1e-9 mm.
LENGTH_TOLERANCE = 1e-13

# A cusp halves its share at every division: 2**-40 of a span is beyond a double's digits.
MOST_DIVISIONS = 40

# The speed of a cubic has at most two minima, each in one part or on the border of two.  More parts that do
# not agree are divided rounding, not geometry.
MOST_OPEN_PARTS = 8

# Bisection alone ends a bracket's digits in 53 steps; Newton's method mostly needs four.
MOST_STEPS = 60

_ABSCISSAE, _GAUSS = np.polynomial.legendre.leggauss(NODES)
_T = 0.5 * (_ABSCISSAE + 1)
WEIGHTS = 0.5 * _GAUSS
# Bernstein derivative at the nodes as one matrix: dB/dt = SLOPES @ control points, shape (24, 4).
SLOPES = np.stack(
    (
        -3 * (1 - _T) ** 2,
        3 * (1 - _T) ** 2 - 6 * (1 - _T) * _T,
        6 * (1 - _T) * _T - 3 * _T**2,
        3 * _T**2,
    ),
    axis=1,
)
_SLOPES_ACROSS = np.ascontiguousarray(SLOPES.T)
_WEIGHTED_SLOPES = np.ascontiguousarray(WEIGHTS[:, None] * SLOPES)
# Keeps 0 / 0 out of the gradient of a span that is a single point; no real speed is as small.
LEAST_SPEED = 1e-150
# Control points of the first and the second half of a span, as matrices on its four points.
_FIRST_HALF = np.array([[8, 0, 0, 0], [4, 4, 0, 0], [2, 4, 2, 0], [1, 3, 3, 1]]) / 8
_SECOND_HALF = np.ascontiguousarray(_FIRST_HALF[::-1, ::-1])
_BOTH_HALVES = np.concatenate((_FIRST_HALF, _SECOND_HALF))


def span_lengths(spans: Floats) -> Floats:
    """Arc length in mm of each span, (m, 4, 2) to (m,).

    One fixed quadrature without checks, for solvers: exact to 1e-9 for curves as flat as a pattern's, less
    near a cusp or a hairpin.
    """
    x = spans[:, :, 0] @ _SLOPES_ACROSS
    y = spans[:, :, 1] @ _SLOPES_ACROSS
    x *= x
    y *= y
    x += y
    return np.asarray(np.sqrt(x, out=x) @ WEIGHTS)


def span_lengths_and_gradient(spans: Floats) -> tuple[Floats, Floats]:
    """Arc length of each span, (m,), and its gradient by the four control points, (m, 4, 2), mm per mm.

    The gradient of a span that is a single point is given as zero: the length has no derivative there.
    """
    x = spans[:, :, 0] @ _SLOPES_ACROSS
    y = spans[:, :, 1] @ _SLOPES_ACROSS
    speed = x * x
    speed += y * y
    np.sqrt(speed, out=speed)
    lengths = speed @ WEIGHTS
    np.maximum(speed, LEAST_SPEED, out=speed)
    x /= speed
    y /= speed
    gradient = np.empty(spans.shape)
    gradient[:, :, 0] = x @ _WEIGHTED_SLOPES
    gradient[:, :, 1] = y @ _WEIGHTED_SLOPES
    return lengths, gradient


def measured_lengths(spans: Floats) -> Floats:
    """Arc length of each span, (m,), to 1e-9 relative or better even with cusps: divided until two orders
    agree.
    """
    coarse, agreed = _agreement(spans)
    if agreed.all():
        return coarse
    owner, maps = _smooth_parts(spans)
    parts = span_lengths(maps @ (spans - spans[:, :1])[owner])
    return np.asarray(np.bincount(owner, weights=parts, minlength=len(spans)), dtype=float)


def _agreement(spans: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """Length of each span by one quadrature, and whether that of its halves agrees."""
    spans = spans - spans[:, :1]
    legs = spans[:, 1:] - spans[:, :-1]
    allowed = LENGTH_TOLERANCE * np.sqrt((legs * legs).sum(axis=2)).sum(axis=1)
    coarse = span_lengths(spans)
    fine = span_lengths((_BOTH_HALVES @ spans).reshape(-1, 4, 2)).reshape(-1, 2).sum(axis=1)
    return coarse, np.abs(coarse - fine) <= allowed


def measured_gradient(spans: Floats) -> Floats:
    """Gradient of `measured_lengths` by the control points, (m, 4, 2)."""
    owner, maps = _smooth_parts(spans)
    _, of_parts = span_lengths_and_gradient(maps @ spans[owner])
    gradient = np.zeros(spans.shape)
    np.add.at(gradient, owner, maps.transpose(0, 2, 1) @ of_parts)
    return gradient


def _smooth_parts(spans: Floats) -> tuple[Ints, Floats]:
    """Parts on which one quadrature is exact: the span each belongs to, (k,), its points as a map, (k, 4,
    4).
    """
    # Measured from each span's start, so that a short span far from the origin keeps its digits.
    spans = spans - spans[:, :1]
    allowed = LENGTH_TOLERANCE * np.linalg.norm(np.diff(spans, axis=1), axis=2).sum(axis=1)
    owner: Ints = np.arange(len(spans))
    maps = np.broadcast_to(np.eye(4), (len(spans), 4, 4))
    coarse = span_lengths(spans)
    owners, done = [], []
    for _ in range(MOST_DIVISIONS):
        finer = np.stack((_FIRST_HALF @ maps, _SECOND_HALF @ maps), axis=1)
        fine = span_lengths((finer @ spans[owner][:, None]).reshape(-1, 4, 2)).reshape(-1, 2)
        open_ = np.abs(coarse - fine.sum(axis=1)) > allowed[owner]
        owners.append(owner[~open_])
        done.append(maps[~open_])
        owner, maps, coarse = np.repeat(owner[open_], 2), finer[open_].reshape(-1, 4, 4), fine[open_].ravel()
        if not 0 < len(owner) <= MOST_OPEN_PARTS * len(spans):
            break
    return np.concatenate((*owners, owner)), np.concatenate((*done, maps))


def lengths_up_to(spans: Floats, t: Floats) -> Floats:
    """Arc length of each span from its start to its t, shape (m,), mm."""
    return measured_lengths(halves(spans - spans[:, :1], t)[0])


def parameters_at(spans: Floats, lengths: Floats, along: Floats, tolerance: float) -> Floats:
    """The t at which each span has run `along` mm from its start, to `tolerance` mm; `lengths` are whole
    ones.

    Newton's method on the arc length, with bisection wherever it would leave the bracket (near a cusp).
    """
    spans = spans - spans[:, :1]
    # A part of a span is never harder to measure than the whole, so one look decides how carefully to
    # measure.
    measure = span_lengths if _agreement(spans)[1].all() else measured_lengths
    t = np.clip(along / np.where(lengths > 0, lengths, 1), 0, 1)
    low, high = np.zeros_like(t), np.ones_like(t)
    for _ in range(MOST_STEPS):
        excess = measure(halves(spans, t)[0]) - along
        far = np.abs(excess) > tolerance
        if not far.any():
            break
        low, high = np.where(excess < 0, t, low), np.where(excess > 0, t, high)
        speed = np.linalg.norm(derivatives(spans, t), axis=1)
        step = t - excess / np.maximum(speed, LEAST_SPEED)
        newton = np.where((step > low) & (step < high), step, 0.5 * (low + high))
        t = np.where(far, newton, t)
    return t
