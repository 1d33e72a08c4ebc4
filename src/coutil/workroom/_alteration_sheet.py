"""An order as the alteration page opens and saves it, through the records.

Two versions guard a save: the order's (its wishes) and the chart's (its readings).  Whoever saves on an older one
writes nothing and is told what the other has changed.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass

import msgspec

from coutil import job
from coutil.alter import Plan
from coutil.check import Finding, Verdict
from coutil.errors import BadInput
from coutil.measure import Chart, Unit, format_length, title
from coutil.pattern import Style
from coutil.record import (
    ChartRecord,
    OrderRecord,
    Records,
    Revision,
    RevisionHead,
    Seen,
    Trials,
    book_mark,
    find_base,
    find_chart,
    find_client,
    find_order,
    find_own_base,
    find_revision,
    find_trials,
    keep_alteration,
    list_revisions,
)
from coutil.result_file import result_from_json
from coutil.tables import STATE_WORDS, drawing_unit
from coutil.workroom._alteration import Desk, Desks, Work, signed
from coutil.workroom._alteration_draft import FieldError, changes, chart_of, draft_of, wishes_of
from coutil.workroom._alteration_shapes import outline_path
from coutil.workroom._alteration_wire import Change, Draft, Value

OWN = "own-"
VERDICT_WORDS = {
    Verdict.PASS: "holds",
    Verdict.WARN: "to look at",
    Verdict.DECISION: "yours to decide",
    Verdict.EXPLAINED: "explained",
    Verdict.FAIL: "does not hold",
}


class Versions(Value, frozen=True):
    """What the page started from: order and chart at their versions, which chart and base, and in which book."""

    order: int
    chart: int
    chart_id: int = 0
    base: str = ""
    book: str = ""
    tried: str = ""


class Line(Value, frozen=True):
    """A revision in the list."""

    id: int
    short: str
    author: str
    note: str
    created: str
    failed: int


class Saved(Value, frozen=True):
    """A draft that was kept as a revision."""

    versions: Versions
    draft: Draft
    revision: Line
    stored: dict[str, float]


class Theirs(Value, frozen=True):
    """What another window saved in the meantime, against what this one started from."""

    sentence: str
    versions: Versions
    draft: Draft
    changes: tuple[Change, ...]


class Difference(Value, frozen=True):
    """One thing that differs between two states, in words."""

    kind: str
    title: str
    first: str
    second: str


class Comparison(Value, frozen=True):
    """Two states side by side: what differs, and the outlines of both."""

    first: str
    second: str
    differences: tuple[Difference, ...]
    first_pieces: dict[str, str]
    second_pieces: dict[str, str]


@dataclass(frozen=True, slots=True)
class Sheet:
    """An order opened for altering: its records, and its client's name."""

    order: OrderRecord
    chart: ChartRecord
    client: str
    book: str
    trials: Trials

    @property
    def versions(self) -> Versions:
        """What a save is checked against."""
        return Versions(self.order.version, self.chart.version, self.chart.id, self.order.base, self.book, self.tried)

    @property
    def tried(self) -> str:
        """A short mark of the readings tried, which changes with them."""
        return hashlib.sha256(encoded(dict(self.trials))).hexdigest()[:16] if self.trials else ""

    @property
    def draft(self) -> Draft:
        """The draft that is saved: the chart with what was tried over it."""
        draft = draft_of(self.stored, self.order.wishes)
        readings = {**draft.chart, **{key: tried for key, (_, tried) in self.standing.items()}}
        return msgspec.structs.replace(draft, chart={key: mm for key, mm in readings.items() if mm is not None})

    @property
    def standing(self) -> Trials:
        """The trials that still stand: the chart's own reading is what it was when they were made."""
        return {key: pair for key, pair in self.trials.items() if self.stored.get(key) == pair[0]}

    @property
    def lapsed(self) -> tuple[str, ...]:
        """Readings that were tried, and have been taken again on the chart since."""
        over = (key for key in self.trials if key not in self.standing)
        return tuple(key for key in over if self.stored.get(key) != self.trials[key][1])

    @property
    def stored(self) -> Chart:
        """The saved chart under the client's name."""
        return self.chart.chart(self.client)


