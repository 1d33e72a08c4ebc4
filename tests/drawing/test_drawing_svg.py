"""SVG reading against closed forms: units, view boxes, transforms, shapes, arcs, path commands."""

from __future__ import annotations

import math

import numpy as np
import pytest
from drawing_samples import svg
from hypothesis import given, settings
from hypothesis import strategies as st

from coutil.curves import Curve
from coutil.drawing import DrawnLine, import_drawing, read_drawing
from coutil.drawing._arcs import endpoint_arc, quadratic_span
from coutil.drawing._joining import area


def lines(body: str, head: str = 'width="400mm" height="300mm" viewBox="0 0 400 300"') -> list[DrawnLine]:
    return list(read_drawing(svg(body, head), ".svg").lines)


def line(body: str, head: str = 'width="400mm" height="300mm" viewBox="0 0 400 300"') -> DrawnLine:
    (found,) = lines(body, head)
    return found


def ends(found: DrawnLine) -> list[list[float]]:
    return [found.start.tolist(), found.end.tolist()]


# --- units and view boxes ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("head", "mm"),
    [
        ('width="100mm" height="100mm" viewBox="0 0 100 100"', 1.0),
        ('width="10cm" height="10cm" viewBox="0 0 100 100"', 1.0),
        ('width="4in" height="4in" viewBox="0 0 4 4"', 25.4),
        ('width="72pt" height="72pt" viewBox="0 0 72 72"', 25.4 / 72),
        ('width="96px" height="96px"', 25.4 / 96),
        ('width="96" height="96" viewBox="0 0 48 48"', 25.4 / 48),
        ("", 25.4 / 96),
        ('viewBox="0 0 50 50"', 25.4 / 96),
        ('width="100%" height="100%" viewBox="0 0 50 50"', 25.4 / 96),
    ],
)
def test_one_unit_is_what_the_file_says(head: str, mm: float) -> None:
    found = line('<path d="M0 0 L40 0"/>', head)
    assert found.end[0] - found.start[0] == pytest.approx(40 * mm, rel=1e-12)


@pytest.mark.parametrize(
    ("aspect", "corner"),
    [
        # A box 100 by 50 in a page 200 by 200: scale 2 to meet, 4 to slice; what is left over goes where it says.
        ("", (0.0, 150.0)),
        ("xMinYMin", (0.0, 200.0)),
        ("xMidYMax meet", (0.0, 100.0)),
        ("xMinYMin slice", (0.0, 200.0)),
        ("xMidYMid slice", (-100.0, 200.0)),
        ("none", (0.0, 200.0)),
    ],
)
def test_a_view_box_of_another_shape_is_placed_as_told(aspect: str, corner: tuple[float, float]) -> None:
    head = f'width="200mm" height="200mm" viewBox="0 0 100 50" preserveAspectRatio="{aspect}"'
    found = line('<path d="M0 0 L100 50"/>', head)
    assert found.start == pytest.approx(corner)
    step = {"none": (200.0, -200.0)}.get(aspect, (400.0, -200.0) if "slice" in aspect else (200.0, -100.0))
    assert found.end - found.start == pytest.approx(step)


def test_y_runs_up_from_the_pages_lower_edge() -> None:
    assert ends(line('<path d="M10 20 L10 300"/>')) == [[10.0, 280.0], [10.0, 0.0]]


# --- groups, transforms, copies ----------------------------------------------------------------------------


def test_nested_transforms_apply_from_the_inside_out() -> None:
    # (1, 0) scaled by 2, turned by 90 degrees (down on the page), shifted by (10, 20): (10, 22), so y is 278.
    body = '<g transform="translate(10,20)"><g transform="rotate(90) scale(2)"><path d="M0 0 L1 0"/></g></g>'
    assert np.allclose(ends(line(body)), [[10, 280], [10, 278]])
    one = '<path transform="translate(10 20) rotate(90), scale(2)" d="M0 0 L1 0"/>'
    assert np.allclose(ends(line(one)), [[10, 280], [10, 278]])


@pytest.mark.parametrize(
    ("transform", "point"),
    [
        ("matrix(1 2 3 4 5 6)", (1 * 7 + 3 * 11 + 5, 2 * 7 + 4 * 11 + 6)),
        ("translate(5)", (12.0, 11.0)),
        ("scale(2 3)", (14.0, 33.0)),
        ("rotate(90 7 0)", (7 - 11, 0.0)),
        ("skewX(45)", (18.0, 11.0)),
        ("skewY(45)", (7.0, 18.0)),
    ],
)
def test_every_transform_of_the_recommendation(transform: str, point: tuple[float, float]) -> None:
    found = line(f'<path transform="{transform}" d="M0 0 L7 11"/>')
    assert found.end == pytest.approx((point[0], 300 - point[1]))


