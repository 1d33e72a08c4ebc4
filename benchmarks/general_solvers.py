"""The last stage of an alteration as a problem for general optimisers: exact gradients, exact Jacobians.

Hard rows are equalities; soft rows are a penalty residual^2 / (2 slip) beside the displacement's energy, which is
what the project's own solve makes smallest.
"""

from __future__ import annotations

import time
import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import linalg, optimize

from coutil.alter._layout import Floats, Layout
from coutil.alter._rows import Row
from coutil.alter._system import System

# Relative to the largest diagonal of the pivoted QR of rows scaled to one: below it a row repeats others.
RANK_TOLERANCE = 1e-9
# Both optimisers are asked for what a pencil can show and a good deal more.
COST_TOLERANCE = 1e-9
TRUST_TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True)
class Outcome:
    """Seconds; the largest residual of all hard rows, mm; energy alone and with the penalty of the soft rows."""

    solver: str
    seconds: float
    residual: float
    energy: float
    cost: float
    steps: int
    said: str


class Problem:
    """Rows of one last stage; `kept` are the hard rows that do not repeat others at the base."""

    def __init__(self, layout: Layout, rows: Sequence[Row]) -> None:
        self.system = System(layout, rows)
        self.size = 2 * self.system.n
        self.hessian = np.kron(np.eye(2), layout.energy)
        # K = L L': in the unknowns y = L' z the energy is y'y / 2, as kind to an optimiser as can be.
        self.factor = np.linalg.cholesky(self.hessian)
        self.is_hard = self.system.slips == 0.0
        self.count, self.softs = int(self.is_hard.sum()), int((~self.is_hard).sum())
        self.weights = 1.0 / self.system.slips[~self.is_hard]
        self._at: Floats | None = None
        self._found: tuple[Floats, Floats] = (np.zeros(0), np.zeros((0, 0)))
        self.kept = independent_rows(self.rows(np.zeros(self.size))[1])

    def _evaluate(self, z: Floats) -> tuple[Floats, Floats]:
        """Residuals and Jacobian, worked out once for a point however often they are asked for."""
        if self._at is None or not np.array_equal(z, self._at):
            self._at, self._found = z.copy(), self.system.evaluate(z)
        return self._found

    def rows(self, z: Floats) -> tuple[Floats, Floats]:
        """Residuals and Jacobian of the hard rows."""
        residuals, jacobian = self._evaluate(z)
        return residuals[self.is_hard], jacobian[self.is_hard]

    def cost(self, z: Floats) -> float:
        """Energy and penalty."""
        slips = self._evaluate(z)[0][~self.is_hard]
        return self.energy(z) + float(0.5 * (self.weights * slips) @ slips)

    def gradient(self, z: Floats) -> Floats:
        """Of the cost, (2N,)."""
        residuals, jacobian = self._evaluate(z)
        soft = ~self.is_hard
        return np.asarray(self.hessian @ z + (self.weights * residuals[soft]) @ jacobian[soft])

    def curvature(self, z: Floats) -> Floats:
        """Of the cost without the bend of the soft rows themselves, (2N, 2N)."""
        soft = self._evaluate(z)[1][~self.is_hard]
        return np.asarray(self.hessian + (soft.T * self.weights) @ soft)

    def energy(self, z: Floats) -> float:
        """z'Kz / 2."""
        return float(0.5 * z @ self.hessian @ z)

    def unbalanced(self, z: Floats) -> float:
        """Share of the cost's gradient that the hard rows do not balance: 0 where no small change costs less."""
        gradient, jacobian = self.gradient(z), self.rows(z)[1]
        multipliers = np.linalg.lstsq(jacobian.T, gradient, rcond=None)[0]
        return float(np.linalg.norm(gradient - jacobian.T @ multipliers) / np.linalg.norm(gradient))

    def outcome(self, solver: str, seconds: float, z: Floats, steps: int, said: str) -> Outcome:
        """Judged by all hard rows, the ones taken out included."""
        worst = float(np.abs(self.rows(z)[0]).max())
        return Outcome(solver, seconds, worst, self.energy(z), self.cost(z), steps, said)


