"""What the tape can tell: its error, and how far a waist may be reduced."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from coutil.errors import BadInput
from coutil.measure._keys import measurement

NOISE_GIRTH = 5.0  # mm of full girth; a smaller difference cannot be told from the tape's error.
NOISE_LENGTH = 3.0  # mm of a length, likewise.
REDUCTION_SHARE = 0.10  # The trade's habit for a first garment: a tenth of the waist (common practice).
REDUCTION_MOST = 100.0  # mm, likewise: about 4 in.


@dataclass(frozen=True, slots=True)
class ReductionLimit:
    """The reduction (mm of full girth) beyond which to warn, and which of the three rules sets it."""

    amount: float
    sentence: str


def noise(key: str) -> float:
    """The tape's error in mm for a measurement; raises BadChart for an unknown key."""
    return NOISE_GIRTH if measurement(key).kind in ("girth", "front_arc") else NOISE_LENGTH


def technical_error(pairs: Sequence[tuple[float, float]]) -> float:
    """Technical error of measurement from N pairs of readings, in their unit: sqrt(sum d^2 / 2N).

    Raises BadInput where there is no pair or a figure is not finite.
    """
    differences = [first - second for first, second in pairs]
    if not differences or not all(math.isfinite(d) for d in differences):
        raise BadInput("The error of the tape needs at least one pair of readings, all finite.")
    return math.sqrt(sum(d * d for d in differences) / (2 * len(differences)))


def reduction_limit(waist: float, compressed: float | None) -> ReductionLimit:
    """The smallest of a tenth of the waist, 100 mm, and the waist less the waist pulled in (all mm).

    `compressed` is None where it was not taken.  Raises BadInput for a waist that is not above 0.
    """
    if not (math.isfinite(waist) and waist > 0):
        raise BadInput("The waist girth is to be above 0 before a reduction can be judged.")
    limits = [
        (REDUCTION_SHARE * waist, "a tenth of the waist"),
        (REDUCTION_MOST, "the trade's habit for a first garment"),
    ]
    if compressed is not None:
        limits.append((max(waist - compressed, 0.0), "as far as the tape can be pulled in"))
    amount, rule = min(limits)
    return ReductionLimit(amount, f"More than {amount:.0f} mm of reduction is beyond {rule}.")