def test_copies_are_placed_and_hidden_parts_left_out() -> None:
    body = (
        '<defs><path id="p" d="M0 0 H5"/></defs><use href="#p" x="10" y="20"/>'
        '<symbol id="s"><path d="M0 0 V5"/></symbol><use href="#s" transform="translate(1 1)"/>'
        '<g style="fill:none; display: none"><path d="M0 0 H9"/></g><path visibility="hidden" d="M0 0 H9"/>'
        '<clipPath id="c"><rect width="5" height="5"/></clipPath><image href="http://x.example/a.png"/>'
    )
    drawing = read_drawing(svg(body), ".svg")
    assert [ends(found) for found in drawing.lines] == [[[10, 280], [15, 280]], [[1, 299], [1, 294]]]
    assert "2 hidden parts were left out." in drawing.remarks


def test_a_drawing_within_the_drawing_has_its_own_view_box() -> None:
    body = '<svg x="100" y="50" width="100" height="100" viewBox="0 0 10 10"><path d="M0 0 L1 1"/></svg>'
    assert np.allclose(ends(line(body)), [[100, 250], [110, 240]])


def test_names_come_from_labels_titles_and_ids() -> None:
    body = (
        '<g id="g1" xmlns:i="urn:x" i:label="Centre Front"><path id="path12" data-name="hem" d="M0 0 H9"/></g>'
        '<path id="top" d="M0 0 H8"/><path id="x"><title>side</title></path>'
    )
    assert [found.names for found in lines(body)] == [("Centre Front", "hem"), ("top",)]


# --- shapes ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("shape", "size"),
    [
        ('<rect x="10" y="20" width="30" height="40"/>', 1200.0),
        ('<polygon points="0,0 30,0 30,40"/>', 600.0),
        ('<rect width="30" height="40" rx="5"/>', 1200 - (4 - math.pi) * 25),
        ('<rect width="30" height="40" rx="50" ry="3"/>', 1200 - (4 - math.pi) * 15 * 3),
        ('<circle r="50" cx="100" cy="100"/>', math.pi * 2500),
        ('<ellipse rx="50" ry="20"/>', math.pi * 1000),
    ],
)
def test_closed_shapes_have_their_area(shape: str, size: float) -> None:
    found = line(shape)
    assert found.closed
    assert abs(area(found.spans)) == pytest.approx(size, abs=0.2)


def test_open_shapes_and_shapes_of_no_size() -> None:
    assert ends(line('<line x1="1" y1="2" x2="3" y2="4"/>')) == [[1, 298], [3, 296]]
    assert len(line('<polyline points="0 0 5 0 5 5"/>').spans) == 2
    assert not lines('<rect width="0" height="5"/><circle r="0"/><line/><path d="M5 5 L5 5 Z"/><path d=""/>')


def test_a_circle_is_known_as_one_only_while_it_is_round() -> None:
    assert line('<circle cx="5" cy="6" r="2"/>').circle == pytest.approx((5, 294, 2))
    assert line('<circle cx="5" cy="6" r="2" transform="rotate(30) scale(3)"/>').circle[2] == pytest.approx(6)
    assert line('<circle cx="5" cy="6" r="2" transform="scale(3 1)"/>').circle is None


# --- path data ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "end"),
    [
        ("M1 2 3 4 5 6", (5, 6)),
        ("m1 2 3 4-5-6", (-1, 0)),
        ("M0 0h5v6", (5, 6)),
        ("M0,0H5V6", (5, 6)),
        ("M0 0C1 2 3 4 5 6", (5, 6)),
        ("M1 1c1 2 3 4 5 6", (6, 7)),
        ("M0 0Q5 5 10 0T20 0", (20, 0)),
        ("M0 0S5 5 10 0", (10, 0)),
        ("M.5.5L1.5.5", (1.5, 0.5)),
        ("M1e1 0L2E1,0", (20, 0)),
        ("M0 0a5 5 0 1010 0", (10, 0)),
        ("M0 0a5,5,0,0,1,10,0", (10, 0)),
    ],
)
def test_every_way_to_write_a_path(data: str, end: tuple[float, float]) -> None:
    assert line(f'<path d="{data}"/>').end == pytest.approx((end[0], 300 - end[1]))


