"""File names made from the names of clients and styles."""

from __future__ import annotations

import re
import unicodedata

LONGEST = 60


def file_stem(name: str) -> str:
    """A name as a file name that every system takes: small letters, digits and hyphens, never empty."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:LONGEST].strip("-") or "unnamed"
