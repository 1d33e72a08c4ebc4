"""What the alteration page asks for: opening, redrawing, measuring, steps, saving, comparing.

Every answer is JSON.  What cannot be used is answered with one sentence, and the field it stands in where it stands
in one: 422; 404 for what is not there; 409 for a save on something older than what is saved.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import msgspec

from coutil.errors import BadInput, CoutilError
from coutil.measure import Unit, title
from coutil.record import (
    MOST_STEPS,
    DraftHead,
    book_mark,
    drop_draft,
    find_draft,
    find_order,
    keep_draft,
    list_drafts,
)
from coutil.speech import sentence
from coutil.workroom._alteration import Desks, document
from coutil.workroom._alteration_draft import FieldError, draft_of
from coutil.workroom._alteration_frames import Lessons
from coutil.workroom._alteration_sheet import (
    Line,
    Saved,
    Sheet,
    Versions,
    compare,
    desk_of,
    encoded,
    lines_of,
    open_sheet,
    revision_of,
    save_sheet,
    state_of_revision,
    state_of_work,
    theirs,
    without_strangers,
    work_on,
)
from coutil.workroom._alteration_tape import read_tape
from coutil.workroom._alteration_wire import Document, Draft, Key, TapePoint, Value
from coutil.workroom._render import unit_of
from coutil.workroom._state import AppState

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route

LARGEST_BODY = 400_000  # A draft of every measurement and row with a long reason each is a tenth of it.
PLACE = "/api/orders/{order:int}/alteration"

Asked = TypeVar("Asked")


class DocumentAsked(Value, frozen=True):
    """Redraw this draft."""

    draft: Draft
    cut: bool = False


class TapeAsked(Value, frozen=True):
    """Lay the tape between two touched points."""

    draft: Draft
    first: TapePoint
    second: TapePoint


class DraftAsked(Value, frozen=True):
    """Something about a draft."""

    draft: Draft


class SaveAsked(Value, frozen=True):
    """Keep this draft; `origin` is what the page started from, at the versions `seen`."""

    draft: Draft
    origin: Draft
    seen: Versions
    note: Annotated[str, msgspec.Meta(max_length=20_000)] = ""
    author: Annotated[str, msgspec.Meta(max_length=200)] = ""
    correct_chart: bool = False


class Step(Value, frozen=True):
    """One gesture: what it is called, and each field as it was before and after."""

    label: Annotated[str, msgspec.Meta(max_length=400)]
    changes: Annotated[tuple[tuple[Key, Any, Any], ...], msgspec.Meta(max_length=400)]


class Pending(Value, frozen=True):
    """A row decided by hand that waits for its reason, and the draft with it."""

    row: Key
    draft: Draft


class Head(Value, frozen=True):
    """Where a window stands: its draft, what it began from, how many steps led here and how many are undone."""

    draft: Draft
    origin: Draft
    seen: Versions
    cursor: Annotated[int, msgspec.Meta(ge=0, le=MOST_STEPS)]
    count: Annotated[int, msgspec.Meta(ge=0, le=MOST_STEPS)]
    pending: Pending | None = None


class KeepAsked(Value, frozen=True):
    """Keep a window's draft; `steps` are those from number `first` on."""

    window: Annotated[str, msgspec.Meta(min_length=8, max_length=64, pattern="^[0-9a-zA-Z-]+$")]
    head: Head
    first: Annotated[int, msgspec.Meta(ge=0, le=MOST_STEPS)]
    steps: Annotated[tuple[Step, ...], msgspec.Meta(max_length=MOST_STEPS)] = ()


class DraftLine(Value, frozen=True):
    """A window's draft in the list, and when it was kept."""

    window: str
    head: Head
    changed: str


class DraftFound(Value, frozen=True):
    """A window's draft with its steps; None where it is no longer there."""

    head: Head | None
    steps: tuple[Step, ...] = ()


class NewsAsked(Value, frozen=True):
    """What is saved now, against what the page started from?"""

    origin: Draft


class CompareAsked(Value, frozen=True):
    """Compare revision `second` with revision `first`, or with the draft where there is none."""

    draft: Draft
    second: int
    first: int | None = None


class Opening(Value, frozen=True):
    """Everything the page needs to begin."""

    order: int
    title: str
    client: str
    base: str
    unit: Unit
    versions: Versions
    draft: Draft
    document: Document
    revisions: tuple[Line, ...]
    stored: dict[str, float]
    taken: str
    drafts: tuple[DraftLine, ...]
    notice: str = ""


class Kept(Value, frozen=True):
    """A revision's draft, to be restored; `same_base` tells whether it was made from this order's base."""

    draft: Draft
    base: str
    same_base: bool


class Begun(Value, frozen=True):
    """The name under which steps are worked out."""

    name: str


@dataclass(frozen=True, slots=True)
class Answer:
    """A value with its status."""

    value: object
    status: int = 200


