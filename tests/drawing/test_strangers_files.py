"""Files of other hands: slips are sentences, too much of anything is refused, nothing hides in names."""

from __future__ import annotations

import io
import json
import os
import re
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import ezdxf
import pytest

from coutil.cli import LONGEST_SENTENCE, run
from coutil.cut import OrderOptions
from coutil.drawing import export_svg, import_drawing, read_drawing
from coutil.drawing._gather import MOST_WORDS
from coutil.errors import BadChart, BadInput, BadStyle
from coutil.measure import chart_from_text
from coutil.order_file import order_from_toml
from coutil.pattern import style_from_json, style_to_json
from coutil.shipped import shipped_base
from coutil.texts import LONGEST_NAME, LONGEST_TEXT, plain, toml_of
from coutil.wishes_file import wishes_from_toml
from coutil.workers import worker_environment

# Moves the cursor up and wipes the line: a failed check above it is gone from the screen.
WIPE = "\x1b[1A\x1b[2K"
C1 = "\x9b2K"
TURNED = "\u202efront"


def dxf(words: str, at: tuple[float, float], count: int = 1) -> bytes:
    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (100, 0), (100, 200), (0, 200)], close=True, dxfattribs={"layer": "front"})
    space.add_line((0, 100), (100, 100), dxfattribs={"layer": "level waist"})
    for i in range(count):
        space.add_text(f"{words}{i or ''}", dxfattribs={"insert": at})
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode()


# --- what used to end in a fault of the program ---------------------------------------------------------------------


@pytest.mark.parametrize("base", ["80-14", "panelled-85-10", "waist-72"])
def test_any_line_of_a_marks_file_may_be_deleted(base: str) -> None:
    """Every line of our own marks file is left out in turn: a style or a sentence comes of it, also without levels."""
    made = export_svg(shipped_base(base))
    lines = made.marks.splitlines()
    told = [i for i, line in enumerate(lines) if line.startswith("levels = ")]
    assert len(told) >= 4
    for i in (*told, *range(0, len(lines), 7)):
        with suppress(BadInput, BadStyle):
            import_drawing(made.drawing.encode(), ".svg", "x", "\n".join(lines[:i] + lines[i + 1 :]))


def test_no_panel_among_the_outlines_is_said() -> None:
    made = export_svg(shipped_base("80-14"))
    cups = "\n".join(re.sub(r"waist = 0\.0,? ?", "", line) for line in made.marks.splitlines())
    with pytest.raises(BadInput, match=r"No piece on the drawing is a panel|waist"):
        import_drawing(made.drawing.encode(), ".svg", "x", cups)


@pytest.mark.parametrize("at", [(float("nan"), 0.0), (0.0, float("inf")), (1e300, 0.0)])
def test_a_text_at_no_place_is_said(at: tuple[float, float]) -> None:
    with pytest.raises(BadInput, match="level waist"):
        read_drawing(dxf("level waist", at), ".dxf")


@pytest.mark.parametrize("read", [lambda text: wishes_from_toml(text, "cm"), lambda text: order_from_toml(text, "cm")])
def test_a_number_of_five_thousand_digits_is_said(read) -> None:
    with pytest.raises(BadInput, match="too long to be one"):
        read(f"reduction = {'1' * 5001}")


# --- too much of anything ---------------------------------------------------------------------------------------------


def test_words_beside_lines_are_bounded() -> None:
    """Every word looks at the lines beside it; thousands of them would take minutes."""
    with pytest.raises(BadInput, match=f"more than {MOST_WORDS} words"):
        import_drawing(dxf("edge hem", (50.0, 1.0), MOST_WORDS + 1), ".dxf", "x")


def test_texts_are_bounded_and_the_field_is_named() -> None:
    assert order_from_toml(f'reference = "{"a" * LONGEST_NAME}"', "cm").reference == "a" * LONGEST_NAME
    with pytest.raises(BadInput, match=rf"reference has {LONGEST_NAME + 1} letters"):
        order_from_toml(f'reference = "{"a" * (LONGEST_NAME + 1)}"', "cm")
    with pytest.raises(BadInput, match="6000 letters under reference"):
        order_from_toml(f'reference = "{"a" * 6000}"', "cm")
    with pytest.raises(BadInput, match="remarks"):
        OrderOptions(remarks=("a" * (LONGEST_TEXT + 1),))
    with pytest.raises(BadChart, match=r"name has 5000 letters"):
        chart_from_text(f"# name: {'a' * 5000}\n# unit: cm\nmeasurement,value\nwaist_girth,70\n", ".csv")


