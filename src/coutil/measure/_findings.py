"""What an inspection of a chart says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["stop", "warn", "note"]


@dataclass(frozen=True, slots=True)
class ChartFinding:
    """One thing noticed: a stable code, the keys concerned, a sentence, and which readings to take again."""

    code: str
    keys: tuple[str, ...]
    sentence: str
    retake: tuple[str, ...]
    severity: Severity