@dataclass(frozen=True, slots=True)
class Ask:
    """One request: which order, in which unit, and what was sent."""

    order: int
    unit: Unit
    body: bytes
    words: dict[str, Any]


Work = Callable[[Ask], Answer]


@dataclass(frozen=True, slots=True)
class Page:
    """The page's answers over the records; bases and steps it keeps ready are its own."""

    state: AppState
    desks: Desks
    lessons: Lessons

    def opening(self, ask: Ask) -> Answer:
        """The order as saved, worked out."""
        records = self.state.records
        sheet = open_sheet(records, ask.order)
        desk = desk_of(records, self.desks, sheet)
        # Rows left as in the base have no moves: where they would act is learnt from the pattern without them.
        plain = work_on(desk, sheet, msgspec.structs.replace(sheet.draft, rows={}), ask.unit)
        draft, notice = without_strangers(desk, sheet, plain, ask.unit)
        return Answer(
            Opening(
                order=ask.order,
                title=sheet.order.title,
                client=sheet.client,
                base=sheet.order.base,
                unit=ask.unit,
                versions=sheet.versions,
                draft=draft,
                document=document(desk, work_on(desk, sheet, draft, ask.unit)),
                revisions=lines_of(records, ask.order),
                stored={key: reading.value for key, reading in sheet.stored.readings.items()},
                taken=sheet.chart.taken,
                drafts=tuple(draft_lines(list_drafts(records, ask.order))),
                notice=" ".join(filter(None, (notice, lapsed_words(sheet)))),
            )
        )

    def versions(self, ask: Ask) -> Answer:
        """What is saved now, for a page that has been out of sight."""
        return Answer(open_sheet(self.state.records, ask.order).versions)

    def keep(self, ask: Ask) -> Answer:
        """Keep a window's draft among the records; 409 for one that was begun in another book."""
        asked = decoded(ask.body, KeepAsked)
        if asked.head.seen.book != book_mark(self.state.records):
            raise OtherBook("These changes were made in another book of records: they are not kept in this one.")
        steps = [encoded(step).decode() for step in asked.steps]
        head = encoded(asked.head).decode()
        keep_draft(self.state.records, ask.order, asked.window, head, asked.first, steps)
        return Answer({})

    def kept(self, ask: Ask) -> Answer:
        """A window's draft with its steps."""
        found = find_draft(self.state.records, ask.order, str(ask.words["window"]))
        if found is None:
            return Answer(DraftFound(None))
        steps = tuple(msgspec.json.decode(step, type=Step) for step in found.steps)
        return Answer(DraftFound(msgspec.json.decode(found.head.head, type=Head), steps))

    def drop(self, ask: Ask) -> Answer:
        """Drop a window's draft, which another window has taken up."""
        drop_draft(self.state.records, ask.order, str(ask.words["window"]))
        return Answer({})

    def document(self, ask: Ask) -> Answer:
        """The draft worked out and drawn."""
        asked = decoded(ask.body, DocumentAsked)
        sheet = open_sheet(self.state.records, ask.order)
        desk = desk_of(self.state.records, self.desks, sheet)
        return Answer(document(desk, work_on(desk, sheet, asked.draft, ask.unit), asked.cut))

    def tape(self, ask: Ask) -> Answer:
        """What the tape reads."""
        asked = decoded(ask.body, TapeAsked)
        sheet = open_sheet(self.state.records, ask.order)
        work = work_on(desk_of(self.state.records, self.desks, sheet), sheet, asked.draft, ask.unit)
        return Answer(read_tape(work.job.alteration, asked.first, asked.second, ask.unit))

    def frames(self, ask: Ask) -> Answer:
        """Begin working out the steps."""
        asked = decoded(ask.body, DraftAsked)
        sheet = open_sheet(self.state.records, ask.order)
        desk = desk_of(self.state.records, self.desks, sheet)
        work = work_on(desk, sheet, asked.draft, ask.unit)
        return Answer(Begun(self.lessons.start(desk, work.job.alteration.plan, ask.unit)), 202)

    def frame_state(self, ask: Ask) -> Answer:
        """How far the steps are."""
        return Answer(self.lessons.state(str(ask.words["name"])))

    def call_off(self, ask: Ask) -> Answer:
        """Stop working the steps out."""
        self.lessons.call_off(str(ask.words["name"]))
        return Answer({})

    def save(self, ask: Ask) -> Answer:
        """Keep the draft as a revision, or tell what another window has saved since."""
        asked = decoded(ask.body, SaveAsked)
        sheet = open_sheet(self.state.records, ask.order)
        desk = desk_of(self.state.records, self.desks, sheet)
        words = {"note": asked.note, "author": asked.author}
        outcome = save_sheet(
            self.state.records, desk, sheet, asked.seen, asked.origin, asked.draft, words, ask.unit,
            asked.correct_chart,
        )  # fmt: skip
        return Answer(outcome, 201 if isinstance(outcome, Saved) else 409)

    def news(self, ask: Ask) -> Answer:
        """What another window has saved since the page began."""
        asked = decoded(ask.body, NewsAsked)
        sheet = open_sheet(self.state.records, ask.order)
        desk = desk_of(self.state.records, self.desks, sheet)
        return Answer(theirs(desk, sheet, asked.origin, ask.unit))

    def revisions(self, ask: Ask) -> Answer:
        """The order's revisions, the newest first."""
        return Answer(lines_of(self.state.records, ask.order))

    def revision(self, ask: Ask) -> Answer:
        """A revision's draft."""
        sheet = open_sheet(self.state.records, ask.order)
        found = revision_of(self.state.records, sheet, int(ask.words["revision"]))
        base = found.head.base
        return Answer(Kept(draft_of(found.chart, found.wishes), base, base == sheet.order.base))

    def compare(self, ask: Ask) -> Answer:
        """Two states side by side."""
        asked = decoded(ask.body, CompareAsked)
        records, sheet = self.state.records, open_sheet(self.state.records, ask.order)
        second = state_of_revision(revision_of(records, sheet, asked.second))
        if asked.first is not None:
            first = state_of_revision(revision_of(records, sheet, asked.first))
        else:
            first = state_of_work(work_on(desk_of(records, self.desks, sheet), sheet, asked.draft, ask.unit))
        return Answer(compare(first, second, ask.unit))