def test_tables_are_bounded_in_depth() -> None:
    with pytest.raises(BadInput, match="nested"):
        toml_of("a = " + "[" * 60 + "]" * 60, "order file")
    with pytest.raises(BadInput, match="nested"):
        toml_of("a = " + "[" * 100_000, "order file")


# --- what hides in names -----------------------------------------------------------------------------------


@pytest.mark.parametrize("hidden", [WIPE, C1, TURNED, "\x07", "\x7f"])
def test_no_reader_lets_a_control_character_in(hidden: str) -> None:
    style = json.loads(style_to_json(shipped_base("waist-72")))
    style["pieces"][0]["name"] = f"side{hidden}"
    for ascii_only in (True, False):
        with pytest.raises(BadStyle, match="control character"):
            style_from_json(json.dumps(style, ensure_ascii=ascii_only))
    escaped = json.dumps(hidden)[1:-1].replace("\\x7f", "\\u007f")
    for read in (lambda t: wishes_from_toml(t, "cm"), lambda t: order_from_toml(t, "cm")):
        with pytest.raises(BadInput, match="control character"):
            read(f'[rows.side]\nwhy = "{escaped if hidden not in (C1, TURNED) else hidden}"')
    with pytest.raises(BadChart, match="control character"):
        chart_from_text(f"# name: A{hidden}\n# unit: cm\nmeasurement,value\nwaist_girth,70\n", ".csv")
    told = {"name": f"A{hidden}", "unit": "cm", "measurements": {"waist_girth": 70}}
    with pytest.raises(BadChart, match="control character"):
        chart_from_text(json.dumps(told), ".json")


def test_a_backslash_before_letters_is_no_control_character() -> None:
    style = json.loads(style_to_json(shipped_base("waist-72")))
    style["title"] = "a\\u001b"
    assert style_from_json(json.dumps(style)).title == "a\\u001b"


def test_names_on_drawings_lose_what_hides_in_them() -> None:
    (text,) = read_drawing(dxf(f"edge {C1}hem", (50.0, 1.0)), ".dxf").texts
    assert text.words == "edge  2Khem"
    assert plain(f"a{WIPE}b\n\tc") == "a [1A [2Kb c"
    assert len(plain("x" * 1000)) == LONGEST_NAME


def test_errors_are_one_short_line_whatever_a_file_is_called(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for arguments in (
        ["check", str(tmp_path / f"no{WIPE}such.json")],
        ["check", "x" * 5000],
        ["lay", "80-14", "--layer", "y" * 3000, "--time", "0"],
        ["alter", f"{C1}", "none.csv"],
        ["print", "a\nb\nc.json"],
        ["measures", "m" * 999],
        ["rank", f"--unit={WIPE}", "x"],
    ):
        assert run(arguments) == 2
        told = capsys.readouterr().err
        assert not any(mark in told for mark in ("\x1b", "\x9b", "\u202e"))
        last = told.rstrip("\n").splitlines()[-1]
        assert last.startswith("Error: ")
        assert len(last) < 300, last
    assert LONGEST_SENTENCE + len("Error: ") < 300


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
@pytest.mark.parametrize("command", [["check"], ["alter", "80-14"], ["import", "--out", "x.json"]])
def test_a_pipe_or_a_device_is_not_waited_for(command: list[str], tmp_path: Path) -> None:
    for name in ("pipe.json", "pipe.svg", "pipe.csv"):
        os.mkfifo(tmp_path / name)
    path = {"check": "pipe.json", "alter": "pipe.csv", "import": "pipe.svg"}[command[0]]
    for place in (str(tmp_path / path), "/dev/zero"):
        told = subprocess.run(
            [sys.executable, "-P", "-m", "coutil", *command, place],
            env=worker_environment(), cwd=tmp_path, capture_output=True, text=True, timeout=60, check=False,
        )  # fmt: skip
        assert told.returncode == 2
        assert "it is a pipe or a device" in told.stderr or "suffix" in told.stderr or "chart is" in told.stderr