def independent_rows(jacobian: Floats) -> np.ndarray:
    """Indices of rows that do not depend on others, by a QR with pivoting of the rows scaled to one."""
    lengths = np.linalg.norm(jacobian, axis=1)
    scaled = jacobian / np.where(lengths > 0, lengths, 1.0)[:, None]
    upper, order = linalg.qr(scaled.T, mode="r", pivoting=True)
    diagonal = np.abs(np.diag(upper))
    return np.sort(order[: int((diagonal > RANK_TOLERANCE * diagonal[0]).sum())])


def slsqp(problem: Problem, most_steps: int, scaled: bool) -> Outcome:
    """All rows first; where it stops at repeated rows, again without them.  `scaled`: in unknowns of unit energy."""
    everything = np.arange(problem.count)
    name = "SLSQP, scaled unknowns" if scaled else "SLSQP"
    seconds, z, found = _slsqp(problem, everything, most_steps, scaled)
    said = f"; {found.message}"
    if "Singular" in found.message:
        said = f"; all rows: {found.message!r} after {seconds:.2f} s; repeated rows taken out: "
        seconds, z, found = _slsqp(problem, problem.kept, most_steps, scaled)
        said += found.message
    return problem.outcome(name, seconds, z, int(found.nit), said)


def _slsqp(problem: Problem, kept: np.ndarray, most_steps: int, scaled: bool) -> tuple[float, Floats, Any]:
    back = _back(problem, scaled)
    constraint = {
        "type": "eq",
        "fun": lambda y: problem.rows(back @ y)[0][kept],
        "jac": lambda y: problem.rows(back @ y)[1][kept] @ back,
    }
    seconds, found = _timed(
        lambda: optimize.minimize(
            lambda y: problem.cost(back @ y),
            np.zeros(problem.size),
            jac=lambda y: problem.gradient(back @ y) @ back,
            method="SLSQP",
            constraints=[constraint],
            options={"maxiter": most_steps, "ftol": COST_TOLERANCE},
        )
    )
    return seconds, back @ found.x, found


def _back(problem: Problem, scaled: bool) -> Floats:
    """The map from an optimiser's unknowns to displacements."""
    if not scaled:
        return np.eye(problem.size)
    return np.asarray(linalg.solve_triangular(problem.factor, np.eye(problem.size), lower=True, trans="T"))


def trust_constr(problem: Problem, most_steps: int, scaled: bool) -> Outcome:
    """Without the repeated rows and with the cost's curvature given; `scaled`: in unknowns of unit energy."""
    back, kept = _back(problem, scaled), problem.kept
    name = "trust-constr, scaled" if scaled else "trust-constr"
    constraint = optimize.NonlinearConstraint(
        lambda y: problem.rows(back @ y)[0][kept],
        0.0,
        0.0,
        jac=lambda y: problem.rows(back @ y)[1][kept] @ back,
        hess=optimize.BFGS(),
    )
    seconds, found = _timed(
        lambda: optimize.minimize(
            lambda y: problem.cost(back @ y),
            np.zeros(problem.size),
            jac=lambda y: problem.gradient(back @ y) @ back,
            hess=lambda y: back.T @ problem.curvature(back @ y) @ back,
            method="trust-constr",
            constraints=[constraint],
            options={"maxiter": most_steps, "gtol": TRUST_TOLERANCE, "xtol": 1e-10},
        )
    )
    said = f"; repeated rows taken out: {found.message}"
    return problem.outcome(name, seconds, back @ found.x, int(found.nit), said)


def _timed(work: Callable[[], Any]) -> tuple[float, Any]:
    start = time.perf_counter()
    with warnings.catch_warnings():
        # Advice on the optimiser's own approximations; how it ended is printed from its message.
        warnings.simplefilter("ignore")
        result = work()
    return time.perf_counter() - start, result
