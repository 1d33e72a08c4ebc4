"""How a run ends: an exit code for every trouble, one sentence on stderr, never a traceback."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
import tomllib
from pathlib import Path

import click
import pytest

import coutil
from coutil import cli
from coutil.errors import BadChart, BadInput, CannotDraft

SOURCES = Path(coutil.__file__).parents[1]


@pytest.fixture
def ending(monkeypatch: pytest.MonkeyPatch) -> list[BaseException | int]:
    """A command `end` that raises, or gives, the first entry of the list."""
    endings: list[BaseException | int] = []

    @click.command(name="end")
    def end() -> int:
        if isinstance(endings[0], BaseException):
            raise endings[0]
        return endings[0]

    monkeypatch.setitem(cli.commands.commands, "end", end)
    return endings


@pytest.mark.parametrize("code", [0, 1])
def test_a_commands_number_is_the_exit_code(ending: list[BaseException | int], code: int) -> None:
    ending.append(code)
    assert cli.run(["end"]) == code


@pytest.mark.parametrize(
    ("error", "code", "words"),
    [
        (BadInput("The file is torn."), 2, "The file is torn."),
        (BadChart("No waist."), 2, "No waist."),
        (CannotDraft("Too wide."), 2, "Too wide."),
        (OSError(errno.ENOSPC, "No space left on device"), 2, "The disk refused: No space left on device."),
        (PermissionError(errno.EACCES, "Permission denied"), 2, "The disk refused: Permission denied."),
        (KeyboardInterrupt(), 130, "Stopped."),
        (click.Abort(), 130, "Stopped."),
        (ZeroDivisionError("by zero"), 3, "Something in the program went wrong (ZeroDivisionError: by zero)"),
        (RecursionError("too deep"), 3, "RecursionError"),
        (MemoryError(), 3, "MemoryError"),
        (click.UsageError("Name one."), 2, "Name one."),
        (click.FileError("x", "gone"), 2, "gone"),
    ],
)
def test_every_trouble_has_its_code_and_one_sentence(
    ending: list[BaseException | int],
    capsys: pytest.CaptureFixture[str],
    error: BaseException,
    code: int,
    words: str,
) -> None:
    ending.append(error)
    assert cli.run(["end"]) == code
    told = capsys.readouterr()
    assert words in told.err
    assert "Traceback" not in told.err + told.out


def test_those_who_mend_the_program_can_see_the_traceback(
    ending: list[BaseException | int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COUTIL_TRACEBACK", "1")
    ending.append(ZeroDivisionError("by zero"))
    with pytest.raises(ZeroDivisionError):
        cli.run(["end"])


@pytest.mark.parametrize("arguments", [["nonsense"], ["alter"], ["--nonsense"], ["alter", "a", "b", "--unit", "ell"]])
def test_wrong_words_on_the_line_end_with_2(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(arguments) == 2
    assert "Error: " in capsys.readouterr().err


def test_no_words_show_the_help(capsys: pytest.CaptureFixture[str]) -> None:
    cli.run([])
    told = capsys.readouterr()
    assert "Usage: coutil" in told.out + told.err


def test_the_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["--version"]) == 0
    assert capsys.readouterr().out == f"coutil, version {coutil.__version__}\n"


@pytest.mark.parametrize("command", sorted(cli.commands.commands))
def test_every_command_explains_itself(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run([command, "--help"]) == 0
    told = capsys.readouterr().out
    assert "Usage: coutil" in told
    for option in cli.commands.commands[command].params:
        assert not isinstance(option, click.Option) or option.help, f"{command} {option.name} has no help"


def as_process(*arguments: str, **more: object) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(SOURCES)}
    words = [sys.executable, "-m", "coutil", *arguments]
    return subprocess.run(words, capture_output=True, text=True, env=environment, check=False, **more)


def test_as_a_process_of_its_own() -> None:
    told = as_process("measures", "waist_girth")
    assert (told.returncode, told.stderr) == (0, "")
    assert "What it is: Girth at the waist tape" in told.stdout
    wrong = as_process("measures", "waste_girth")
    assert (wrong.returncode, wrong.stdout) == (2, "")
    assert "did you mean waist_girth" in wrong.stderr


@pytest.mark.parametrize(
    "start", ["from coutil.__main__ import main; main()", "runpy.run_module('coutil', None, '__main__')"]
)
def test_stopped_while_the_program_is_still_being_read(start: str) -> None:
    """The keys are pressed as the first of its commands is imported."""
    interrupted = (
        "import runpy, sys\n"
        "class Pressed:\n"
        "    def find_spec(self, name, *_):\n"
        "        if name == 'coutil.commands': raise KeyboardInterrupt\n"
        "sys.meta_path.insert(0, Pressed())\n"
    )
    environment = {**os.environ, "PYTHONPATH": str(SOURCES)}
    words = [sys.executable, "-c", interrupted + start]
    told = subprocess.run(words, capture_output=True, text=True, env=environment, check=False)
    assert (told.returncode, told.stdout, told.stderr) == (130, "", "Stopped.\n")


def test_the_installed_command_begins_where_the_module_does() -> None:
    project = tomllib.loads((SOURCES.parent / "pyproject.toml").read_text(encoding="utf-8"))
    assert project["project"]["scripts"] == {"coutil": "coutil.__main__:main"}


@pytest.mark.skipif(os.name == "nt", reason="pipes end otherwise there")
def test_a_reader_that_has_seen_enough_is_no_trouble() -> None:
    script = f"{sys.executable} -m coutil measures | head -c 10; echo ${{PIPESTATUS[0]}}"
    environment = {**os.environ, "PYTHONPATH": str(SOURCES)}
    told = subprocess.run(["bash", "-c", script], capture_output=True, text=True, env=environment, check=True)
    assert told.stderr == ""
    # The table may have fitted into the pipe before it was closed.
    assert told.stdout.split()[-1] in ("0", "141")
