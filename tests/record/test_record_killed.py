"""A program ended at any moment while it saves: what it had been told is kept is kept, and the records are whole.

A writer says each saved version on its standard output only after it was committed; then it is killed.  500 moments
with COUTIL_LONG_TESTS=1, 5 without.
"""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from coutil.record import add_client, find_client, open_records

N_KILLS = 500 if os.environ.get("COUTIL_LONG_TESTS") else 5

# One process loads the program, then makes a writer of itself for every line it reads, and says when it is dead.
NURSERY = """
import os, sys
from dataclasses import replace
from coutil.record import change_client, find_client, open_records

def write():
    records = open_records(sys.argv[1])
    client = find_client(records, int(sys.argv[2]))
    print("ready", os.getpid(), flush=True)
    while True:
        n = client.version + 1
        client = change_client(records, client.id, client.version, lambda old: replace(old, note=f"{n} " * 300))
        print(client.version, flush=True)

for line in sys.stdin:
    pid = os.fork()
    if pid == 0:
        write()
    os.waitpid(pid, 0)
    print("\\ndead", flush=True)
"""


@pytest.mark.skipif(os.name == "nt", reason="Windows has no signal that ends a process like kill -9")
def test_nothing_committed_is_lost(tmp_path: Path) -> None:
    path, moments = tmp_path / "coutil.db", random.Random(2026)
    records = open_records(path)
    client_id = add_client(records, "Tenor").id
    records.close()
    with nursery(path, client_id) as writers:
        for _ in range(N_KILLS):
            told = version_told(writers, moments.uniform(0.0, 0.25)) or version_kept(path, client_id)
            require_whole(path, client_id, told)


def require_whole(path: Path, client_id: int, told: int) -> None:
    """The database is sound and holds what was told, or the one version that could not be told any more."""
    link = sqlite3.connect(path)
    assert link.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    link.close()
    records = open_records(path)
    kept = find_client(records, client_id)
    records.close()
    assert kept.version in (told, told + 1)
    assert kept.version == 1 or kept.note == f"{kept.version} " * 300


@contextmanager
def nursery(path: Path, client_id: int) -> Iterator[subprocess.Popen[str]]:
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2] / "src")}
    arguments = [sys.executable, "-c", NURSERY, str(path), str(client_id)]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE}
    with subprocess.Popen(arguments, text=True, env=environment, **pipes) as process:  # type: ignore[call-overload]
        yield process


def version_told(writers: subprocess.Popen[str], seconds: float) -> int:
    """Lets a writer write for so long, kills it, and gives the last version it told, 0 for none."""
    assert writers.stdin is not None
    assert writers.stdout is not None
    writers.stdin.write("go\n")
    writers.stdin.flush()
    word, pid = writers.stdout.readline().split()
    assert word == "ready"
    time.sleep(seconds)
    os.kill(int(pid), signal.SIGKILL)
    told = 0
    while (line := writers.stdout.readline()) != "dead\n":
        assert line, "the nursery ended"
        told = int(line) if line.strip() else told
    return told


def version_kept(path: Path, client_id: int) -> int:
    link = sqlite3.connect(path)
    version = link.execute("SELECT version FROM clients WHERE id = ?", (client_id,)).fetchone()[0]
    link.close()
    return int(version)
