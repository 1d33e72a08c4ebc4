"""Draws the golden drafts anew: python tests/draft/renew_golden.py (with src on the path). Look at what changed."""

from __future__ import annotations

from pathlib import Path

from coutil.pattern import Style, measure_style
from coutil.shipped import shipped_base

FOLDER = Path(__file__).parent / "golden"
# The ends of each family, a middle size, and one between the sizes that lists show.
NAMES = ("62-8", "78-16", "108-26", "panelled-62-0", "panelled-83-7", "panelled-108-20", "waist-52", "waist-69")


def golden_text(name: str) -> str:
    """What the base measures and where each edge's knots and handles lie, mm, a line each."""
    style = shipped_base(name)
    measured = (f"{key} {value:.2f}" for key, value in sorted(measure_style(style).items()))
    return "\n".join((f"# {name}", *measured, *_edges(style))) + "\n"


def _edges(style: Style) -> list[str]:
    return [
        f"{piece.name} {edge.name}: " + "  ".join(f"{x + 0.0:.2f},{y + 0.0:.2f}" for x, y in edge.curve.points)
        for piece in style.pieces
        for edge in piece.edges
    ]


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name in NAMES:
        (FOLDER / f"{name}.txt").write_text(golden_text(name), encoding="utf-8")
