"""A drawing as values: lines, circles and words in millimetres, y up, whatever file they came from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from coutil.errors import BadInput
from coutil.texts import plain

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Point = tuple[float, float]

LARGEST_DRAWING = 20_000_000  # Bytes; a whole pattern of 20 pieces has about 100,000.
MOST_ELEMENTS = 20_000  # Lines, groups and copies together; a whole pattern has some hundreds.
MOST_NODES = 100_000  # Of one path or a whole drawing; a whole pattern has some thousands.
DEEPEST = 60  # Groups within groups.
LARGEST_MM = 100_000.0  # A drawing wider than a hundred metres is in the wrong unit.


@dataclass(frozen=True, slots=True, eq=False)
class DrawnLine:
    """One drawn line: cubic spans (n, 4, 2) in mm; `flat` tells which were drawn as straight pieces.

    `names` are those of its groups from the outermost, and its own last; `layer` is a DXF layer's name.
    `where` names it in sentences.  `circle` is centre x, y and radius where it was drawn as a circle.
    """

    spans: Floats
    flat: Bools
    closed: bool
    names: tuple[str, ...]
    where: str
    layer: str = ""
    circle: tuple[float, float, float] | None = None

    def __post_init__(self) -> None:
        """Names that came from elsewhere are put on one line, without what could hide in them."""
        _tidied(self, names=self.names, where=self.where, layer=self.layer)

    @property
    def start(self) -> Floats:
        """The first point, shape (2,), mm."""
        return np.asarray(self.spans[0, 0])

    @property
    def end(self) -> Floats:
        """The last point, shape (2,), mm."""
        return np.asarray(self.spans[-1, 3])


@dataclass(frozen=True, slots=True)
class DrawnText:
    """Words on the drawing, where they begin."""

    words: str
    at: Point
    names: tuple[str, ...]
    layer: str = ""

    def __post_init__(self) -> None:
        """As a line's."""
        _tidied(self, words=self.words, names=self.names, layer=self.layer)


@dataclass(frozen=True, slots=True)
class DrawnPoint:
    """A single point; on DXF layers 2 and 3 turn and curve points of outlines."""

    at: Point
    names: tuple[str, ...]
    layer: str = ""

    def __post_init__(self) -> None:
        """As a line's."""
        _tidied(self, names=self.names, layer=self.layer)


def _tidied(value: object, **texts: str | tuple[str, ...]) -> None:
    for field, text in texts.items():
        tidy = plain(text) if isinstance(text, str) else tuple(plain(name) for name in text)
        object.__setattr__(value, field, tidy)


@dataclass(frozen=True, slots=True)
class Drawing:
    """All that was drawn, and remarks on how it was read (its scale, what was left out).

    `upside_down` is what most of its texts say, or its blocks where it has no texts.
    """

    kind: Literal["svg", "dxf"]
    lines: tuple[DrawnLine, ...]
    texts: tuple[DrawnText, ...] = ()
    points: tuple[DrawnPoint, ...] = ()
    remarks: tuple[str, ...] = ()
    upside_down: bool = False


def drawn_line(
    spans: Sequence[Sequence[complex]] | Floats,
    flat: Sequence[bool],
    names: tuple[str, ...],
    where: str,
    *,
    closed: bool = False,
    layer: str = "",
    circle: tuple[float, float, float] | None = None,
) -> DrawnLine | None:
    """The line without its pieces of no length; None where nothing is left.

    Raises BadInput for coordinates that are no numbers or beyond any drawing.
    """
    points = np.asarray(spans)
    if np.iscomplexobj(points):
        points = np.stack((points.real, points.imag), axis=-1)
    _require_numbers(points, where)
    kept = np.ptp(points, axis=1).max(axis=1) > 0.0
    if not kept.any():
        return None
    points, straight = points[kept], np.asarray(flat, dtype=bool)[kept]
    if closed and len(points) == 2 and straight.all():
        # Some programs close a single stroke: there and back is one stroke.
        points, straight, closed = points[:1], straight[:1], False
    return DrawnLine(points, straight, closed, names, where, layer, circle)


def _require_numbers(points: Floats, where: str) -> None:
    if not np.isfinite(points).all():
        raise BadInput(f"{_capital(where)} has a coordinate that is no number: draw that line anew.")
    largest = float(np.abs(points).max(initial=0.0))
    if largest > LARGEST_MM:
        raise BadInput(
            f"{_capital(where)} lies {largest / 1000:.3g} m from the drawing's corner: "
            "the drawing is in another unit than it says; state its scale."
        )


def _capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]
