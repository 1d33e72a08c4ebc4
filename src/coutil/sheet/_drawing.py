"""The drawing protocol: every sheet is drawn by the same few calls, whichever format receives them.

Millimetres, y up.  A pen is whatever has the five calls of `Pen`: PDF and SVG writers, `Bounds`, `Recorder`.
A filter is a pen that hands on what it is given to another one, changed: `Moved`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from coutil.curves import Curve

Floats = NDArray[np.float64]
Colour = tuple[int, int, int]
Anchor = Literal["start", "middle", "end"]

BLACK: Colour = (0, 0, 0)
GREY: Colour = (110, 110, 110)
# The two accents differ in lightness from black and from each other, so they stay apart in a grey print.
TEAL: Colour = (0, 104, 116)
RUST: Colour = (176, 74, 24)

# Capital height as part of the font size: near enough for the plain sans-serif faces (0.70 to 0.73).
CAPITALS_PER_EM = 0.72

# Widths as part of the font size, rounded up, so that a text is never wider than what was kept free for it.
NARROW, WIDE = frozenset("iljtfrI.,:;'|!()[] -"), frozenset("mwMWЖШЩЮжшщюΩω—@%")
NARROW_EM, USUAL_EM, CAPITAL_EM, WIDE_EM = 0.36, 0.58, 0.72, 0.96


@dataclass(frozen=True, slots=True)
class Line:
    """How a line looks: pen width in mm, dashes as mm on, mm off, ... (none: solid), and colour."""

    name: str
    width: float
    dash: tuple[float, ...] = ()
    colour: Colour = BLACK


STITCHING = Line("stitching", 0.5)
BASE = Line("base", 0.3, (5.0, 2.5), RUST)
CUT = Line("cut", 0.2)
LEVEL = Line("level", 0.18, (8.0, 1.5, 1.0, 1.5), TEAL)
GRAIN = Line("grain", 0.3)
FOLD = Line("fold", 0.3)
NOTCH = Line("notch", 0.35)
LANDMARK = Line("landmark", 0.25)
CHANNEL = Line("bone channel", 0.25, (3.0, 2.0))
FRAME = Line("frame", 0.18, (), GREY)
ARROW = Line("arrow", 0.35, (), TEAL)


class Pen(Protocol):
    """What receives a drawing.  Every begin_group is followed by its end_group; groups may be nested."""

    def begin_group(self, name: str) -> None:
        """Everything until the matching end_group belongs together under this name."""

    def end_group(self) -> None:
        """Ends the group begun last."""

    def curve(self, points: Floats, line: Line) -> None:
        """A piecewise cubic: knot, handle, handle, knot, ... of shape (3n+1, 2)."""

    def polyline(self, points: Floats, line: Line, closed: bool = False) -> None:
        """Straight strokes through points (m, 2); `closed` joins the last to the first."""

    def text(
        self,
        position: tuple[float, float],
        string: str,
        height: float,
        *,
        angle: float = 0.0,
        anchor: Anchor = "start",
        colour: Colour = BLACK,
    ) -> None:
        """One line of text: its baseline starts (or is centred, or ends) at `position`.

        `height` is that of the capitals in mm, `angle` in degrees anticlockwise.
        """


@contextmanager
def group(pen: Pen, name: str) -> Iterator[None]:
    """Draws what follows as one named group, closed even where drawing fails."""
    pen.begin_group(name)
    try:
        yield
    finally:
        pen.end_group()


def text_width(string: str, height: float) -> float:
    """The room a text of that capital height needs, mm: never less than plain sans-serif faces take."""
    return sum(_em(character) for character in string) * height / CAPITALS_PER_EM


def fitted(words: str, height: float, width: float, smallest: float) -> tuple[str, float]:
    """The words and the height of their capitals so that they are no wider than `width`, all in mm.

    Smaller letters first, down to `smallest`; then the middle gives way to an ellipsis, since a head begins with what
    it is about and ends with mark and date.
    """
    scale = max(min(1.0, width / text_width(words, height)), smallest / height) if words else 1.0
    height, kept = height * scale, len(words)
    shown = words
    while kept > 2 and text_width(shown, height) > width + 1e-9:
        kept -= 1
        shown = f"{words[: (kept + 1) // 2].rstrip()}…{words[len(words) - kept // 2 :].lstrip()}"
    return shown, height


@cache
def _em(character: str) -> float:
    if character in NARROW:
        return NARROW_EM
    if character in WIDE:
        return WIDE_EM
    return CAPITAL_EM if character.isupper() else USUAL_EM


def _turn(angle: float) -> Floats:
    radians = math.radians(angle)
    cos, sin = math.cos(radians), math.sin(radians)
    return np.array([[cos, -sin], [sin, cos]])


@dataclass(frozen=True, slots=True)
class Moved:
    """Hands everything on, mirrored left to right if asked, then turned, then shifted by (dx, dy) mm.

    Text stays readable: of a mirrored text only the place is mirrored.
    """

    pen: Pen
    dx: float = 0.0
    dy: float = 0.0
    turned: float = 0.0
    mirrored: bool = False

    def place(self, points: Floats) -> Floats:
        """Where points (m, 2) come to lie."""
        flipped = points * np.array([-1.0 if self.mirrored else 1.0, 1.0])
        return np.asarray(flipped @ _turn(self.turned).T + np.array([self.dx, self.dy]))

    def begin_group(self, name: str) -> None:
        """See Pen."""
        self.pen.begin_group(name)

    def end_group(self) -> None:
        """See Pen."""
        self.pen.end_group()

    def curve(self, points: Floats, line: Line) -> None:
        """See Pen."""
        self.pen.curve(self.place(points), line)

    def polyline(self, points: Floats, line: Line, closed: bool = False) -> None:
        """See Pen."""
        self.pen.polyline(self.place(points), line, closed)

    def text(
        self,
        position: tuple[float, float],
        string: str,
        height: float,
        *,
        angle: float = 0.0,
        anchor: Anchor = "start",
        colour: Colour = BLACK,
    ) -> None:
        """See Pen."""
        x, y = self.place(np.array([position]))[0]
        if self.mirrored:
            angle, anchor = -angle, _mirrored_anchor(anchor)
        turned = angle + self.turned
        self.pen.text((float(x), float(y)), string, height, angle=turned, anchor=anchor, colour=colour)


def _mirrored_anchor(anchor: Anchor) -> Anchor:
    swapped: dict[Anchor, Anchor] = {"start": "end", "end": "start", "middle": "middle"}
    return swapped[anchor]


@dataclass(slots=True)
class Bounds:
    """A pen that only remembers how far the drawing reaches, with its texts, without its line widths."""

    _low: Floats = field(default_factory=lambda: np.full(2, np.inf))
    _high: Floats = field(default_factory=lambda: np.full(2, -np.inf))

    @property
    def is_empty(self) -> bool:
        """Whether nothing has been drawn."""
        return not bool(np.all(self._low <= self._high))

    @property
    def box(self) -> tuple[float, float, float, float]:
        """(xmin, ymin, xmax, ymax) in mm; all 0 where nothing has been drawn."""
        if self.is_empty:
            return 0.0, 0.0, 0.0, 0.0
        return float(self._low[0]), float(self._low[1]), float(self._high[0]), float(self._high[1])

    def begin_group(self, name: str) -> None:
        """See Pen."""

    def end_group(self) -> None:
        """See Pen."""

    def curve(self, points: Floats, line: Line) -> None:
        """See Pen."""
        xmin, ymin, xmax, ymax = Curve(points).bounds()
        self._reach(np.array([(xmin, ymin), (xmax, ymax)]))

    def polyline(self, points: Floats, line: Line, closed: bool = False) -> None:
        """See Pen."""
        self._reach(np.asarray(points, dtype=float))

    def text(
        self,
        position: tuple[float, float],
        string: str,
        height: float,
        *,
        angle: float = 0.0,
        anchor: Anchor = "start",
        colour: Colour = BLACK,
    ) -> None:
        """See Pen."""
        self._reach(text_box(position, string, height, angle, anchor))

    def _reach(self, points: Floats) -> None:
        self._low = np.minimum(self._low, points.min(axis=0))
        self._high = np.maximum(self._high, points.max(axis=0))


def text_box(
    position: tuple[float, float], string: str, height: float, angle: float = 0.0, anchor: Anchor = "start"
) -> Floats:
    """The four corners (4, 2) of the room a text takes, from a third of its height below the baseline, mm."""
    width = text_width(string, height)
    left = {"start": 0.0, "middle": -width / 2, "end": -width}[anchor]
    low = -height / 3
    corners = np.array([(left, low), (left + width, low), (left + width, height), (left, height)])
    return np.asarray(corners @ _turn(angle).T + np.array(position))


@dataclass(frozen=True, slots=True, eq=False)
class Stroke:
    """A recorded curve (`cubic`) or polyline."""

    points: Floats
    line: Line
    cubic: bool
    closed: bool
    groups: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Writing:
    """A recorded text."""

    position: tuple[float, float]
    string: str
    height: float
    angle: float
    anchor: Anchor
    colour: Colour
    groups: tuple[str, ...]


@dataclass(slots=True)
class Recorder:
    """A pen that keeps every call in order, with the groups it lies in; for tests and for drawing twice."""

    strokes: list[Stroke] = field(default_factory=list)
    writings: list[Writing] = field(default_factory=list)
    _calls: list[Stroke | Writing | str | None] = field(default_factory=list)
    _open: list[str] = field(default_factory=list)

    def begin_group(self, name: str) -> None:
        """See Pen."""
        self._open.append(name)
        self._calls.append(name)

    def end_group(self) -> None:
        """See Pen."""
        self._open.pop()
        self._calls.append(None)

    def curve(self, points: Floats, line: Line) -> None:
        """See Pen."""
        self._keep(Stroke(np.array(points, dtype=float), line, True, False, tuple(self._open)))

    def polyline(self, points: Floats, line: Line, closed: bool = False) -> None:
        """See Pen."""
        self._keep(Stroke(np.array(points, dtype=float), line, False, closed, tuple(self._open)))

    def text(
        self,
        position: tuple[float, float],
        string: str,
        height: float,
        *,
        angle: float = 0.0,
        anchor: Anchor = "start",
        colour: Colour = BLACK,
    ) -> None:
        """See Pen."""
        writing = Writing(position, string, height, angle, anchor, colour, tuple(self._open))
        self.writings.append(writing)
        self._calls.append(writing)

    def _keep(self, stroke: Stroke) -> None:
        self.strokes.append(stroke)
        self._calls.append(stroke)

    def strokes_in(self, name: str) -> list[Stroke]:
        """The strokes drawn inside a group of that name, at any depth."""
        return [stroke for stroke in self.strokes if name in stroke.groups]

    def replay(self, pen: Pen) -> None:
        """Makes the same calls in the same order on another pen."""
        for call in self._calls:
            _repeat(call, pen)


def _repeat(call: Stroke | Writing | str | None, pen: Pen) -> None:
    if call is None:
        pen.end_group()
    elif isinstance(call, str):
        pen.begin_group(call)
    elif isinstance(call, Writing):
        pen.text(
            call.position,
            call.string,
            call.height,
            angle=call.angle,
            anchor=call.anchor,
            colour=call.colour,
        )
    elif call.cubic:
        pen.curve(call.points, call.line)
    else:
        pen.polyline(call.points, call.line, call.closed)


def arrow_head(tip: Sequence[float], towards: Sequence[float], size: float = 3.0) -> Floats:
    """The two strokes (3, 2) of an open arrow head whose point is `tip`; `towards` is the way it points."""
    ahead = np.asarray(towards, dtype=float) / math.hypot(*towards)
    across = np.array([-ahead[1], ahead[0]]) * size * 0.35
    back = np.asarray(tip, dtype=float) - ahead * size
    return np.array([back + across, np.asarray(tip, dtype=float), back - across])
