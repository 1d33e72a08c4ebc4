"""Files on the disk: whole or not at all, and one sentence for every trouble."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coutil import file_names, files
from coutil.errors import BadInput

posix = pytest.mark.skipif(os.name == "nt", reason="links need a right there, and modes are other")
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


@posix
def test_links_and_devices_are_neither_followed_nor_replaced(tmp_path: Path) -> None:
    real = files.write_text(tmp_path / "real.txt", "old")
    out = files.make_folder(tmp_path / "out")
    (out / "link.txt").symlink_to(real)
    (out / "nowhere.txt").symlink_to(tmp_path / "not_there.txt")
    os.mkfifo(out / "pipe.txt")
    for name, why in (("link.txt", "a link"), ("nowhere.txt", "a link"), ("pipe.txt", "a device or a pipe")):
        before = sorted(path.name for path in out.iterdir())
        assert why in refusal(files.write_text, out / name, "new")
        # The file before it is not written either.
        assert why in refusal(files.write_files, out, {"first.txt": "new", name: "new"})
        assert sorted(path.name for path in out.iterdir()) == before
    assert "a device or a pipe" in refusal(files.write_bytes, "/dev/null", b"x")
    assert real.read_text() == "old"
    assert not (tmp_path / "not_there.txt").exists()


@posix
def test_who_may_read_a_file_stays_when_it_is_replaced(tmp_path: Path) -> None:
    path = files.write_text(tmp_path / "a.txt", "old")
    for mode in (0o600, 0o640, 0o664):
        path.chmod(mode)
        files.write_text(path, "new")
        assert stat.S_IMODE(path.stat().st_mode) == mode


NO_NAMES = (
    *("", ".", "..", "/a", "a/b", "a\\b", "../a", "..\\a", "C:a", "a:stream", "a\0", "a\nb", "a\x1b[2J", "a\u202eb"),
    *("a.", "a ", "con", "CON", "con.txt", "Aux.tar.gz", "nul .txt", "com1", "LPT9.json", "com\u00b9", "conin$"),
    *("a*", "a?", "a|b"),
    *("x" * 201, "\u00e9" * 101, "\ud800", '"', "<a>"),
)


@pytest.mark.parametrize("name", NO_NAMES)
def test_what_is_no_plain_name_is_refused_before_anything_is_written(tmp_path: Path, name: str) -> None:
    said = refusal(files.write_files, tmp_path / "out", {"first.txt": "x", name: "x"})
    assert "is no name for a file" in said
    assert said.isprintable()
    assert len(said) < 300
    assert list(tmp_path.iterdir()) == []


def test_plain_names_are_taken(tmp_path: Path) -> None:
    for name in ("a", "r\u00e9sum\u00e9.json", "lay-outer.svg", ".hidden", "console.txt", "x" * 200, "a b.c"):
        assert file_names.plain_name(name) == name


# By hand: accents fall away, what is no letter or digit becomes one hyphen, sixty letters are enough.
STEMS = {
    "Contralto": "contralto",
    "Zo\u00eb de l'Op\u00e9ra": "zoe-de-l-opera",
    "/../../../../victim/settings": "victim-settings",
    "": "unnamed",
    "\u6f22\u5b57": "unnamed",
    "CON": "con-file",
    "lpt1": "lpt1-file",
    "a" * 61: "a" * 60,
}


def test_any_name_makes_a_file_name() -> None:
    assert {name: file_names.file_stem(name) for name in STEMS} == STEMS


def test_files_of_one_folder_take_no_place_twice() -> None:
    assert file_names.file_stems(["Outer", "outer!", "lining", "OUTER"]) == ("outer", "outer-2", "lining", "outer-3")
    assert file_names.file_stems(["a", "a", "a-2"]) == ("a", "a-2", "a-2-2")


@settings(max_examples=200, deadline=None)
@given(st.lists(st.text(max_size=80), max_size=6))
def test_every_stem_is_a_plain_name(names: list[str]) -> None:
    stems = file_names.file_stems(names)
    assert len(set(stems)) == len(names)
    for stem in stems:
        assert file_names.plain_name(f"{stem}.json").isascii()


def test_a_folder_that_is_a_file(tmp_path: Path) -> None:
    path = files.write_text(tmp_path / "a.txt", "x")
    assert "cannot be made" in refusal(files.make_folder, path)


def test_a_folder_with_too_long_a_name_is_refused_in_words(tmp_path: Path) -> None:
    said = refusal(files.write_files, tmp_path / ("x" * 300), {"chart.csv": "a"})
    assert "the name is too long" in said
