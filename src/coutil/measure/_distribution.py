"""What the surveyed bodies expect of each reading, given the others of the same chart.

A normal model: the readings of a body have the survey's means and covariances, widened by the spread with
which two makers would choose levels and lay the tape.  The expectation of one reading given the others is the
linear regression on them; with P the inverse of the covariance and r the readings less their means, reading i
lies (P r)_i / sqrt(P_ii) residual standard deviations off (the usual conditional normal formulas).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from coutil.measure._bodies import COVARIANCE, KEYS, MEANS
from coutil.measure._chart import Chart
from coutil.measure._definitions import MEASUREMENTS

# Standard deviation (mm) added to the survey's: its bodies are smoother than real ones, its levels exact.
WIDENING = {"girth": 15.0, "front_arc": 15.0, "length": 8.0, "height": 8.0}


@dataclass(frozen=True, slots=True)
class Expectation:
    """One reading (mm), what the others expect of it, and the residual standard deviation (mm)."""

    found: float
    expected: float
    deviation: float

    @property
    def off(self) -> float:
        """Signed distance in residual standard deviations."""
        return (self.found - self.expected) / self.deviation


def surveyed(chart: Chart) -> dict[str, float]:
    """The readings (mm) that the survey knows, by stem."""
    values = {key: chart.get(key) for key in KEYS}
    return {key: value for key, value in values.items() if value is not None}


def expectations(values: Mapping[str, float]) -> dict[str, Expectation]:
    """Each reading against all the others in `values` (mm, by stem)."""
    if not values:
        return {}
    precision, residual = _model(values)
    deviations = 1 / np.sqrt(np.diag(precision))
    misses = precision @ residual * deviations**2
    found = zip(values.items(), misses, deviations, strict=True)
    return {k: Expectation(value, value - float(miss), float(sd)) for (k, value), miss, sd in found}


def misfit(values: Mapping[str, float]) -> tuple[np.ndarray, np.ndarray, float]:
    """P (n, n), the inverse of the readings' covariance, P r, (n,), and r'Pr; r are the readings less their means.

    The last is their squared distance from the surveyed bodies, about their number for an ordinary body.
    """
    precision, residual = _model(values)
    pull = precision @ residual
    return precision, pull, float(residual @ pull)


def scaled(values: Mapping[str, float], keys: Collection[str], factor: float) -> dict[str, float]:
    """The readings with some of them multiplied."""
    return {k: value * factor if k in keys else value for k, value in values.items()}


def _model(values: Mapping[str, float]) -> tuple[np.ndarray, np.ndarray]:
    """The inverse covariance of the readings, shape (n, n), and their distance from the mean, (n,)."""
    precision, means = _precision(tuple(values))
    return precision, np.array(list(values.values())) - means


@lru_cache(maxsize=64)  # One chart asks for the same few sets of keys some hundred times.
def _precision(keys: tuple[str, ...]) -> tuple[np.ndarray, np.ndarray]:
    at = [KEYS.index(key) for key in keys]
    return np.linalg.inv(_WIDENED[np.ix_(at, at)]), np.array(MEANS)[at]


def _widened() -> np.ndarray:
    lower = np.zeros((len(KEYS), len(KEYS)))
    for row, entries in enumerate(COVARIANCE):
        lower[row, : len(entries)] = entries
    own = np.diag([WIDENING[MEASUREMENTS[key].kind] ** 2 for key in KEYS])
    whole: np.ndarray = lower + np.tril(lower, -1).T + own
    return whole


_WIDENED = _widened()
