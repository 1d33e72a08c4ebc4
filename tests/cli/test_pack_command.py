"""coutil pack: everything for the cutting table at once, by two processes, the same as each paper by itself."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pytest

from coutil import job, pack_job
from coutil.alter import Wishes
from coutil.cli import run
from coutil.commands.alter import base_for
from coutil.cut import ordered_style
from coutil.files import read_bytes
from coutil.order_file import order_from_toml
from coutil.result_file import Result, result_from_json
from coutil.shipped import demo_clients
from helpers.pdf_reading import texts

ORDER = 'construction = "single"\nfinish = "turned"\n'


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> Path:
    chart = demo_clients()["tenor"]
    done = job.run(job.Order(base_for("waist-72", chart), chart, Wishes(), "cm"))
    path = tmp_path_factory.mktemp("pack") / "result.json"
    path.write_text(job.result_text(done), encoding="utf-8")
    return path


def test_one_folder_holds_everything_and_the_lay_is_kept(result: Path) -> None:
    order, out = result.with_name("order.toml"), result.parent / "out"
    order.write_text(ORDER, encoding="utf-8")
    assert run(["pack", str(result), "--order", str(order), "--time", "0", "--out", str(out)]) in (0, 1)
    assert {path.name for path in out.iterdir()} == {
        *("pattern-a4.pdf", "pattern.svg", "pattern.dxf", "toile-a4.pdf", "guide-a4.pdf"),
        *("workroom-a4.pdf", "workroom.html", "lay-strength.json", "lay-strength.svg", "lay-strength.pdf"),
    }
    found = result_from_json(read_bytes(result))
    assert [plan.parts[0].layer for plan in found.lays] == ["strength"]
    # The other process draws the very pattern that is printed here: as ordered, its edges turned in.
    ordered = ordered_style(found.alteration.style, order_from_toml(ORDER, "cm"))
    made = replace(found.alteration, style=ordered)
    drawn = job.pattern_svg(made, job.print_options(made, "cm", order_from_toml(ORDER, "cm")))
    assert (out / "pattern.svg").read_text(encoding="utf-8") == drawn
    assert "hem 12 mm" in " ".join(texts((out / "pattern-a4.pdf").read_bytes()))


def test_no_layer_name_leads_out_of_the_folder(result: Path, tmp_path: Path) -> None:
    text = result.read_text(encoding="utf-8").replace('"strength"', '"/../../../../victim/settings"')
    assert text.count("victim")
    deep = tmp_path / "a" / "b" / "c" / "d"
    victim = tmp_path / "a" / "victim"
    deep.mkdir(parents=True)
    victim.mkdir()
    (victim / "settings.json").write_text("mine", encoding="utf-8")
    hostile = deep / "result.json"
    hostile.write_text(text, encoding="utf-8")
    run(["pack", str(hostile), "--time", "0", "--out", str(deep / "out")])
    assert [path.name for path in victim.iterdir()] == ["settings.json"]
    assert (victim / "settings.json").read_text(encoding="utf-8") == "mine"
    written = {path.name for path in (deep / "out").iterdir()}
    assert {"lay-victim-settings.json", "lay-victim-settings.svg", "lay-victim-settings.pdf"} <= written


def test_where_the_helper_fails_its_papers_are_made_all_the_same(result: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Result] = []

    def pages(order: pack_job.PackOrder) -> tuple[pack_job.PackFile, ...]:
        asked.append(order.result)
        return (pack_job.PackFile("made here", "", b""),)

    monkeypatch.setattr(pack_job, "WORKER", (sys.executable, "-c", "raise SystemExit(3)"))
    monkeypatch.setattr(pack_job, "pages_without_lay", pages)
    found = result_from_json(read_bytes(result))
    order = pack_job.PackOrder(found, order_from_toml(ORDER, "cm"), "single", "cm", 0)
    assert "made here" in [file.name for file in pack_job.make_pack(order).files]
    assert asked == [found]
