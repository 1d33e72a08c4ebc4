"""A disk of a few megabytes, to be filled: a file system in memory that only the process that asked for it sees."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest


@cache
def _can_be_made() -> bool:
    if sys.platform != "linux" or shutil.which("unshare") is None:
        return False
    tried = ["unshare", "-rm", "sh", "-c", "mount -t tmpfs -o size=1M none /mnt"]
    return subprocess.run(tried, capture_output=True, check=False).returncode == 0


def run_on_small_disk(script: str, folder: Path, megabytes: int) -> str:
    """What the script prints, run with the small disk at `folder`, which is its only argument."""
    if not _can_be_made():
        pytest.skip("a small disk can be made on Linux alone, where a user may")
    mounted = f'mount -t tmpfs -o size={megabytes}M none "$1" && exec "$2" -c "$3" "$1"'
    command = ["unshare", "-rm", "sh", "-c", mounted, "sh", str(folder), sys.executable, script]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=120, env={**os.environ})
    assert done.returncode == 0, done.stderr
    return done.stdout
