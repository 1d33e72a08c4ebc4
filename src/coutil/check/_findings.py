"""What a check says: figure, limit, verdict, the pieces concerned and one sentence of advice."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Verdict(StrEnum):
    """How a check ended.  `explained` = beyond the limit, but a declared remainder or conflict accounts for it."""

    PASS = "pass"
    WARN = "warn"
    DECISION = "decision"
    EXPLAINED = "explained"
    FAIL = "fail"


@dataclass(frozen=True, slots=True)
class Finding:
    """One line of the check list.  `figure` and `limit` in `unit` (mm, deg, count); `limit` None: shown only."""

    code: str
    name: str
    figure: float
    limit: float | None
    unit: str
    verdict: Verdict
    pieces: tuple[str, ...]
    advice: str
