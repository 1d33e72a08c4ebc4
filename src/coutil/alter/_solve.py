"""The solve: the smoothest displacement that meets every row.

Minimise z'Kz/2 subject to c(z) = 0 by Newton's method on the conditions of least energy.  The linear rows are taken
out once for a base, so that w'w/2 is to be made least subject to the few rows that are not linear.  With their
first derivatives J and the bends' sum B = 1 - sum of m c'' (m the rows' pulls), a step solves

    (J B^-1 J' + slips) m = J B^-1 w - c,    w becomes w + B^-1 (J' m - w).

B falls into one small block a piece.  Without the bends (B = 1) the steps would swing where long seams pull hard.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from coutil.alter._condensed import Condensed, Group, condense
from coutil.alter._layout import Floats, Layout
from coutil.alter._parts import sums_at
from coutil.alter._rows import AngleRow, CollinearRow, Row
from coutil.alter._system import Bent, System

# Hard rows are met to this; half a millimetre is the limit of a pencil, so the rest is arithmetic's own.
RESIDUAL_MM = 1e-7
# The energy has settled when a step changes no control point by more.
STEP_MM = 1e-4
# The error after a step of Newton's method goes with the square of the step: 0.005 mm leaves some 1e-6.
NEWTON_STEP_MM = 5e-3
# Newton's method mostly needs six steps.  What has not arrived by then is tried again without the bends, patiently.
NEWTON_STEPS = 20
MOST_STEPS = 100
# Relative size below which a direction of the small system is a duplicate row.
RANK_TOLERANCE = 1e-11
# Rows are scaled to one; this much is added so that stated-twice rows do not stop the factorisation.
DUPLICATE_SHIFT = 1e-13
# A row that no free direction changes by more than a billionth of what one moves has nothing to solve: such is the
# length of a straight centre seam whose levels are all held.  Squared, as it stands in the small system.
SETTLED = 1e-18
# Steps that have not arrived by then swing about the answer: later ones go half and a quarter of the way.
CALM_AFTER = (12, 40)
# A step that would move a point further is shortened: a cubic that folds over has no use as a next guess.
LONGEST_STEP_MM = 60.0
# Where a block has directions that run downhill, they are taken as at least this stiff (1 without bends) ...
LEAST_STIFFNESS = 0.2
# ... unless the last step was shorter: near the answer the rows hold such directions, and the exact step ends sooner.
NEAR_MM = 10.0


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """Displacement z (2N,), the largest residual of a hard row (mm), every residual by row, and the steps taken.

    Rows met by a curve that is folded to a hairpin are not met: the largest residual is then endless.
    `pulls` are the multipliers of the rows that are not linear: the start of a solve with the same rows.
    """

    z: Floats
    residual: float
    residuals: Floats
    rows: tuple[Row, ...]
    steps: int
    energy: float
    pulls: Floats

    @property
    def is_met(self) -> bool:
        """Whether all hard rows hold."""
        return self.residual <= 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class _Place:
    """Where the solve stands: w and the pulls, the displacement, the rows there, and the step that led here, mm."""

    w: Floats
    pulls: Floats
    z: Floats
    bent: Bent
    came: float = math.inf


def solve(
    layout: Layout, rows: Sequence[Row], start: Floats | None = None, pulls: Floats | None = None
) -> Solution:
    """Meet `rows` from displacement `start` (2N,) or from the smoothest one that meets the linear rows.

    Never raises for rows that cannot be met.
    """
    solver = _Solver(layout, rows)
    first = solver.first(start, pulls)
    place, steps, arrived = solver.walk(first, NEWTON_STEPS, calm=False)
    if not arrived:
        place, more, _ = solver.walk(solver.first(start, None), MOST_STEPS, calm=True)
        steps += more
    return solver.solution(place, steps)


class _Solver:
    """One set of rows with what they want."""

    def __init__(self, layout: Layout, rows: Sequence[Row]) -> None:
        self.layout, self.system = layout, System(layout, rows)
        self.set, self.wanted = self.system.set, self.system.wanted
        self.condensed: Condensed = condense(layout, self.set)
        self.least = self.condensed.response @ self.wanted.linear - self.condensed.offset
        self.is_hard = self.set.slips == 0.0

    def first(self, start: Floats | None, pulls: Floats | None) -> _Place:
        w = np.zeros(len(self.condensed.gather)) if start is None else self.condensed.gather @ (start - self.least)
        return self._at(w, np.zeros(self.set.count) if pulls is None else pulls)

    def _at(self, w: Floats, pulls: Floats, came: float = math.inf) -> _Place:
        z = self.least + self.condensed.spread @ w
        return _Place(w, pulls, z, self.set.bent(self.set.base + z, self.wanted), came)

    def walk(self, place: _Place, most: int, calm: bool) -> tuple[_Place, int, bool]:
        """Steps until they are small and the rows are met, or `most` of them; `calm` leaves the bends out."""
        small = STEP_MM if calm else NEWTON_STEP_MM
        for step in range(1, most + 1):
            w, pulls = self._calm_step(place) if calm else self._step(place)
            longest = self._longest(w - place.w)
            share = min(1.0, LONGEST_STEP_MM / max(longest, 1e-12)) * (_calmed(step) if calm else 1.0)
            place = self._at(place.w + share * (w - place.w), pulls, longest)
            worst = float(np.abs(place.bent.residuals[self.is_hard]).max(initial=0.0))
            if not math.isfinite(worst):
                return place, step, False
            if longest < small and worst < RESIDUAL_MM:
                return place, step, True
        return place, most, False

    def _longest(self, move: Floats) -> float:
        """The largest move of a control point along an axis, mm: what a step does on paper."""
        return float(np.abs(self.layout.levers * (self.condensed.spread @ move)).max())

    def _calm_step(self, place: _Place) -> tuple[Floats, Floats]:
        """The w and the pulls that meet the rows as they look from here, without their bends."""
        reaches = self._reaches(place)
        answers = [reach.T for reach in reaches]
        return self._stepped(place, answers, solve_small(*self._small(place, reaches, answers)))

    def _step(self, place: _Place) -> tuple[Floats, Floats]:
        """The same with the bends."""
        if not place.pulls.any():
            return self._calm_step(place)
        reaches = self._reaches(place)
        second = self.set.bends(place.bent, place.pulls)
        bends = sums_at(self.condensed.bend_at, second, self.condensed.n_bends)
        blocks = [_block(group, bends) for group in self.condensed.groups]
        answers = [_definite(block, reach) for block, reach in zip(blocks, reaches, strict=True)]
        if any(answer is None for answer in answers):
            return self._doubtful_step(place, reaches, blocks, answers)
        return self._stepped(place, answers, solve_small(*self._small(place, reaches, answers)))

    def _doubtful_step(
        self, place: _Place, reaches: list[Floats], blocks: list[Floats], answers: list[Floats | None]
    ) -> tuple[Floats, Floats]:
        """Some block has directions that run downhill: the exact step if the rows hold them all, else a careful one.

        They are held where the small system has as many negative directions as all blocks together (Haynsworth's
        rule of inertia).
        """
        doubtful = [i for i, answer in enumerate(answers) if answer is None]
        if place.came < NEAR_MM:
            downhill = 0
            for i in doubtful:
                answers[i], count = _indefinite(blocks[i], reaches[i].T)
                downhill += count
            pulls, held = _solve_indefinite(*self._small(place, reaches, answers))
            if held == downhill:
                return self._stepped(place, answers, pulls)
        for i in doubtful:
            answers[i] = _by_size(blocks[i], reaches[i])
        return self._stepped(place, answers, solve_small(*self._small(place, reaches, answers)))

    def _small(self, place: _Place, reaches: list[Floats], answers: Sequence[Any]) -> tuple[Floats, Floats]:
        """The small system and its right side."""
        count = self.set.count
        seen = [(reach[:-1] @ answer).ravel() for reach, answer in zip(reaches, answers, strict=True)]
        sums = sums_at(self.condensed.small_at, np.concatenate(seen), count * (count + 1)).reshape(count, -1)
        small, right = sums[:, :-1].copy(), sums[:, -1] - place.bent.residuals
        small.flat[:: count + 1] += self.set.slips
        return small, right

    def _stepped(self, place: _Place, answers: Sequence[Any], pulls: Floats) -> tuple[Floats, Floats]:
        extended = np.append(pulls, -1.0)
        groups = self.condensed.groups
        moves = [answer @ extended[group.columns] for group, answer in zip(groups, answers, strict=True)]
        return place.w + np.concatenate(moves), pulls

    def _reaches(self, place: _Place) -> list[Floats]:
        condensed = self.condensed
        slopes = sums_at(condensed.slope_at, place.bent.slopes, condensed.n_slopes)
        return [_reach(group, slopes, place.w) for group in condensed.groups]

    def solution(self, place: _Place, steps: int) -> Solution:
        residuals = self.system.residuals(self.set.base + place.z, place.bent)
        worst = float(np.abs(residuals[self.system.slips == 0.0]).max(initial=0.0))
        if not np.isfinite(worst) or self.layout.is_folded(place.z):
            worst = float("inf")
        energy = _energy(self.layout, place.z)
        return Solution(place.z, worst, residuals, tuple(self.system.rows), steps, energy, place.pulls)


def _reach(group: Group, slopes: Floats, w: Floats) -> Floats:
    """The rows' first derivatives by the group's free directions, (r, k), and below them its w."""
    reach = np.empty((len(group.rows) + 1, group.free.shape[1]))
    np.matmul(slopes[group.slopes].reshape(len(group.rows), -1), group.free, out=reach[:-1])
    reach[-1] = w[group.place]
    return reach


def _block(group: Group, bends: Floats) -> Floats:
    """B of a group, (k, k)."""
    size = len(group.variables)
    block = group.free.T @ (bends[group.bends].reshape(size, size) @ -group.free)
    block.flat[:: len(block) + 1] += 1.0
    return np.asarray(block)


def _definite(block: Floats, reach: Floats) -> Floats | None:
    """B^-1 times the columns of `reach`', (k, r + 1), or None where some direction runs downhill."""
    from scipy.linalg.lapack import dposv

    _, answer, failed = dposv(block, reach.T)
    return None if failed else np.asarray(answer)


