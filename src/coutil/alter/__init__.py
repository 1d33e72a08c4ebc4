"""Altering: differences, sharing rules, plan, rows, solve, step frames."""

from coutil.alter._alter import Alterer, alter
from coutil.alter._plan import (
    Alteration,
    Conflict,
    Frame,
    GirthOrder,
    Move,
    Override,
    Plan,
    PlanRow,
    State,
    TruingNote,
    Wishes,
    brought_by_others,
    difference_on_pattern,
)
from coutil.alter._truing import trued

__all__ = [
    "Alteration",
    "Alterer",
    "Conflict",
    "Frame",
    "GirthOrder",
    "Move",
    "Override",
    "Plan",
    "PlanRow",
    "State",
    "TruingNote",
    "Wishes",
    "alter",
    "brought_by_others",
    "difference_on_pattern",
    "trued",
]
