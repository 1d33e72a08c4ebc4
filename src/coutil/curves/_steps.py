"""Turning of many curves at once, from step to step along them: quicker than curve by curve, and as good to the eye."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# A handle shorter than this part of the span's size gives no direction.
NO_SPEED = 1e-6
# Turning by less between two places is rounding, radians.
NO_TURN = 1e-9


class StepRun(NamedTuple):
    """A stretch that turns one way: its turning in degrees (left positive), and its first and last step."""

    turning_deg: float
    first: int
    last: int


def step_turns(velocity: Floats, last_spans: Sequence[int]) -> Floats:
    """Angles (s, p) in radians from each place of a span to the next, for velocities (s, p, 2) in order along curves.

    That from a span's last place is the corner at its end; a curve's last span, named in `last_spans`, has none.
    Where a handle has no length, the direction beside it is meant.
    """
    flat = _with_directions(velocity).reshape(-1, 2)
    here, after = flat[:-1], flat[1:]
    cross = here[:, 0] * after[:, 1] - here[:, 1] * after[:, 0]
    dot = here[:, 0] * after[:, 0] + here[:, 1] * after[:, 1]
    turns = np.append(np.arctan2(cross, dot), 0.0).reshape(velocity.shape[:2])
    turns[last_spans, -1] = 0.0
    return np.asarray(turns)


def runs_of_steps(turns: Floats, owners: NDArray[np.int64], count: int) -> list[list[StepRun]]:
    """The runs of every curve, for its steps' turns (s, p) and the curve's number of each span (s,), below `count`.

    Steps are counted through all spans: step k of span s is s * p + k.
    """
    found: list[list[StepRun]] = [[] for _ in range(count)]
    flat = turns.ravel()
    turned = np.flatnonzero(np.abs(flat) > NO_TURN)
    if not len(turned):
        return found
    steps, own = flat[turned], owners[turned // turns.shape[1]]
    starts = np.flatnonzero(np.diff(2 * own + (steps > 0), prepend=-1))
    sums = np.degrees(np.add.reduceat(steps, starts))
    first, last = turned[starts], turned[np.append(starts[1:], len(turned)) - 1]
    for number, *run in zip(own[starts].tolist(), sums.tolist(), first.tolist(), last.tolist(), strict=True):
        found[number].append(StepRun(*run))
    return found


def _with_directions(velocity: Floats) -> Floats:
    still = np.abs(velocity).max(axis=2) <= NO_SPEED * np.abs(velocity).max(axis=(1, 2))[:, None]
    if not still[:, (0, -1)].any():
        return velocity
    filled = velocity.copy()
    filled[still[:, 0], 0] = velocity[still[:, 0], 1]
    filled[still[:, -1], -1] = velocity[still[:, -1], -2]
    return filled