def routes(state: AppState) -> list[Route]:
    """The routes of the alteration page's questions, to be mounted into the workroom."""
    from starlette.routing import Route

    page = Page(state, Desks(), Lessons())
    table: tuple[tuple[str, str, Work], ...] = (
        ("", "GET", page.opening),
        ("/document", "POST", page.document),
        ("/tape", "POST", page.tape),
        ("/frames", "POST", page.frames),
        ("/frames/{name}", "GET", page.frame_state),
        ("/frames/{name}/stop", "POST", page.call_off),
        ("/save", "POST", page.save),
        ("/versions", "GET", page.versions),
        ("/draft", "POST", page.keep),
        ("/draft/{window}", "GET", page.kept),
        ("/draft/{window}/drop", "POST", page.drop),
        ("/news", "POST", page.news),
        ("/revisions", "GET", page.revisions),
        ("/revisions/{revision:int}", "GET", page.revision),
        ("/compare", "POST", page.compare),
    )
    return [Route(PLACE + path, endpoint(state, work), methods=[method]) for path, method, work in table]


class OtherBook(BadInput):
    """Something was begun in other records than these."""


def draft_lines(heads: Iterable[DraftHead]) -> Iterator[DraftLine]:
    """The drafts that this program can read; one of another version of the page is passed over."""
    for one in heads:
        with suppress(msgspec.DecodeError):
            yield DraftLine(one.window, msgspec.json.decode(one.head, type=Head), one.changed)


def lapsed_words(sheet: Sheet) -> str:
    """What was tried on readings that have been taken again since: the chart stands."""
    names = [title(key) for key in sheet.lapsed]
    return f"Taken again on the chart since, which now stands: {', '.join(names)}." if names else ""


def endpoint(state: AppState, work: Work) -> Callable[[Request], Awaitable[Response]]:
    """A question answered in a thread of its own, so that a long alteration holds up no other page."""

    async def answer(request: Request) -> Response:
        from starlette.concurrency import run_in_threadpool

        body = b""
        async for chunk in request.stream():
            body += chunk
            if len(body) > LARGEST_BODY:
                return told("What the page sent is larger than any draft.", 413)
        ask = Ask(int(request.path_params["order"]), unit_of(request), body, dict(request.path_params))
        return await run_in_threadpool(answered, state, work, ask)

    return answer


def answered(state: AppState, work: Work, ask: Ask) -> Response:
    """The answer as JSON, or one sentence."""
    from starlette.responses import Response

    try:
        find_order(state.records, ask.order)
    except CoutilError as error:
        return told(sentence(str(error), ask.unit), 404)
    try:
        made = work(ask)
    except OtherBook as error:
        return told(str(error), 409)
    except FieldError as error:
        return told(sentence(str(error), ask.unit), 422, error.field)
    except CoutilError as error:
        return told(sentence(str(error), ask.unit), 422)
    return Response(encoded(made.value), made.status, media_type="application/json")


def told(words: str, status: int, field: str = "") -> Response:
    """One sentence, and the field it belongs to."""
    from starlette.responses import Response

    return Response(encoded({"sentence": words, "field": field}), status, media_type="application/json")


def decoded(body: bytes, kind: type[Asked]) -> Asked:
    """What the page asked; raises BadInput for anything else."""
    try:
        return msgspec.json.decode(body, type=kind)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise BadInput(f"The page sent something that cannot be read: {error}.") from error
