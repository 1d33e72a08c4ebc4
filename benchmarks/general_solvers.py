"""The last stage of an alteration as a problem for general optimisers, prepared as kindly as the problem allows.

Hard rows are equalities; soft rows are a penalty residual^2 / (2 slip) beside the displacement's energy, which is
what the project's own solve makes smallest.  In the plain unknowns the optimisers get stuck, so they do not get those:
- `Scaled`: unknowns in which the energy, with the linear soft rows, is a plain sum of squares;
- `Reduced`: the same, and the linear hard rows taken out of the unknowns, so that only rows that bend are equalities.
In both, rows that repeat others are taken out by a pivoted QR of the Jacobian, the start is the smoothest displacement
that meets the linear rows, first derivatives are exact, and `trust-constr` has exact second ones too.  All of that is
worked out here anew, outside the time that is measured, from the rows' residuals and derivatives alone.
"""

from __future__ import annotations

import time
import warnings
from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import linalg, optimize

from coutil.alter._layout import Floats, Ints, Layout
from coutil.alter._rows import LinearRow, Row
from coutil.alter._system import System

# Relative to the largest diagonal of the pivoted QR of rows scaled to one: below it a row repeats others.
RANK_TOLERANCE = 1e-9
# Both optimisers are asked for hard rows within 1e-6 mm, as our solve promises.
COST_TOLERANCE = 1e-10
TRUST_TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True)
class Outcome:
    """Seconds of processor time; the largest residual of all hard rows, mm; energy with the penalty; z (2N,)."""

    solver: str
    seconds: float
    residual: float
    cost: float
    steps: int
    z: Floats
    said: str


class Problem(ABC):
    """Rows of one stage in unknowns y: displacement z = `offset` + `spread` @ y, to be started at `start`.

    `kept` are the equalities: hard rows that do not repeat others.
    """

    words = ""

    def __init__(self, layout: Layout, rows: Sequence[Row]) -> None:
        self.system = System(layout, rows)
        self.energy_of = np.kron(np.eye(2), layout.energy)
        self.slips = self.system.slips
        self.is_linear = np.array([isinstance(row, LinearRow) for row in self.system.rows])
        self.is_hard = self.slips == 0.0
        residuals, jacobian = self.system.evaluate(np.zeros(2 * self.system.n))
        soft = ~self.is_hard & self.is_linear
        weights = 1.0 / self.slips[soft]
        hessian = self.energy_of + (jacobian[soft].T * weights) @ jacobian[soft]
        self.hessian, self.pull = hessian, -jacobian[soft].T @ (weights * residuals[soft])
        hard = self.is_hard & self.is_linear
        self.offset, self.spread, self.start, equalities = self._unknowns(residuals[hard], jacobian[hard])
        self.size, self.repeated = self.spread.shape[1], 0
        self._at: Floats | None = None
        self._found: tuple[Floats, Floats, Floats] = (np.zeros(0),) * 3
        self.kept = equalities[independent_rows(self._evaluate(self.start)[1][equalities])]
        self.repeated = len(equalities) - len(self.kept)

    @abstractmethod
    def _unknowns(self, residuals: Floats, jacobian: Floats) -> tuple[Floats, Floats, Floats, Ints]:
        """`offset`, `spread` and `start`, and the rows that are left as equalities; given the linear hard rows."""

    def smoothest(self, residuals: Floats, jacobian: Floats) -> tuple[Floats, Floats]:
        """The smoothest displacement that meets the linear rows, and free directions of unit energy."""
        fixed = -np.linalg.pinv(jacobian) @ residuals
        nulls = linalg.null_space(jacobian, rcond=1e-10)
        factor = np.linalg.cholesky(nulls.T @ self.hessian @ nulls)
        spread = linalg.solve_triangular(factor, nulls.T, lower=True).T
        return fixed + spread @ (spread.T @ (self.pull - self.hessian @ fixed)), np.ascontiguousarray(spread)

    def z(self, y: Floats) -> Floats:
        """Displacement (2N,)."""
        return np.asarray(self.offset + self.spread @ y)

    def _evaluate(self, y: Floats) -> tuple[Floats, Floats, Floats]:
        """Residuals, Jacobian by y, and z: worked out once for a point however often they are asked for."""
        if self._at is None or not np.array_equal(y, self._at):
            z = self.z(y)
            residuals, jacobian = self.system.evaluate(z)
            self._at, self._found = y.copy(), (residuals, jacobian @ self.spread, z)
        return self._found

    def rows(self, y: Floats) -> Floats:
        """Residuals of the kept rows."""
        return self._evaluate(y)[0][self.kept]

    def slopes(self, y: Floats) -> Floats:
        """Their Jacobian."""
        return self._evaluate(y)[1][self.kept]

    def cost(self, y: Floats) -> float:
        """Energy and the soft rows' penalty."""
        residuals, _, z = self._evaluate(y)
        soft = residuals[~self.is_hard]
        return float(0.5 * z @ self.energy_of @ z + 0.5 * (soft / self.slips[~self.is_hard]) @ soft)

    def gradient(self, y: Floats) -> Floats:
        """Of the cost by y."""
        residuals, jacobian, z = self._evaluate(y)
        soft = ~self.is_hard
        pulls = residuals[soft] / self.slips[soft]
        return np.asarray(self.spread.T @ (self.energy_of @ z) + pulls @ jacobian[soft])

    def curvature(self, y: Floats) -> Floats:
        """Second derivatives of the cost by y; those of the soft rows themselves are left out (they are slight)."""
        jacobian = self._evaluate(y)[1]
        soft = ~self.is_hard & ~self.is_linear
        return np.asarray(np.eye(self.size) + (jacobian[soft].T / self.slips[soft]) @ jacobian[soft])

    def bends(self, y: Floats, weights: Floats) -> Floats:
        """Second derivatives by y of the kept rows' weighted sum."""
        rows, size = self.system.set, 2 * self.system.n
        of_row = np.zeros(len(self.slips))
        of_row[self.kept] = weights
        bent = rows.bent(rows.base + self.z(y), self.system.wanted)
        first, second = rows.bend_slots
        flat = np.bincount(first * size + second, rows.bends(bent, of_row[~self.is_linear]), size * size)
        return np.asarray(self.spread.T @ flat.reshape(size, size) @ self.spread)

    def unbalanced(self, z: Floats) -> float:
        """Share of the cost's gradient at z that the hard rows do not balance: 0 where no small change costs less."""
        residuals, jacobian = self.system.evaluate(z)
        soft = ~self.is_hard
        gradient = self.energy_of @ z + (residuals[soft] / self.slips[soft]) @ jacobian[soft]
        multipliers = np.linalg.lstsq(jacobian[self.is_hard].T, gradient, rcond=None)[0]
        rest = gradient - jacobian[self.is_hard].T @ multipliers
        return float(np.linalg.norm(rest) / np.linalg.norm(gradient))

    def outcome(self, solver: str, seconds: float, z: Floats, steps: int, said: str) -> Outcome:
        """Judged by all hard rows, the ones taken out included."""
        residuals = self.system.evaluate(z)[0]
        soft = residuals[~self.is_hard]
        cost = float(0.5 * z @ self.energy_of @ z + 0.5 * (soft / self.slips[~self.is_hard]) @ soft)
        return Outcome(solver, seconds, float(np.abs(residuals[self.is_hard]).max()), cost, steps, z, said)


