"""Workers end with the program that started them, and no module of the maker's folder is ever run."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest

import coutil
from coutil.cli import missing_package, run
from coutil.workers import LEFT_ALONE, start_worker, worker_command, worker_environment

PROC = Path("/proc")
SOURCES = Path(coutil.__file__).parents[1]
# Nothing that works for so long ends by itself while it is looked at.
LONG_S = 120
WAIT_S = 30.0

pytestmark = pytest.mark.skipif(os.name == "nt" or not (PROC / "self" / "task").exists(), reason="looks into /proc")


def environment() -> dict[str, str]:
    return {**worker_environment(), "OPENBLAS_NUM_THREADS": "1"}


def children(pid: int) -> tuple[int, ...]:
    with suppress(OSError):
        return tuple(
            int(word)
            for task in (PROC / str(pid) / "task").iterdir()
            for word in (task / "children").read_text().split()
        )
    return ()


def runs(pid: int) -> bool:
    """Whether the process is at work; one that has ended and was not fetched yet is not."""
    with suppress(OSError):
        return (PROC / str(pid) / "stat").read_text().rpartition(")")[2].split()[0] != "Z"
    return False


def until(what, seconds: float = WAIT_S) -> bool:
    """Whether it comes true within that time."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if what():
            return True
        time.sleep(0.05)
    return False


@pytest.fixture
def started() -> Iterator[list[subprocess.Popen[bytes]]]:
    processes: list[subprocess.Popen[bytes]] = []
    yield processes
    for process in processes:
        process.kill()
        process.wait()


def lay_program(folder: Path) -> subprocess.Popen[bytes]:
    words = [sys.executable, "-P", "-m", "coutil", "lay", "80-14", "--layer", "outer", "--time", str(LONG_S)]
    quiet = subprocess.DEVNULL
    return subprocess.Popen([*words, "--out", str(folder)], env=environment(), stdout=quiet, stderr=quiet)


@pytest.mark.parametrize("ending", ["SIGINT", "SIGTERM", "SIGHUP", "SIGKILL"])
def test_a_search_ends_with_its_program(ending: str, tmp_path: Path, started: list[subprocess.Popen[bytes]]) -> None:
    program = lay_program(tmp_path)
    started.append(program)
    assert until(lambda: len(children(program.pid)) >= 1)
    workers = children(program.pid)
    assert all(runs(pid) for pid in workers)
    program.send_signal(getattr(signal, ending))
    assert program.wait(WAIT_S) is not None
    assert until(lambda: not any(runs(pid) for pid in workers)), "a worker outlived its program"


@pytest.mark.parametrize("ending", ["SIGINT", "SIGTERM", "SIGKILL"])
def test_any_worker_ends_with_its_program(ending: str, started: list[subprocess.Popen[bytes]]) -> None:
    """The worker would sleep for two minutes; the program that started it is ended."""
    work = (
        "from coutil.workers import read_task; import time; read_task(); print('at it', flush=True); "
        f"time.sleep({LONG_S})"
    )
    script = (
        "import subprocess, sys, time\nfrom coutil.workers import start_worker\n"
        f"worker = start_worker((sys.executable, '-c', {work!r}), b'x' * 1_000_000, subprocess.PIPE)\n"
        "worker.stdout.readline()\nprint(worker.pid, flush=True)\n"
        f"time.sleep({LONG_S})\n"
    )
    program = subprocess.Popen(
        [sys.executable, "-c", script], env=environment(), stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
    )
    started.append(program)
    assert program.stdout is not None
    worker = int(program.stdout.readline())
    assert runs(worker)
    program.send_signal(getattr(signal, ending))
    program.wait(WAIT_S)
    program.stdout.close()
    assert until(lambda: not runs(worker))


def test_a_worker_that_is_left_alone_says_so_by_its_code() -> None:
    script = "from coutil.workers import read_task; import time; assert read_task() == b'task'; time.sleep(60)"
    process = start_worker((sys.executable, "-c", script), b"task", subprocess.DEVNULL)
    assert process.stdin is not None
    time.sleep(0.3)
    process.stdin.close()
    assert process.wait(WAIT_S) == LEFT_ALONE


# --- what lies in the maker's folder ---------------------------------------------------------------------------

HOSTILE = ("json", "msgspec", "click", "spyrrow", "random", "coutil_helper", "numpy", "shapely", "reportlab")


@pytest.fixture
def trapped(tmp_path: Path) -> Path:
    """A folder in which every library lies as a file that leaves a trace when it is run."""
    for name in HOSTILE:
        trap = f"from pathlib import Path\nPath({str(tmp_path)!r}, 'was-run-{name}').touch()\n"
        (tmp_path / f"{name}.py").write_text(trap)
    return tmp_path


def traces(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.glob("was-run-*"))


def test_the_traps_work(trapped: Path) -> None:
    subprocess.run([sys.executable, "-c", "import json"], cwd=trapped, check=False, capture_output=True)
    assert traces(trapped) == ["was-run-json"]


@pytest.mark.parametrize("command", [["lay", "80-14", "--layer", "outer", "--time", "1"], ["measures", "waist_girth"]])
@pytest.mark.parametrize("start", [["-m", "coutil"], ["-P", "-m", "coutil"]])
def test_no_module_in_the_folder_is_run(start: list[str], command: list[str], trapped: Path) -> None:
    told = subprocess.run(
        [sys.executable, *start, *command], cwd=trapped, env=environment(), capture_output=True, text=True, check=False
    )
    assert told.returncode == 0, told.stderr
    assert traces(trapped) == []


def test_every_worker_is_started_past_the_folder() -> None:
    assert worker_command("coutil._lay_worker")[1:] == ("-P", "-m", "coutil._lay_worker")
    found = [
        path.name
        for path in (SOURCES / "coutil").rglob("*.py")
        if "sys.executable" in path.read_text(encoding="utf-8") and path.name not in ("workers.py", "cli.py")
    ]
    assert found == [], "a Python is started without worker_command"


def test_start_py_starts_every_module_past_the_folder() -> None:
    text = (SOURCES.parent / "start.py").read_text(encoding="utf-8")
    starts = re.findall(r"\[(?:python\(\)|sys\.executable), (.*?),", text)
    assert starts == ['"-P"'] * 3


# --- a package that is not there ---------------------------------------------------------------------------------


def test_a_missing_package_is_one_sentence(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setitem(sys.modules, "uvicorn", None)
    assert run(["serve", "--no-browser", "--port", "0", "--data", str(tmp_path)]) == 2
    told = capsys.readouterr().err
    assert "The package uvicorn is not installed" in told
    assert 'pip install "coutil"' in told
    assert len(told.splitlines()) == 1


def test_what_is_an_extra_is_named_as_one() -> None:
    assert 'pip install "coutil[postgres]"' in missing_package("psycopg.adapt")
