"""Style files: exact round trips, strict reading, one clear sentence for all that is no sound style."""

from __future__ import annotations

import json
from dataclasses import replace
from importlib.resources import files
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coutil.curves import Curve
from coutil.errors import BadStyle
from coutil.pattern import (
    StyleFile,
    model_from_json,
    schema_text,
    style_from_json,
    style_from_model,
    style_to_json,
)
from coutil.pattern._schema import style_schema
from helpers.file_samples import sample_style, with_edge, with_piece

SCHEMA = files("coutil") / "schemas" / "style.schema.json"
finite = st.floats(-4000, 4000, allow_nan=False)


def as_dict(**changes: Any) -> dict[str, Any]:
    return {**json.loads(style_to_json(sample_style())), **changes}


def refusal(content: object) -> str:
    """The sentence with which a file is refused."""
    text = content if isinstance(content, str | bytes) else json.dumps(content)
    with pytest.raises(BadStyle) as caught:
        style_from_json(text)
    sentence = str(caught.value)
    assert sentence.endswith(".")
    assert "\n" not in sentence
    return sentence


def test_a_style_comes_back_equal_from_text_and_bytes() -> None:
    style = sample_style()
    text = style_to_json(style)
    assert style_from_json(text) == style
    assert style_from_json(text.encode()) == style
    assert style_to_json(style_from_json(text)) == text


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(finite, finite), min_size=2, max_size=2), st.floats(0, 40), st.floats(-90, 360))
def test_every_number_comes_back_to_its_last_digit(handles, allowance, grain) -> None:
    """Handles anywhere may make a faulty piece, so the model is read without looking for faults."""
    curve = Curve([(0, -60), *handles, (100, -60)])
    style = with_edge("front", "hem", curve=curve, allowance=allowance)
    style = style.with_pieces({"back": replace(style.piece("back"), grain_deg=grain)})
    assert style_from_model(model_from_json(style_to_json(style), StyleFile, "style")) == style


def test_one_coordinate_pair_stands_on_one_line() -> None:
    assert "[-0.1, 1e-7]" in style_to_json(
        with_edge("front", "hem", curve=Curve([(0, -60), (-0.1, 1e-7), (50, -60), (100, -60)]))
    )


def test_marks_carry_their_coordinates() -> None:
    front = as_dict()["pieces"][0]
    assert front["level_marks"][1] == {"level": "waist", "edge": "side", "knot": 1, "point": [100.0, 0.0]}
    assert as_dict()["pieces"][2]["landmarks"][0]["point"] == [100.0, 55.0]


def test_edges_are_written_in_order_with_their_points() -> None:
    assert list(as_dict())[:2] == ["format", "version"]
    front = as_dict()["pieces"][0]
    assert [edge["name"] for edge in front["edges"]] == ["hem", "side", "top", "centre"]
    assert front["edges"][1]["points"][3] == [100.0, 0.0]
    assert len(front["edges"][1]["points"]) == 7


def test_written_files_validate_against_the_published_schema() -> None:
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(as_dict(), schema)
    for spoilt in (as_dict(version=2), as_dict(extra=1), as_dict(name=3), {"format": "coutil-style"}):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(spoilt, schema)


def test_the_published_schema_is_the_one_the_reader_uses() -> None:
    assert SCHEMA.read_text(encoding="utf-8") == schema_text(StyleFile, "coutil style, version 1")
    assert style_schema()["$defs"]["EdgeModel"]["required"] == ["name", "points", "role"]


# Refusals of what is no style file


def test_other_files_are_named_as_such() -> None:
    assert "under format it does not say what it is" in refusal({})
    other = refusal({"format": "coutil-result"})
    assert "under format it says coutil-result, and it should say coutil-style" in other
    assert "has version 7, and this program reads version 1" in refusal(as_dict(version=7))
    assert "has version True" in refusal({"format": "coutil-style", "version": "True"})
    assert "Expected object, got array" in refusal([])


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is not valid JSON: it ends too early"),
        ('{"format": "coutil-style", ', "it ends too early"),
        ('{"format": \n !', "line 2 cannot be read"),
        ('{"format": "coutil-style",\n"version": NaN}', "line 2 holds NaN or Infinity"),
        ('{"format": "coutil-style",\n\n"version": -Infinity}', "line 3 holds NaN or Infinity"),
        ('{"a":' * 100_000, "is nested too deeply"),
        (b"\xff\xfe{}", "cannot be read"),
        (b'{"format": "\xff"}', "is not UTF-8 text"),
        ("\ud800", "cannot be read"),
    ],
)
def test_broken_text_is_refused_in_words(text: str | bytes, words: str) -> None:
    assert words in refusal(text)


