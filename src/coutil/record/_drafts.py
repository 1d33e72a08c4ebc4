"""Drafts: what was changed on an order's alteration page and not saved yet; and readings tried, not put on the chart.

A draft belongs to one window.  Its head and its steps are texts of the page's own; the records only keep them, with
the order they belong to, so that they go where the order goes: into the backup, and away when the client is erased.
"""

from __future__ import annotations

import json
import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from coutil.errors import BadInput
from coutil.record._changing import find
from coutil.record._engine import Records, now
from coutil.record._kinds import ORDER
from coutil.record._settings import read_setting

if TYPE_CHECKING:
    from sqlalchemy import Connection

# By key of a measurement: what the chart says, and what was tried, mm; None where there is no such reading.
Trials = Mapping[str, tuple[float | None, float | None]]

BOOK = "book"
# Steps of one draft; beyond them the oldest cannot be undone after the window was closed.
MOST_STEPS = 2000
# Drafts of one order: the oldest go. A maker has two or three windows.
MOST_DRAFTS = 12
LONGEST_WINDOW = 64


@dataclass(frozen=True, slots=True)
class DraftHead:
    """The draft of one window: its head as the page wrote it, and when."""

    window: str
    head: str
    changed: str


@dataclass(frozen=True, slots=True)
class KeptDraft:
    """A draft with the steps that led to it, the oldest first."""

    head: DraftHead
    steps: tuple[str, ...]


def book_mark(records: Records) -> str:
    """The mark of these very records, made at random when it is first asked for."""
    known = read_setting(records, BOOK)
    if known:
        return known
    settings = records.tables.settings
    with records.writing() as link:
        from sqlalchemy import select

        # Two that ask at once get the same mark.
        found = link.execute(select(settings.c.value).where(settings.c.name == BOOK)).scalar()
        if found is None:
            found = secrets.token_hex(16)
            link.execute(settings.insert().values(name=BOOK, value=found))
        return str(found)


def keep_draft(records: Records, order_id: int, window: str, head: str, first: int, steps: Sequence[str]) -> None:
    """Keeps a window's draft: its head, and its steps from number `first` on in place of those kept from there.

    Raises BadInput where there is no such order, or where steps before `first` are missing.
    """
    if not 0 < len(window) <= LONGEST_WINDOW:
        raise BadInput("The page sent something that cannot be read: load it again.")
    t = records.tables
    with records.writing() as link:
        find(link, records, ORDER, order_id)
        draft_id = _draft_id(link, records, order_id, window)
        if draft_id is None:
            row = t.drafts.insert().values(order_id=order_id, window=window, head=head, changed=now())
            inserted = link.execute(row).inserted_primary_key
            assert inserted is not None
            draft_id = int(inserted[0])
            _forget_oldest(link, records, order_id)
        else:
            link.execute(t.drafts.update().where(t.drafts.c.id == draft_id).values(head=head, changed=now()))
        _put_steps(link, records, draft_id, first, steps)


def list_drafts(records: Records, order_id: int) -> tuple[DraftHead, ...]:
    """The drafts of an order, the one changed last first."""
    from sqlalchemy import select

    drafts = records.tables.drafts.c
    query = select(drafts.window, drafts.head, drafts.changed).where(drafts.order_id == order_id)
    with records.reading() as link:
        return tuple(DraftHead(*row) for row in link.execute(query.order_by(drafts.changed.desc(), drafts.id.desc())))


def find_draft(records: Records, order_id: int, window: str) -> KeptDraft | None:
    """A window's draft with its steps; None where there is none."""
    from sqlalchemy import select

    head = next((one for one in list_drafts(records, order_id) if one.window == window), None)
    if head is None:
        return None
    steps, drafts = records.tables.draft_steps.c, records.tables.drafts.c
    query = select(steps.body).join_from(records.tables.draft_steps, records.tables.drafts, drafts.id == steps.draft_id)
    wanted = query.where(drafts.order_id == order_id, drafts.window == window).order_by(steps.position)
    with records.reading() as link:
        return KeptDraft(head, tuple(link.execute(wanted).scalars()))


def drop_draft(records: Records, order_id: int, window: str) -> None:
    """Drops a window's draft, if there is one."""
    with records.writing() as link:
        draft_id = _draft_id(link, records, order_id, window)
        if draft_id is not None:
            _delete(link, records, (draft_id,))


def find_trials(records: Records, order_id: int) -> Trials:
    """Readings tried on an order and not put on its chart."""
    with records.reading() as link:
        return trials_on(link, records, order_id)


def trials_on(link: Connection, records: Records, order_id: int) -> Trials:
    """As `find_trials`, within a transaction."""
    from sqlalchemy import select

    trials = records.tables.trials.c
    kept = link.execute(select(trials.readings).where(trials.order_id == order_id)).scalar()
    return {key: (pair[0], pair[1]) for key, pair in json.loads(kept).items()} if kept else {}


def put_trials(link: Connection, records: Records, order_id: int, readings: Trials) -> None:
    """Keeps these trials of an order in place of those before."""
    trials = records.tables.trials
    link.execute(trials.delete().where(trials.c.order_id == order_id))
    if readings:
        link.execute(trials.insert().values(order_id=order_id, readings=json.dumps(readings)))


def _draft_id(link: Connection, records: Records, order_id: int, window: str) -> int | None:
    from sqlalchemy import select

    drafts = records.tables.drafts.c
    found = link.execute(select(drafts.id).where(drafts.order_id == order_id, drafts.window == window)).scalar()
    return None if found is None else int(found)


def _put_steps(link: Connection, records: Records, draft_id: int, first: int, steps: Sequence[str]) -> None:
    from sqlalchemy import func, select

    t = records.tables.draft_steps
    if first + len(steps) > MOST_STEPS:
        raise BadInput(f"No more than {MOST_STEPS} steps are kept: save a revision, and load the page again.")
    link.execute(t.delete().where(t.c.draft_id == draft_id, t.c.position >= first))
    there = link.execute(select(func.count()).select_from(t).where(t.c.draft_id == draft_id)).scalar() or 0
    if there != first:
        raise BadInput("Steps before these are missing: send them all.")
    if steps:
        rows = [{"draft_id": draft_id, "position": first + i, "body": body} for i, body in enumerate(steps)]
        link.execute(t.insert(), rows)


def _forget_oldest(link: Connection, records: Records, order_id: int) -> None:
    from sqlalchemy import select

    drafts = records.tables.drafts.c
    query = select(drafts.id).where(drafts.order_id == order_id).order_by(drafts.changed.desc(), drafts.id.desc())
    _delete(link, records, tuple(link.execute(query.offset(MOST_DRAFTS)).scalars()))


def _delete(link: Connection, records: Records, draft_ids: Sequence[int]) -> None:
    t = records.tables
    link.execute(t.draft_steps.delete().where(t.draft_steps.c.draft_id.in_(draft_ids)))
    link.execute(t.drafts.delete().where(t.drafts.c.id.in_(draft_ids)))