@dataclass(frozen=True, slots=True)
class State:
    """One state to compare: what it is called, its chart, pattern, plan and checks."""

    name: str
    chart: Chart
    style: Style
    plan: Plan
    findings: tuple[Finding, ...]


def open_sheet(records: Records, order_id: int) -> Sheet:
    """The order with its chart; raises BadInput where it has none, or no base, yet."""
    order = find_order(records, order_id)
    if not order.base:
        raise BadInput("This order has no base pattern yet: choose one on the order's page.")
    if order.chart_id is None:
        raise BadInput("This order has no chart yet: choose one of the client's charts on the order's page.")
    chart, client = find_chart(records, order.chart_id), find_client(records, order.client_id)
    return Sheet(order, chart, client.name, book_mark(records), find_trials(records, order_id))


def desk_of(records: Records, desks: Desks, sheet: Sheet) -> Desk:
    """The order's base, made ready.  An own base that has changed since is made ready anew."""
    key = sheet.order.base
    version = find_own_base(records, int(key.removeprefix(OWN))).version if key.startswith(OWN) else 0
    return desks.desk((key, version), lambda: find_base(records, key))


def work_on(desk: Desk, sheet: Sheet, draft: Draft, unit: Unit, trying: bool = True) -> Work:
    """The draft worked out on its base; raises BadInput, or FieldError for one field of the page."""
    try:
        return desk.work(chart_of(draft, sheet.stored, unit), wishes_of(draft, unit, trying), unit)
    except job.BeyondAnyRow as error:
        name = desk.titles.get(error.row, error.row.replace("_", " ").capitalize())
        raise FieldError(f"rows.{error.row}.amount", error.sentence(name)) from error


def without_strangers(desk: Desk, sheet: Sheet, plain: Work, unit: Unit) -> tuple[Draft, str]:
    """The saved draft, and nothing; or without the rows this base does not have, and a sentence that says so.

    `plain` is the order without any row decided by hand.  A base chosen anew may lack rows that were decided before.
    """
    draft = sheet.draft
    try:
        work_on(desk, sheet, draft, unit)
    except BadInput:
        known = {row.key for row in plain.job.alteration.plan.rows}
        strangers = [key for key in draft.rows if key not in known]
        if not strangers:
            raise
        rows = {key: choice for key, choice in draft.rows.items() if key in known}
        names = ", ".join(key.replace("_", " ") for key in strangers)
        return msgspec.structs.replace(draft, rows=rows), f"Decided by hand before, but not rows of this base: {names}."
    return draft, ""


def save_sheet(
    records: Records,
    desk: Desk,
    sheet: Sheet,
    seen: Versions,
    origin: Draft,
    draft: Draft,
    words: Mapping[str, str],
    unit: Unit,
    correct_chart: bool = False,
) -> Saved | Theirs:
    """Keep the draft as the order's state and as a revision; or what another has saved since `seen`.

    `origin` is the draft this page started from; `words` holds the author and the note.  Readings that were tried
    stay with the order, unless `correct_chart` puts them on the client's chart.
    """
    if sheet.versions != seen:
        return theirs(desk, sheet, origin, unit)
    work = work_on(desk, sheet, draft, unit, trying=False)
    head = keep_alteration(
        records,
        Seen(sheet.order, sheet.chart, sheet.trials),
        wishes=work.job.order.wishes,
        chart=work.job.order.client,
        result_text=job.result_text(work.job),
        failed_checks=sum(job.has_failed((finding,)) for finding in work.job.findings),
        note=words.get("note", ""),
        author=words.get("author", ""),
        correct_chart=correct_chart,
    )
    now = open_sheet(records, sheet.order.id)
    return theirs(desk, now, origin, unit) if head is None else _saved(now, head)


def _saved(sheet: Sheet, head: RevisionHead) -> Saved:
    stored = {key: reading.value for key, reading in sheet.stored.readings.items()}
    return Saved(sheet.versions, sheet.draft, line_of(head), stored)


