"""What a newcomer gets: a copy of this folder, README's first command, then every command that the docs show.

    python3 tools/newcomer.py [--keep]

The copy holds what git knows (or, without git, everything but .venv and out) and lies in a temporary folder.  Nothing
but what `start.py demo` installs is there.  Files that a command of the docs needs are those the docs tell to write.
Ends with 1 where a command ends otherwise than it should, and says which.
"""

from __future__ import annotations

import argparse
import os
import re
import shlex
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PAGES = ("README.md", "docs/own-patterns.md", "docs/tour.md")
LEFT_OUT = shutil.ignore_patterns(".venv", "out", ".git", "__pycache__", ".*_cache", ".hypothesis", "*.egg-info")
# Setting up waits for the package index; no command of the docs takes a minute.
SET_UP_S, COMMAND_S, PAGE_S = 900, 240, 60
# 1: a check of the pattern fails, which is an answer; the files are written.
ANSWERS = (0, 1)


def main() -> int:
    """Runs everything and tells what went wrong; 0 where nothing did."""
    parser = argparse.ArgumentParser(description="Try what a newcomer gets.")
    parser.add_argument("--keep", action="store_true", help="leave the copy where it is, and say where")
    keep = parser.parse_args().keep
    folder = Path(tempfile.mkdtemp(prefix="newcomer-")) / "coutil"
    try:
        copy_to(folder)
        return tried(folder)
    finally:
        if keep:
            print(f"kept in {folder}")
        else:
            shutil.rmtree(folder.parent, ignore_errors=True)


def tried(folder: Path) -> int:
    """The first command, then the workroom, then every command of the docs; the number of those that failed."""
    if not ends_well(folder, [sys.executable, "start.py", "demo"], SET_UP_S):
        return 1
    failed = [] if serves(folder) else ["coutil serve"]
    write_files(folder)
    for words in commands(folder):
        if not ends_well(folder, [sys.executable, "start.py", *words[1:]], COMMAND_S):
            failed.append(shlex.join(words))
        provide(folder)
    print(f"newcomer: {len(failed)} of {len(commands(folder)) + 2} commands failed")
    print("".join(f"  {line}\n" for line in failed), end="")
    return int(bool(failed))


def copy_to(folder: Path) -> None:
    """What git knows of this folder, as it is now."""
    known = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=False)
    if known.returncode:
        shutil.copytree(ROOT, folder, ignore=LEFT_OUT)
        return
    for name in filter(None, known.stdout.decode().split("\0")):
        if (ROOT / name).is_file():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(ROOT / name, folder / name)


def blocks(folder: Path) -> list[str]:
    """Every block of the docs that is set in a type of its own."""
    texts = ((folder / page).read_text(encoding="utf-8") for page in PAGES)
    return [block for text in texts for block in re.findall(r"```\w*\n(.*?)```", text, re.DOTALL)]


def commands(folder: Path) -> list[list[str]]:
    """The commands of coutil in the docs, in their order, each once; the workroom is tried by itself."""
    lines = (line.partition(" #")[0].strip() for block in blocks(folder) for line in block.splitlines())
    found = [shlex.split(line) for line in dict.fromkeys(lines) if line.startswith("coutil ")]
    return [words for words in found if words[1] != "serve"]


def write_files(folder: Path) -> None:
    """The files that the docs tell to write: two charts, the wishes, the order."""
    begins = {
        "contralto.csv": "# name: Contralto",
        "contralto.toml": 'name = "Contralto"',
        "wishes.toml": 'unit = "cm"\nreduction',
        "order.toml": 'unit = "cm"\nreference',
    }
    for name, start in begins.items():
        (text,) = (block for block in blocks(folder) if block.startswith(start))
        (folder / name).write_text(text, encoding="utf-8")
    shutil.copy(folder / "contralto.csv", folder / "client.csv")


def provide(folder: Path) -> None:
    """What a maker makes of the files written so far: a base of her own, marks put right, the chart of a pattern."""
    made = {
        "my_own_base.json": "out/contralto/style.json",
        "corrected.toml": "waist_cincher.marks.toml",
        "chart.csv": "contralto.csv",
    }
    for name, source in made.items():
        if (folder / source).exists() and not (folder / name).exists():
            shutil.copy(folder / source, folder / name)


def ends_well(folder: Path, words: list[str], seconds: int) -> bool:
    """Whether the command ends in time with an answer and without a traceback; else what it said is shown."""
    begun = time.monotonic()
    try:
        told = subprocess.run(words, cwd=folder, capture_output=True, text=True, timeout=seconds, check=False)
    except subprocess.TimeoutExpired:
        print(f"not ended after {seconds} s: {shlex.join(words[1:])}", flush=True)
        return False
    well = told.returncode in ANSWERS and "Traceback" not in told.stderr
    print(f"{'well  ' if well else 'BADLY '} {time.monotonic() - begun:5.1f} s  {shlex.join(words[1:])}", flush=True)
    if not well:
        print(told.stdout[-1500:] + told.stderr[-1500:], flush=True)
    return well


def serves(folder: Path) -> bool:
    """Whether the workroom opens with an empty book, gives its first page, and closes when told to."""
    words = [sys.executable, "start.py", "serve", "--data", "workroom", "--port", "0", "--no-browser"]
    process = subprocess.Popen(
        words, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"}, start_new_session=True,
    )  # fmt: skip
    assert process.stdout is not None
    told = ""
    try:
        for line in process.stdout:
            told += line
            address = re.search(r"http://127\.0\.0\.1:\d+\S*", line)
            if address:
                with urllib.request.urlopen(address[0], timeout=PAGE_S) as page:
                    well = page.status == 200 and b"<h1" in page.read()
                    print(f"{'well  ' if well else 'BADLY '} serve: {address[0]} gives {page.status}", flush=True)
                    return well
    except OSError as error:
        told += str(error)
    finally:
        os.killpg(process.pid, signal.SIGINT)
        try:
            process.wait(PAGE_S)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
        process.stdout.close()
    print(f"BADLY  serve does not open:\n{told[-1500:]}", flush=True)
    return False


if __name__ == "__main__":
    sys.exit(main())
