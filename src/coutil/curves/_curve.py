"""Curve: the one value of this room, a chain of cubic spans that share their knots."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Self

import numpy as np
from numpy.typing import ArrayLike

from coutil.curves._cubic import (
    NO_SPEED,
    Floats,
    Ints,
    cross,
    derivatives,
    halves,
    leaving_direction,
    points_on,
    second_derivatives,
)
from coutil.curves._lengths import lengths_up_to, measured_lengths, parameters_at
from coutil.curves._queries import (
    Closest,
    Crossing,
    extent,
    find_closest,
    find_crossings,
    lie_straight,
    polyline,
)
from coutil.errors import BadCurve

# A point asked for this little beyond an end is meant to be the end: sums of lengths carry rounding.
BEYOND_END_MM = 1e-6

# Two knots closer along the curve than this are one.
SAME_KNOT_MM = 1e-9

_FOUR = np.arange(4)

# Where a handle has no length the curvature is read this far inside the span, as a part of its parameter.
STEP_INSIDE = 1e-4


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A piecewise cubic: `points` (3n+1, 2) in mm are knot, handle, handle, knot, ... of n spans.

    The points are a read-only copy.  Raises BadCurve for a shape, number or length that no curve can have.
    Every place on it is given as `along`, the arc length from its start in mm.
    """

    points: Floats
    _known: dict[str, Floats] = field(init=False, repr=False, default_factory=dict)

    def __post_init__(self) -> None:
        """Checks and copies the points."""
        object.__setattr__(self, "points", _checked(self.points))

    @classmethod
    def line(cls, a: ArrayLike, b: ArrayLike, inner: Sequence[float] = ()) -> Self:
        """The straight curve from a to b, with knots also at the ascending fractions `inner` of the chord."""
        start, end = _pair(a), _pair(b)
        fractions = np.array([0.0, *inner, 1.0])
        if not np.all(np.diff(fractions) > 0):
            raise BadCurve(
                f"a line cannot have knots at {list(inner)}: give fractions ascending between 0 and 1"
            )
        steps = np.outer(np.diff(fractions), (0, 1 / 3, 2 / 3))
        thirds = np.append((fractions[:-1, None] + steps).ravel(), 1.0)
        return cls(start * (1 - thirds[:, None]) + end * thirds[:, None])

    @classmethod
    def from_hermite(cls, knots: ArrayLike, tangents: ArrayLike, widths: ArrayLike) -> Self:
        """The C1 curve through knots (n+1, 2) with derivatives `tangents` (n+1, 2) over parameter widths
        (n,).

        Each handle is its knot plus or minus a third of the width times the tangent.
        """
        p, d, w = (numbers(given) for given in (knots, tangents, widths))
        if p.ndim != 2 or p.shape != d.shape or w.shape != (len(p) - 1,) or np.any(w <= 0):
            raise BadCurve(
                f"a curve of {len(p)} knots needs as many tangents and {len(p) - 1} widths above 0"
            )
        reach = w[:, None] / 3
        spans = np.stack((p[:-1], p[:-1] + reach * d[:-1], p[1:] - reach * d[1:]), axis=1)
        return cls(np.concatenate((spans.reshape(-1, 2), p[-1:])))

    @classmethod
    def from_spans(cls, spans: ArrayLike) -> Self:
        """The curve of spans (n, 4, 2), each starting exactly where the one before ends (its start is
        used).
        """
        given = numbers(spans)
        return cls(np.concatenate((given[:, :3].reshape(-1, 2), given[-1:, 3])))

    @classmethod
    def cut_from(cls, points: Floats, bounds: Sequence[tuple[int, int]]) -> list[Self]:
        """Curves that are stretches (first point, past the last) of one array, which is checked at one go.

        The array is copied once.  Raises BadCurve as for single curves.
        """
        whole = np.array(points, dtype=float)
        whole.setflags(write=False)
        if not np.isfinite(whole).all():
            return [cls(whole[start:stop]) for start, stop in bounds]
        return [cls._unchecked(whole[start:stop]) for start, stop in bounds]

    @classmethod
    def _unchecked(cls, points: Floats) -> Self:
        """Of finite points that nobody can write to; those that need a second look are looked at."""
        if len(points) < 4 or len(points) % 3 != 1 or points[0].tolist() == points[-1].tolist():
            return cls(points)
        curve = cls.__new__(cls)
        object.__setattr__(curve, "points", points)
        object.__setattr__(curve, "_known", {})
        return curve

    def __eq__(self, other: object) -> bool:
        """Equal when every point is exactly equal."""
        if not isinstance(other, Curve):
            return NotImplemented
        return np.array_equal(self.points, other.points)

    def __hash__(self) -> int:
        """Equal curves have equal hashes (0.0 added so that -0.0 hashes as 0.0)."""
        return hash((self.points + 0.0).tobytes())

    @property
    def n_spans(self) -> int:
        """How many cubics the curve has."""
        return len(self.points) // 3

    @property
    def start(self) -> Floats:
        """The first point, shape (2,), mm."""
        return np.asarray(self.points[0])

    @property
    def end(self) -> Floats:
        """The last point, shape (2,), mm."""
        return np.asarray(self.points[-1])

    @property
    def knots(self) -> Floats:
        """The points that spans share and both ends, shape (n+1, 2), mm."""
        return np.asarray(self.points[::3])

    @property
    def spans(self) -> Floats:
        """The four control points of each span, shape (n, 4, 2)."""
        return np.asarray(self.points[3 * np.arange(self.n_spans)[:, None] + _FOUR])

    @property
    def length(self) -> float:
        """Arc length in mm, to 1e-9 relative even near a cusp."""
        return float(self.knot_lengths[-1])

    @property
    def span_lengths(self) -> Floats:
        """Arc length of each span, shape (n,), mm."""
        return self._remembered("span_lengths", lambda: measured_lengths(self.spans))

    @property
    def knot_lengths(self) -> Floats:
        """`along` of every knot, shape (n+1,), from 0 to the length, mm."""
        return self._remembered("knot_lengths", lambda: np.concatenate(([0.0], np.cumsum(self.span_lengths))))

    @property
    def parameters(self) -> Floats:
        """Parameter values of the knots, shape (n+1,), that make the curve C1 where its direction runs
        through.

        At each inner knot the next width is to the last as the outgoing handle is to the incoming one;
        where a handle has no length, as the spans' arc lengths.  The total equals the arc length.
        """
        return self._remembered("parameters", lambda: _matched_parameters(self))

    def _remembered(self, name: str, compute: Callable[[], Floats]) -> Floats:
        if name not in self._known:
            value = compute()
            value.setflags(write=False)
            self._known[name] = value
        return self._known[name]

    def reversed(self) -> Self:
        """The same run of points walked from the end to the start."""
        return type(self)(self.points[::-1])

    def moved(self, dx: float, dy: float) -> Self:
        """The curve shifted by (dx, dy) mm."""
        return type(self)(self.points + np.array([dx, dy]))

    def transformed(self, matrix: ArrayLike, shift: ArrayLike = (0.0, 0.0)) -> Self:
        """Every point p becomes matrix @ p + shift; `matrix` is (2, 2)."""
        return type(self)(self.points @ np.asarray(matrix, dtype=float).T + _pair(shift))

    def points_at(self, along: ArrayLike) -> Floats:
        """The points at several arc lengths at once, (m,) to (m, 2); raises BadCurve beyond the ends."""
        k, t = self._located(np.asarray(along, dtype=float))
        return points_on(self.spans[k], t)

    def point_at(self, along: float) -> Floats:
        """The point at that arc length from the start, shape (2,); raises BadCurve beyond the ends."""
        return np.asarray(self.points_at([along])[0])

    def tangent_at(self, along: float) -> Floats:
        """Unit tangent, shape (2,); at a knot the direction in which the curve leaves, at the end arrives."""
        k, t = self._located(np.array([along]))
        return leaving_direction(self.spans[k[0]], float(t[0]))

    def curvature_at(self, along: float) -> float:
        """Signed curvature in 1/mm, positive where the curve turns left; at a knot of the span it begins.

        Where a handle has no length the formula has no value, and the one just inside the span is given.
        """
        k, t = self._located(np.array([along]))
        span = self.spans[k]
        size = np.abs(span - span[:, :1]).max()
        if np.linalg.norm(derivatives(span, t)) <= NO_SPEED * size:
            t = t + np.where(t < 0.5, STEP_INSIDE, -STEP_INSIDE)
        velocity, bend = derivatives(span, t), second_derivatives(span, t)
        return float(cross(velocity, bend)[0] / np.linalg.norm(velocity) ** 3)

    def split(self, along: float) -> tuple[Self, Self]:
        """The parts before and after that arc length; raises BadCurve where one would have no length."""
        curve, knot = self.with_knot_at(along)
        if knot in (0, curve.n_spans):
            raise BadCurve(f"a curve {self.length:.3f} mm long cannot be divided at its end ({along:.3f} mm)")
        return type(self)(curve.points[: 3 * knot + 1]), type(self)(curve.points[3 * knot :])

    def with_knot_at(self, along: float) -> tuple[Self, int]:
        """The same curve with a knot at that arc length, and its index; a knot that is there already is
        used.
        """
        nearest = int(np.argmin(np.abs(self.knot_lengths - along)))
        if abs(self.knot_lengths[nearest] - along) <= SAME_KNOT_MM:
            return self, nearest
        k, t = self._located(np.array([along]))
        before, after = halves(self.spans[k], t)
        at = 3 * int(k[0])
        parts = (self.points[:at], before[0], after[0, 1:], self.points[at + 4 :])
        return type(self)(np.concatenate(parts)), int(k[0]) + 1

    def crossings(self, y: float) -> tuple[Crossing, ...]:
        """Where the curve meets the horizontal at y, sorted by `along`.

        A touch counts once, a meeting at a knot once, and a stretch that lies on the line gives its two ends.
        """
        return find_crossings(self.spans, self.knot_lengths, y)

    def closest(self, point: ArrayLike) -> Closest:
        """The nearest point of the curve."""
        return find_closest(self.spans, self.knot_lengths, _pair(point))

    def flatten(self, tolerance: float) -> Floats:
        """A polyline (m, 2) within `tolerance` mm of the curve, with every knot among its points."""
        if not tolerance > 0:
            raise BadCurve(f"a polyline cannot keep within {tolerance} mm: give a tolerance above 0")
        return polyline(self.spans, tolerance)

    def bounds(self) -> tuple[float, float, float, float]:
        """(xmin, ymin, xmax, ymax) of the curve itself, not of its handles, mm."""
        return extent(self.spans)

    def is_straight(self, tolerance: float) -> bool:
        """Whether the curve stays within `tolerance` mm of its chord and never runs back along it by more."""
        return lie_straight(self.spans, tolerance)

    def along_of(self, span: int, t: float) -> float:
        """The arc length at parameter t in 0..1 of a span, mm."""
        return float(self.knot_lengths[span] + lengths_up_to(self.spans[span : span + 1], np.array([t]))[0])

    def _located(self, along: Floats) -> tuple[Ints, Floats]:
        """Span and parameter of each arc length; at an inner knot the span that begins there."""
        total = self.length
        if not np.all((along >= -BEYOND_END_MM) & (along <= total + BEYOND_END_MM)):
            raise BadCurve(f"no point lies {np.ravel(along).tolist()} mm along a curve {total:.3f} mm long")
        within = np.clip(along, 0, total)
        k = np.clip(np.searchsorted(self.knot_lengths, within, side="right") - 1, 0, self.n_spans - 1)
        local = within - self.knot_lengths[k]
        return k, parameters_at(self.spans[k], self.span_lengths[k], local, tolerance=1e-13 * max(total, 1.0))


