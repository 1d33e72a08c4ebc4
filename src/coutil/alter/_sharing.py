"""Sharing one amount over several edges in the workroom's step, with the total kept exactly."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from coutil.pattern import EdgeShare, Style

# Amounts are sums of decimal fractions; this is far below anything that could be drawn.
ROUNDING_MM = 1e-9


@dataclass(frozen=True, slots=True)
class Portion:
    """What one edge takes, mm."""

    piece: str
    edge: str
    amount: float


def share_out(
    total: float, shares: Sequence[EdgeShare], step: float, mates: Sequence[tuple[int, int]] = ()
) -> tuple[Portion, ...]:
    """Give every edge its weight's part of `total` (mm), in whole steps, the largest remainder first.

    `mates` are pairs of indices that are sewn together; with equal weights they round alike.  What cannot be given
    in whole steps goes to the last edge of the heaviest weight: the last correction belongs at the side seam.
    Worked case (+15 over eight edges, step 0.5): six take 2.0 and two 1.5, together exactly 15.
    """
    taking = [share for share in shares if share.weight > 0]
    if not taking or abs(total) < ROUNDING_MM:
        return ()
    weights = sum(share.weight for share in taking)
    ideal = [abs(total) * share.weight / weights for share in taking]
    groups = _groups(taking, shares, mates)
    steps = _rounded_steps(ideal, groups, step, abs(total))
    amounts = [count * step for count in steps]
    amounts[_last_heaviest(taking)] += abs(total) - sum(amounts)
    sign = math.copysign(1.0, total)
    return tuple(Portion(s.piece, s.edge, sign * a) for s, a in zip(taking, amounts, strict=True))


def _groups(taking: list[EdgeShare], shares: Sequence[EdgeShare], mates: Sequence[tuple[int, int]]) -> list[list[int]]:
    index = {id(share): i for i, share in enumerate(taking)}
    grouped: list[list[int]] = []
    seen: set[int] = set()
    for first, second in mates:
        pair = (shares[first], shares[second])
        if pair[0].weight == pair[1].weight > 0:
            grouped.append([index[id(share)] for share in pair])
            seen.update(grouped[-1])
    return grouped + [[i] for i in range(len(taking)) if i not in seen]


def _rounded_steps(ideal: list[float], groups: list[list[int]], step: float, total: float) -> list[int]:
    """Whole steps per edge: rounded down, then one more for the groups with the largest remainders that fit."""
    steps = [math.floor(amount / step + ROUNDING_MM) for amount in ideal]
    left = math.floor(total / step + ROUNDING_MM) - sum(steps)
    by_remainder = sorted(groups, key=lambda group: steps[group[0]] - ideal[group[0]] / step)
    for group in by_remainder:
        if len(group) <= left:
            left -= len(group)
            for i in group:
                steps[i] += 1
    return steps


def _last_heaviest(taking: list[EdgeShare]) -> int:
    heaviest = max(share.weight for share in taking)
    return max(i for i, share in enumerate(taking) if share.weight == heaviest)


def sewn_mates(style: Style, shares: Sequence[EdgeShare]) -> tuple[tuple[int, int], ...]:
    """Index pairs of shares whose edges are sewn to each other."""
    place = {(share.piece, share.edge): i for i, share in enumerate(shares)}
    found = []
    for seam in style.seams:
        left = [place[(r.piece, r.edge)] for r in seam.a if (r.piece, r.edge) in place]
        right = [place[(r.piece, r.edge)] for r in seam.b if (r.piece, r.edge) in place]
        if len(left) == 1 and len(right) == 1:
            found.append((left[0], right[0]))
    return tuple(found)
