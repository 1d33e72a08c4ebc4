"""Size words of EN 13402: the band number and the cup letter.

Sources: band steps and the letters C and D from worked examples of EN 13402 on public pages; the other
letters from memory, their 2 cm step being common practice.
"""

from __future__ import annotations

import math

BAND_STEP_MM = 50.0
CUP_STEP_MM = 20.0
SMALLEST_CUP_MM = 100.0  # The lower limit of AA, itself excluded.
CUP_LETTERS = ("AA", "A", "B", "C", "D", "E", "F", "G", "H")
_STORED_DECIMALS = 3


def en_band(underbust_mm: float) -> int:
    """The band number in cm: the underbust girth (mm) to the nearest 5 cm, a half upwards."""
    return 5 * math.floor(underbust_mm / BAND_STEP_MM + 0.5)


def en_cup(difference_mm: float) -> str | None:
    """The cup letter for bust less underbust girth (mm), lower limit excluded and upper included.

    None at 10 cm and less, and above 28 cm: the letters do not reach there.
    """
    steps = math.ceil((round(difference_mm, _STORED_DECIMALS) - SMALLEST_CUP_MM) / CUP_STEP_MM)
    return CUP_LETTERS[steps - 1] if 1 <= steps <= len(CUP_LETTERS) else None
