"""The commands from end to end: files in, files out, exit codes, one sentence for bad input."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from xml.etree import ElementTree

import jsonschema
import pytest

import coutil
from coutil import job
from coutil.alter import Alterer, Wishes
from coutil.check import Finding, Verdict
from coutil.cli import run
from coutil.commands.alter import base_for
from coutil.commands.lay import style_in
from coutil.draft import STYLES
from coutil.measure import Chart, chart_to_csv, chart_to_json
from coutil.pattern import style_from_json, style_to_json
from coutil.result_file import result_from_json
from coutil.shipped import base_names, demo_clients, shipped_base

SCHEMAS = Path(coutil.__file__).parent / "schemas"
CLIENT = "understudy"


@pytest.fixture(scope="module")
def chart(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("charts") / "client.csv"
    path.write_text(chart_to_csv(demo_clients()[CLIENT], "cm"), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def made(chart: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, int]:
    """The folder of one alteration and the exit code it ended with."""
    out = tmp_path_factory.mktemp("made") / "client"
    wishes = out.parent / "wishes.toml"
    wishes.write_text('[rows.side_front]\nstate = "left"\nwhy = "sat well on the last toile"\n')
    code = run(["alter", "nearest", str(chart), "--out", str(out), "--wishes", str(wishes), "--reduction", "5"])
    return out, code


def failing(style: object, **_: object) -> tuple[Finding, ...]:
    return (Finding("seam", "Side seam", 2.0, 0.5, "mm", Verdict.FAIL, ("side_front",), "True the seam."),)


# Alter


def test_altering_writes_every_file(made: tuple[Path, int]) -> None:
    out, code = made
    assert code in (0, 1)
    assert {path.name for path in out.iterdir()} == {
        "result.json",
        "style.json",
        "chart.csv",
        "checks.csv",
        "overview.svg",
    }


def test_the_result_holds_what_was_asked(made: tuple[Path, int]) -> None:
    out, code = made
    text = (out / "result.json").read_text(encoding="utf-8")
    jsonschema.validate(json.loads(text), json.loads((SCHEMAS / "result.schema.json").read_text(encoding="utf-8")))
    result = result_from_json(text)
    plan = result.alteration.plan
    assert plan.reduction == 50.0
    left = plan.row("side_front")
    assert left is not None
    assert (left.state.value, left.amount, left.why) == ("left", 0.0, "sat well on the last toile")
    moved = [row.key for row in plan.rows if any(move.amount for move in row.moves)]
    assert [frame.row for frame in result.alteration.frames] == moved
    assert result.findings
    assert code == int(job.has_failed(result.findings))
    assert style_from_json((out / "style.json").read_text(encoding="utf-8")) == result.alteration.style


def test_the_tables_and_the_drawing_can_be_opened(made: tuple[Path, int]) -> None:
    out, _ = made
    with (out / "chart.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert any(row["measurement"] and row["base (cm)"] and row["where it goes"] for row in rows)
    with (out / "checks.csv").open(encoding="utf-8", newline="") as file:
        assert {row["verdict"] for row in csv.DictReader(file)} <= {verdict.value for verdict in Verdict}
    assert ElementTree.parse(out / "overview.svg").getroot().tag == "{http://www.w3.org/2000/svg}svg"


def test_the_chart_is_shown(chart: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(["alter", "nearest", str(chart), "--out", str(tmp_path), "--unit", "in", "--leave-small"])
    told = capsys.readouterr().out
    assert "Alteration chart, full girth (half)" in told
    assert "difference, in" in told
    assert f"Written to {tmp_path}." in told


def test_a_failing_check_ends_with_1_and_writes_all_the_same(
    chart: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(job, "check_style", failing)
    assert run(["alter", "nearest", str(chart), "--out", str(tmp_path)]) == 1
    assert "1 checks: 1 fail." in capsys.readouterr().out
    assert (tmp_path / "result.json").is_file()


def test_a_maker_s_own_style_is_a_base(made: tuple[Path, int], chart: Path, tmp_path: Path) -> None:
    own = made[0] / "style.json"
    run(["alter", str(own), str(chart), "--out", str(tmp_path)])
    base = result_from_json((tmp_path / "result.json").read_text(encoding="utf-8")).alteration.base
    assert base == style_from_json(own.read_text(encoding="utf-8"))


# Bad input

BASE = "75-22"


def refusal(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    assert run(arguments) == 2
    told = capsys.readouterr()
    assert "Traceback" not in told.err
    (sentence,) = told.err.splitlines()
    return sentence


def test_bad_bases_and_charts_are_refused_in_one_sentence(
    chart: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = ["--out", str(tmp_path / "out")]
    empty = tmp_path / "empty.csv"
    empty.write_text("# unit: cm\nmeasurement,value\n")
    torn = tmp_path / "torn.json"
    torn.write_text("{")
    folder = tmp_path / "folder.csv"
    folder.mkdir()
    assert "There is no base 121-14" in refusal(["alter", "121-14", str(chart), *out], capsys)
    assert "there is no such file" in refusal(["alter", "own.json", str(chart), *out], capsys)
    assert "not valid JSON" in refusal(["alter", str(torn), str(chart), *out], capsys)
    assert "there is no such file" in refusal(["alter", BASE, str(tmp_path / "x.csv"), *out], capsys)
    assert "it is a folder" in refusal(["alter", BASE, str(folder), *out], capsys)
    assert "empty.csv: The chart holds no measurements." in refusal(["alter", BASE, str(empty), *out], capsys)
    assert ".csv, .toml or .json" in refusal(["alter", BASE, str(_copy(chart, tmp_path / "c.doc")), *out], capsys)
    assert not (tmp_path / "out").exists()


def test_bad_wishes_are_refused_in_one_sentence(
    chart: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    wishes = tmp_path / "wishes.toml"
    wishes.write_text('[rows.sleeve]\nstate = "left"\nwhy = "x"\n')
    line = ["alter", BASE, str(chart), "--out", str(tmp_path / "out")]
    assert "no row sleeve to overrule" in refusal([*line, "--wishes", str(wishes)], capsys)
    assert "Under --gap" in refusal([*line, "--gap", "wide"], capsys)


def test_an_out_folder_that_is_a_file(chart: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "cannot be" in refusal(["alter", BASE, str(chart), "--out", str(chart)], capsys)


def _copy(path: Path, target: Path) -> Path:
    target.write_bytes(path.read_bytes())
    return target


# Check and print


def test_checking_a_result_and_a_style_again(
    made: tuple[Path, int], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    out, code = made
    assert run(["check", str(out / "result.json")]) == code
    assert "Checks of result.json" in capsys.readouterr().out
    assert run(["check", str(out / "style.json")]) in (0, 1)
    monkeypatch.setattr(job, "check_style", failing)
    assert run(["check", str(out / "style.json")]) == 1
    assert "True the seam." in capsys.readouterr().out


def test_checking_a_style_against_a_client_s_chart(
    made: tuple[Path, int], chart: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Would it fit her unaltered?  The understudy's cup is 5 mm deeper than the base's, her bust 10 mm more."""
    style = tmp_path / "base.json"
    style.write_text(style_to_json(shipped_base("80-18")), encoding="utf-8")
    assert run(["check", str(style)]) == 0
    capsys.readouterr()
    assert run(["check", str(style), "--chart", str(chart)]) == 1
    told = capsys.readouterr().out
    assert "Laced girth inside, at the bust" in told
    assert re.search(r"Cup depth +│ +-5\.00 mm", told)
    assert "The hem girth is estimated" not in told  # It was measured.
    assert run(["check", str(made[0] / "result.json"), "--chart", str(chart), "--unit", "in"]) in (0, 1)
    assert re.search(r"at the bust +│ +0\.000 in", capsys.readouterr().out)
    assert "there is no such file" in refusal(["check", str(style), "--chart", str(tmp_path / "none.csv")], capsys)


