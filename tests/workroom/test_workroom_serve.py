"""coutil serve: a real process, its port, its folder, its end; and the figures of the guide."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath, PureWindowsPath

import httpx
import pytest

from coutil.cli import commands
from coutil.errors import BadInput
from coutil.measure import MEASUREMENTS
from coutil.record import open_records
from coutil.workroom import USUAL_PORT, ServeOptions, data_folder, serve
from coutil.workroom._figures import LEVELS, figure, half_width, smooth
from coutil.workroom._serve import addresses, records_place

ROOT = Path(__file__).parents[2]
SLOWEST_START_S = 60.0  # Generous, as the machine may be busy; the time is printed.


@contextmanager
def served(folder: Path, *options: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """The command as a process of its own; the address it tells."""
    ported = options if "--port" in options else ("--port", "0", *options)
    arguments = [sys.executable, "-m", "coutil", "serve", "--data", str(folder), "--no-browser", *ported]
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "src"), "PYTHONUNBUFFERED": "1"}
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.STDOUT}
    with subprocess.Popen(arguments, text=True, env=environment, **pipes) as process:  # type: ignore[call-overload]
        try:
            assert process.stdout is not None
            line = process.stdout.readline()
            found = re.search(r"http://127\.0\.0\.1:\d+", line)
            assert found, line
            yield process, found[0]
        finally:
            process.kill()


def answered(address: str) -> httpx.Response:
    """The first page, as soon as there is one."""
    give_up = time.monotonic() + SLOWEST_START_S
    while True:
        try:
            return httpx.get(address)
        except httpx.TransportError:
            if time.monotonic() > give_up:
                raise
            time.sleep(0.02)


@pytest.mark.skipif(os.name == "nt", reason="Windows sends no interrupt to another process")
def test_it_opens_keeps_and_closes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    begun = time.perf_counter()
    with served(tmp_path / "book") as (process, address):
        assert "The book is empty" in answered(address).text
        with capsys.disabled():
            print(f"\n  from the command to the first page: {time.perf_counter() - begun:.2f} s")
        own = {"origin": address}
        assert httpx.post(f"{address}/clients/new", data={"name": "Tenor"}, headers=own).status_code == 303
        assert httpx.get(address, headers={"host": "evil.example"}).status_code == 400
        assert httpx.post(f"{address}/clients/new", headers={"origin": "http://evil.example"}).status_code == 403
        process.send_signal(signal.SIGINT)
        assert process.wait(20) in (0, 130)
        assert process.stdout is not None
        assert "Traceback" not in process.stdout.read()
    assert (tmp_path / "book" / "coutil.db").is_file()


@pytest.mark.skipif(os.name == "nt", reason="Windows has no signal that ends a process like kill -9")
def test_what_was_saved_is_there_after_the_worst_end(tmp_path: Path) -> None:
    """Every saved version that a page was told of is kept, though the server is killed between two saves."""
    with served(tmp_path) as (process, address):
        answered(address)
        own = {"origin": address}
        httpx.post(f"{address}/clients/new", data={"name": "Tenor"}, headers=own)
        version = 1
        for i in range(10):
            message = {"version": version, "unit": "cm", "fields": {"note": f"note {i}"}}
            version = httpx.post(f"{address}/api/clients/1", json=message, headers=own).json()["version"]
        process.send_signal(signal.SIGKILL)
        process.wait(20)
    records = open_records(tmp_path / "coutil.db")
    with records.reading() as link:
        assert link.exec_driver_sql("SELECT version, note FROM clients").all() == [(11, "note 9")]
    records.close()


def test_a_port_that_is_taken_is_told_in_one_sentence(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(BadInput, match=f"Port {port} cannot be used"):
            serve(ServeOptions(tmp_path, port, open_browser=False), print)


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (["--data", "x", "--database", "postgresql://a/b"], "not both"),
        (["--database", "plain-name"], "given as postgresql"),
        (["--database", "mysql://a/b"], "a file or postgresql"),
        (["--port", "70000"], "70000"),
    ],
)
def test_options_that_cannot_be(options: list[str], sentence: str, capfd: pytest.CaptureFixture[str]) -> None:
    from coutil.cli import run

    assert run(["serve", "--no-browser", *options]) == 2
    assert sentence in capfd.readouterr().err


def test_the_folder_of_each_system() -> None:
    """By the platforms' own conventions; for others the XDG base directory specification, version 0.8, from memory."""
    windows = data_folder("win32", {"LOCALAPPDATA": "C:/Users/Ada/AppData/Local"})
    assert PureWindowsPath(str(windows)).parts[-2:] == ("Local", "coutil")
    mac = data_folder("darwin", {"HOME": "/Users/ada"})
    assert PurePosixPath(mac) == PurePosixPath("/Users/ada/Library/Application Support/coutil")
    assert data_folder("linux", {"HOME": "/home/ada"}) == Path("/home/ada/.local/share/coutil")
    assert data_folder("linux", {"HOME": "/home/ada", "XDG_DATA_HOME": "/data"}) == Path("/data/coutil")
    assert data_folder("linux", {"HOME": "/h", "XDG_DATA_HOME": "relative"}) == Path("/h/.local/share/coutil")


