"""How levels are called on screens and papers."""

from __future__ import annotations

_WORDS = {"high_hip": "high hip", "hem": "lower edge", "underbust": "underbust", "bust": "bust level"}


def level_word(name: str) -> str:
    """`high_hip` -> high hip, `hem` -> lower edge; other names as they are, underscores as spaces."""
    return _WORDS.get(name, name.replace("_", " "))
