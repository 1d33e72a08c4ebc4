"""A stranger's drawing is read in a process of its own, with a limit of time and of memory.

Whatever a file does to its reader, the program answers meanwhile and says in a sentence how it ended.
"""

from __future__ import annotations

import subprocess
import tempfile
import threading
from dataclasses import dataclass
from typing import IO, Literal

import msgspec

from coutil.drawing import Certainty, Imported
from coutil.errors import BadInput, BadStyle
from coutil.measure import Chart, chart_to_json
from coutil.pattern import style_from_json
from coutil.workers import end_worker, start_worker, worker_command

# The largest clean drawing tried (400 kB, 36 pieces) takes under 3 s on a busy machine.
LONGEST_S = 20.0
# A drawing is read in under 170 MB; what needs three times that is no pattern.
MOST_MEMORY_MB = 512
# Two at a time leave a machine of two processors usable; the next waits for its turn, and for no longer than this.
MOST_AT_ONCE, LONGEST_WAIT_S = 2, 60.0
# The worker's exit code where its memory did not suffice.
NO_MEMORY = 8

WORKER = worker_command("coutil._import_worker")
_TURNS = threading.BoundedSemaphore(MOST_AT_ONCE)


@dataclass(frozen=True, slots=True)
class ImportTask:
    """A drawing's content and suffix, the style's name, the marks and the chart (as JSON) where there are any."""

    data: bytes
    suffix: str
    name: str
    marks: str | None
    chart: str | None
    scale: float
    memory_mb: int


@dataclass(frozen=True, slots=True)
class ImportReply:
    """What the drawing holds, or the sentence that refuses it and the kind of refusal."""

    style: bytes = b""
    marks: str = ""
    certainties: tuple[Certainty, ...] = ()
    remarks: tuple[str, ...] = ()
    refusal: str = ""
    kind: Literal["", "input", "style"] = ""


def import_apart(
    data: bytes, suffix: str, name: str, marks: str | None = None, chart: Chart | None = None, scale: float = 1.0
) -> Imported:
    """As `import_drawing`, in a process of its own.

    Raises BadInput or BadStyle, in one sentence, as that does, and where time or memory did not suffice.
    """
    told = None if chart is None else chart_to_json(chart)
    reply = _asked(ImportTask(data, suffix, name, marks, told, scale, MOST_MEMORY_MB))
    if reply.refusal:
        raise (BadStyle if reply.kind == "style" else BadInput)(reply.refusal)
    return Imported(style_from_json(reply.style), reply.marks, reply.certainties, reply.remarks)


def _asked(task: ImportTask) -> ImportReply:
    if not _TURNS.acquire(timeout=LONGEST_WAIT_S):
        raise BadInput("Other drawings are still being read: try again in a minute.")
    try:
        return _answer(task)
    finally:
        _TURNS.release()


def _answer_file() -> IO[bytes]:
    try:
        return tempfile.TemporaryFile()
    except OSError as error:
        raise BadInput("The drawing cannot be read: there is no room for passing files on the disk.") from error


def _answer(task: ImportTask) -> ImportReply:
    with _answer_file() as written:
        try:
            process = start_worker(WORKER, msgspec.msgpack.encode(task), written)
        except OSError as error:
            raise BadInput("The drawing cannot be read: no process for it could be started.") from error
        try:
            process.wait(LONGEST_S)
        except subprocess.TimeoutExpired:
            raise BadInput(
                f"The drawing is not read after {LONGEST_S:.0f} s: leave out what is no pattern, and save it anew."
            ) from None
        finally:
            code = end_worker(process)
        if code:
            raise BadInput(_why(code))
        written.seek(0)
        return msgspec.msgpack.decode(written.read(), type=ImportReply)


def _why(code: int) -> str:
    """Why the worker ended without an answer: its memory was used up, or a library gave up on the file."""
    if code == NO_MEMORY:
        return f"The drawing takes over {MOST_MEMORY_MB} MB to read: leave out what is no pattern, and save it anew."
    return "The drawing breaks its reader: open it in a drawing program, save it anew, and try again."
