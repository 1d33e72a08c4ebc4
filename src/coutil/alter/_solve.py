"""The solve: the smallest, smoothest displacement that meets every row.

Minimise z'Kz/2 subject to c(z) = 0 by Newton steps on the rows with the energy K kept (sequential quadratic
programming with a fixed Hessian): each step solves the small system (J K^-1 J' + slips) m = J z - c, z = K^-1 J' m.
K never changes, so it is factored once for a base and serves every client.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy import linalg

from coutil.alter._layout import Floats, Layout
from coutil.alter._rows import AngleRow, CollinearRow, Row
from coutil.alter._system import System

# Hard rows are met to this; half a millimetre is the limit of a pencil, so the rest is arithmetic's own.
RESIDUAL_MM = 1e-7
# The energy has settled when a step changes no node by more.
STEP_MM = 1e-4
MOST_STEPS = 100
# Relative size below which a direction of the small system is a duplicate row.
RANK_TOLERANCE = 1e-11
# Rows are scaled to one; this much is added so that stated-twice rows do not stop the factorisation.
DUPLICATE_SHIFT = 1e-13
# Steps that have not arrived by then swing about the answer: later ones go half and a quarter of the way.
CALM_AFTER = (12, 40)
# A step that would move a node further is shortened: a cubic that folds over has no use as a next guess.
LONGEST_STEP_MM = 60.0


@dataclass(frozen=True, slots=True)
class Solution:
    """Displacement z (2N,), the largest residual of a hard row (mm), every residual by row, and the steps taken."""

    z: Floats
    residual: float
    residuals: Floats
    rows: tuple[Row, ...]
    steps: int
    energy: float

    @property
    def is_met(self) -> bool:
        """Whether all hard rows hold."""
        return self.residual <= 1e-6


def solve(layout: Layout, rows: Sequence[Row], start: Floats | None = None) -> Solution:
    """Meet `rows` from displacement `start` (2N,) or from the base; never raises for rows that cannot be met."""
    system = System(layout, rows)
    z = np.zeros(2 * system.n) if start is None else start
    hard = system.slips == 0.0
    steps = 0
    residuals, jacobian = system.evaluate(z)
    for steps in range(1, MOST_STEPS + 1):
        target = _step(layout, system, z, residuals, jacobian)
        move = target - z
        longest = float(np.abs(_positions(layout, move)).max())
        z = z + move * _share_of_step(steps, longest)
        residuals, jacobian = system.evaluate(z)
        if not np.isfinite(residuals).all():
            break
        if longest < STEP_MM and np.abs(residuals[hard]).max(initial=0.0) < RESIDUAL_MM:
            break
    worst = float(np.abs(residuals[hard]).max(initial=0.0)) if np.isfinite(residuals).all() else float("inf")
    return Solution(z, worst, residuals, tuple(system.rows), steps, _energy(layout, z))


def _share_of_step(step: int, longest: float) -> float:
    calm = 0.5 ** sum(step > bound for bound in CALM_AFTER)
    return calm * min(1.0, LONGEST_STEP_MM / max(longest, 1e-12))


def _positions(layout: Layout, move: Floats) -> Floats:
    """Displacement of the control points (P, 2): what a step does on paper."""
    n = len(layout.nodes)
    return layout.to_points @ np.stack((move[:n], move[n:]), axis=1)


def _step(layout: Layout, system: System, z: Floats, residuals: Floats, jacobian: Floats) -> Floats:
    n = system.n
    pulled = np.hstack((jacobian[:, :n] @ layout.flexibility, jacobian[:, n:] @ layout.flexibility))
    small = pulled @ jacobian.T
    small[np.diag_indices_from(small)] += system.slips
    multipliers = solve_small(small, jacobian @ z - residuals)
    return multipliers @ pulled


def solve_small(small: Floats, right: Floats) -> Floats:
    """Solve the symmetric small system, duplicate rows allowed: Cholesky, or eigenvalues where that fails."""
    scale = 1.0 / np.sqrt(np.maximum(np.diag(small), 1e-300))
    scaled = small * scale[:, None] * scale
    scaled[np.diag_indices_from(scaled)] += DUPLICATE_SHIFT
    try:
        factor = linalg.cho_factor(scaled, lower=True, overwrite_a=False, check_finite=False)
    except linalg.LinAlgError:
        return np.asarray(scale * _by_eigenvalues(scaled, scale * right))
    return np.asarray(scale * linalg.cho_solve(factor, scale * right, check_finite=False))


def _by_eigenvalues(scaled: Floats, right: Floats) -> Floats:
    values, vectors = np.linalg.eigh(scaled)
    kept = values > RANK_TOLERANCE * values[-1]
    return np.asarray(vectors[:, kept] @ ((vectors[:, kept].T @ right) / values[kept]))


def _energy(layout: Layout, z: Floats) -> float:
    n = len(layout.nodes)
    return float(0.5 * (z[:n] @ layout.energy @ z[:n] + z[n:] @ layout.energy @ z[n:]))


def solve_gradually(layout: Layout, rows: Sequence[Row], parts: int, start: Floats | None = None) -> Solution:
    """Approach the targets in equal parts from where the base stands: for changes too large for one go."""
    here = System(layout, rows)
    now, _ = here.evaluate(np.zeros(2 * here.n) if start is None else start)
    solution = Solution(np.zeros(0), float("inf"), now, tuple(here.rows), 0, 0.0)
    z = start
    for part in range(1, parts + 1):
        rest = 1.0 - part / parts
        shifted = [_shifted(row, rest * gap) for row, gap in zip(here.rows, now, strict=True)]
        solution = solve(layout, shifted, z)
        z = solution.z
    return solution


def _shifted(row: Row, gap: float) -> Row:
    if isinstance(row, CollinearRow):
        return row
    if isinstance(row, AngleRow):
        return replace(row, target=row.target + gap / 100.0)
    return replace(row, target=row.target + gap)
