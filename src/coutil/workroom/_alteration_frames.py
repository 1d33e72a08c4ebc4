"""Step frames worked out in the background, one row after the other, with progress told as they come."""

from __future__ import annotations

import itertools
import threading
from collections import OrderedDict
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from coutil.alter import Frame, Plan
from coutil.errors import BadInput, CoutilError
from coutil.measure import Unit
from coutil.pattern import EdgeRef
from coutil.speech import sentence
from coutil.tables import drawing_unit, where_words
from coutil.workroom._alteration import Desk, arrow_view
from coutil.workroom._alteration_looks import edge_id
from coutil.workroom._alteration_shapes import edge_path, outline_path
from coutil.workroom._alteration_wire import FrameState, FrameView

# What was asked for longest ago is forgotten: a page asks again when it needs it.
MOST_LESSONS = 8


class CalledOff(Exception):
    """The page that asked has asked for something newer."""


@dataclass(slots=True)
class Lesson:
    """The frames of one plan while they are made.  Written by the worker alone, read by anyone."""

    total: int
    done: int = 0
    frames: tuple[FrameView, ...] | None = None
    problem: str = ""
    is_called_off: bool = False


class Lessons:
    """All lessons being worked out.  One worker: they must not take time from the page that is being drawn."""

    def __init__(self) -> None:
        self._lessons: OrderedDict[str, Lesson] = OrderedDict()
        self._names = itertools.count(1)
        self._worker = ThreadPoolExecutor(max_workers=1, thread_name_prefix="frames")
        self._lock = threading.Lock()

    def start(self, desk: Desk, plan: Plan, unit: Unit) -> str:
        """Begin the frames of that plan; the name under which they can be asked for."""
        total = sum(any(move.amount for move in row.moves) for row in plan.rows)
        lesson = Lesson(total)
        with self._lock:
            name = str(next(self._names))
            self._lessons[name] = lesson
            while len(self._lessons) > MOST_LESSONS:
                self._lessons.popitem(last=False)[1].is_called_off = True
        self._worker.submit(_work_out, lesson, desk, plan, unit)
        return name

    def state(self, name: str) -> FrameState:
        """How far that lesson is; raises BadInput where it is not known."""
        lesson = self._lessons.get(name)
        if lesson is None:
            raise BadInput("These steps are no longer kept: ask for them again.")
        return FrameState(lesson.done, lesson.total, lesson.frames, lesson.problem)

    def call_off(self, name: str) -> None:
        """Stop working on that lesson."""
        lesson = self._lessons.pop(name, None)
        if lesson is not None:
            lesson.is_called_off = True


def _work_out(lesson: Lesson, desk: Desk, plan: Plan, unit: Unit) -> None:
    started = itertools.count()

    def report(_row: str) -> None:
        if lesson.is_called_off:
            raise CalledOff
        lesson.done = next(started)

    try:
        frames = desk.alterer.frames(plan, report)
        lesson.frames = tuple(_view(frame, plan, unit) for frame in frames)
        lesson.done = lesson.total
    except CalledOff:
        return
    except CoutilError as error:
        lesson.problem = sentence(str(error), unit)
    except Exception:
        # The worker has no one above it: without a word the page would wait for ever.
        lesson.problem = "The steps could not be worked out for this pattern."
        raise


def _view(frame: Frame, plan: Plan, unit: Unit) -> FrameView:
    row = plan.row(frame.row)
    assert row is not None
    style = frame.style
    edges = {edge_id(move.piece, move.edge): style.curve(EdgeRef(move.piece, move.edge)) for move in row.moves}
    moving = (move for move in row.moves if move.amount)
    return FrameView(
        row=frame.row,
        title=row.title,
        reason=sentence(row.reason, unit),
        where=sentence(where_words(row, unit), unit),
        pieces={piece.name: outline_path(piece) for piece in style.pieces},
        edges={name: edge_path(curve) for name, curve in edges.items()},
        arrows=tuple(arrow_view(style, move, 0.0, drawing_unit(unit)) for move in moving),
    )
