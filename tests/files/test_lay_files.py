"""Kept lay plans come back exactly and fit their schema; fixed parts are read from both kinds of file."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from renew_schemas import PUBLISHED

import coutil
from coutil.cut.lay import LayCloth, LayPart, LayPlan, Placement, part_sizes, plan_lay, rectangle
from coutil.errors import BadInput
from coutil.lay_file import LAY_VERSION, fixed_parts, lay_again, lay_from_json, lay_to_json

SCHEMA = Path(coutil.__file__).parent / "schemas" / "lay.schema.json"
CLOTH = LayCloth(900.0, price=18.5)
mm = st.floats(0, 4000, allow_nan=False)


def parts(along: float = 250.0) -> tuple[LayPart, ...]:
    panel = LayPart("front", "Front", "outer", np.array([(0.0, 0), (along, 20), (along, 120), (0, 150)]), 1, 1)
    return panel, rectangle("waist tape", "outer", 600, 25, 1)


def plan() -> LayPlan:
    return plan_lay("Overbust", parts(), CLOTH, fixed=(Placement("front", "outer", "drawn", 30.1, 200.0),), placings=0)


def test_a_kept_plan_comes_back_exactly_and_is_drawn_where_it_lay() -> None:
    made = plan()
    kept = lay_from_json(lay_to_json(made))
    assert kept == made
    assert lay_again(kept, parts()).placements == made.placements


@settings(max_examples=20, deadline=None)
@given(mm, mm, st.sampled_from([0, 90, 180, 270]), st.sampled_from(["drawn", "mirrored"]), st.booleans())
def test_every_number_comes_back_to_its_last_digit(x, y, rotation, hand, fixed) -> None:
    one = Placement("front", "outer", hand, x, y, rotation, fixed=fixed)
    made = LayPlan("s", CLOTH, part_sizes(parts()), (one,), x, y, "as placed", ("said",))
    assert lay_from_json(lay_to_json(made)) == made


def test_kept_plans_fit_the_published_schema() -> None:
    assert SCHEMA.read_text(encoding="utf-8") == PUBLISHED["lay.schema.json"]
    schema, data = json.loads(SCHEMA.read_text(encoding="utf-8")), json.loads(lay_to_json(plan()))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(data, schema)
    data["placements"][0]["rotation"] = 45
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data, schema)


def test_a_plan_is_not_drawn_with_other_parts() -> None:
    kept = plan()
    with pytest.raises(BadInput, match=r"another front \(outer\): lay the pattern again"):
        lay_again(kept, parts(251.0))
    with pytest.raises(BadInput, match="another waist tape"):
        lay_again(kept, parts()[:1])
    with pytest.raises(BadInput, match="another loop"):
        lay_again(kept, (*parts(), rectangle("loop", "outer", 100, 10, 1)))


def test_a_plan_that_was_spoilt_by_hand_is_refused() -> None:
    kept = plan()
    heap = tuple(replace(one, x=0.0, y=20.0) for one in kept.placements)
    with pytest.raises(BadInput, match="over or too near"):
        lay_again(replace(kept, placements=heap), parts())


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"format": "coutil-style"}, "not a lay plan file"),
        ({"version": LAY_VERSION + 1}, "this program reads version 1"),
        ({"length": "long"}, "does not fit its format"),
        ({"colour": "blue"}, "does not fit its format"),
        ({"cloth": {"width": -4, "selvedge": 0, "gap": 0, "nap": False, "folded": False, "grain": True}}, "width"),
    ],
)
def test_other_files_are_refused_in_words(change, words) -> None:
    data = {**json.loads(lay_to_json(plan())), **change}
    with pytest.raises(BadInput, match=words):
        lay_from_json(json.dumps(data))


def test_fixed_parts_are_read_from_toml_in_the_makers_unit() -> None:
    text = '[[part]]\npiece = "front"\nx = 12.5\ny = "40 mm"\nhand = "mirrored"\nrotation = 180\n'
    assert fixed_parts(text, ("outer",), "cm") == (
        Placement("front", "outer", "mirrored", 125.0, 40.0, 180, fixed=True),
    )
    assert fixed_parts("[[part]]\npiece = 'front'\nx = 1\ny = 2\n", ("outer",), "in")[0].x == 25.4
    assert fixed_parts("", ("outer",), "cm") == ()


def test_fixed_parts_are_read_from_a_kept_plan() -> None:
    (one,) = fixed_parts(lay_to_json(plan()), ("outer",), "cm")
    assert (one.piece, one.hand, one.x, one.y, one.fixed) == ("front", "drawn", 30.1, 200.0, True)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[[part]\n", "not TOML"),
        ("[[part]]\npiece = 'front'\nx = 1\n", r"required field y \(in part no. 1\)"),
        ("[[part]]\npiece = 'front'\nx = 1\ny = 1\nturned = true\n", "does not fit its format"),
        ("[[part]]\npiece = 'front'\nx = 'left'\ny = 1\n", "is not a length"),
        ("[[part]]\npiece = 'front'\nx = nan\ny = 1\n", "is not a length"),
        ("[[part]]\npiece = 'front'\nx = 1\ny = 1\nrotation = 45\n", "does not fit its format"),
    ],
)
def test_other_files_of_fixed_parts_are_refused_in_words(text, words) -> None:
    with pytest.raises(BadInput, match=words):
        fixed_parts(text, ("outer",), "cm")


def test_a_fixed_part_of_several_layers_must_say_which() -> None:
    with pytest.raises(BadInput, match="Say of which layer the fixed front is"):
        fixed_parts("[[part]]\npiece = 'front'\nx = 1\ny = 1\n", ("outer", "strength"), "cm")
