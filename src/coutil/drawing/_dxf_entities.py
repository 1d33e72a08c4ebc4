"""DXF entities as spans in the drawing's own units."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise
from typing import Any

from coutil.drawing._arcs import Span, arc_spans, ellipse_spans, line_span
from coutil.drawing._shapes import Shape
from coutil.drawing._values import MOST_NODES
from coutil.errors import BadInput

STRAIGHT_BULGE = 1e-9
SAMPLES_A_SPAN = 24  # Of a spline that is no polynomial cubic, before a curve is fitted to them.


def _line(entity: Any, _: float) -> Iterator[Shape]:
    a, b = _flat(entity.dxf.start), _flat(entity.dxf.end)
    yield Shape([line_span(a, b)], [True], False)


def _circle(entity: Any, tolerance: float) -> Iterator[Shape]:
    x, y, _ = entity.ocs().to_wcs(entity.dxf.center)
    r = float(entity.dxf.radius)
    if r > 0:
        spans = ellipse_spans(complex(x, y), (r, r), tolerance)
        yield Shape(spans, [False] * len(spans), True, (x, y, r))


def _arc(entity: Any, tolerance: float) -> Iterator[Shape]:
    centre, r = _flat(entity.dxf.center), float(entity.dxf.radius)
    start, end = math.radians(entity.dxf.start_angle), math.radians(entity.dxf.end_angle)
    sweep = (end - start) % (2 * math.pi) or 2 * math.pi
    spans = arc_spans(centre, (r, r), 0.0, start, sweep, tolerance)
    if entity.dxf.extrusion[2] < 0:
        # An entity seen from behind has its x the other way round.
        spans = [_mirrored(span) for span in spans]
    if r > 0:
        yield Shape(spans, [False] * len(spans), False)


def _mirrored(span: Span) -> Span:
    a, b, c, d = (-point.conjugate() for point in span)
    return a, b, c, d


def _ellipse(entity: Any, tolerance: float) -> Iterator[Shape]:
    centre, axis = _flat(entity.dxf.center), _flat(entity.dxf.major_axis)
    radii = (abs(axis), abs(axis) * float(entity.dxf.ratio))
    start, end = float(entity.dxf.start_param), float(entity.dxf.end_param)
    sweep = (end - start) % (2 * math.pi) or 2 * math.pi
    whole = math.isclose(sweep, 2 * math.pi)
    if min(radii) > 0:
        turn = math.atan2(axis.imag, axis.real)
        if entity.dxf.extrusion[2] < 0:
            start, sweep = -start, -sweep
        spans = arc_spans(centre, radii, turn, start, sweep, tolerance)
        yield Shape(spans, [False] * len(spans), whole)


def _lwpolyline(entity: Any, tolerance: float) -> Iterator[Shape]:
    nodes = [(complex(x, y), float(bulge)) for x, y, bulge in entity.get_points("xyb")]
    sign = -1.0 if entity.dxf.extrusion[2] < 0 else 1.0
    yield from _bulged(nodes, bool(entity.closed), tolerance, sign)


def _polyline(entity: Any, tolerance: float) -> Iterator[Shape]:
    if not (entity.is_2d_polyline or entity.is_3d_polyline):
        return
    # Control points of a fitted polyline (flag 16) are no points of the line.
    vertices = [v for v in entity.vertices if not v.dxf.get("flags", 0) & 16]
    nodes = [(_flat(v.dxf.location), float(v.dxf.get("bulge", 0.0))) for v in vertices]
    sign = -1.0 if entity.dxf.extrusion[2] < 0 else 1.0
    yield from _bulged(nodes, bool(entity.is_closed), tolerance, sign)


def _bulged(nodes: list[tuple[complex, float]], closed: bool, tolerance: float, sign: float) -> Iterator[Shape]:
    ends = [*nodes, nodes[0]] if closed and nodes else nodes
    spans: list[Span] = []
    flat: list[bool] = []
    for (a, bulge), (b, _) in pairwise(ends):
        if a == b:
            continue
        found = _bulge(a, b, bulge, tolerance) if abs(bulge) > STRAIGHT_BULGE else [line_span(a, b)]
        spans += found
        flat += [abs(bulge) <= STRAIGHT_BULGE] * len(found)
    if spans:
        yield Shape(spans if sign > 0 else [_mirrored(span) for span in spans], flat, closed)


def _bulge(a: complex, b: complex, bulge: float, tolerance: float) -> list[Span]:
    """The arc from a to b; the bulge is the tangent of a quarter of its angle, positive anticlockwise."""
    sweep = 4 * math.atan(bulge)
    middle, chord = (a + b) / 2, b - a
    centre = middle + 1j * chord * (1 - bulge * bulge) / (4 * bulge)
    first = a - centre
    spans = arc_spans(centre, (abs(first),) * 2, 0.0, math.atan2(first.imag, first.real), sweep, tolerance)
    return [(a, *spans[0][1:]), *spans[1:-1], (*spans[-1][:3], b)] if len(spans) > 1 else [(a, *spans[0][1:3], b)]


def _spline(entity: Any, tolerance: float) -> Iterator[Shape]:
    # A polynomial cubic is exactly a chain of cubics; anything else is sampled.
    if len(entity.control_points) > MOST_NODES:
        raise BadInput(f"A spline of the drawing has more than {MOST_NODES} nodes: simplify it.")
    tool = entity.construction_tool()
    if tool.degree == 3 and not tool.is_rational and tool.is_clamped:
        spans = [_four(points) for points in tool.bezier_decomposition()]
        yield Shape(spans, [False] * len(spans), bool(entity.closed))
        return
    points = [_flat(p) for p in tool.approximate(SAMPLES_A_SPAN * max(1, len(tool.control_points)))]
    spans = [line_span(a, b) for a, b in pairwise(points) if a != b]
    if spans:
        yield Shape(spans, [True] * len(spans), bool(entity.closed))


def _four(points: Any) -> Span:
    a, b, c, d = (_flat(point) for point in points)
    return a, b, c, d


def _flat(point: Any) -> complex:
    return complex(float(point[0]), float(point[1]))


SHAPES_OF: Mapping[str, Callable[[Any, float], Iterator[Shape]]] = {
    "LINE": _line,
    "ARC": _arc,
    "CIRCLE": _circle,
    "ELLIPSE": _ellipse,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "SPLINE": _spline,
}
