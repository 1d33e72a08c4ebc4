"""What can be chosen when a style is drafted: the back's and the front's upper edge, and how the front closes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, get_args

from coutil.errors import BadInput
from coutil.pattern import Fit

Back = Literal["straight", "dipped", "low"]
Neckline = Literal["straight", "sweetheart", "boat"]
Front = Literal["closed", "busk"]

BACKS: tuple[str, ...] = get_args(Back)
NECKLINES: tuple[str, ...] = get_args(Neckline)
FRONTS: tuple[str, ...] = get_args(Front)

# A closed busk stands open by its studs and loops (trade practice: 3 to 6 mm).
BUSK_GAP = 5.0


@dataclass(frozen=True, slots=True)
class Variant:
    """One choice of each.

    back: straight from the underarm to the centre back, dipped between them, or low at the centre back.
    neckline: straight, sweetheart (round over the bust, a point at the centre front), or boat (high and nearly level;
    on a cupped front alone).
    front: closed (one seam or the fold at the centre), or with a busk.
    Raises BadInput for a word that is none of these.
    """

    back: Back = "straight"
    neckline: Neckline = "straight"
    front: Front = "closed"

    def __post_init__(self) -> None:
        """Checks the three words."""
        for what, word, known in (
            ("back", self.back, BACKS),
            ("neckline", self.neckline, NECKLINES),
            ("front", self.front, FRONTS),
        ):
            if word not in known:
                raise BadInput(f"there is no {what} {word}: choose {', '.join(known)}")

    def refuse_boat(self, title: str) -> None:
        """Raises BadInput where a boat neckline was chosen for a style that has no cups to carry it."""
        if self.neckline == "boat":
            raise BadInput(f"a boat neckline is drawn for the cupped overbust alone, not for the {title.lower()}")

    def fit(self, fit: Fit) -> Fit:
        """The fit with the busk's gap, unless it has one already."""
        return replace(fit, closure_gap=BUSK_GAP) if self.front == "busk" and not fit.closure_gap else fit


PLAIN = Variant()
