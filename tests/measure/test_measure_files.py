"""Charts as CSV, TOML and JSON: what is written comes back, what is broken is named."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from measure_strategies import charts

from coutil.errors import BadChart
from coutil.measure import (
    Chart,
    chart_from_csv,
    chart_from_json,
    chart_from_text,
    chart_from_toml,
    chart_to_csv,
    chart_to_json,
    chart_to_toml,
)

FORMS = {
    "csv": (chart_to_csv, chart_from_csv),
    "toml": (chart_to_toml, chart_from_toml),
    "json": (chart_to_json, chart_from_json),
}

CSV = """# name: Alto
# unit: in
# worn: own bra
# taken: 2026-10-01
# invented: yes
measurement,value,how,left,right
bust_girth,34 1/2,,,
waist_to_lap,,estimated,8 1/4,8.5
waist_girth,27 | 27 1/2 | 27 1/4,,,
"""
TOML = """
name = "Alto"
unit = "in"
worn = "own bra"
taken = 2026-10-01
invented = true
[measurements]
bust_girth = "34 1/2"
waist_to_lap = { left = "8 1/4", right = 8.5, how = "estimated" }
waist_girth = { readings = [27, 27.5, "27 1/4"] }
"""
JSON = """{"name": "Alto", "unit": "in", "worn": "own bra", "taken": "2026-10-01", "invented": true,
"measurements": {"bust_girth": 34.5, "waist_to_lap": {"left": 8.25, "right": "8 1/2", "how": "estimated"},
"waist_girth": {"readings": [27, 27.5, 27.25]}}}"""


@pytest.mark.parametrize(("text", "suffix"), [(CSV, ".csv"), (TOML, ".toml"), (JSON, "JSON")])
def test_the_three_forms_say_the_same(text: str, suffix: str) -> None:
    chart = chart_from_text(text.encode(), suffix)
    assert (chart.name, chart.worn, chart.taken, chart.invented) == ("Alto", "own bra", "2026-10-01", True)
    # By hand: 34.5 x 25.4 = 876.3; 8.25 and 8.5 in are 209.55 and 215.9; 27.25 in is 692.15; 0.5 in is 12.7.
    assert chart["bust_girth"] == 876.3
    assert chart.sides("waist_to_lap") == (209.55, 215.9)
    assert chart.estimated("waist_to_lap")
    assert chart["waist_girth"] == 692.15
    assert chart.readings["waist_girth"].spread == pytest.approx(12.7)


@pytest.mark.parametrize("form", FORMS)
@given(chart=charts(), unit=st.sampled_from(["mm", "cm", "in"]))
@settings(max_examples=60)
def test_what_is_written_comes_back_exactly(form: str, chart: Chart, unit: str) -> None:
    write, read = FORMS[form]
    named = chart if chart.name else Chart("unnamed", chart.readings, chart.worn, chart.taken, chart.invented)
    assert read(write(named, unit)) == named


def test_the_callers_unit_holds_where_the_file_names_none() -> None:
    assert chart_from_csv("measurement,value\nwaist_girth,72", "cm")["waist_girth"] == 720
    assert chart_from_json('{"measurements": {"waist_girth": 72}}', "cm")["waist_girth"] == 720


def test_a_spreadsheet_with_semicolons_decimal_commas_and_padding_is_read() -> None:
    text = "\ufeff# unit: cm;;\nMeasurement;Value;;\nwaist_girth;72,5;;\n;;;\n"
    assert chart_from_csv(text)["waist_girth"] == 725


def test_a_unit_beside_the_figure_wins() -> None:
    assert chart_from_toml('unit = "cm"\n[measurements]\nwaist_girth = "720 mm"')["waist_girth"] == 720


def _csv(body: str) -> str:
    return f"# unit: cm\nmeasurement,value,how,left,right,taken\n{body}\n"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "The file is empty"),
        (" \n ", "The file is empty"),
        ("\0\1", "not text"),
        ("x" * 1_000_001, "larger than 1 MB"),
        ("# unit: cm\n", "no measurements"),
        ("# unit: cm\nmeasurement,value\n", "no measurements"),
        ("measurement,value\nwaist_girth,72", "does not say its unit"),
        ("# unit: ell\nmeasurement,value\nwaist_girth,72", "mm, cm or in"),
        ("# unit: cm\n# unit: in\nmeasurement,value\nwaist_girth,72", "Line 2: unit is given twice"),
        ("# unit: cm\nkey,value\nwaist_girth,72", "Line 2: there is no column 'key'"),
        ("# unit: cm\nvalue\n72", "Line 2: the headings"),
        ("# unit: cm\nmeasurement,value,value\nwaist_girth,72", "Line 2: a column is named twice"),
        (_csv("wast_girth,72"), r"Line 3: .*did you mean waist_girth\?$"),
        (
            "# unit: cm\nmeasurement,value,how,taken\nwaist_girth,84,5,measured,",
            "Line 3: put a figure with a decimal comma",
        ),
        (_csv("waist_girth,72\nwaist_girth,73"), "Line 4: waist_girth is given twice"),
        (_csv("waist_girth,nan"), "Line 3: 'nan' is not a length"),
        (_csv("waist_girth,1e999"), "Line 3: '1e999' is not a length"),
        (_csv("waist_girth,-72"), "Line 3: .*below 0"),
        (_csv("waist_girth,,,,"), "Line 3: give waist_girth either one value"),
        (_csv("waist_girth,72,guessed"), "Line 3: .*measured, repeated or estimated"),
        (_csv("waist_girth,72 | 73,measured"), "Line 3: several readings"),
        (_csv("waist_girth,72,,36,36"), "Line 3: give waist_girth either"),
        (_csv("waist_girth,72,,,,soon"), "Line 3: .*year-month-day, like 2026-10-01, not 'soon'"),
        (_csv('waist_girth,"72'), "Line 3: .*quotation marks"),
        ("# unit: cm\nmeasurement,value\nwaist_girth,72,5", "Line 3: 3 cells under 2 headings"),
        ("# unit: cm\n# invented: perhaps\nmeasurement,value\nwaist_girth,72", "invented is to be yes or no"),
    ],
)
def test_a_broken_csv_is_named(text: str, says: str) -> None:
    with pytest.raises(BadChart, match=says):
        chart_from_csv(text)


def _toml(body: str) -> str:
    return f'unit = "cm"\n[measurements]\n{body}\n'


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("unit = ", "The chart is not TOML: Invalid value"),
        (_toml("waist_girth = 72\nwaist_girth = 73"), "The chart is not TOML: .*line 4"),
        (_toml("waist_girth = nan"), "waist_girth: "),
        (_toml("waist_girth = inf"), "waist_girth: "),
        (_toml("waist_girth = -1"), "waist_girth: -1 cm is below 0"),
        (_toml("waist_girth = true"), "waist_girth: True is not a length"),
        (_toml("waist_girth = [1, 2]"), "waist_girth: a list is not a length"),
        (_toml(f"waist_girth = {'9' * 400}"), "waist_girth: the number is longer than any tape"),
        (_toml(f"waist_girth = {'9' * 5000}"), "a number too long"),
        (_toml("wast_girth = 72"), "did you mean waist_girth"),
        (_toml("waist_girth = { val = 72 }"), "waist_girth holds an unknown entry 'val'; did you mean value"),
        (_toml("waist_girth = { value = 72, left = 36, right = 36 }"), "give one of value, readings"),
        (_toml("waist_girth = { how = 'measured' }"), "give one of value, readings"),
        (_toml("waist_girth = { readings = [] }"), "a list of 1 to 20 lengths"),
        (_toml("waist_girth = { readings = 72 }"), "a list of 1 to 20 lengths"),
        (_toml("waist_girth = { readings = [72], how = 'measured' }"), "always repeated"),
        (_toml("waist_girth_left = 36\nwaist_girth = { left = 36, right = 36 }"), "given twice"),
        (_toml("waist_girth = { value = 72, taken = 5 }"), "waist_girth: the date is to be text"),
        ('unit = "cm"\nmesurements = 1', "unknown entry 'mesurements'; did you mean measurements"),
        ('unit = "cm"\nwaist_girth = 72', "put waist_girth under measurements"),
        ('unit = "cm"\nmeasurements = 7', "measurements is to be a table"),
        ('unit = "cm"', "no measurements"),
        ("unit = 5\n[measurements]\nwaist_girth = 72", "unit is to be text"),
        ('unit = "cm"\nname = 5\n[measurements]\nwaist_girth = 72', "name is to be text"),
        ('unit = "cm"\ninvented = 1\n[measurements]\nwaist_girth = 72', "invented is to be true or false"),
        (_toml("a = " + "[" * 2000), "The chart is not TOML|nested too deep"),
    ],
)
def test_a_broken_toml_is_named(text: str, says: str) -> None:
    with pytest.raises(BadChart, match=says):
        chart_from_toml(text)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[]", "The chart is to be a table"),
        ("{", "The chart is not JSON: .*line 1"),
        ('{"unit": "cm", "unit": "in"}', "'unit' is given twice"),
        ('{"unit": "cm", "measurements": {"waist_girth": NaN}}', "waist_girth: "),
        ('{"unit": "cm", "measurements": {"waist_girth": 1e999}}', "waist_girth: "),
        ('{"unit": "cm", "measurements": {"waist_girth": null}}', "waist_girth: None is not a length"),
        ('{"unit": "cm", "measurements": {"waist_girth": 1, "waist_girth": 2}}', "given twice"),
        ("[" * 100_000, "nested too deep"),
    ],
)
def test_a_broken_json_is_named(text: str, says: str) -> None:
    with pytest.raises(BadChart, match=says):
        chart_from_json(text)


def test_an_unknown_suffix_and_bytes_that_are_no_text_are_named() -> None:
    with pytest.raises(BadChart, match=r"is a \.csv, \.toml or \.json file"):
        chart_from_text("x", ".xlsx")
    with pytest.raises(BadChart, match="UTF-8"):
        chart_from_text(b"\xff\xfe\x00", ".csv")
    with pytest.raises(BadChart, match="1 MB"):
        chart_from_text(b"a" * 4_000_001, ".csv")


@pytest.mark.parametrize("suffix", FORMS)
@given(st.text(max_size=200) | st.binary(max_size=200))
@settings(max_examples=80)
def test_no_input_ends_in_anything_but_a_sentence(suffix: str, content: str | bytes) -> None:
    with pytest.raises(BadChart):
        chart_from_text(content, suffix)


@pytest.mark.parametrize("form", FORMS)
@given(charts(), st.integers(0, 10**6), st.text(max_size=3))
@settings(max_examples=60)
def test_a_damaged_chart_is_read_or_named(form: str, chart: Chart, at: int, junk: str) -> None:
    write, read = FORMS[form]
    text = write(chart)
    cut = at % (len(text) + 1)
    try:
        outcome = read(text[:cut] + junk + text[cut + 1 :])
    except BadChart as error:
        outcome = str(error)
    assert isinstance(outcome, Chart) or (outcome and "\n" not in outcome)
