"""Which readings of a chart the others contradict: the fewest without which the rest are of one body.

One wild reading drags the expectation of every other one, and two of them accuse the right ones.  So readings are not
judged one after another: of all sets of them the one is blamed that leaves the least strangeness, each of its readings
costing as much as an ordinary body may be off.  With P the inverse of the covariance and v = P r, leaving out a set S
lowers the squared distance by v_S' (P_SS)^-1 v_S (the usual formula for a marginal of a normal distribution).
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations

import numpy as np

from coutil.measure._distribution import misfit

UNLIKELY_DEVIATIONS = 3.5  # Residual standard deviations; about one reading in two thousand lies beyond.
COST = UNLIKELY_DEVIATIONS**2  # What a reading must make the rest less strange by, to be blamed.
TRIED_TOGETHER = 3  # Sets of so many are all tried; a further reading is only added to the best of them.

_Set = tuple[int, ...]


def contradicted(values: Mapping[str, float]) -> tuple[tuple[str, ...], float]:
    """The blamed readings (mm, by stem) and the cost: the strangeness of the rest plus COST for each.

    Never more than half of several readings are blamed by the others.
    """
    if not values:
        return (), 0.0
    precision, pull, whole = misfit(values)
    most = max(1, len(values) // 2)  # A single reading is judged by the surveyed bodies alone.
    best: _Set = ()
    gain = 0.0
    for size in range(1, min(TRIED_TOGETHER, most) + 1):
        best, gain = _better(precision, pull, list(combinations(range(len(pull)), size)), (best, gain))
    while len(best) < most:
        added = [(*best, k) for k in range(len(pull)) if k not in best]
        longer, more = _better(precision, pull, added, (best, gain))
        if longer == best:
            break
        best, gain = longer, more
    keys = tuple(values)
    return tuple(keys[k] for k in best), whole - gain


def _better(
    precision: np.ndarray, pull: np.ndarray, sets: list[_Set], found: tuple[_Set, float]
) -> tuple[_Set, float]:
    """The best set of one size and what leaving it out gains, less its cost; the one found before if that is better."""
    at = np.array(sets)
    own = pull[at]
    parts = precision[at[:, :, None], at[:, None, :]]
    gains = np.einsum("ni,ni->n", own, np.linalg.solve(parts, own[:, :, None])[:, :, 0]) - COST * at.shape[1]
    k = int(np.argmax(gains))
    return (sets[k], float(gains[k])) if gains[k] > found[1] else found
