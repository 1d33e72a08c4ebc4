"""The process that reads a stranger's drawing; see `import_job`."""

from __future__ import annotations

import sys

import msgspec

from coutil.drawing import import_drawing
from coutil.errors import BadStyle, CoutilError
from coutil.import_job import NO_MEMORY, ImportReply, ImportTask
from coutil.measure import chart_from_text
from coutil.pattern import style_to_json
from coutil.workers import limit_memory, read_task


def main() -> int:
    """Reads the task and writes the reply."""
    task = msgspec.msgpack.decode(read_task(), type=ImportTask)
    limit_memory(task.memory_mb)
    try:
        reply = msgspec.msgpack.encode(_reply(task))
    except MemoryError:
        return NO_MEMORY
    sys.stdout.buffer.write(reply)
    return 0


def _reply(task: ImportTask) -> ImportReply:
    chart = None if task.chart is None else chart_from_text(task.chart, ".json")
    try:
        found = import_drawing(task.data, task.suffix, task.name, task.marks, chart, task.scale)
    except CoutilError as error:
        return ImportReply(refusal=str(error), kind="style" if isinstance(error, BadStyle) else "input")
    return ImportReply(style_to_json(found.style).encode(), found.marks_text, found.certainties, found.remarks)


if __name__ == "__main__":
    sys.exit(main())
