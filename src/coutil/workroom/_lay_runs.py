"""Lay plans being looked for: each in a thread of its own, its progress told to any page that asks.

What is found is kept with the records; here is only who is looking.
"""

from __future__ import annotations

import itertools
import threading
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from coutil.errors import BadInput, CoutilError

MOST_AT_ONCE = 2
MOST_KEPT = 20


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a lay is: seconds gone of all, the shortest length so far (mm), its use (%), and how it ended."""

    seconds: int
    gone: float = 0.0
    length: float | None = None
    use: float | None = None
    ended: bool = False
    error: str = ""


@dataclass(slots=True)
class LayRun:
    """One lay being looked for; `kept` is the number of the lay plan in the records once it has ended well."""

    number: int
    revision_id: int
    title: str
    progress: Progress
    kept: int | None = None
    enough: threading.Event = field(default_factory=threading.Event)
    news: threading.Condition = field(default_factory=threading.Condition)

    def tell(self, **changed: object) -> None:
        """Puts new figures into the progress and wakes who waits for them."""
        with self.news:
            self.progress = replace(self.progress, **changed)  # type: ignore[arg-type]
            self.news.notify_all()

    def wait(self, seen: Progress | None, seconds: float) -> Progress:
        """The progress as soon as it is another than `seen`, or after that many seconds as it is."""
        with self.news:
            self.news.wait_for(lambda: self.progress != seen, seconds)
            return self.progress


class LayRuns:
    """The lays being looked for in this run of the program, and those that have just ended."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._runs: dict[int, LayRun] = {}
        self._numbers = itertools.count(1)

    def start(self, revision_id: int, title: str, seconds: int, work: Callable[[LayRun], None]) -> LayRun:
        """Begins a lay; `work` fills in its files.  Raises BadInput while MOST_AT_ONCE are being looked for."""
        with self._lock:
            if sum(not run.progress.ended for run in self._runs.values()) >= MOST_AT_ONCE:
                raise BadInput("Two lay plans are being looked for already: wait for one, or stop it.")
            run = LayRun(next(self._numbers), revision_id, title, Progress(seconds))
            self._runs[run.number] = run
            for old in sorted(self._runs)[:-MOST_KEPT]:
                del self._runs[old]
        threading.Thread(target=_worked, args=(run, work), daemon=True).start()
        return run

    def find(self, number: int) -> LayRun:
        """The run of that number; raises BadInput where there is none any more."""
        run = self._runs.get(number)
        if run is None:
            raise BadInput("Nobody looks for that lay plan any more: what was found is among the papers.")
        return run

    def of(self, revision_id: int) -> tuple[LayRun, ...]:
        """The runs for a revision of which no lay plan is kept (yet), the newest first."""
        with self._lock:
            runs = [run for _, run in sorted(self._runs.items(), reverse=True)]
        return tuple(run for run in runs if run.revision_id == revision_id and run.kept is None)

    def forget(self, revision_ids: frozenset[int]) -> None:
        """Stops and drops the lays of erased revisions."""
        with self._lock:
            for number, run in tuple(self._runs.items()):
                if run.revision_id in revision_ids:
                    run.enough.set()
                    del self._runs[number]

    def stop_all(self) -> None:
        """Lets every search end at once."""
        with self._lock:
            for run in self._runs.values():
                run.enough.set()


def _worked(run: LayRun, work: Callable[[LayRun], None]) -> None:
    try:
        work(run)
        run.tell(ended=True)
    except CoutilError as error:
        run.tell(ended=True, error=str(error))
    except Exception as error:
        run.tell(ended=True, error=f"Something in the program went wrong ({type(error).__name__}).")
