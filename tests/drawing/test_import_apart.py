"""A stranger's drawing costs its own process time and memory, and never the program's."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest

import coutil
from coutil import import_job
from coutil.drawing import import_drawing
from coutil.errors import BadInput, BadStyle
from coutil.import_job import import_apart
from coutil.workers import worker_environment

ROOT = Path(coutil.__file__).parent
CINCHER = (ROOT.parents[1] / "docs" / "waist-cincher.svg").read_bytes()
# Whatever backtracks takes minutes for these; what does not, a few milliseconds.
PATIENCE_S = 20.0


def svg(transform: str) -> bytes:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300">'
        f'<g transform="{transform}"><path id="centre_front" d="M0 0H100V200H0Z"/></g></svg>'
    ).encode()


def test_what_is_read_apart_is_what_is_read_here() -> None:
    here, apart = import_drawing(CINCHER, ".svg", "cincher"), import_apart(CINCHER, ".svg", "cincher")
    assert apart == here
    again = import_apart(CINCHER, ".svg", "cincher", here.marks_text, here.style.base_chart)
    assert again.style.base_chart.name == here.style.base_chart.name


@pytest.mark.parametrize(
    ("transform", "culprit"),
    [
        ("matrix(0.70711,0.70711,-0.70711,0.70711,10.5px,20)", "'px'"),
        (f"scale({'1' * 20}x)", "'x'"),
        (f"scale({'1' * 40000}x)", "'x'"),
        ("translate(" + "1 ," * 30000 + "!)", "'!'"),
        ("rotate(" * 2000, "cannot be read"),
    ],
)
def test_a_slip_in_a_transform_is_named_at_once(transform: str, culprit: str) -> None:
    with pytest.raises(BadInput, match=re.escape(culprit)):
        import_apart(svg(transform), ".svg", "slip")


def test_a_refusal_keeps_its_kind_and_its_sentence() -> None:
    with pytest.raises(BadInput) as here:
        import_drawing(b"<svg/>", ".svg", "none")
    with pytest.raises(BadInput) as apart:
        import_apart(b"<svg/>", ".svg", "none")
    assert (str(apart.value), type(apart.value)) == (str(here.value), type(here.value))


def test_the_kind_of_a_refusal_comes_back(monkeypatch: pytest.MonkeyPatch) -> None:
    reply = "import_job.ImportReply(refusal='An outline is open.', kind='style')"
    worker(monkeypatch, f"sys.stdout.buffer.write(msgspec.msgpack.encode({reply}))")
    with pytest.raises(BadStyle, match=r"An outline is open\."):
        import_apart(CINCHER, ".svg", "x")


def worker(monkeypatch: pytest.MonkeyPatch, script: str) -> None:
    """Lets a worker that does this read the drawings."""
    before = "import sys, time, os, msgspec\nfrom coutil import import_job\nfrom coutil.workers import *\nread_task()\n"
    monkeypatch.setattr(import_job, "WORKER", (sys.executable, "-c", before + script))


def test_what_takes_too_long_is_ended_and_said(monkeypatch: pytest.MonkeyPatch) -> None:
    worker(monkeypatch, "time.sleep(600)")
    monkeypatch.setattr(import_job, "LONGEST_S", 1.0)
    with pytest.raises(BadInput, match="not read after 1 s"):
        import_apart(CINCHER, ".svg", "x")


def test_what_breaks_its_reader_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    worker(monkeypatch, "os.abort()")
    with pytest.raises(BadInput, match="breaks its reader"):
        import_apart(CINCHER, ".svg", "x")


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="this system does not limit memory")
def test_what_takes_too_much_memory_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    worker(monkeypatch, "limit_memory(100)\ntry: bytearray(300_000_000)\nexcept MemoryError: sys.exit(8)")
    with pytest.raises(BadInput, match="over 512 MB"):
        import_apart(CINCHER, ".svg", "x")


def test_two_are_read_at_once_and_the_third_waits_no_longer_than_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(import_job, "LONGEST_WAIT_S", 0.05)
    for _ in range(import_job.MOST_AT_ONCE):
        assert import_job._TURNS.acquire(timeout=1.0)
    try:
        with pytest.raises(BadInput, match="still being read"):
            import_apart(CINCHER, ".svg", "x")
    finally:
        for _ in range(import_job.MOST_AT_ONCE):
            import_job._TURNS.release()


# --- every pattern of the program ---------------------------------------------------------------------------------


def patterns() -> list[tuple[str, str, list[str]]]:
    """Every regular expression of the program: its module, how it is written there, and the ways it is used."""
    used: dict[tuple[str, str], set[str]] = {}
    for path in ROOT.rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        module = ".".join(path.relative_to(ROOT).with_suffix("").parts)
        named: dict[str, str] = {}
        for node in ast.walk(tree):
            if isinstance(node, ast.Assign) and is_re(node.value, "compile"):
                named[ast.unparse(node.targets[0])] = ast.unparse(node.value)
        for node in ast.walk(tree):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
                continue
            owner, method = ast.unparse(node.func.value), node.func.attr
            if owner in named and method in WAYS:
                used.setdefault((module, named[owner]), set()).add(method)
            elif owner == "re" and method in WAYS:
                used.setdefault((module, f"re.compile({ast.unparse(node.args[0])})"), set()).add(method)
    return sorted((f"coutil.{module}", source, sorted(ways)) for (module, source), ways in used.items())


def is_re(node: ast.AST, name: str) -> bool:
    return isinstance(node, ast.Call) and ast.unparse(node.func) == f"re.{name}"


WAYS = ("match", "search", "fullmatch", "findall", "finditer", "split", "sub")
ATTACKS = (
    "1", "1.", "1 ", "1,", " ", "\t", "\n", "a", "ab ", "_", "-", "+", ";", ";  ", ":", "(", ")", "( ", "e1", "1e1",
    "x ", "units ", "encoding=", "encoding ", "display : ", " - at `", "[\n 1,\n ", "a_1", "1/1 ", "mm ", "1 mm (",
    "piece ",
)  # fmt: skip


def test_no_pattern_goes_through_a_text_again_and_again() -> None:
    """Each is set on texts of 40,000 letters, ended by what fits nowhere; all together take a few seconds."""
    script = (
        "import importlib, re\n"
        f"ATTACKS = {ATTACKS!r}\n"
        f"for module, source, ways in {patterns()!r}:\n"
        "    print(source, flush=True)\n"
        "    pattern = eval(source, {**vars(importlib.import_module(module)), 're': re})\n"
        "    kind = bytes if isinstance(pattern.pattern, bytes) else str\n"
        "    for attack in ATTACKS:\n"
        "        text = attack * (40000 // len(attack)) + '\\x00!'\n"
        "        text = text.encode() if kind is bytes else text\n"
        "        for way in ways:\n"
        "            if way == 'sub': pattern.sub(text[:0], text)\n"
        "            elif way == 'finditer': list(pattern.finditer(text))\n"
        "            else: getattr(pattern, way)(text)\n"
    )
    begun = time.monotonic()
    try:
        told = subprocess.run(
            [sys.executable, "-P", "-c", script],
            env={**worker_environment(), **os.environ},
            capture_output=True,
            text=True,
            timeout=PATIENCE_S * 3,
            check=False,
        )
    except subprocess.TimeoutExpired as error:
        last = (error.stdout or b"").decode().splitlines()[-1]
        pytest.fail(f"{last} backtracks without bound ({time.monotonic() - begun:.0f} s)")
    assert told.returncode == 0, told.stderr