def test_a_shipped_base_is_checked_by_its_name_as_its_file_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "80-18.json").write_text(style_to_json(shipped_base("80-18")), encoding="utf-8")
    assert run(["check", "80-18.json"]) == 0
    by_file = capsys.readouterr().out.splitlines()
    assert run(["check", "80-18"]) == 0
    # All but the table's title, which names the file and is centred.
    assert capsys.readouterr().out.splitlines()[1:] == by_file[1:]
    assert len(by_file) > 20
    assert style_in(Path("80-18")) == shipped_base("80-18")


def test_checking_against_a_chart_keeps_the_reduction_s_share() -> None:
    """The base takes 76 of 760 mm, a tenth; of a waist of 720 mm that is 72."""
    chart = demo_clients()[CLIENT].with_value("waist_girth", 720.0)
    findings = job.check_for(shipped_base("80-18"), chart, "cm").findings
    (found,) = (finding for finding in findings if finding.code == "reduction")
    assert found.figure == pytest.approx(72.0)


def test_checking_what_is_neither(chart: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "not valid JSON" in refusal(["check", str(chart)], capsys)
    other = tmp_path / "other.json"
    other.write_text("{}")
    assert "not a style file" in refusal(["check", str(other)], capsys)
    assert "There is no base 80-35: give a style file" in refusal(["check", "80-35"], capsys)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_printing_a_result(made: tuple[Path, int], tmp_path: Path, paper: str) -> None:
    out, code = made
    target = tmp_path / "pattern.pdf"
    assert run(["print", str(out / "result.json"), "--paper", paper, "--out", str(target)]) == code
    assert target.read_bytes().startswith(b"%PDF-")


def test_printing_a_style_is_refused(made: tuple[Path, int], capsys: pytest.CaptureFixture[str]) -> None:
    assert "not a result file" in refusal(["print", str(made[0] / "style.json")], capsys)


# Draft


def test_drafting_from_a_chart(chart: Path, tmp_path: Path) -> None:
    assert run(["draft", str(chart), "--out", str(tmp_path)]) == 0
    (path,) = tmp_path.iterdir()
    assert path.name.startswith("understudy")
    style = style_from_json(path.read_bytes())
    assert style.base_chart.get("bust_girth") == demo_clients()[CLIENT]["bust_girth"]


def test_drafting_beyond_the_range_or_without_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    small = tmp_path / "small.csv"
    small.write_text("# unit: cm\nmeasurement,value\nbust_girth,60\nunderbust_girth,50\nwaist_girth,45\n")
    assert refusal(["draft", str(small), "--out", str(tmp_path / "out")], capsys)
    assert run(["draft"]) == 2
    assert run(["draft", str(small), "--all"]) == 2


# What is shipped


def test_the_shipped_bases_are_all_there_and_sound() -> None:
    cupped = tuple(job.size_name(*size) for size in job.SIZES)
    others = [STYLES[word].base_name(size) for word in ("panelled", "waist") for size in STYLES[word].sizes]
    assert base_names() == (*cupped, *others)
    assert (len(cupped), len(others)) == (36, 21)
    for name in base_names():
        chart = shipped_base(name).base_chart
        *under_and_cup, last = (10.0 * int(part) for part in name.split("-") if part.isdigit())
        for under in under_and_cup:
            assert (chart["underbust_girth"], chart["bust_girth"]) == (under, under + last)
        assert under_and_cup or chart["waist_girth"] == last


@pytest.mark.parametrize(("base", "name"), [("nearest-panelled", "panelled_overbust_"), ("nearest-waist", "waist_")])
def test_the_nearest_base_of_another_style(base: str, name: str) -> None:
    assert base_for(base, demo_clients()[CLIENT]).name.startswith(name)


def test_draft_draws_the_style_that_is_asked_for(tmp_path: Path) -> None:
    chart = tmp_path / "tenor.json"
    chart.write_text(chart_to_json(demo_clients()["tenor"]), encoding="utf-8")
    out = tmp_path / "out"
    assert run(["draft", str(chart), "--style", "panelled", "--front", "busk", "--out", str(out)]) == 0
    (file,) = out.iterdir()
    style = style_from_json(file.read_bytes())
    assert style.title == "Panelled overbust"
    assert style.base_fit.closure_gap == 5.0


def test_every_client_of_the_opera_finds_a_base() -> None:
    for chart in demo_clients().values():
        under, _ = job.nearest_sizes(chart)[0]
        assert abs(under - chart["underbust_girth"] / 10) <= 0.5


def test_one_client_needs_the_cup_alone_and_one_needs_almost_everything() -> None:
    """The understudy has the body of base 80-18 and another cup; of the chorus alto hardly a reading is the base's."""
    understudy = _rows(demo_clients()[CLIENT], "80-18")
    alto = _rows(demo_clients()["chorus_alto"], "nearest")
    assert understudy == ["bust_surplus", "upper_corner", "armhole", "cup_depth"]
    assert len(alto) >= 15


def _rows(chart: Chart, base: str) -> list[str]:
    return [row.key for row in Alterer(base_for(base, chart)).alter(chart, Wishes()).plan.rows]


def test_the_nearest_base_is_by_underbust_first_never_by_bust() -> None:
    # Underbust 79 and bust 98, so the difference is 19; 80-18 has the bust, 98, exactly.
    chart = demo_clients()[CLIENT].with_value("underbust_girth", 790.0).with_value("bust_girth", 980.0)
    first, second, third, *_ = job.nearest_sizes(chart)
    assert (first, second, third) == ((79, 19), (79, 18), (79, 20))
