"""File names made from the names of clients and styles."""

from __future__ import annotations

import re
import unicodedata
from pathlib import Path

LONGEST = 60
DRAWN = (".pdf", ".svg", ".dxf")


def file_stem(name: str) -> str:
    """A name as a file name that every system takes: small letters, digits and hyphens, never empty."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:LONGEST].strip("-") or "unnamed"


def require_ending(target: Path, ending: str) -> None:
    """Raises BadInput for a file called after another kind of drawing than is written into it."""
    from coutil.errors import BadInput

    said = target.suffix.lower()
    if said != ending and said in DRAWN:
        raise BadInput(
            f"{target.name} would hold {_kind(ending)}: call it {target.stem}{ending}, or give --format "
            f"{_kind(said).lower()}."
        )


def _kind(ending: str) -> str:
    return ending.removeprefix(".").upper()
