"""Files on the disk: whole or not at all, and one sentence for every trouble."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coutil import files
from coutil.errors import BadInput

as_root = pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="every file may be opened here")


def refusal(action, *arguments) -> str:
    with pytest.raises(BadInput) as caught:
        action(*arguments)
    sentence = str(caught.value)
    assert sentence.endswith(".")
    assert "\n" not in sentence
    return sentence


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=30, deadline=None)
@given(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\ufeff")))
def test_text_comes_back_as_written(tmp_path: Path, text: str) -> None:
    assert files.read_text(files.write_text(tmp_path / "a.txt", text)) == text


def test_bytes_come_back_and_the_folder_is_made(tmp_path: Path) -> None:
    path = tmp_path / "made" / "twice" / "a.bin"
    assert files.write_bytes(path, b"\x00\xff") == path
    assert files.read_bytes(path) == b"\x00\xff"
    assert sorted(p.name for p in path.parent.iterdir()) == ["a.bin"]


def test_a_byte_order_mark_is_no_part_of_the_text(tmp_path: Path) -> None:
    assert files.read_text(files.write_bytes(tmp_path / "a.csv", b"\xef\xbb\xbfwaist")) == "waist"


def test_what_cannot_be_read_says_why(tmp_path: Path) -> None:
    assert "there is no such file" in refusal(files.read_text, tmp_path / "lost.json")
    assert "it is a folder" in refusal(files.read_text, tmp_path)
    assert "that is no name for a file" in refusal(files.read_text, "a\0b")
    assert "the name is too long" in refusal(files.read_text, tmp_path / ("a" * 300))
    latin = files.write_bytes(tmp_path / "latin.csv", b"waist\nh\xfcfte")
    assert "line 2 is not UTF-8 text" in refusal(files.read_text, latin)
    inside = files.write_text(tmp_path / "file", "") / "inside"
    assert "a part of its path is not a folder" in refusal(files.read_text, inside)


def test_a_file_over_the_limit_is_not_read(tmp_path: Path) -> None:
    path = files.write_bytes(tmp_path / "a.bin", bytes(1001))
    assert len(files.read_bytes(path, 1001)) == 1001
    assert "it has more than 0.001 MB" in refusal(files.read_bytes, path, 1000)


@as_root
def test_files_that_may_not_be_opened(tmp_path: Path) -> None:
    path = files.write_text(tmp_path / "a.txt", "x")
    path.chmod(0)
    assert "permissions" in refusal(files.read_text, path)
    tmp_path.chmod(0o500)
    try:
        assert "permissions" in refusal(files.write_text, tmp_path / "b.txt", "x")
    finally:
        tmp_path.chmod(0o700)


def test_what_cannot_be_written_says_why(tmp_path: Path) -> None:
    assert "it is a folder" in refusal(files.write_text, tmp_path, "x")
    blocked = files.write_text(tmp_path / "file", "") / "inside" / "b.txt"
    assert "cannot be made" in refusal(files.write_text, blocked, "x")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["file"]


@pytest.mark.parametrize("failing", ["fsync", "replace"])
def test_a_failed_write_keeps_the_old_file_and_leaves_nothing(tmp_path: Path, monkeypatch, failing: str) -> None:
    path = files.write_text(tmp_path / "a.txt", "old")

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, failing, full)
    assert "the disk is full" in refusal(files.write_text, path, "new")
    assert path.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


def test_an_interrupted_write_leaves_nothing(tmp_path: Path, monkeypatch) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stopped)
    with pytest.raises(KeyboardInterrupt):
        files.write_text(tmp_path / "a.txt", "new")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(os.name == "nt", reason="links need a right there")
def test_a_link_stays_a_link(tmp_path: Path) -> None:
    real = files.write_text(tmp_path / "real.txt", "old")
    link = tmp_path / "link.txt"
    link.symlink_to(real)
    files.write_text(link, "new")
    assert link.is_symlink()
    assert real.read_text() == "new"


def test_a_folder_that_is_a_file(tmp_path: Path) -> None:
    path = files.write_text(tmp_path / "a.txt", "x")
    assert "cannot be made" in refusal(files.make_folder, path)


def test_a_folder_with_too_long_a_name_is_refused_in_words(tmp_path: Path) -> None:
    said = refusal(files.write_texts, tmp_path / ("x" * 300), {"chart.csv": "a"})
    assert "the name is too long" in said
