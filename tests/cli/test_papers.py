"""coutil papers from end to end: a result in, the workroom sheet, the ordered pattern and the toile out."""

from __future__ import annotations

from pathlib import Path

import pytest

from coutil import job
from coutil.alter import Wishes
from coutil.cli import run
from coutil.measure import chart_to_csv
from coutil.pattern import find_faults, girth
from coutil.result_file import result_from_json, result_to_json
from coutil.shipped import demo_clients
from helpers.altering import base_of, client_of


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> Path:
    client, wishes = client_of(base_of(), waist_girth=10.0), Wishes(closure_gap=4.0)
    alteration = job.run(job.Order(base_of(), client, wishes, "cm")).alteration
    path = tmp_path_factory.mktemp("papers") / "result.json"
    path.write_text(result_to_json(alteration, job.check_alteration(alteration)), encoding="utf-8")
    return path


def test_an_ordered_busk_is_altered_for_from_the_start(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The papers of a pattern without the busk's gap are refused before any is written; altered with the order they
    are made, and the cloth is 4 mm less at every level: 586 of 590."""
    monkeypatch.chdir(tmp_path)
    Path("client.csv").write_text(chart_to_csv(demo_clients()["contralto"], "cm"), encoding="utf-8")
    Path("order.toml").write_text('closure = "busk"\n', encoding="utf-8")
    assert run(["alter", "75-22", "client.csv", "--out", "closed"]) in (0, 1)
    for command in ("papers", "pack"):
        assert run([command, "closed/result.json", "--order", "order.toml", "--out", "none"]) == 2
        told = capsys.readouterr().err
        assert "4 mm too large" in told
        assert "coutil alter BASE CLIENT --order ORDER.toml" in told
        assert not Path("none").exists()
    assert run(["alter", "75-22", "client.csv", "--order", "order.toml", "--out", "busk"]) in (0, 1)
    assert run(["papers", "busk/result.json", "--order", "order.toml", "--out", "papers"]) in (0, 1)
    assert "no closure gap" not in capsys.readouterr().out
    closed, busk = (result_from_json(Path(f, "result.json").read_bytes()).alteration.style for f in ("closed", "busk"))
    for level in ("underbust", "waist", "high_hip"):
        assert girth(closed, level).full - girth(busk, level).full == pytest.approx(4.0, abs=0.05)


def test_the_papers_of_a_result(result: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    order = tmp_path / "order.toml"
    order.write_text('construction = "single"\nclosure = "busk"\n', encoding="utf-8")
    out = tmp_path / "out"

    assert run(["papers", str(result), "--order", str(order), "--out", str(out), "--paper", "letter"]) == 0
    assert {path.name for path in out.iterdir()} == {
        "workroom-letter.pdf",
        "workroom.html",
        "ordered.json",
        "toile.json",
    }
    assert "no closure gap" not in capsys.readouterr().out
    # The sheet checks the front as ordered: it opens, so no busk is advised.
    assert "put a busk in the front" not in (out / "workroom.html").read_text(encoding="utf-8")
    ordered = result_from_json((out / "ordered.json").read_bytes()).alteration.style
    assert [layer.name for layer in ordered.layers] == ["strength", "cup foam"]
    toile = result_from_json((out / "toile.json").read_bytes()).alteration.style
    assert [layer.name for layer in toile.layers] == ["toile"]


def test_the_ordered_pattern_and_the_toile_pass_what_the_result_passes(result: Path, tmp_path: Path) -> None:
    assert run(["papers", str(result), "--out", str(tmp_path)]) == 0
    for name in ("ordered.json", "toile.json"):
        found = result_from_json((tmp_path / name).read_bytes())
        assert not job.has_failed(found.findings)
        assert not find_faults(found.alteration.style)


def test_an_order_that_cannot_be_made_is_one_sentence_with_its_file(
    result: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    order = tmp_path / "order.toml"
    order.write_text('closure = "zip"', encoding="utf-8")

    assert run(["papers", str(result), "--order", str(order), "--out", str(tmp_path / "out")]) == 2
    assert "order.toml: The order's closure is 'zip'" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
