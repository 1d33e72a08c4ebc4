"""How sound the lower edges of a cup are: the hollows a change of depth may give them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from coutil.curves import turnings, visible_signs
from coutil.pattern import CupRule, Role, Style

# A run of the base that turns less is straight; from there on it is there, and can be drawn out again when it deepens.
TRACE_DEG = 0.1
Turnings = tuple[tuple[float, ...], ...]


def lower_edges(style: Style, cup: CupRule) -> Turnings:
    """The turnings of the runs of each lower edge of the cup, degrees."""
    pieces = (style.piece(cup.inner), style.piece(cup.outer))
    return tuple(turnings(e.curve) for piece in pieces for e in piece.edges if e.role is Role.CRADLE)


def has_new_hollow(base: Sequence[Iterable[float]], now: Sequence[Iterable[float]]) -> bool:
    """Whether some lower edge has more visible runs than the base has runs at all: what no redrawing takes out."""
    return any(
        len(visible_signs(after)) > max(len(visible_signs(before, TRACE_DEG)), 1)
        for before, after in zip(base, now, strict=True)
    )
