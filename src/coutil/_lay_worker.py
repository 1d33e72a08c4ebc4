"""The process that searches for a shorter lay: one task in on stdin as JSON, better layouts out, one a line.

It is a process of its own so that it can be ended at any moment, and because the search library ends its
process on input it does not like.
"""

from __future__ import annotations

import json
import sys
import threading
from typing import Any

from coutil.workers import read_task

REPORT_EVERY_S = 0.1

# The exit code by which the caller knows that the search library is not installed.
NOT_INSTALLED = 7


def main() -> int:
    """Reads the task, searches, and writes every better layout as a line of [shape, dx, dy, turn]."""
    try:
        import spyrrow
    except ImportError:
        return NOT_INSTALLED
    _search(spyrrow, json.loads(read_task()))
    return 0


def _search(library: Any, task: dict[str, Any]) -> None:
    items = [
        library.Item(str(i), [tuple(point) for point in shape["outline"]], shape["count"], shape["turns"])
        for i, shape in enumerate(task["shapes"])
    ]
    instance = library.StripPackingInstance("lay", task["height"], items)
    config = library.StripPackingConfig(
        total_computation_time=task["seconds"], early_termination=True, num_workers=1, seed=task["seed"]
    )
    queue, done = library.ProgressQueue(), threading.Event()
    told = threading.Thread(target=_tell, args=(queue, done), daemon=True)
    told.start()
    final = instance.solve(config, queue)
    done.set()
    told.join()
    _write(final)


def _tell(queue: Any, done: threading.Event) -> None:
    """Writes each layout in which nothing overlaps and which is shorter than those before."""
    shortest = float("inf")
    while not done.wait(REPORT_EVERY_S):
        sound = [layout for kind, layout in queue.drain() if _is_sound(kind)]
        best = min(sound, key=lambda layout: layout.width, default=None)
        if best is not None and best.width < shortest:
            shortest = best.width
            _write(best)


def _is_sound(kind: Any) -> bool:
    return any(word in repr(kind) for word in ("ExplFeas", "CmprFeas", "Final"))


def _write(layout: Any) -> None:
    spots = [(int(item.id), *item.translation, round(item.rotation) % 360) for item in layout.placed_items]
    print(json.dumps({"spots": spots}), flush=True)


if __name__ == "__main__":
    sys.exit(main())