class Reduced(Problem):
    """Without the linear hard rows."""

    words = "linear rows taken out"

    def _unknowns(self, residuals: Floats, jacobian: Floats) -> tuple[Floats, Floats, Floats, Ints]:
        least, spread = self.smoothest(residuals, jacobian)
        return least, spread, np.zeros(spread.shape[1]), np.flatnonzero(self.is_hard & ~self.is_linear)


class Scaled(Problem):
    """With all hard rows as equalities."""

    words = "all hard rows"

    def _unknowns(self, residuals: Floats, jacobian: Floats) -> tuple[Floats, Floats, Floats, Ints]:
        factor = np.linalg.cholesky(self.hessian)
        spread = np.ascontiguousarray(linalg.solve_triangular(factor, np.eye(len(factor)), lower=True).T)
        start = factor.T @ self.smoothest(residuals, jacobian)[0]
        return np.zeros(len(factor)), spread, start, np.flatnonzero(self.is_hard)


def independent_rows(jacobian: Floats) -> np.ndarray:
    """Indices of rows that do not depend on others, by a QR with pivoting of the rows scaled to one."""
    lengths = np.linalg.norm(jacobian, axis=1)
    scaled = jacobian / np.where(lengths > 0, lengths, 1.0)[:, None]
    upper, order = linalg.qr(scaled.T, mode="r", pivoting=True)
    diagonal = np.abs(np.diag(upper))
    return np.sort(order[: int((diagonal > RANK_TOLERANCE * diagonal[0]).sum())])


def slsqp(problem: Problem, most_steps: int) -> Outcome:
    """Sequential least squares with its own estimate of the second derivatives."""
    seconds, found = _timed(
        lambda: optimize.minimize(
            problem.cost,
            problem.start,
            jac=problem.gradient,
            method="SLSQP",
            constraints=[{"type": "eq", "fun": problem.rows, "jac": problem.slopes}],
            options={"maxiter": most_steps, "ftol": COST_TOLERANCE},
        )
    )
    return problem.outcome(f"SLSQP, {problem.words}", seconds, problem.z(found.x), int(found.nit), str(found.message))


def trust_constr(problem: Problem, most_steps: int) -> Outcome:
    """A trust region with exact second derivatives of cost and rows."""
    rows = optimize.NonlinearConstraint(problem.rows, 0.0, 0.0, jac=problem.slopes, hess=problem.bends)
    seconds, found = _timed(
        lambda: optimize.minimize(
            problem.cost,
            problem.start,
            jac=problem.gradient,
            hess=problem.curvature,
            method="trust-constr",
            constraints=[rows],
            options={"maxiter": most_steps, "gtol": TRUST_TOLERANCE, "xtol": 1e-10},
        )
    )
    name = f"trust-constr, {problem.words}"
    return problem.outcome(name, seconds, problem.z(found.x), int(found.nit), str(found.message))


def _timed(work: Callable[[], Any]) -> tuple[float, Any]:
    start = time.process_time()
    with warnings.catch_warnings():
        # Advice on the optimiser's own approximations; how it ended is printed from its message.
        warnings.simplefilter("ignore")
        result = work()
    return time.process_time() - start, result
