"""SVG files: true size, names kept, nothing that XML cannot carry."""

import re
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coutil.sheet._drawing import BASE, CUT, STITCHING, group
from coutil.sheet._svg import SvgPen

BOX = (-10.0, -20.0, 90.0, 30.0)
SVG = "{http://www.w3.org/2000/svg}"


def parsed(pen, box=BOX, title="Sheet"):
    return ElementTree.fromstring(pen.document(box, title).encode())


def numbers(text):
    return [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", text)]


def test_a_user_unit_is_a_millimetre():
    root = parsed(SvgPen())

    assert (root.get("width"), root.get("height")) == ("100mm", "50mm")
    assert root.get("viewBox") == "-10 -30 100 50"


def test_curves_come_back_within_a_hundredth_of_a_millimetre():
    points = np.array([(0.123456, 7.654321), (10.1, 20.2), (30.3, -40.4), (50.55555, 60.66666)])
    pen = SvgPen()
    pen.curve(points, STITCHING)

    path = parsed(pen).find(f"{SVG}path")
    read = np.array(numbers(path.get("d"))).reshape(-1, 2) * (1, -1)
    assert read == pytest.approx(points, abs=1e-4)
    assert path.get("d").count("C") == 1


def test_a_closed_polyline_is_closed_and_a_dashed_line_dashed():
    pen = SvgPen()
    pen.polyline(np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 5.0)]), BASE, closed=True)

    path = parsed(pen).find(f"{SVG}path")
    assert path.get("d") == "M0 0 L10 0 L10 -5 Z"
    assert path.get("stroke-dasharray") == "5 2.5"


def test_groups_keep_their_names_and_ids_differ():
    pen = SvgPen()
    for _ in range(2):
        with group(pen, "piece:side front"):
            pen.polyline(np.zeros((2, 2)), CUT)

    found = parsed(pen).findall(f"{SVG}g")
    assert [g.get("data-name") for g in found] == ["piece:side front"] * 2
    assert [g.get("id") for g in found] == ["piece:side_front", "piece:side_front-2"]


def test_a_made_up_number_does_not_take_an_id_that_is_in_use():
    pen = SvgPen()
    for name in ("cut-2", "cut", "cut"):
        with group(pen, name):
            pen.polyline(np.zeros((2, 2)), CUT)

    ids = [g.get("id") for g in parsed(pen).findall(f"{SVG}g")]
    assert len(set(ids)) == 3


def test_text_turns_about_its_own_place_and_has_its_capitals_height():
    pen = SvgPen()
    pen.text((5.0, 7.0), "Front", 3.6, angle=90.0, anchor="middle")

    text = parsed(pen).find(f"{SVG}text")
    assert text.get("transform") == "rotate(-90 5 -7)"
    assert (text.get("font-size"), text.get("text-anchor")) == ("5", "middle")


@pytest.mark.parametrize("name", ['<waist> & "hip"', "Œillet Ω Грудь", "tab\tname", "'\"'"])
def test_special_characters_come_back(name):
    pen = SvgPen()
    with group(pen, name):
        pen.text((0.0, 0.0), name, 3.0)

    root = parsed(pen, title=name)
    assert root.find(f"{SVG}g/{SVG}text").text == name
    assert root.find(f"{SVG}title").text == name


@given(st.text())
def test_any_text_gives_a_file_that_can_be_read(text):
    pen = SvgPen()
    with group(pen, text):
        pen.text((0.0, 0.0), text, 3.0)

    assert parsed(pen, title=text).tag == f"{SVG}svg"