def test_smooth_commands_reflect_the_last_handle() -> None:
    found = line('<path d="M0 0 C0 10 10 10 10 0 S20 -10 20 0"/>')
    assert found.spans[1, 1] == pytest.approx((10, 310))
    quadratic = line('<path d="M0 0 Q5 10 10 0 T20 0"/>')
    # The reflected quadratic handle is (15, -10): as a cubic the first handle lies two thirds of the way to it.
    assert quadratic.spans[1, 1] == pytest.approx((10 + 2 / 3 * 5, 300 + 2 / 3 * 10))


def test_runs_after_a_close_begin_where_the_last_did() -> None:
    first, second = lines('<path d="M10 10 h5 v5 z l1 1"/>')
    assert first.closed
    assert second.start == pytest.approx((10, 290))


@given(
    st.complex_numbers(max_magnitude=300), st.complex_numbers(max_magnitude=300), st.complex_numbers(max_magnitude=300)
)
def test_quadratics_are_the_same_curve(a: complex, b: complex, c: complex) -> None:
    p0, p1, p2, p3 = quadratic_span(a, b, c)
    for t in (0.0, 0.3, 0.5, 0.9, 1.0):
        cubic = (1 - t) ** 3 * p0 + 3 * (1 - t) ** 2 * t * p1 + 3 * (1 - t) * t**2 * p2 + t**3 * p3
        assert cubic == pytest.approx((1 - t) ** 2 * a + 2 * (1 - t) * t * b + t * t * c, abs=1e-9)


@settings(max_examples=60)
@given(
    st.floats(1, 400),
    st.floats(0.2, 5),
    st.floats(-180, 180),
    st.floats(0, 6.28),
    st.floats(0.05, 6.2),
    st.booleans(),
)
def test_arcs_keep_within_a_thousandth_of_a_millimetre(
    rx: float, ratio: float, turn: float, start: float, sweep: float, way: bool
) -> None:
    # Planted: an arc of a known ellipse, asked for by its ends and flags.
    ry, tilt = rx * ratio, np.exp(1j * math.radians(turn))
    step = sweep if way else -sweep

    def on(angle: float) -> complex:
        return 30 + 40j + tilt * complex(rx * math.cos(angle), ry * math.sin(angle))

    spans = endpoint_arc(on(start), (rx, ry), turn, sweep > math.pi, way, on(start + step), 0.001)
    points = np.array([[(p.real, p.imag) for p in span] for span in spans])
    along = Curve.from_spans(points).flatten(0.01)
    back = (along[:, 0] + 1j * along[:, 1] - 30 - 40j) / tilt
    # Distance from the ellipse to first order: the equation's value over its gradient.
    value = (back.real / rx) ** 2 + (back.imag / ry) ** 2 - 1
    gradient = 2 * np.hypot(back.real / rx**2, back.imag / ry**2)
    assert np.abs(value / gradient).max() < 0.0011


def test_radii_too_small_grow_until_they_reach() -> None:
    # The recommendation's rule: a radius of 1 on a chord of 10 becomes a half circle of radius 5.
    found = line('<path d="M0 0 A1 1 0 0 1 10 0"/>')
    assert Curve.from_spans(found.spans).length == pytest.approx(5 * math.pi, abs=0.01)
    assert line('<path d="M0 0 A0 5 0 0 1 10 0"/>').end == pytest.approx((10, 300))


def test_a_node_beside_the_waist_gives_way_to_the_waists_own() -> None:
    """Two nodes a millimetre apart would bend sharply as soon as the seam is altered."""
    side = "C114,60 104,92 104,119 C104,146 112,170 116,200"
    waist = '<line id="level_waist" x1="0" x2="390" y1="120.5" y2="120.5"/>'
    (piece,) = import_drawing(svg(f'<path id="front" d="M20,30 H116 {side} H20 Z"/>{waist}'), ".svg", "x").style.pieces
    (mark,) = (m for m in piece.level_marks if not piece.edge(m.at.edge).curve.is_straight(0.1))
    curve = piece.edge(mark.at.edge).curve
    assert curve.n_spans == 2
    assert piece.point(mark.at)[1] == pytest.approx(0.0, abs=1e-6)
    # The line is where it was drawn: both cubics as written, y from the waist upwards, x from the left end at 20.
    for nodes in ([(116, 30), (114, 60), (104, 92), (104, 119)], [(104, 119), (104, 146), (112, 170), (116, 200)]):
        for t in np.linspace(0.0, 1.0, 21):
            weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
            x, y = (sum(w * node[axis] for w, node in zip(weights, nodes, strict=True)) for axis in (0, 1))
            assert curve.closest((x - 20.0, 120.5 - y)).distance < 0.05