def theirs(desk: Desk, sheet: Sheet, origin: Draft, unit: Unit) -> Theirs:
    """What is saved now, and what of it differs from what this page started from."""
    told = changes(origin, sheet.draft, unit, desk.titles)
    n = len(told)
    what = f"{n} field{'' if n == 1 else 's'}" if n else "nothing that stands on this page"
    sentence = f"The order or its chart was changed elsewhere in the meantime, {what}: nothing was overwritten."
    return Theirs(sentence, sheet.versions, sheet.draft, told)


def lines_of(records: Records, order_id: int) -> tuple[Line, ...]:
    """The order's revisions, the newest first."""
    return tuple(line_of(head) for head in list_revisions(records, order_id))


def line_of(head: RevisionHead) -> Line:
    """A revision in the list."""
    return Line(head.id, head.short, head.author, head.note, head.created, head.failed_checks)


def revision_of(records: Records, sheet: Sheet, revision_id: int) -> Revision:
    """A revision of this very order; raises BadInput for another's."""
    revision = find_revision(records, revision_id)
    if revision.head.order_id != sheet.order.id:
        raise BadInput(f"There is no revision {revision_id} of this order.")
    return revision


def state_of_revision(revision: Revision) -> State:
    """A kept revision as a state to compare."""
    result = result_from_json(revision.result_text)
    alteration = result.alteration
    return State(revision.head.short, revision.chart, alteration.style, alteration.plan, result.findings)


def state_of_work(work: Work) -> State:
    """What stands on the page as a state to compare."""
    made = work.job
    return State("this page", made.order.client, made.alteration.style, made.alteration.plan, made.findings)


def compare(first: State, second: State, unit: Unit) -> Comparison:
    """What differs between two states: readings, rows, verdicts; and both outlines."""
    return Comparison(
        first.name,
        second.name,
        (*_readings(first, second, unit), *_rows(first, second, unit), *_checks(first, second)),
        _outlines(first.style),
        _outlines(second.style),
    )


def _readings(first: State, second: State, unit: Unit) -> tuple[Difference, ...]:
    told = {
        key: [_reading(state.chart, key, unit) for state in (first, second)] for key in _all(first.chart, second.chart)
    }
    return tuple(
        Difference("chart", title(key).capitalize(), *pair) for key, pair in told.items() if pair[0] != pair[1]
    )


def _all(first: Chart, second: Chart) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*first, *second)))


def _reading(chart: Chart, key: str, unit: Unit) -> str:
    value = chart.get(key)
    return "not taken" if value is None else format_length(value, unit)


def _rows(first: State, second: State, unit: Unit) -> tuple[Difference, ...]:
    titles = {row.key: row.title for state in (first, second) for row in state.plan.rows}
    told = {key: [_row(state.plan, key, unit) for state in (first, second)] for key in titles}
    return tuple(Difference("rows", titles[key], *pair) for key, pair in told.items() if pair[0] != pair[1])


def _row(plan: Plan, key: str, unit: Unit) -> str:
    row = plan.row(key)
    if row is None:
        return "not in the chart"
    decided = STATE_WORDS[row.state]
    words = signed(row.amount, drawing_unit(unit)) + (f", {decided}" if decided else "")
    return words + (f": {row.why}" if row.why else "")


def _checks(first: State, second: State) -> tuple[Difference, ...]:
    pair = [{finding.name: VERDICT_WORDS[finding.verdict] for finding in state.findings} for state in (first, second)]
    names = dict.fromkeys((*pair[0], *pair[1]))
    told = ((name, *(verdicts.get(name, "not looked at") for verdicts in pair)) for name in names)
    return tuple(Difference("checks", name[:1].upper() + name[1:], a, b) for name, a, b in told if a != b)


def _outlines(style: Style) -> dict[str, str]:
    return {piece.name: outline_path(piece) for piece in style.pieces}


def encoded(value: object) -> bytes:
    """A value of this page as JSON."""
    return msgspec.json.encode(value)
