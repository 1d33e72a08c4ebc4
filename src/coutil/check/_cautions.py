"""What every wearer is told.  It warns and never diagnoses."""

from __future__ import annotations

CAUTIONS: tuple[str, ...] = (
    "A corset here is a garment, not an orthosis, and no medical device.",
    "Wear it in slowly: one to two hours a day at first, lightly laced.",
    "Take it off at once on pain, numbness, tingling or breathlessness.",
    "Do not sleep, exercise hard or eat a full meal in it.",
    "Ask a doctor first when pregnant or after a recent birth or surgery, with any condition of the heart, lungs, "
    "circulation, digestion, reflux, bones, nerves or spine, and under 18.",
    "Singers and wind players need breath: ease at the underbust of at least half the difference between breathing "
    "in and out.",
    "Measure again after a change of weight.",
)
"""Sentences to print with every garment that is laced."""
