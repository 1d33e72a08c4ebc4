"""SVG's basic shapes as spans in their own units."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from coutil.drawing._arcs import Span, arc_spans, ellipse_spans, line_span
from coutil.drawing._svg_tree import Element, tag_of
from coutil.drawing._svg_units import numbers_of, units_of
from coutil.errors import BadInput

QUARTER = 1.5707963267948966


@dataclass(frozen=True, slots=True)
class Shape:
    """Spans of a run, which were drawn straight, whether it is closed, and the circle it is, if any."""

    spans: Sequence[Span]
    flat: Sequence[bool]
    closed: bool
    circle: tuple[float, float, float] | None = None


def shape_of(element: Element, where: str, tolerance: float) -> Shape | None:
    """The shape of a basic element; None where it has no size.  Raises BadInput for numbers it cannot have."""
    return SHAPES[tag_of(element)](element, where, tolerance)


def _polygon(points: Sequence[complex], closed: bool) -> Shape | None:
    ends = [*points, points[0]] if closed and points else list(points)
    spans = [line_span(a, b) for a, b in pairwise(ends) if a != b]
    return Shape(spans, [True] * len(spans), closed) if spans else None


def _line(element: Element, where: str, _: float) -> Shape | None:
    x1, y1, x2, y2 = (units_of(element.get(key), where) for key in ("x1", "y1", "x2", "y2"))
    return _polygon((complex(x1, y1), complex(x2, y2)), False)


def _points(element: Element, where: str, _: float) -> Shape | None:
    numbers = numbers_of(element.get("points", ""), where)
    if len(numbers) % 2:
        raise BadInput(f"The points of {where} are {len(numbers)} numbers, and x and y go in pairs: correct it.")
    points = [complex(x, y) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]
    return _polygon(points, tag_of(element) == "polygon")


def _circle(element: Element, where: str, tolerance: float) -> Shape | None:
    x, y, r = (units_of(element.get(key), where) for key in ("cx", "cy", "r"))
    if r <= 0:
        return None
    spans = ellipse_spans(complex(x, y), (r, r), tolerance)
    return Shape(spans, [False] * len(spans), True, (x, y, r))


def _ellipse(element: Element, where: str, tolerance: float) -> Shape | None:
    x, y, rx, ry = (units_of(element.get(key), where) for key in ("cx", "cy", "rx", "ry"))
    if min(rx, ry) <= 0:
        return None
    spans = ellipse_spans(complex(x, y), (rx, ry), tolerance)
    return Shape(spans, [False] * len(spans), True)


def _rect(element: Element, where: str, tolerance: float) -> Shape | None:
    x, y, w, h = (units_of(element.get(key), where) for key in ("x", "y", "width", "height"))
    if min(w, h) <= 0:
        return None
    rx, ry = _rounding(element, where, (w, h))
    if min(rx, ry) <= 0:
        return _polygon((complex(x, y), complex(x + w, y), complex(x + w, y + h), complex(x, y + h)), True)
    corners = ((x + w - rx, y + ry, -1), (x + w - rx, y + h - ry, 0), (x + rx, y + h - ry, 1), (x + rx, y + ry, 2))
    spans: list[Span] = []
    flat: list[bool] = []
    for cx, cy, quarter in corners:
        arc = arc_spans(complex(cx, cy), (rx, ry), 0.0, quarter * QUARTER, QUARTER, tolerance)
        if spans and spans[-1][3] != arc[0][0]:
            spans, flat = [*spans, line_span(spans[-1][3], arc[0][0])], [*flat, True]
        spans, flat = [*spans, *arc], [*flat, *[False] * len(arc)]
    if spans[-1][3] != spans[0][0]:
        spans, flat = [*spans, line_span(spans[-1][3], spans[0][0])], [*flat, True]
    return Shape(spans, flat, True)


def _rounding(element: Element, where: str, size: tuple[float, float]) -> tuple[float, float]:
    """Radii of the corners: one given stands for both, neither beyond half a side."""
    given = [element.get(key) for key in ("rx", "ry")]
    said = [units_of(text, where) for text in given if text not in (None, "auto")]
    if not said:
        return 0.0, 0.0
    rx, ry = (units_of(text, where) if text not in (None, "auto") else said[0] for text in given)
    return min(rx, size[0] / 2), min(ry, size[1] / 2)


SHAPES: Mapping[str, Callable[[Element, str, float], Shape | None]] = {
    "line": _line,
    "polyline": _points,
    "polygon": _points,
    "circle": _circle,
    "ellipse": _ellipse,
    "rect": _rect,
}