def test_where_the_records_are(tmp_path: Path) -> None:
    assert records_place(tmp_path) == tmp_path / "coutil.db"
    assert records_place("postgresql://a/b") == "postgresql://a/b"
    assert Path(records_place(None)).name == "coutil.db"
    assert all(not address.startswith("127.") for address in addresses())


@pytest.mark.parametrize("key", MEASUREMENTS)
def test_every_measurement_has_a_drawing_of_its_own(key: str) -> None:
    drawn = figure(key)
    kinds = {stroke.kind for stroke in drawn.strokes}
    assert {"form", "tape"} <= kinds
    x, y, width, height = map(float, drawn.view.split())
    assert all(x <= px <= x + width and y <= py <= y + height for px, py in drawn.ends)
    others = [figure(other) for other in MEASUREMENTS if other != key]
    assert all(drawn.strokes != other.strokes for other in others)


def test_a_tape_reaches_from_side_to_side() -> None:
    """At the waist the half body is 30 wide, so the tape runs from 70 to 130."""
    assert half_width(LEVELS["waist"]) == 30
    tape = next(stroke.path for stroke in figure("waist_girth").strokes if stroke.kind == "tape")
    assert tape.startswith("M70.0,165")
    assert tape.endswith("130.0,165")
    with pytest.raises(ValueError, match="no height"):
        half_width(9999)


def test_a_smooth_path_passes_through_its_points() -> None:
    """Three points in a line: the handles lie on it too, a sixth of the neighbours' distance away."""
    assert smooth([(0, 0), (3, 0), (6, 0)]) == "M0.0,0.0C0.5,0.0 2.0,0.0 3.0,0.0C4.0,0.0 5.5,0.0 6.0,0.0"
    assert smooth([(0, 0), (3, 0), (3, 3)], closed=True).endswith("0.0,0.0Z")


# --- one port, start after start -------------------------------------------------------------------------------


def free_port() -> int:
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        return int(door.getsockname()[1])


def test_without_a_port_it_is_always_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    """What a browser holds while the program is away belongs to one address."""
    assert ServeOptions().port == USUAL_PORT == 8421
    assert commands.main(["serve", "--help"], standalone_mode=False) == 0
    assert str(USUAL_PORT) in capsys.readouterr().out
    assert str(USUAL_PORT) in (ROOT / "README.md").read_text(encoding="utf-8")


def test_a_workroom_that_is_open_already_is_said_so(tmp_path: Path) -> None:
    port = free_port()
    with served(tmp_path, "--port", str(port)):
        told: list[str] = []
        serve(ServeOptions(tmp_path, port, open_browser=False), told.append)
        assert told == [f"The workroom is open already, at http://127.0.0.1:{port}/."]
        with pytest.raises(BadInput, match="give another with --port"):
            serve(ServeOptions(tmp_path / "other", port, open_browser=False), told.append)


def test_the_same_port_serves_again_after_an_end(tmp_path: Path) -> None:
    port = free_port()
    for _ in range(2):
        with served(tmp_path, "--port", str(port)) as (_, address):
            assert address == f"http://127.0.0.1:{port}"
            assert httpx.get(address).status_code == 200


def test_another_program_at_the_port_is_said_so(tmp_path: Path) -> None:
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        door.listen()
        port = int(door.getsockname()[1])
        with pytest.raises(BadInput, match=rf"Port {port} cannot be used: .*--port, or 0 for any"):
            serve(ServeOptions(tmp_path, port, open_browser=False), print)