def _pair(given: ArrayLike) -> Floats:
    point = numbers(given)
    if point.shape != (2,) or not np.all(np.isfinite(point)):
        raise BadCurve(f"a point needs two finite numbers, x and y, not {given!r}")
    return point


def numbers(given: ArrayLike) -> Floats:
    """A fresh array of floats; raises BadCurve for text, gaps and ragged lists."""
    try:
        return np.array(given, dtype=float)
    except (TypeError, ValueError) as error:
        raise BadCurve(f"the points of a curve must be pairs of numbers ({error!s})") from error


def _checked(given: ArrayLike) -> Floats:
    points = numbers(given)
    if points.ndim != 2 or points.shape[1] != 2 or len(points) < 4 or len(points) % 3 != 1:
        raise BadCurve(f"a curve needs 4, 7, 10, ... points (x, y), not an array of shape {points.shape}")
    if not np.all(np.isfinite(points)):
        row = int(np.flatnonzero(~np.isfinite(points).all(axis=1))[0])
        raise BadCurve(f"point {row} of the curve is not finite ({points[row, 0]}, {points[row, 1]})")
    if np.all(points == points[0]):
        raise BadCurve(
            f"all points of the curve lie at ({points[0, 0]:g}, {points[0, 1]:g}): it has no length"
        )
    points.setflags(write=False)
    return points


def _matched_parameters(curve: Curve) -> Floats:
    arcs = curve.span_lengths
    handles = np.linalg.norm(np.diff(curve.points, axis=0), axis=1)
    arriving, leaving = handles[2:-1:3], handles[3::3]
    usable = np.minimum(arriving, leaving) > NO_SPEED * curve.length
    safe_arcs = np.maximum(arcs, NO_SPEED * curve.length)
    ratios = np.where(usable, leaving, safe_arcs[1:]) / np.where(usable, arriving, safe_arcs[:-1])
    widths = np.concatenate(([1.0], np.cumprod(ratios)))
    parameters = np.concatenate(([0.0], np.cumsum(widths)))
    return np.asarray(parameters * (curve.length / parameters[-1]))
