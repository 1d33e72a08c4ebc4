"""Curves generated for property tests: edges as a pattern has them, and bent ones."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import strategies as st

from coutil.curves import Curve

coordinates = st.floats(-300, 300, allow_nan=False).map(lambda x: round(x, 3))
points = st.tuples(coordinates, coordinates)
fractions = st.floats(0, 1)


@st.composite
def edges(draw: st.DrawFn) -> Curve:
    """A C1 curve of one to four spans running roughly upwards, as a panel seam does."""
    n = draw(st.integers(1, 4))
    widths = np.array(draw(st.lists(st.floats(15, 120), min_size=n, max_size=n)))
    slopes = np.radians(draw(st.lists(st.floats(50, 130), min_size=n + 1, max_size=n + 1)))
    sway = np.array(draw(st.lists(st.floats(-15, 15), min_size=n + 1, max_size=n + 1)))
    heights = np.concatenate(([0.0], np.cumsum(widths)))
    tangents = np.stack((np.cos(slopes), np.sin(slopes)), axis=1)
    return Curve.from_hermite(np.stack((sway, heights), axis=1), tangents, widths)


@st.composite
def bent(draw: st.DrawFn) -> Curve:
    """One to three spans with handles anywhere: loops, hairpins and near cusps."""
    n = draw(st.integers(1, 3))
    given = draw(st.lists(points, min_size=3 * n + 1, max_size=3 * n + 1).filter(lambda p: len(set(p)) > 1))
    return Curve(np.array(given))


def quarter_circle(radius: float = 1.0) -> Curve:
    """The usual cubic for a quarter circle from (r, 0) to (0, r); its radius is at most 0.0273 % too long."""
    k = radius * 4 / 3 * math.tan(math.pi / 8)
    return Curve(np.array([(radius, 0), (radius, k), (k, radius), (0, radius)]))


def random_edge(rng: np.random.Generator, n: int = 3) -> Curve:
    """A C1 curve of n spans with the slopes and span lengths of a pattern's edge."""
    widths = rng.uniform(20, 120, n)
    heights = np.concatenate(([0.0], np.cumsum(widths)))
    slopes = rng.uniform(math.radians(55), math.radians(125), n + 1)
    knots = np.stack((rng.uniform(-15, 15, n + 1), heights), axis=1)
    return Curve.from_hermite(knots, np.stack((np.cos(slopes), np.sin(slopes)), axis=1), widths)
