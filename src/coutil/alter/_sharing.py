"""Sharing one amount over several edges in the workroom's step, with the total kept exactly."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

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
    total: float,
    shares: Sequence[EdgeShare],
    step: float,
    mates: Sequence[tuple[int, int]] = (),
    wished: Mapping[int, float] | None = None,
) -> tuple[Portion, ...]:
    """Give every edge its weight's part of `total` (mm), in whole steps, the largest remainder first.

    `mates` are pairs of indices that are sewn together; with equal weights they round alike.  What cannot be given
    in whole steps goes to the last of the heaviest edges that have no mate: the last correction belongs at the side
    seam.  `wished` amounts, by index, are given where that puts nobody further than a step from its part.
    Worked case (+15 over eight edges, step 0.5): six take 2.0 and two 1.5, together exactly 15.
    """
    taking = [share for share in shares if share.weight > 0]
    if not taking or abs(total) < ROUNDING_MM:
        return ()
    index = {id(share): i for i, share in enumerate(taking)}
    fixed = {index[id(shares[i])]: mm for i, mm in (wished or {}).items() if id(shares[i]) in index}
    rounding = _rounding(taking, shares, mates)
    amounts = _as_wished(total, taking, rounding, step, fixed) or _amounts(total, taking, rounding, step)
    return tuple(Portion(s.piece, s.edge, a) for s, a in zip(taking, amounts, strict=True))


class _Rounding(NamedTuple):
    """Edges that round alike, by index, and those that are sewn to another of them."""

    groups: list[list[int]]
    sewn: frozenset[int]


def _amounts(total: float, taking: Sequence[EdgeShare], rounding: _Rounding, step: float) -> list[float]:
    ideal = [abs(part) for part in _ideal(total, taking)]
    amounts = [count * step for count in _rounded_steps(ideal, rounding.groups, step, abs(total))]
    last = _last_to_correct(taking, rounding)
    rest = (abs(total) - sum(amounts)) / len(last)
    sign = math.copysign(1.0, total)
    return [sign * (amount + (rest if i in last else 0.0)) for i, amount in enumerate(amounts)]


def _ideal(total: float, taking: Sequence[EdgeShare]) -> list[float]:
    weights = sum(share.weight for share in taking)
    return [total * share.weight / weights for share in taking]


def _as_wished(
    total: float, taking: Sequence[EdgeShare], rounding: _Rounding, step: float, wished: Mapping[int, float]
) -> list[float] | None:
    """Amounts with the wished ones among them, or None where they would put some edge a step or more off its part."""
    others = [i for i in range(len(taking)) if i not in wished]
    if not wished or not others:
        return None
    place = {i: k for k, i in enumerate(others)}
    open_groups = [[place[i] for i in group if i in place] for group in rounding.groups]
    own = _Rounding([group for group in open_groups if group], frozenset(place[i] for i in rounding.sewn if i in place))
    left = total - sum(wished.values())
    rest = _amounts(left, [taking[i] for i in others], own, step)
    amounts = [wished[i] if i in wished else rest[place[i]] for i in range(len(taking))]
    off = max(abs(mm - part) for mm, part in zip(amounts, _ideal(total, taking), strict=True))
    return amounts if off < step - ROUNDING_MM else None


def _rounding(taking: list[EdgeShare], shares: Sequence[EdgeShare], mates: Sequence[tuple[int, int]]) -> _Rounding:
    index = {id(share): i for i, share in enumerate(taking)}
    pairs = [(shares[first], shares[second]) for first, second in mates]
    sewn = [[index[id(share)] for share in pair] for pair in pairs if all(share.weight > 0 for share in pair)]
    alike = [pair for pair in sewn if taking[pair[0]].weight == taking[pair[1]].weight]
    seen = {i for pair in alike for i in pair}
    groups = alike + [[i] for i in range(len(taking)) if i not in seen]
    return _Rounding(groups, frozenset(i for pair in sewn for i in pair))


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


def _last_to_correct(taking: Sequence[EdgeShare], rounding: _Rounding) -> list[int]:
    """The last of the heaviest edges that has no mate; where all have, both edges of the last of the heaviest pairs."""
    groups = rounding.groups
    single = [group for group in groups if len(group) == 1]
    alone = [group for group in single if group[0] not in rounding.sewn] or single or groups
    heaviest = max(taking[group[0]].weight for group in alone)
    return max(group for group in alone if taking[group[0]].weight == heaviest)


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
