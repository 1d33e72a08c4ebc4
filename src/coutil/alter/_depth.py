"""The greatest part of a change that keeps the cup sound, with few solves.

Between two solutions the pattern changes smoothly, so a curve through the solutions so far tells nearly where
soundness ends.  The search halves as if every part had been solved, but asks that curve first; only the part it
ends at is solved, and the next search knows better.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from coutil.alter._layout import Floats
from coutil.alter._solve import Solution

# Halvings of the remaining change: the last one is below a tenth of a millimetre for any body.
HALVINGS = 8
PARTS = 2**HALVINGS
# Solutions a guess runs through: a parabola.
GUESSED_FROM = 3
# What was said this far from a newly solved part still holds.
AROUND = 8

Solve = Callable[[float, Solution | None], Solution]
Judge = Callable[[Solution], bool]


def greatest_part(whole: Solution, solve: Solve, is_sound: Judge) -> tuple[float, Solution]:
    """The part of the change (0 to 1) and its solution; `whole` is the solution of all of it, which is not sound.

    `solve` is told a part and a solution to start from.  Nothing of the change where no part is sound.
    """
    search = _Search(whole, solve, is_sound)
    while (part := search.greatest()) not in search.solved:
        search.add(part)
    return part / PARTS, search.solved[part]


class _Search:
    """Solutions by part, in steps of 1 / PARTS, and what was said of the others."""

    def __init__(self, whole: Solution, solve: Solve, is_sound: Judge) -> None:
        self._solve, self._is_sound = solve, is_sound
        self.solved = {PARTS: whole}
        self._sound = {PARTS: False}
        self._guessed: dict[int, bool] = {}
        self.add(0)

    def add(self, part: int) -> None:
        """Solve a part and forget what was guessed around it."""
        met = [known for known, solution in self.solved.items() if solution.is_met]
        self.solved[part] = self._solve(part / PARTS, self._guess(part) if met else None)
        self._sound[part] = self._is_sound(self.solved[part])
        self._guessed = {known: said for known, said in self._guessed.items() if abs(known - part) > AROUND}

    def greatest(self) -> int:
        """The greatest sound part that halving finds, solved or guessed; 0 where none is."""
        low, high = 0, PARTS
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if self._says(middle) else (low, middle)
        return low

    def _says(self, part: int) -> bool:
        if part in self._sound:
            return self._sound[part]
        if part not in self._guessed:
            self._guessed[part] = self._is_sound(self._guess(part))
        return self._guessed[part]

    def _guess(self, part: int) -> Solution:
        """The solution of a part by the curve through the nearest ones that are met, all of them if none is."""
        met = [known for known, solution in self.solved.items() if solution.is_met] or list(self.solved)
        near = sorted(met, key=lambda known: abs(known - part))[:GUESSED_FROM]
        z: Floats = sum(_weight(part, known, near) * self.solved[known].z for known in near)  # type: ignore[assignment]
        return replace(self.solved[near[0]], z=z)


def _weight(part: int, known: int, near: list[int]) -> float:
    """Lagrange's weight of one known part in the curve through all near ones."""
    weight = 1.0
    for other in near:
        if other != known:
            weight *= (part - other) / (known - other)
    return weight