def test_a_file_over_20_mb_is_not_read() -> None:
    assert "has 20.0 MB; at most 20 MB are read" in refusal(b" " * 20_000_001)


def test_misspelt_and_missing_fields_are_named_with_their_place() -> None:
    content = as_dict()
    content["pieces"][1]["edges"][2]["colour"] = "red"
    assert "unknown field colour (in pieces no. 2 edges no. 3)" in refusal(content)
    content = as_dict()
    del content["pieces"][0]["edges"][3]["points"]
    assert "missing required field points (in pieces no. 1 edges no. 4)" in refusal(content)
    assert "Expected float, got str (in workroom_step)" in refusal(as_dict(workroom_step="1"))


@pytest.mark.parametrize(
    "points",
    [
        [],
        [[0, 0]],
        [[0, 0]] * 4,
        [[0, 0], [1, 0]] * 3,
        [["0", 0]] * 4,
        [[0, 0, 0]] * 4,
        "x",
        None,
        [[1e999, 0]] * 4,
    ],
)
def test_points_that_make_no_curve(points: object) -> None:
    content = as_dict()
    content["pieces"][0]["edges"][0]["points"] = points
    assert "style file" in refusal(content) or "Edge hem of piece front" in refusal(content)


def test_a_chart_that_cannot_be_is_refused_as_a_style() -> None:
    chart = as_dict()["base_chart"]
    assert "no measurement called 'shoe_size'" in refusal(
        as_dict(base_chart={**chart, "readings": {"shoe_size": {"value": 38}}})
    )


def test_the_first_fault_is_named_and_the_others_counted() -> None:
    content = as_dict()
    content["seams"][0]["a"][0]["edge"] = "lost"
    sentence = refusal(content)
    assert sentence == (
        "The style sample cannot be used: seam side names edge lost of piece front, which is not there "
        "(and 1 more fault)."
    )


def test_a_mark_whose_coordinates_are_another_knots() -> None:
    content = as_dict()
    content["pieces"][0]["level_marks"][1]["point"] = [100.0, 30.0]
    sentence = refusal(content)
    assert "the level mark waist says it lies at (100, 30)" in sentence
    assert "but knot 1 of edge side lies 30.0 mm from there" in sentence
    content["pieces"][0]["level_marks"][1]["point"] = None
    assert style_from_json(json.dumps(content)) == sample_style()


@pytest.mark.parametrize("number", [float("nan"), float("inf"), 1e9])
def test_a_style_with_an_impossible_number_is_not_written(number: float) -> None:
    style = with_piece("front", lambda p: replace(p, grain_deg=number))
    with pytest.raises(BadStyle, match=r"cannot be written: pieces front grain deg is"):
        style_to_json(style)


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_any_spoilt_file_gives_a_style_or_one_sentence(data: st.DataObject) -> None:
    """Bytes of a good file are overwritten: what comes back is a style or a BadStyle, never another error."""
    content = bytearray(GOOD)
    for _ in range(data.draw(st.integers(1, 4))):
        content[data.draw(st.integers(0, len(content) - 1))] = data.draw(st.integers(0, 255))
    sentence = ""
    try:
        style_from_json(bytes(content))
    except BadStyle as error:
        sentence = str(error)
    assert "\n" not in sentence


GOOD = style_to_json(sample_style()).encode()


@pytest.mark.parametrize(
    ("title", "shown"),
    [
        ("Gala corset\nfor the tour", "Gala corset for the tour"),
        ("\tGala\r\n corset\u2028for the tour", "Gala corset for the tour"),
        ("Gala  corset", "Gala  corset"),  # Nothing is broken, so nothing is changed.
    ],
)
def test_titles_are_read_on_one_line(title: str, shown: str) -> None:
    content = json.loads(style_to_json(sample_style()))
    content["title"] = content["pieces"][0]["title"] = title
    read = style_from_json(json.dumps(content))
    assert (read.title, read.pieces[0].title) == (shown, shown)
    assert style_from_json(style_to_json(read)) == read
