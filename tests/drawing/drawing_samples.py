"""Drawings for the tests: the documented waist cincher in several hands, and small SVG files."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray

from coutil.curves import Curve
from coutil.drawing import Imported, import_drawing
from coutil.pattern import Style

DOCS = Path(__file__).parents[2] / "docs"
CINCHER = (DOCS / "waist-cincher.svg").read_bytes()
LEVELS = {"underbust": 75.0, "waist": 0.0, "high_hip": -50.0}
Floats = NDArray[np.float64]


def cincher(**options: object) -> Imported:
    """The documented drawing, imported."""
    return import_drawing(CINCHER, ".svg", "cincher", **options)  # type: ignore[arg-type]


def svg(body: str, head: str = 'width="400mm" height="300mm" viewBox="0 0 400 300"') -> bytes:
    """A small SVG file, one unit a millimetre unless the head says otherwise."""
    return f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>'.encode()


def outlines(style: Style, gap: float = 30.0) -> dict[str, list[Curve]]:
    """Every piece's edges laid side by side in one row, waists on one line."""
    laid, x = {}, 0.0
    for piece in style.pieces:
        boxes = np.array([edge.curve.bounds() for edge in piece.edges])
        laid[piece.name] = [edge.curve.moved(x - boxes[:, 0].min(), 100.0) for edge in piece.edges]
        x += boxes[:, 2].max() - boxes[:, 0].min() + gap
    return laid


def strokes(curves: list[Curve], tolerance: float) -> Floats:
    """An outline in straight strokes, without the repeated last point."""
    return np.concatenate([curve.flatten(tolerance)[:-1] for curve in curves])


def farthest(style: Style, other: Style) -> float:
    """How far apart two styles of the same pieces and edges lie, mm, each piece laid on its left end and waist."""
    mine, theirs = outlines(style), outlines(other)
    return max(
        float(
            shapely.distance(
                shapely.points(np.concatenate([curve.flatten(0.02) for curve in curves])),
                shapely.LinearRing(strokes(theirs[name], 0.0002)),
            ).max()
        )
        for name, curves in mine.items()
    )


def edge_roles(style: Style) -> dict[str, list[str]]:
    """The roles of each piece's edges, sorted."""
    return {piece.name: sorted(edge.role.value for edge in piece.edges) for piece in style.pieces}


def sewn(style: Style) -> set[frozenset[str]]:
    """Which pieces each seam joins."""
    return {frozenset(ref.piece for ref in (*seam.a, *seam.b)) for seam in style.seams}


def dxf_text(document: object) -> bytes:
    """A library's DXF document as a file's content."""
    stream = io.StringIO()
    document.write(stream)  # type: ignore[attr-defined]
    return stream.getvalue().encode()


def without_geometry(style: Style) -> Style:
    """The style without what is measured to a tolerance."""
    return replace(style, pieces=())
