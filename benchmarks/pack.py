"""How long the full print pack of one client takes: what `coutil pack` writes, for each of its two processes.

Run it with `python benchmarks/pack.py`; the bound is 5 seconds on two cores that do nothing else, the time given to
the search for short lays aside.  Every run is in a fresh process, with the libraries it loads.
"""

from __future__ import annotations

import os
import platform
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import msgspec

from coutil import job, lay_job, pack_job
from coutil.alter import Wishes
from coutil.commands.alter import base_for
from coutil.files import read_bytes
from coutil.order_file import order_from_toml
from coutil.result_file import result_from_json
from coutil.shipped import demo_clients

BOUND_S = 5.0
CLIENT = "contralto"
SEARCH_S = 1
REPEATS = 3


def main() -> int:
    """Times every process REPEATS times and takes the median.  1 where one of them works longer than the bound.

    The processor's time is judged, since the clock also counts what other programs do meanwhile.
    """
    if sys.argv[1:]:
        return _main_part(Path(sys.argv[1]))
    with tempfile.TemporaryDirectory() as folder:
        result, task = Path(folder) / "result.json", Path(folder) / "task"
        _prepare(result, task)
        command = ("-m", "coutil", "pack", str(result), "--lay-anew", "--time", "0", "--out", folder)
        parts: dict[str, Callable[[], tuple[float, float]]] = {
            "pattern, workroom sheet, lays by our own way": lambda: _timed((__file__, str(result))),
            "drawings, guide, toile": lambda: _timed(("-m", "coutil._pack_worker"), task),
            "coutil pack, both at once, without the search": lambda: _timed(command),
        }
        print(f"{platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} (quiet is below 1)")
        print(f"{'process':<48}{'wall, s':>10}{'processor, s':>14}")
        worked = []
        for name, run in parts.items():
            runs = [run() for _ in range(REPEATS)]
            wall, processor = (sorted(times)[REPEATS // 2] for times in zip(*runs, strict=True))
            worked.append(processor)
            print(f"{name:<48}{wall:>10.2f}{processor:>14.2f}")
    print(f"bound: {BOUND_S:g} s of processor time for either process, and on a quiet machine's clock for both at once")
    return int(max(worked[:2]) > BOUND_S)


def _prepare(result: Path, task: Path) -> None:
    """A finished job and what the helper is told of it."""
    chart = demo_clients()[CLIENT]
    done = job.run(job.Order(base_for("nearest", chart), chart, Wishes(), "cm"))
    result.write_text(job.result_text(done), encoding="utf-8")
    asked = pack_job.PackTask(result.read_bytes(), order_from_toml("", "cm"), "a4", "cm")
    task.write_bytes(msgspec.msgpack.encode(asked))


def _main_part(result: Path) -> int:
    """What the first process does while the helper works: no search, and the helper's files taken as made."""
    lay_job.search_for = lambda *_: lambda _task, _offer: None  # type: ignore[assignment]
    pack_job._started = lambda _: None
    pack_job._answered = lambda _: (pack_job.PackFile("helper", "", b""),)
    order = pack_job.PackOrder(result_from_json(read_bytes(result)), order_from_toml("", "cm"), "a4", "cm", SEARCH_S)
    pack_job.make_pack(order)
    return 0


def _timed(arguments: Sequence[str], given: Path | None = None) -> tuple[float, float]:
    """Wall time and processor time of a Python process and all it starts."""
    before, begun = _children(), time.perf_counter()
    with open(given or os.devnull, "rb") as source:
        subprocess.run([sys.executable, *arguments], stdin=source, stdout=subprocess.DEVNULL, check=False)
    return time.perf_counter() - begun, _children() - before


def _children() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


if __name__ == "__main__":
    sys.exit(main())
