"""start.py: what it refuses, and when it sets up anew."""

from __future__ import annotations

import importlib.util
import json
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

PATH = Path(__file__).parents[1] / "start.py"


@pytest.fixture
def start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The script as a module that believes in a folder of its own, with a .venv that runs."""
    spec = importlib.util.spec_from_file_location("start", PATH)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    (tmp_path / "pyproject.toml").write_text("a")
    (tmp_path / "constraints.txt").write_text("b")
    (tmp_path / ".venv").mkdir()
    monkeypatch.setattr(module, "ROOT", str(tmp_path))
    monkeypatch.setattr(module, "VENV", str(tmp_path / ".venv"))
    monkeypatch.setattr(module, "STAMP", str(tmp_path / ".venv" / "stamp.json"))
    monkeypatch.setattr(module, "runs", lambda: True)
    return module


def stamp(start: ModuleType, extra: str) -> None:
    Path(start.STAMP).write_text(json.dumps({"fingerprint": start.fingerprint(), "extra": extra}))


def test_an_old_python_is_told_so(start: ModuleType, monkeypatch, capsys) -> None:
    monkeypatch.setattr(start.sys, "version_info", (3, 10, 4))
    assert start.main(["demo"]) == 2
    assert "Python 3.11 or newer is needed" in capsys.readouterr().err


def test_no_words_explain_the_commands(start: ModuleType, capsys) -> None:
    assert start.main([]) == 0
    assert "start.py test" in capsys.readouterr().out


def test_a_set_up_folder_is_used_again_until_something_changes(start: ModuleType, tmp_path: Path) -> None:
    assert not start.is_fresh("")
    stamp(start, "")
    assert start.is_fresh("")
    assert not start.is_fresh("test")
    stamp(start, "test")
    assert start.is_fresh("")
    assert start.is_fresh("test")
    (tmp_path / "constraints.txt").write_text("c")
    assert not start.is_fresh("")
    Path(start.STAMP).write_text("{torn")
    assert not start.is_fresh("")


def test_the_install_keeps_to_the_constraints(start: ModuleType, monkeypatch) -> None:
    said = []
    monkeypatch.setattr(start, "call", lambda *words, **_: said.append(words) or 0)
    assert start.set_up("test") == 0
    (words,) = said
    assert words[:2] == ("pip", "install")
    assert words[words.index("-c") + 1].endswith("constraints.txt")
    assert words[-2:] == ("-e", f"{start.ROOT}[test]")
    assert start.is_fresh("test")


def test_a_failed_install_is_no_set_up(start: ModuleType, monkeypatch, capsys) -> None:
    monkeypatch.setattr(start, "call", lambda *words, **_: 1)
    assert start.main(["test"]) == 1
    assert "could not be installed" in capsys.readouterr().err
    assert not start.is_fresh("test")


def test_the_first_failing_tool_gives_the_exit_code(start: ModuleType, monkeypatch) -> None:
    stamp(start, "test")
    said = []

    def call(*words: str, **_: str) -> int:
        said.append(words[0])
        return 5 if words[0] == "mypy" else 0

    monkeypatch.setattr(start, "call", call)
    assert start.main(["test"]) == 5
    assert said == ["ruff", "mypy", "pytest"]


def test_the_demonstration_goes_into_out_demo(start: ModuleType, monkeypatch) -> None:
    stamp(start, "")
    said = []
    monkeypatch.setattr(start, "call", lambda *words, **_: said.append(words) or 1)
    assert start.main(["demo"]) == 1
    assert said[0][:3] == ("coutil", "demo", "--out")
    assert Path(said[0][3]) == Path("out/demo")


def test_the_script_alone_explains_itself() -> None:
    told = subprocess.run([sys.executable, str(PATH), "--help"], capture_output=True, text=True, check=True)
    assert "python3 start.py demo" in told.stdout


def test_every_pinned_version_is_one_line_without_an_address() -> None:
    lines = (PATH.parent / "constraints.txt").read_text().splitlines()[1:]
    assert lines == sorted(lines, key=lambda line: line.partition("==")[0])
    for line in lines:
        name, _, version = line.partition("==")
        assert name.replace("-", "").isalnum()
        assert version.replace(".", "").isalnum()