def _indefinite(matrix: Floats, right: Floats) -> tuple[Floats, int]:
    """Solve a symmetric system and count its negative directions (a pair of rows in one pivot has just one)."""
    from scipy.linalg.lapack import dsysv

    factor, pivots, answer, _ = dsysv(matrix, right)
    single = pivots > 0
    return np.asarray(answer), int((np.diag(factor)[single] < 0).sum() + (~single).sum() // 2)


def _by_size(block: Floats, reach: Floats) -> Floats:
    """B^-1 times the columns of `reach`' with every direction's stiffness taken by its size."""
    values, vectors = np.linalg.eigh(block)
    return np.asarray((vectors / np.maximum(np.abs(values), LEAST_STIFFNESS)) @ (vectors.T @ reach.T))


def _calmed(step: int) -> float:
    return 0.5 ** sum(step > bound for bound in CALM_AFTER)


def solve_small(small: Floats, right: Floats) -> Floats:
    """Solve the symmetric small system, duplicate rows allowed: Cholesky, or eigenvalues where that fails."""
    from scipy.linalg.lapack import dposv

    scaled, scale = _scaled(small)
    _, answer, failed = dposv(scaled, scale * right, lower=True)
    return np.asarray(scale * (_by_eigenvalues(scaled, scale * right) if failed else answer))


def _solve_indefinite(small: Floats, right: Floats) -> tuple[Floats, int]:
    """The same for a small system with negative directions, which are counted."""
    scaled, scale = _scaled(small)
    answer, negative = _indefinite(scaled, scale * right)
    return scale * answer, negative


def _scaled(small: Floats) -> tuple[Floats, Floats]:
    sizes = np.abs(np.diag(small))
    scale = np.where(sizes > SETTLED, 1.0 / np.sqrt(np.maximum(sizes, SETTLED)), 0.0)
    scaled = small * scale[:, None] * scale
    scaled.flat[:: len(scaled) + 1] += DUPLICATE_SHIFT
    return scaled, scale


def _by_eigenvalues(scaled: Floats, right: Floats) -> Floats:
    values, vectors = np.linalg.eigh(scaled)
    kept = values > RANK_TOLERANCE * values[-1]
    return np.asarray(vectors[:, kept] @ ((vectors[:, kept].T @ right) / values[kept]))


def _energy(layout: Layout, z: Floats) -> float:
    both = z.reshape(2, -1)
    return float(0.5 * np.sum(both * (both @ layout.energy)))


def solve_gradually(layout: Layout, rows: Sequence[Row], parts: int, start: Floats | None = None) -> Solution:
    """Approach the targets in equal parts from where the base stands: for changes too large for one go."""
    here = System(layout, rows)
    now, _ = here.evaluate(np.zeros(2 * here.n) if start is None else start)
    solution = Solution(np.zeros(0), float("inf"), now, tuple(here.rows), 0, 0.0, np.zeros(0))
    z = np.zeros(2 * here.n) if start is None else start
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
