"""Arcs, ellipses and quadratics as cubics, within a stated tolerance.

Arcs: the endpoint form of the SVG recommendation, appendix B.2.4 (conversion to centre form).
"""

from __future__ import annotations

import cmath
import math

Span = tuple[complex, complex, complex, complex]

# A quarter circle as one cubic with tangent-length handles strays by 2.7e-4 of its radius; the error falls with
# the sixth power of the angle.
QUARTER_ERROR = 2.8e-4
ARC_TOLERANCE_MM = 0.001
MOST_PARTS = 64


def line_span(a: complex, b: complex) -> Span:
    """The straight cubic from a to b."""
    return a, a + (b - a) / 3, a + 2 * (b - a) / 3, b


def quadratic_span(a: complex, handle: complex, b: complex) -> Span:
    """A quadratic as the same curve in cubic form, exactly."""
    return a, a + 2 * (handle - a) / 3, b + 2 * (handle - b) / 3, b


def parts_of_arc(radius: float, sweep: float, tolerance: float) -> int:
    """How many cubics keep an arc of that radius and angle (radians) within the tolerance."""
    quarters = max(abs(sweep) / (math.pi / 2), 1e-9)
    needed = quarters * max(QUARTER_ERROR * radius / tolerance, 1e-30) ** (1 / 6)
    return int(min(MOST_PARTS, max(1, math.ceil(quarters), math.ceil(needed))))


def arc_spans(
    centre: complex, radii: tuple[float, float], turn: float, start: float, sweep: float, tolerance: float
) -> list[Span]:
    """The arc of an ellipse turned by `turn` radians, from angle `start` over `sweep`, anticlockwise positive."""
    count = parts_of_arc(max(radii), sweep, tolerance)
    step = sweep / count
    reach = 4 / 3 * math.tan(step / 4)
    tilt = cmath.rect(1.0, turn)

    def placed(unit: complex) -> complex:
        return centre + tilt * complex(radii[0] * unit.real, radii[1] * unit.imag)

    spans = []
    for k in range(count):
        a, b = cmath.rect(1.0, start + k * step), cmath.rect(1.0, start + (k + 1) * step)
        spans.append((placed(a), placed(a + reach * 1j * a), placed(b - reach * 1j * b), placed(b)))
    return spans


def endpoint_arc(
    a: complex, radii: tuple[float, float], turn_deg: float, large: bool, sweep: bool, b: complex, tolerance: float
) -> list[Span]:
    """An arc given by its ends; too small radii grow until they reach, radii of nothing give a line."""
    rx, ry = abs(radii[0]), abs(radii[1])
    if a == b:
        return []
    if rx == 0 or ry == 0:
        return [line_span(a, b)]
    turn = math.radians(turn_deg)
    half = (a - b) / 2 * cmath.rect(1.0, -turn)
    x, y = half.real / rx, half.imag / ry
    grown = math.hypot(x, y)
    if grown > 1.0:
        rx, ry, x, y = rx * grown, ry * grown, x / grown, y / grown
    off = math.sqrt(max(0.0, 1.0 / (x * x + y * y) - 1.0)) * (-1.0 if large == sweep else 1.0)
    middle = complex(off * y, -off * x)
    centre = (a + b) / 2 + cmath.rect(1.0, turn) * complex(rx * middle.real, ry * middle.imag)
    first = cmath.phase(complex(x, y) - middle)
    angle = (cmath.phase(complex(-x, -y) - middle) - first) % (2 * math.pi)
    spans = arc_spans(centre, (rx, ry), turn, first, angle if sweep else angle - 2 * math.pi, tolerance)
    # The ends are taken as given: rounding must not open an outline.
    spans[0] = (a, *spans[0][1:])
    spans[-1] = (*spans[-1][:3], b)
    return spans


def ellipse_spans(centre: complex, radii: tuple[float, float], tolerance: float) -> list[Span]:
    """A whole ellipse, anticlockwise from its right end."""
    return arc_spans(centre, radii, 0.0, 0.0, 2 * math.pi, tolerance)
