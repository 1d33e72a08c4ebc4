"""How sure each proposal is, and why: the table a maker looks through before she trusts it."""

from __future__ import annotations

from dataclasses import dataclass, field

from coutil.pattern import Style


@dataclass(frozen=True, slots=True)
class Certainty:
    """One thing proposed: what it is about, the proposal, how sure (0 to 1), and the reason in words."""

    about: str
    proposal: str
    sure: float
    reason: str


@dataclass(slots=True)
class Guesses:
    """Gathers certainties and remarks while a drawing is read."""

    certainties: list[Certainty] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)

    def add(self, about: str, proposal: str, sure: float, reason: str) -> None:
        """One more proposal."""
        self.certainties.append(Certainty(about, proposal, min(1.0, max(0.0, sure)), reason))


@dataclass(frozen=True, slots=True)
class Imported:
    """A drawing read as a style: the style, the complete marks file, what was proposed and what is to be known."""

    style: Style
    marks_text: str
    certainties: tuple[Certainty, ...]
    remarks: tuple[str, ...]
