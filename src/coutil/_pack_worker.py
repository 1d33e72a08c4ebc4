"""What of a pack needs no lay plan, made in a process of its own: drawings, guide and toile.

Reads a PackTask from its input and writes a PackReply, both as MessagePack.
"""

from __future__ import annotations

import sys

import msgspec

from coutil.pack_job import PackOrder, PackReply, PackTask, pages_without_lay
from coutil.result_file import result_from_json
from coutil.workers import read_task


def main() -> int:
    """Makes the pages and writes them out; any trouble ends it, and who asked makes them alone."""
    task = msgspec.msgpack.decode(read_task(), type=PackTask)
    order = PackOrder(result_from_json(task.result), task.making, task.paper, task.unit, 0)
    sys.stdout.buffer.write(msgspec.msgpack.encode(PackReply(pages_without_lay(order))))
    return 0


if __name__ == "__main__":
    sys.exit(main())
