"""Processes of the program's own: started safely, told one task, and ended with whoever started them.

Both sides of the talk are here.  The task goes over the worker's input, which then stays open: when it closes, for
whatever reason the program that opened it has ended, the worker ends at once.
"""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from contextlib import suppress
from pathlib import Path
from typing import IO

import coutil

# The task is announced by its length, so many bytes.
HEAD_BYTES = 8
# The exit code of a worker whose program has ended.
LEFT_ALONE = 9


def worker_command(module: str) -> tuple[str, ...]:
    """How a module is run as a worker; -P keeps what lies in the maker's folder from being taken for a library."""
    return (sys.executable, "-P", "-m", module)


def worker_environment() -> dict[str, str]:
    """The environment in which a worker finds this program, wherever it was started from."""
    root = str(Path(coutil.__file__).parent.parent)
    # One thread each: workers at the same time would wait for one another.
    path = os.pathsep.join(filter(None, (root, os.environ.get("PYTHONPATH"))))
    return {"OPENBLAS_NUM_THREADS": "1", **os.environ, "PYTHONPATH": path}


def start_worker(command: tuple[str, ...], task: bytes, output: int | IO[bytes]) -> subprocess.Popen[bytes]:
    """A worker at its task, writing to `output`; raises OSError where no process can be started.

    The keyboard's interrupt does not reach it: the program decides what becomes of it.
    """
    process = subprocess.Popen(
        command,
        stdin=subprocess.PIPE,
        stdout=output,
        stderr=subprocess.DEVNULL,
        env=worker_environment(),
        start_new_session=True,
    )
    # A task larger than a pipe holds is taken only when the worker has been read in: nobody waits for that.
    threading.Thread(target=_send, args=(process, task), daemon=True).start()
    return process


def _send(process: subprocess.Popen[bytes], task: bytes) -> None:
    """A worker that has ended already is found out by its silence."""
    assert process.stdin is not None
    with suppress(OSError, ValueError):
        process.stdin.write(len(task).to_bytes(HEAD_BYTES, "big") + task)
        process.stdin.flush()


def end_worker(process: subprocess.Popen[bytes]) -> int:
    """Ends the worker, if it has not ended by itself, and gives its exit code."""
    if process.poll() is None:
        process.kill()
    code = process.wait()
    for stream in (process.stdin, process.stdout):
        if stream is not None:
            with suppress(OSError):
                stream.close()
    return code


def read_task() -> bytes:
    """In a worker: its task; from then on it ends as soon as the program that started it has ended."""
    told = sys.stdin.buffer
    task = told.read(int.from_bytes(told.read(HEAD_BYTES), "big"))
    threading.Thread(target=_end_with_program, args=(told.fileno(),), daemon=True).start()
    return task


def limit_memory(megabytes: int) -> None:
    """In a worker: no more than so much memory beyond what it holds now, where the system can see to that."""
    try:
        import resource
    except ImportError:  # This system has no such limits.
        return
    with suppress(OSError, ValueError):
        held = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
        most = held + megabytes * 1_000_000
        resource.setrlimit(resource.RLIMIT_AS, (most, most))


def _end_with_program(line: int) -> None:
    # os.read, not the buffer: its lock would keep the interpreter from winding up when the work is done.
    with suppress(OSError):
        while os.read(line, 1):
            pass
    os._exit(LEFT_ALONE)
