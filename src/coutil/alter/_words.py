"""How levels are called on screens and papers."""

from __future__ import annotations

_WORDS = {"high_hip": "high hip", "hem": "lower edge", "underbust": "underbust", "bust": "bust level"}


def level_word(name: str) -> str:
    """`high_hip` -> high hip, `hem` -> lower edge; other names as they are, underscores as spaces."""
    return _WORDS.get(name, name.replace("_", " "))


def as_sentence(text: str) -> str:
    """The words with a capital to begin with and a full stop to end; nothing stays nothing."""
    plain = text.strip()
    return plain and plain[0].upper() + plain[1:] + ("" if plain.endswith((".", "!", "?")) else ".")
