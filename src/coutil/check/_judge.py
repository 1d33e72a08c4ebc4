"""Findings made from a figure and its limit."""

from __future__ import annotations

from collections.abc import Sequence

from coutil.check._findings import Finding, Verdict

# A figure that equals its limit but for the last digits of arithmetic is within it.
ROUNDING = 1e-9


def within(
    code: str,
    name: str,
    figure: float,
    limit: float,
    pieces: Sequence[str],
    said: tuple[str, str],
    unit: str = "mm",
    beyond: Verdict = Verdict.FAIL,
) -> Finding:
    """A figure whose size may be up to the limit.  `said` is the advice within it and beyond it."""
    good = abs(figure) <= limit + ROUNDING
    return _finding(code, name, figure, limit, unit, good, beyond, pieces, said)


def at_least(
    code: str,
    name: str,
    figure: float,
    limit: float,
    pieces: Sequence[str],
    said: tuple[str, str],
    unit: str = "mm",
    beyond: Verdict = Verdict.FAIL,
) -> Finding:
    """A figure that must not fall below the limit.  `said` is the advice above it and below it."""
    good = figure >= limit - ROUNDING
    return _finding(code, name, figure, limit, unit, good, beyond, pieces, said)


def shown(
    code: str, name: str, figure: float, pieces: Sequence[str], advice: str, unit: str = "mm"
) -> Finding:
    """A figure without a limit."""
    return Finding(code, name, float(figure), None, unit, Verdict.PASS, tuple(pieces), advice)


def _finding(
    code: str,
    name: str,
    figure: float,
    limit: float,
    unit: str,
    good: bool,
    beyond: Verdict,
    pieces: Sequence[str],
    said: tuple[str, str],
) -> Finding:
    verdict = Verdict.PASS if good else beyond
    return Finding(code, name, float(figure), float(limit), unit, verdict, tuple(pieces), said[0 if good else 1])
