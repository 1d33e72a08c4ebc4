"""What is measured on the joined sheet: a 400 mm line each way, and test squares where the paper is large."""

from __future__ import annotations

import numpy as np

from coutil.sheet._drawing import Floats, Line, Pen, Recorder, group

RULE = Line("test line", 0.2)
SQUARE = Line("test square", 0.2)
TICK = Line("tick", 0.2)

LONG_MM, STEP_MM, TICK_MM = 400.0, 100.0, 3.0
SQUARE_MM, INCH_MM = 100.0, 25.4
BETWEEN_MM = 8.0
WORDS_MM = 2.4

# The text starts so far along the line, clear of the ticks: at the first place where it crosses no joint.
WORDS_AT_MM = (20.0, 32.0, 110.0, 125.0, 210.0, 225.0, 310.0, 325.0, 8.0)

ALONG_X, ALONG_Y = (1.0, 0.0), (0.0, 1.0)


def long_line(along: tuple[float, float], words: str, words_at: float = WORDS_AT_MM[0]) -> Recorder:
    """A line from (0, 0) along x or y, with a tick at every 100 mm and its words `words_at` mm from its start."""
    drawing, ahead = Recorder(), np.array(along)
    left = np.array([-ahead[1], ahead[0]])
    with group(drawing, "test line"):
        drawing.polyline(np.array([0 * ahead, LONG_MM * ahead]), RULE)
        for at in np.arange(0.0, LONG_MM + 1.0, STEP_MM):
            drawing.polyline(np.array([at * ahead, at * ahead + TICK_MM * left]), TICK)
        x, y = words_at * ahead + 1.4 * left
        drawing.text((float(x), float(y)), words, WORDS_MM, angle=90.0 if ahead[1] else 0.0)
    return drawing


def square_pair() -> Recorder:
    """The 100 mm square and, to its right, the 4 in square."""
    drawing = Recorder()
    draw_square(drawing, 0.0, 0.0, SQUARE_MM, 10.0)
    draw_square(drawing, SQUARE_MM + BETWEEN_MM, 0.0, 4 * INCH_MM, INCH_MM)
    drawing.text((8.0, 48.0), "100 mm: measure before cutting", 3.0)
    drawing.text((SQUARE_MM + BETWEEN_MM + 8.0, 48.0), "4 in", 3.0)
    return drawing


def draw_square(pen: Pen, left: float, bottom: float, side: float, step: float) -> None:
    """A square from (left, bottom) with a tick inside at every step on all four sides."""
    corner = np.array([left, bottom])
    with group(pen, "test square"):
        pen.polyline(rectangle(side, side) + corner, SQUARE, closed=True)
        for place in np.arange(step, side - step / 2, step):
            for start, end in _ticks(float(place), side):
                pen.polyline(corner + np.array([start, end]), TICK)


def rectangle(width: float, height: float) -> Floats:
    """The corners (4, 2) of a box from (0, 0)."""
    return np.array([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)])


def _ticks(place: float, side: float) -> tuple[tuple[tuple[float, float], tuple[float, float]], ...]:
    inner = side - TICK_MM
    return (
        ((place, 0.0), (place, TICK_MM)),
        ((place, side), (place, inner)),
        ((0.0, place), (TICK_MM, place)),
        ((side, place), (inner, place)),
    )
