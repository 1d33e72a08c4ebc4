"""The search for a shorter lay, run in processes of their own that can be ended at any moment.

Each process searches with one thread from another seed: what the first finds says little of what the second will,
and two that share their work wait for each other, most of all on a machine that does other work.
"""

from __future__ import annotations

import json
import os
import queue
import subprocess
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

from coutil.cut.lay import Offer, Search, SearchFailed, SearchTask, Spot
from coutil.workers import end_worker, start_worker, worker_command

DEFAULT_SECONDS = 5
LONGEST_SECONDS = 3600

# A search that has not ended this long after its time is ended: it needs a while to wind up.
GRACE_S = 10.0
LOOK_EVERY_S = 0.1

# More searches at once than this help little.
MOST_WORKERS = 4

# As in the worker, which must not be imported here: it is another process's program.
NOT_INSTALLED = 7

WORKER = worker_command("coutil._lay_worker")

Tick = Callable[[float], None]


@dataclass(frozen=True, slots=True)
class ProcessSearch:
    """Searches for `seconds` in `workers` other processes (None: one a processor); see `Search`.

    `tick` is called about ten times a second with the seconds gone; the search ends early, keeping what was
    offered, as soon as `cancelled` says so.
    """

    seconds: int = DEFAULT_SECONDS
    workers: int | None = None
    tick: Tick | None = None
    cancelled: Callable[[], bool] | None = None
    command: tuple[str, ...] = WORKER

    def __call__(self, task: SearchTask, offer: Offer) -> None:
        """Offers every better layout as it is found.  Raises SearchFailed where there was none at all."""
        lines: queue.Queue[str | None] = queue.Queue()
        running: list[_Running] = []
        codes: list[int] = []
        try:
            for seed in range(self.workers or min(os.cpu_count() or 1, MOST_WORKERS)):
                running.append(_followed_by_thread(self._started(task, seed), lines))
            offered, stopped = self._followed(lines, len(running), offer)
        finally:
            codes += [_ended(one) for one in running]
        if not offered and not stopped:
            raise SearchFailed(_why(codes[0]))

    def _started(self, task: SearchTask, seed: int) -> subprocess.Popen[bytes]:
        try:
            return start_worker(self.command, self._message(task, seed).encode(), subprocess.PIPE)
        except OSError as error:
            raise SearchFailed("The search for a shorter lay could not be started.") from error

    def _message(self, task: SearchTask, seed: int) -> str:
        shapes = [
            {"outline": shape.outline.tolist(), "count": shape.count, "turns": shape.turns} for shape in task.shapes
        ]
        return json.dumps({"height": task.height, "shapes": shapes, "seconds": self.seconds, "seed": seed})

    def _followed(self, lines: queue.Queue[str | None], running: int, offer: Offer) -> tuple[int, bool]:
        """Hands on what is offered until all end; how many layouts that were, and whether the maker stopped it."""
        begun, offered = time.monotonic(), 0
        while (gone := time.monotonic() - begun) < self.seconds + GRACE_S:
            if self.tick is not None:
                self.tick(gone)
            if self.cancelled is not None and self.cancelled():
                return offered, True
            try:
                line = lines.get(timeout=LOOK_EVERY_S)
            except queue.Empty:
                continue
            if line is None:
                running -= 1
                if not running:
                    break
                continue
            offer(_spots(line))
            offered += 1
        return offered, False


@dataclass(frozen=True, slots=True)
class _Running:
    """A process at work and the thread that reads what it writes."""

    process: subprocess.Popen[bytes]
    reader: threading.Thread


def _followed_by_thread(process: subprocess.Popen[bytes], lines: queue.Queue[str | None]) -> _Running:
    reader = threading.Thread(target=_read, args=(process, lines), daemon=True)
    reader.start()
    return _Running(process, reader)


def _ended(running: _Running) -> int:
    """Ends the process, if it has not ended by itself, and gives its exit code."""
    if running.process.poll() is None:
        running.process.kill()
    running.reader.join()
    return end_worker(running.process)


def _read(process: subprocess.Popen[bytes], lines: queue.Queue[str | None]) -> None:
    assert process.stdout is not None
    for line in process.stdout:
        lines.put(line.decode(errors="replace"))
    lines.put(None)


def _spots(line: str) -> tuple[Spot, ...]:
    try:
        return tuple(Spot(int(i), float(x), float(y), int(turn)) for i, x, y, turn in json.loads(line)["spots"])
    except (ValueError, TypeError, KeyError) as error:
        raise SearchFailed("The search for a shorter lay answered with nonsense.") from error


def _why(code: int) -> str:
    if code == NOT_INSTALLED:
        return "The search for a shorter lay is not installed (package spyrrow)."
    if code == 0:
        return "The search for a shorter lay found nothing."
    return "The search for a shorter lay broke off or took too long."


def search_for(seconds: int, tick: Tick | None = None, cancelled: Callable[[], bool] | None = None) -> Search | None:
    """The usual search, or None for no seconds at all."""
    return ProcessSearch(seconds, tick=tick, cancelled=cancelled) if seconds else None
