"""Every table of every command on screens of 80, 100 and 120 columns: nothing is cut off, nothing is left out."""

from __future__ import annotations

import os
import re
import struct
import sys
from pathlib import Path

import pytest

from coutil.commands._screen import show_table
from coutil.measure import chart_to_csv
from coutil.shipped import demo_clients
from coutil.workers import worker_environment

pty = pytest.importorskip("pty", reason="this system has no terminals to try on")

WIDTHS = (80, 100, 120)
COLOURS = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")
# The frame of a table, and what a screen shows of it.
FRAME = re.compile("[│┃━─┏┓└┘┡┩╇┳┴┼├┤┬╈╋]")


def on_a_screen(width: int, folder: Path, *arguments: str) -> str:
    """What the command shows on a terminal of that width; it must end by itself."""
    import fcntl
    import termios

    pid, screen = pty.fork()
    if pid == 0:  # pragma: no cover - this is the other process
        os.chdir(folder)
        environment = {**worker_environment(), "TERM": "xterm", "OPENBLAS_NUM_THREADS": "1"}
        environment.pop("COLUMNS", None)
        fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", 50, width, 0, 0))
        os.execve(sys.executable, [sys.executable, "-P", "-m", "coutil", *arguments], environment)
    shown = b""
    while True:
        try:
            part = os.read(screen, 65536)
        except OSError:
            break
        if not part:
            break
        shown += part
    os.close(screen)
    _, status = os.waitpid(pid, 0)
    assert os.waitstatus_to_exitcode(status) in (0, 1), shown.decode(errors="replace")[-2000:]
    text = shown.decode()
    return "\n".join(line.rpartition("\r")[2] for line in COLOURS.sub("", text.replace("\r\n", "\n")).split("\n"))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("narrow")
    (made / "client.csv").write_text(chart_to_csv(demo_clients()["contralto"], "cm"), encoding="utf-8")
    on_a_screen(120, made, "alter", "75-22", "client.csv", "--out", "out")
    return made


def assert_whole(shown: str, width: int, *wanted: str) -> None:
    """No line is wider than the screen, nothing ends in a mark of omission, and all words are there, in their order."""
    assert max(len(line) for line in shown.split("\n")) <= width
    assert "…" not in shown
    flat = " ".join(FRAME.sub(" ", shown).split())
    for words in wanted:
        assert words in flat, f"{words!r} is not in {flat}"


COMMANDS = {
    "alter": (
        ["alter", "75-22", "client.csv", "--out", "out"],
        ["curves_waist_back", "25.2 (12.6)", "23.3 (11.6)", "-1.9 (-0.95)", "base, cm", "this row, mm"],
    ),
    "check": (["check", "out/result.json"], ["Opening needed to get in", "350 mm", "decision"]),
    "measures": (["measures"], ["bust_point_to_upper_corner"]),
    "measure": (["measure", "80-14"], ["underbust", "bust_point_to_underbust"]),
    "rank": (["rank", "client.csv", "75-22", "80-18"], ["75-22", "80-18"]),
    "grade": (["grade", "waist-72", "example", "--out", "sizes"], ["waist"]),
    "lay": (["lay", "out/result.json", "--layer", "outer", "--time", "0", "--out", "lay"], ["Written to"]),
    "papers": (["papers", "out/result.json", "--out", "papers"], ["Written to"]),
    "measures of one": (["measures", "waist_girth"], ["waist_girth"]),
}


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("command", COMMANDS)
def test_every_table_can_be_read(command: str, width: int, folder: Path) -> None:
    arguments, wanted = COMMANDS[command]
    assert_whole(on_a_screen(width, folder, *arguments), width, *wanted)


WHERE = "side back taken in 5 mm at waist " * 3
TABLE = (
    ("row", "base, cm", "client, cm", "difference, cm", "where it goes"),
    ("Waist, back\ncurves_waist_back", "25.2 (12.6)", "23.3 (11.6)", "-1.9 (-0.95)", WHERE),
    ("Cup depth\ncup_depth", "11.4", "11.3", "-0.1", ""),
)


def test_a_narrow_screen_gets_paragraphs_with_their_figures_below_one_another(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("coutil.commands._screen.PIPED_WIDTH", 60)
    show_table("Chart", TABLE, right=(1, 2, 3), wide=4)
    assert capsys.readouterr().out.splitlines() == [
        "Chart",
        "       base, cm   client, cm  difference, cm",
        "Waist, back – curves_waist_back",
        "    25.2 (12.6)  23.3 (11.6)    -1.9 (-0.95)",
        "  side back taken in 5 mm at waist side back taken in 5 mm",
        "    at waist side back taken in 5 mm at waist",
        "Cup depth – cup_depth",
        "           11.4         11.3            -0.1",
    ]


def test_a_very_narrow_screen_gets_each_figure_with_its_head(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("coutil.commands._screen.PIPED_WIDTH", 38)
    show_table("Chart", (TABLE[0], TABLE[2]), right=(1, 2, 3), wide=4)
    assert capsys.readouterr().out.splitlines() == [
        "Chart",
        "Cup depth – cup_depth",
        "  base, cm 11.4; client, cm 11.3;",
        "    difference, cm -0.1",
    ]
