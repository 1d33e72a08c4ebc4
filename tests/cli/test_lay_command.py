"""coutil lay from end to end: files, figures, fixed and kept plans, one sentence for bad input, Ctrl-C."""

from __future__ import annotations

import json
import os
import signal
import threading
from collections.abc import Sequence
from pathlib import Path

import pytest

from coutil import lay_job
from coutil.cli import run
from coutil.cut.lay import Offer, SearchTask
from coutil.lay_file import lay_from_json, lay_to_json
from coutil.pattern import style_to_json
from coutil.shipped import shipped_base


@pytest.fixture(scope="module")
def style(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("styles") / "base.json"
    path.write_text(style_to_json(shipped_base("90-14")), encoding="utf-8")
    return path


@pytest.fixture(autouse=True)
def few_placings(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a search only the first order is laid."""
    whole = lay_job.plan_lay
    monkeypatch.setattr(lay_job, "plan_lay", lambda *given, **named: whole(*given, **named, placings=0))


def lay(style: Path, out: Path, *more: str) -> int:
    return run(["lay", str(style), "--out", str(out), "--time", "0", *more])


def test_three_files_are_written_and_the_figures_said(style: Path, tmp_path: Path, capsys) -> None:
    code = lay(style, tmp_path, "--width", "140cm", "--layer", "cup foam", "--nap", "--price", "12.5")
    assert code == 0
    assert {path.name for path in tmp_path.iterdir()} == {f"lay-cup-foam.{end}" for end in ("json", "svg", "pdf")}
    plan = lay_from_json((tmp_path / "lay-cup-foam.json").read_bytes())
    assert (plan.cloth.width, plan.cloth.nap, len(plan.placements)) == (1400.0, True, 4)
    assert shipped_base("90-14").base_chart.name in (tmp_path / "lay-cup-foam.svg").read_text(encoding="utf-8")
    said = capsys.readouterr().out
    assert f"Length of cloth {plan.length / 10:.1f} cm" in said
    assert f"use {plan.use:.1f} %, cost {plan.cost:.2f}." in said


def test_the_first_layer_is_laid_where_none_is_named_and_layers_share_a_cloth(style: Path, tmp_path: Path) -> None:
    assert lay(style, tmp_path / "one") == 0
    assert (tmp_path / "one" / "lay-outer.json").is_file()
    assert lay(style, tmp_path / "two", "--layer", "cup foam", "--layer", "cup foam", "--no-grain") == 0
    assert (tmp_path / "two" / "lay-cup-foam.json").is_file()


def test_a_kept_plan_is_drawn_again_to_the_byte(style: Path, tmp_path: Path) -> None:
    assert lay(style, tmp_path / "a", "--layer", "cup foam", "--price", "3") == 0
    kept = tmp_path / "a" / "lay-cup-foam.json"
    assert lay(style, tmp_path / "b", "--kept", str(kept)) == 0
    for end in ("json", "svg", "pdf"):
        name = f"lay-cup-foam.{end}"
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()


def test_fixed_pieces_stay_where_they_were_put(style: Path, tmp_path: Path) -> None:
    fixed = tmp_path / "fixed.toml"
    fixed.write_text('[[part]]\npiece = "inner_cup"\nx = 20\ny = "30 cm"\nhand = "mirrored"\n')
    assert lay(style, tmp_path, "--layer", "cup foam", "--fixed", str(fixed)) == 0
    plan = lay_from_json((tmp_path / "lay-cup-foam.json").read_bytes())
    (held,) = (one for one in plan.placements if one.fixed)
    assert (held.piece, held.hand, held.x, held.y) == ("inner_cup", "mirrored", 200.0, 300.0)


def test_small_parts_are_laid_on_request(style: Path, tmp_path: Path) -> None:
    assert lay(style, tmp_path, "--small") == 0
    plan = lay_from_json((tmp_path / "lay-outer.json").read_bytes())
    assert any("binding" in one.piece for one in plan.placements)
    assert lay(style, tmp_path / "again", "--kept", str(tmp_path / "lay-outer.json")) == 0


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--width", "12 cm"], "wide across the grain, and the cloth takes 10.0 cm: use a wider cloth."),
        (["--width", "wide"], "Under --width: 'wide' is not a length"),
        (["--layer", "velvet"], "no layer velvet"),
        (["--nap", "--no-grain"], "leave out one of the two"),
        (["--gap", "-1"], "0 or more"),
        (["--fixed", "no-such-file.toml"], "there is no such file"),
        (["--kept", "no-such-file.json"], "there is no such file"),
    ],
)
def test_bad_input_is_one_sentence(style: Path, tmp_path: Path, capsys, options: Sequence[str], words: str) -> None:
    assert lay(style, tmp_path / "out", *options) == 2
    said = capsys.readouterr().err
    assert words in said
    assert "Traceback" not in said
    assert not (tmp_path / "out").exists()


def test_a_plan_of_another_pattern_is_refused(style: Path, tmp_path: Path, capsys) -> None:
    assert lay(style, tmp_path, "--layer", "cup foam") == 0
    kept = tmp_path / "lay-cup-foam.json"
    data = json.loads(lay_to_json(lay_from_json(kept.read_bytes())))
    data["parts"][0]["along"] += 5
    kept.write_text(json.dumps(data))
    assert lay(style, tmp_path, "--kept", str(kept)) == 2
    assert "was made for another inner_cup (cup foam)" in capsys.readouterr().err


def test_a_kept_plan_of_other_layers_is_refused(style: Path, tmp_path: Path, capsys) -> None:
    assert lay(style, tmp_path, "--layer", "cup foam") == 0
    kept = ("--kept", str(tmp_path / "lay-cup-foam.json"))
    capsys.readouterr()
    assert lay(style, tmp_path / "other", *kept, "--layer", "outer") == 2
    assert capsys.readouterr().err == (
        "Error: The kept lay plan lays cup foam, not outer: leave out --layer, or give the plan of that cloth.\n"
    )
    assert not (tmp_path / "other").exists()
    assert lay(style, tmp_path / "own", *kept, "--layer", "cup foam") == 0


def test_ctrl_c_keeps_the_best_lay_so_far(style: Path, tmp_path: Path, capsys, monkeypatch) -> None:
    """The search is interrupted at its first step, as from the keyboard; what our own way found is written."""

    def interrupted(seconds, tick, cancelled):
        def search(task: SearchTask, offer: Offer) -> None:
            assert not cancelled()
            os.kill(os.getpid(), signal.SIGINT)
            assert threading.Event().wait(0.01) is False
            assert cancelled()

        return search

    monkeypatch.setattr(lay_job, "search_for", interrupted)
    usual = signal.getsignal(signal.SIGINT)
    code = run(["lay", str(style), "--layer", "cup foam", "--out", str(tmp_path), "--time", "60"])
    assert code == 130
    assert (tmp_path / "lay-cup-foam.pdf").is_file()
    assert "the best lay so far is kept" in capsys.readouterr().err
    assert signal.getsignal(signal.SIGINT) is usual
