"""Result files: an alteration and its checks come back exactly, under the published schema."""

from __future__ import annotations

import json
import math
import re
from dataclasses import fields, replace
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from renew_schemas import PUBLISHED

import coutil
from coutil._result_model import FindingModel, GirthOrderModel, PlanModel, PlanRowModel
from coutil.alter import Alteration, Conflict, Frame, GirthOrder, Move, Plan, PlanRow, State, TruingNote
from coutil.check import Finding, Verdict
from coutil.errors import BadInput
from coutil.pattern import Level
from coutil.result_file import result_from_json, result_to_json
from helpers.file_samples import sample_style

SCHEMA = Path(coutil.__file__).parent / "schemas" / "result.schema.json"
mm = st.floats(-4000, 4000, allow_nan=False)


def row(amount: float = 6.0) -> PlanRow:
    moves = (Move("front", "side", None, "sideways", amount / 2), Move("back", "side", "waist", "along", 0.1))
    return PlanRow(
        "side",
        "side",
        "Side seam",
        "waist_girth",
        720.0,
        744.0,
        24.0,
        6.5,
        amount,
        moves,
        "Parallel over its height.",
        State.OVERRULED,
        "She sits all day.",
        estimated=True,
        remainder=0.5,
        warnings=("Beyond the tape's error.",),
    )


def alteration() -> Alteration:
    base = sample_style()
    levels = (replace(base.levels[0]), Level("underbust", -92.0, "underbust"), base.levels[2])
    style = replace(base, name="client", levels=levels)
    plan = Plan(
        (row(),),
        (GirthOrder("waist", 744.0, 0.0, 80.0, 50.0, 300.0, 314.0),),
        {"waist_girth": 744.0},
        80.0,
        50.0,
        0.0,
        ("Reduction unanswered.",),
    )
    frames = (Frame("length", replace(base, levels=levels)), Frame("side", base))
    truing = (TruingNote("front", "hem", 0.25, "The hem runs through."),)
    conflicts = (Conflict(("side", "cup"), 2.5, "Both cannot be kept.", "Leave one."),)
    return Alteration(base, style, plan, frames, truing, conflicts, 2e-11)


FINDINGS = (
    Finding(
        "seam.side",
        "Side seam, front against back",
        0.1 + 0.2,
        0.5,
        "mm",
        Verdict.PASS,
        ("front", "back"),
        "",
    ),
    Finding("height.side", "Side height", 12.0, None, "mm", Verdict.DECISION, ("back",), "Take it or leave it."),
    Finding("hollow", "Hollow radius", math.inf, 17.0, "mm", Verdict.PASS, (), ""),
)


def test_a_result_comes_back_equal() -> None:
    text = result_to_json(alteration(), FINDINGS)
    result = result_from_json(text)
    assert result.alteration == alteration()
    assert result.findings == FINDINGS
    assert result_from_json(text.encode()) == result
    assert result_to_json(result.alteration, result.findings) == text


@settings(max_examples=40, deadline=None)
@given(mm, mm, st.floats(0, 1))
def test_every_number_comes_back_to_its_last_digit(amount: float, figure: float, residual: float) -> None:
    first = alteration()
    plan = replace(first.plan, rows=(row(amount),), targets={"waist_girth": amount})
    made = replace(first, plan=plan, residual=residual)
    findings = (replace(FINDINGS[0], figure=figure),)
    result = result_from_json(result_to_json(made, findings))
    assert (result.alteration, result.findings) == (made, findings)


def test_the_keys_a_reader_looks_for() -> None:
    content = json.loads(result_to_json(alteration(), FINDINGS))
    assert list(content) == [
        "format", "version", "base", "style", "plan", "frames", "truing", "conflicts", "residual", "checks",
        "lays",
    ]  # fmt: skip
    assert content["style"]["pieces"][0]["edges"][1]["points"][3] == [100.0, 0.0]
    assert content["style"]["pieces"][0]["level_marks"][0]["point"] == [0.0, 0.0]
    assert content["style"]["seams"][0]["name"] == "side"
    assert content["frames"][0]["pieces"][2]["name"] == "yoke"
    assert content["checks"][1]["verdict"] == "decision"
    assert content["checks"][2]["figure"] is None


@pytest.mark.parametrize(
    ("value", "model"),
    [(PlanRow, PlanRowModel), (Plan, PlanModel), (GirthOrder, GirthOrderModel), (Finding, FindingModel)],
)
def test_every_field_of_the_values_is_in_the_file(value: type, model: type) -> None:
    assert {f.name for f in fields(value)} == set(model.__struct_fields__)


def test_written_results_validate_against_the_published_schema() -> None:
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    content = json.loads(result_to_json(alteration(), FINDINGS))
    jsonschema.validate(content, schema)
    del content["checks"][0]["advice"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(content, schema)


def test_the_published_schemas_are_those_the_readers_use() -> None:
    """Where this fails on purpose, renew_schemas.py writes them anew."""
    for name, text in PUBLISHED.items():
        assert SCHEMA.with_name(name).read_text(encoding="utf-8") == text


def test_other_files_are_refused_in_one_sentence() -> None:
    with pytest.raises(BadInput, match=r"not a result file: under format it says coutil-style"):
        result_from_json('{"format": "coutil-style", "version": 1}')
    with pytest.raises(BadInput, match=r"missing required field base"):
        result_from_json('{"format": "coutil-result", "version": 1}')


def test_a_number_no_file_can_hold_is_not_written() -> None:
    broken = replace(alteration(), residual=math.nan)
    with pytest.raises(BadInput, match=r"^The result cannot be written: .* is nan"):
        result_to_json(broken, ())


@pytest.mark.parametrize(
    ("place", "key", "words"),
    [
        (("plan", "rows", 0), "amount", "plan rows no. 1 amount is 1e+300, and nothing on a pattern is larger than"),
        (("plan", "rows", 0, "moves", 1), "amount", "plan rows no. 1 moves no. 2 amount is 1e+300, and nothing"),
        (("plan", "targets"), "waist_girth", "plan targets waist_girth is 1e+300, and nothing"),
        (("truing", 0), "moved", "truing no. 1 moved is 1e+300, and nothing"),
    ],
)
def test_an_amount_no_pattern_can_have_is_not_read(place: tuple[str | int, ...], key: str, words: str) -> None:
    content = json.loads(result_to_json(alteration(), FINDINGS))
    held = content
    for step in place:
        held = held[step]
    assert key in held
    held[key] = 1e300
    with pytest.raises(BadInput, match="^" + re.escape(f"The result cannot be used: {words}")):
        result_from_json(json.dumps(content))


def test_a_faulty_base_is_refused_and_a_faulty_outcome_left_to_the_checks() -> None:
    made = alteration()
    yoke = made.style.piece("yoke")
    crossed = replace(yoke, edges=(replace(yoke.edges[0], curve=yoke.edges[0].curve.moved(0, 1)), *yoke.edges[1:]))
    text = result_to_json(replace(made, style=made.style.with_pieces({"yoke": crossed})), ())
    assert result_from_json(text).alteration.style.piece("yoke") == crossed
    text = result_to_json(replace(made, base=made.base.with_pieces({"yoke": crossed})), ())
    with pytest.raises(BadInput, match=r"the outline is open by 1.00 mm"):
        result_from_json(text)
