"""The solve against a general optimiser: SciPy's SLSQP (D. Kraft, A software package for sequential quadratic
programming, DFVLR-FB 88-28, 1988), given the same rows, finds the same pattern.

The reference is prepared from the rows' residuals and derivatives alone: linear hard rows out of the unknowns,
unknowns scaled to unit energy, repeated rows out by a QR with pivoting.  None of that is shared with our solve.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import linalg, optimize

from coutil.alter import Alterer
from coutil.alter._differences import find_differences
from coutil.alter._layout import Layout
from coutil.alter._plan import Wishes
from coutil.alter._planning import make_plan
from coutil.alter._rows import LinearRow, Row
from coutil.alter._system import System
from coutil.draft import base_chart, draft_cupped

# A change of figures a client might bring, mm: small, so that the reference arrives within seconds.
CHANGES = {"bust_girth": 12, "underbust_girth": 6, "waist_girth": -8, "bust_point_separation": 6, "side_height": 5}
AGREED_MM = 0.01


@pytest.fixture(scope="module")
def solved() -> tuple[Layout, tuple[Row, ...], np.ndarray]:
    """A base laid out, the rows of a small alteration's last stage, and our displacement."""
    base = draft_cupped(base_chart(85, 14))
    chart = base.base_chart
    for key, change in CHANGES.items():
        chart = chart.with_value(key, chart[key] + change)
    alterer = Alterer(base)
    plan = make_plan(find_differences(base, chart, Wishes()), Wishes())
    staged = alterer.stages.run(plan.rows)
    return alterer.layout, staged.rows, staged.solution.z


def unknowns(system: System, energy: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The smoothest displacement that meets the linear hard rows, and free directions of unit energy."""
    residuals, jacobian = system.evaluate(np.zeros(2 * system.n))
    hard = np.array([isinstance(row, LinearRow) and row.slip == 0.0 for row in system.rows])
    fixed = -np.linalg.pinv(jacobian[hard]) @ residuals[hard]
    nulls = linalg.null_space(jacobian[hard], rcond=1e-10)
    factor = np.linalg.cholesky(nulls.T @ energy @ nulls)
    free = linalg.solve_triangular(factor, nulls.T, lower=True).T
    return fixed - free @ (free.T @ (energy @ fixed)), free


def independent(jacobian: np.ndarray) -> np.ndarray:
    """Rows that repeat no others."""
    upper, order = linalg.qr(jacobian.T, mode="r", pivoting=True)
    sizes = np.abs(np.diag(upper))
    return np.sort(order[: int((sizes > 1e-9 * sizes[0]).sum())])


def reference(layout: Layout, rows: tuple[Row, ...]) -> np.ndarray:
    """The displacement (2N,) of least energy and penalty that SLSQP finds."""
    system = System(layout, rows)
    energy = np.kron(np.eye(2), layout.energy)
    least, free = unknowns(system, energy)
    is_soft = system.slips > 0.0
    bent = np.array([row.slip == 0.0 and not isinstance(row, LinearRow) for row in system.rows])
    kept = np.flatnonzero(bent)[independent(system.evaluate(least)[1][bent] @ free)]

    def cost(y: np.ndarray) -> tuple[float, np.ndarray]:
        z = least + free @ y
        residuals, jacobian = system.evaluate(z)
        pulls = residuals[is_soft] / system.slips[is_soft]
        value = 0.5 * z @ energy @ z + 0.5 * pulls @ residuals[is_soft]
        return float(value), free.T @ (energy @ z + pulls @ jacobian[is_soft])

    found = optimize.minimize(
        cost,
        np.zeros(free.shape[1]),
        jac=True,
        method="SLSQP",
        constraints=[
            {
                "type": "eq",
                "fun": lambda y: system.evaluate(least + free @ y)[0][kept],
                "jac": lambda y: system.evaluate(least + free @ y)[1][kept] @ free,
            }
        ],
        options={"maxiter": 200, "ftol": 1e-9},
    )
    assert found.success, found.message
    return np.asarray(least + free @ found.x)


def test_the_general_optimiser_finds_the_same_pattern(
    solved: tuple[Layout, tuple[Row, ...], np.ndarray],
) -> None:
    layout, rows, ours = solved
    theirs = reference(layout, rows)
    moved = layout.to_points @ ours.reshape(2, -1).T
    apart = layout.to_points @ (ours - theirs).reshape(2, -1).T
    assert np.abs(moved).max() > 2.0
    assert np.abs(apart).max() <= AGREED_MM


def test_our_pattern_meets_every_hard_row_and_leaves_no_slope(
    solved: tuple[Layout, tuple[Row, ...], np.ndarray],
) -> None:
    """At a least cost under equalities the cost's gradient is a combination of theirs (Lagrange, 1788)."""
    layout, rows, z = solved
    system = System(layout, rows)
    residuals, jacobian = system.evaluate(z)
    hard = system.slips == 0.0
    pulls = residuals[~hard] / system.slips[~hard]
    gradient = np.kron(np.eye(2), layout.energy) @ z + pulls @ jacobian[~hard]
    multipliers = np.linalg.lstsq(jacobian[hard].T, gradient, rcond=None)[0]
    assert np.abs(residuals[hard]).max() <= 1e-6
    assert np.linalg.norm(gradient - jacobian[hard].T @ multipliers) <= 1e-6 * np.linalg.norm(gradient)


def test_first_and_second_derivatives_are_those_of_the_residuals(
    solved: tuple[Layout, tuple[Row, ...], np.ndarray],
) -> None:
    """Against central differences, in a few directions drawn from a fixed seed."""
    layout, rows, z = solved
    system, random = System(layout, rows), np.random.default_rng(3)
    weights = random.normal(size=system.set.count)
    first, second = system.set.bend_slots
    bent = system.set.bent(system.set.base + z, system.wanted)
    curvature = np.zeros((2 * system.n, 2 * system.n))
    np.add.at(curvature, (first, second), system.set.bends(bent, weights))
    jacobian = system.evaluate(z)[1]
    for _ in range(3):
        way = random.normal(size=2 * system.n)
        ahead, behind = (system.evaluate(z + step * way) for step in (1e-5, -1e-5))
        np.testing.assert_allclose(jacobian @ way, (ahead[0] - behind[0]) / 2e-5, atol=1e-6)
        turned = weights @ (ahead[1] - behind[1])[-system.set.count :] / 2e-5
        np.testing.assert_allclose(curvature @ way, turned, atol=1e-5 * np.abs(turned).max())
