"""coutil guide: its files, steps made anew where a result came without, and bad input in one sentence."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pypdfium2
import pytest

from coutil import job
from coutil.alter import Wishes
from coutil.cli import run
from coutil.shipped import demo_clients, shipped_base


@cache
def result() -> dict:
    order = job.Order(shipped_base("80-18"), demo_clients()["understudy"], Wishes(), "cm")
    return json.loads(job.result_text(job.run(order)))


def written(folder: Path, **changes: object) -> str:
    path = folder / "result.json"
    path.write_text(json.dumps({**result(), **changes}))
    return str(path)


def text_of(path: Path) -> str:
    return " ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(path))


def test_it_writes_pdf_and_html(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["guide", written(tmp_path), "--out", str(tmp_path / "guide")]) == 0
    assert str(tmp_path / "guide") in capsys.readouterr().out
    assert "Step 1 · Front bust, the rest" in text_of(tmp_path / "guide" / "guide-a4.pdf")
    assert "Step 1 · Front bust, the rest" in (tmp_path / "guide" / "guide.html").read_text(encoding="utf-8")


def test_letter_and_inches(tmp_path: Path) -> None:
    assert run(["guide", written(tmp_path), "--out", str(tmp_path), "--paper", "letter", "--unit", "in"]) == 0
    assert "sixteenths of an inch" in text_of(tmp_path / "guide-letter.pdf")


def test_a_result_without_steps_gets_them(tmp_path: Path) -> None:
    assert run(["guide", written(tmp_path), "--out", str(tmp_path / "with")]) == 0
    assert run(["guide", written(tmp_path, frames=[]), "--out", str(tmp_path / "without")]) == 0
    assert text_of(tmp_path / "with" / "guide-a4.pdf") == text_of(tmp_path / "without" / "guide-a4.pdf")


@pytest.mark.parametrize("content", ["{}", "no result", '{"format": "coutil-style"}'])
def test_what_is_no_result_is_told_in_one_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], content: str
) -> None:
    path = tmp_path / "bad.json"
    path.write_text(content)
    assert run(["guide", str(path), "--out", str(tmp_path / "guide")]) == 2
    told = capsys.readouterr().err
    assert told.startswith("Error: ")
    assert told.count("\n") == 1
    assert not (tmp_path / "guide").exists()


def test_steps_of_another_pattern_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    frames = [{**frame, "pieces": frame["pieces"][1:]} for frame in result()["frames"]]
    assert run(["guide", written(tmp_path, frames=frames), "--out", str(tmp_path / "guide")]) == 2
    assert capsys.readouterr().err.startswith("Error: ")
