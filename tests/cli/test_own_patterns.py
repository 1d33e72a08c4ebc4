"""A drawing made by hand goes from import through alter and print by the documented steps; the sister commands run."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from coutil.cli import run
from coutil.measure import chart_from_text, chart_to_csv
from coutil.pattern import measure_style, style_from_json
from coutil.shipped import demo_clients

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "own-patterns.md").read_text(encoding="utf-8")
STEPS = re.findall(r"```\n(.*?)```", PAGE, re.DOTALL)[0].splitlines()


@pytest.fixture(scope="module")
def workroom(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the documented drawing, a client's chart, and every documented step done in it."""
    folder = tmp_path_factory.mktemp("workroom")
    (folder / "docs").mkdir()
    (folder / "docs" / "waist-cincher.svg").write_bytes((ROOT / "docs" / "waist-cincher.svg").read_bytes())
    client = demo_clients()["understudy"]
    (folder / "client.csv").write_text(chart_to_csv(client, "cm"), encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        for step in STEPS:
            assert run(step.removeprefix("coutil ").split()) == 0, step
    return folder


def test_the_documented_steps_lead_from_a_drawing_to_a_printed_pattern(workroom: Path) -> None:
    assert [step.split()[1] for step in STEPS] == ["import", "check", "alter", "check", "print"]
    (printed,) = (workroom / "out" / "client").glob("pattern-*.pdf")
    assert printed.read_bytes().startswith(b"%PDF")
    altered = style_from_json((workroom / "out" / "client" / "style.json").read_bytes())
    client = demo_clients()["understudy"]
    # Laced with the usual 50 mm gap the altered waist is the client's, as the base's own is its chart's.
    assert measure_style(altered)["waist_girth"] == pytest.approx(client["waist_girth"] - 50, abs=1)


def test_the_proposal_beside_the_style_can_be_given_back(workroom: Path) -> None:
    marks = workroom / "cincher.marks.toml"
    drawing = str(workroom / "docs" / "waist-cincher.svg")
    corrected = workroom / "corrected.toml"
    corrected.write_bytes(marks.read_bytes())
    out = workroom / "again.json"
    assert run(["import", drawing, "--marks", str(corrected), "--out", str(out), "--all"]) == 0
    first, again = (json.loads((workroom / f"{name}.json").read_text()) for name in ("cincher", "again"))
    assert [piece["name"] for piece in first["pieces"]] == [piece["name"] for piece in again["pieces"]]
    assert first["seams"] == again["seams"]


def test_a_marks_file_is_never_written_over(workroom: Path, capsys: pytest.CaptureFixture[str]) -> None:
    marks = workroom / "cincher.marks.toml"
    before = marks.read_bytes()
    drawing = str(workroom / "docs" / "waist-cincher.svg")
    assert run(["import", drawing, "--marks", str(marks), "--out", str(workroom / "cincher.json")]) == 2
    assert "written over" in capsys.readouterr().err
    assert marks.read_bytes() == before


def test_a_bad_drawing_writes_nothing_and_ends_with_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = tmp_path / "bad.svg"
    for content in (b"<svg", b"<!DOCTYPE svg [<!ENTITY a 'b'>]><svg/>", b"\xff\xfe", b""):
        bad.write_bytes(content)
        assert run(["import", str(bad), "--out", str(tmp_path / "style.json")]) == 2
        told = capsys.readouterr()
        assert told.err.startswith("Error: ")
        assert told.err.count("\n") == 1
    with bad.open("wb") as file:
        file.truncate(100_000_000)
    assert run(["import", str(bad), "--out", str(tmp_path / "style.json")]) == 2
    assert "more than 20 MB" in capsys.readouterr().err
    assert run(["import", str(tmp_path / "none.svg"), "--out", str(tmp_path / "style.json")]) == 2
    assert run(["import", str(bad), "--scale", "nan", "--out", str(tmp_path / "style.json")]) == 2
    assert [path.name for path in tmp_path.iterdir()] == ["bad.svg"]


def test_export_and_import_by_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawing = tmp_path / "base.dxf"
    assert run(["export", "70-14", "--format", "dxf", "--out", str(drawing)]) == 0
    assert run(["export", "70-14", "--format", "svg", "--out", str(tmp_path / "other.dxf")]) == 2
    assert "other.dxf would hold SVG: call it other.svg, or give --format dxf." in capsys.readouterr().err
    assert not (tmp_path / "other.dxf").exists()
    marks = tmp_path / "base.marks.toml"
    assert run(["import", str(drawing), "--marks", str(marks), "--out", str(tmp_path / "back.json")]) == 0
    assert "6 pieces, 24 edges" in capsys.readouterr().out
    assert style_from_json((tmp_path / "back.json").read_bytes()).name == "cupped_overbust_70_14"


def test_measure_shows_and_writes_what_the_pattern_measures(
    workroom: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    chart, style = tmp_path / "own.csv", tmp_path / "own.json"
    options = ["--reduction", "6.2", "--chart-out", str(chart), "--style-out", str(style)]
    assert run(["measure", str(workroom / "cincher.json"), *options]) == 0
    # Half waist 82 + 70 + 72 + 80 = 304 mm: 60.8 full, 65.8 laced with the gap, 72 with the reduction.
    out = capsys.readouterr().out
    for figure in ("60.8 cm", "30.4 cm", "65.8 cm"):
        assert figure in out
    assert chart_from_text(chart.read_bytes(), ".csv")["waist_girth"] == pytest.approx(720)
    assert style_from_json(style.read_bytes()).base_chart["waist_girth"] == pytest.approx(720)


def test_rank_names_the_best_base_first(workroom: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["rank", str(workroom / "client.csv"), "80-14", "80-18", "--unit", "in"]) == 0
    out = capsys.readouterr().out
    assert out.index("80-18") < out.index("80-14")
    assert "start from another size" in out
    # Table and remarks below it speak in one unit.
    assert re.search(r"80-14: .*\d in\b", out)
    assert not re.search(r"\d (mm|cm)\b", out)


def test_grade_makes_a_style_for_every_size(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "steps.csv"
    table.write_text("size,waist_girth,underbust_girth,bust_girth\nsmall,-2,-2,-2\nlarge,+2,+2,+2\n", encoding="utf-8")
    out = tmp_path / "sizes"
    assert run(["grade", "80-14", str(table), "--out", str(out)]) == 0
    assert {path.name for path in out.iterdir()} == {"small.json", "large.json", "sizes.csv"}
    assert "2 sizes written" in capsys.readouterr().out
    assert (out / "sizes.csv").read_text(encoding="utf-8").startswith("size,bust,underbust,waist")


def test_an_import_that_can_be_no_pattern_is_written_and_ends_with_1(
    workroom: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A stated seam is left out, so that two edges have no mate: import and check both say so."""
    marks = (workroom / "cincher.marks.toml").read_text(encoding="utf-8")
    head, _, rest = marks.partition("[seams.")
    fewer, out = workroom / "fewer.toml", workroom / "fewer_seams.json"
    fewer.write_text(head + "[seams." + rest.partition("[seams.")[2], encoding="utf-8")
    drawing = str(Path(__file__).parents[2] / "docs" / "waist-cincher.svg")
    assert run(["import", drawing, "--marks", str(fewer), "--out", str(out)]) == 1
    assert "Failed: Nothing is sewn to" in capsys.readouterr().out
    assert out.is_file()
    assert run(["check", str(out)]) == 1
