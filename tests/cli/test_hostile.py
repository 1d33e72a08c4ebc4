"""Hostile input on the command line: one clear sentence, exit code 2, and nothing written."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from coutil.cli import run
from coutil.measure import chart_to_csv, chart_to_toml
from coutil.pattern import style_to_json
from coutil.shipped import demo_clients, shipped_base

TOML = chart_to_toml(demo_clients()["understudy"], "cm")
CSV = chart_to_csv(demo_clients()["understudy"], "cm")
STYLE = json.loads(style_to_json(shipped_base("80-18")))


@pytest.fixture
def refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """Runs a command in an empty folder; gives its one sentence and sees that nothing was written."""

    def told(*words: str) -> str:
        out = tmp_path / "out"
        line = [*words, "--out", str(out)] if words[0] in ("alter", "draft") and "--out" not in words else [*words]
        assert run(line) == 2
        (sentence,) = capsys.readouterr().err.splitlines()
        assert sentence.startswith("Error: ")
        assert sentence.endswith((".", "?", ".)")), sentence
        assert not out.exists()
        return sentence

    return told


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.csv", os.urandom(64) + b"\xff", "is not text in UTF-8|no chart|larger|cell|no column"),
        ("a.csv", CSV.encode("utf-16"), "not text in UTF-8"),
        ("a.csv", CSV.replace(",", "\t"), "no column"),
        ("a.csv", CSV + "waist_girth,76,measured,\n", "given twice"),
        ("a.csv", "# unit: cm\nmeasurement,value,how\nwaist_girth,84,5,measured\n", "decimal comma"),
        ("a.toml", TOML.replace("waist_girth = 76", "waist_girth = nan"), "nan cm is below 0"),
        ("a.toml", TOML.replace("waist_girth = 76", "waist_girth = 1e308"), "longer than any tape"),
        ("a.toml", TOML.replace("waist_girth = 76", "waist_girth = 760"), "no body's: look at the figure and its unit"),
        ("a.toml", TOML.replace("waist_girth = 76", "waist_girth = -76"), "below 0"),
        ("a.toml", TOML.replace('"cm"', '"ell"'), "mm, cm or in, not 'ell'"),
        ("a.toml", TOML.replace('"cm"', '"mm"'), "no body's"),
        ("a.toml", "a = " + "[" * 20000, "nested too deep"),
        ("a.json", "[" * 200_000, "nested too deep"),
        ("a.json", '{"unit": "cm", "measurements": {"waist_girth": ' + "9" * 5000 + "}}", "number too long"),
        ("chart", CSV, "A chart is a .csv, .toml or .json file"),
        ("Ünïcode 衣.csv", "", "The file is empty"),
    ],
)
def test_charts(refused: Callable[..., str], tmp_path: Path, name: str, content: str | bytes, words: str) -> None:
    path = tmp_path / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    told = refused("alter", "80-18", str(path))
    assert any(word in told for word in words.split("|")), told


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_links_that_lead_in_a_circle_or_nowhere(refused: Callable[..., str], tmp_path: Path) -> None:
    one, other, gone = tmp_path / "one.csv", tmp_path / "other.csv", tmp_path / "gone.csv"
    one.symlink_to(other)
    other.symlink_to(one)
    gone.symlink_to(tmp_path / "nothing")
    assert "links lead in a circle" in refused("alter", "80-18", str(one))
    assert "there is no such file" in refused("alter", "80-18", str(gone))


def _spoilt(change: Callable[[dict[str, Any]], None]) -> str:
    content = json.loads(json.dumps(STYLE))
    change(content)
    return json.dumps(content)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda s: s.update(version=99), "version 99"),
        (lambda s: s.update(pieces=[]), "it has no pieces"),
        (lambda s: s.update(seams=[]), "names a seam cradle"),
        (lambda s: s.update(workroom_step=0), "above 0"),
        (lambda s: s["sharing"]["curves"]["front"][0].update(weight=-1), "it is to be 0 or more"),
        (lambda s: s["pieces"][0]["edges"][0]["points"][1].__setitem__(0, 1e300), "is it in millimetres?"),
        (lambda s: s["base_fit"].update(reduction=1e9), "larger than 5000 mm"),
        (lambda s: s.update(zzz=1), "unknown field"),
    ],
)
def test_styles(
    refused: Callable[..., str], tmp_path: Path, change: Callable[[dict[str, Any]], None], words: str
) -> None:
    path = tmp_path / "own.json"
    path.write_text(_spoilt(change), encoding="utf-8")
    assert words in refused("check", str(path))


@pytest.mark.parametrize(
    ("option", "value", "words"),
    [
        ("--reduction", "-5", "is below 0"),
        ("--reduction", "99", "more than half of the waist, 76.0 cm"),
        ("--reduction", "NaN", "is not a length"),
        ("--reduction", "5 furlongs", "not 'furlongs'"),
        ("--gap", "-1", "is below 0"),
        ("--gap", "200", "wider than 30.0 cm"),
    ],
)
def test_wishes(refused: Callable[..., str], tmp_path: Path, option: str, value: str, words: str) -> None:
    chart = tmp_path / "chart.toml"
    chart.write_text(TOML, encoding="utf-8")
    assert words in refused("alter", "80-18", str(chart), option, value)


def test_an_amount_no_row_can_move(refused: Callable[..., str], tmp_path: Path) -> None:
    chart, wishes = tmp_path / "chart.toml", tmp_path / "wishes.toml"
    chart.write_text(TOML, encoding="utf-8")
    wishes.write_text('[rows.armhole]\nstate = "overruled"\nwhy = "x"\namount = 900\n', encoding="utf-8")
    told = refused("alter", "80-18", str(chart), "--wishes", str(wishes))
    assert "Row armhole is overruled by 900.0 cm, more than any row moves" in told


def test_a_folder_in_the_place_of_one_file_leaves_no_other(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    chart = tmp_path / "chart.toml"
    chart.write_text(TOML, encoding="utf-8")
    (tmp_path / "out" / "overview.svg").mkdir(parents=True)
    assert run(["alter", "80-18", str(chart), "--out", str(tmp_path / "out")]) == 2
    assert "it is a folder" in capsys.readouterr().err
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["overview.svg"]
