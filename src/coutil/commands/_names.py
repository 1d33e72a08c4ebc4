"""The endings of file names that a maker gives."""

from __future__ import annotations

from pathlib import Path

DRAWN = (".pdf", ".svg", ".dxf")


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
