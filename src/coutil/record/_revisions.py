"""Revisions: every saved state of an order, numbered, with its note and everything that came of it."""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from coutil.alter import Wishes
from coutil.measure import Chart
from coutil.record._changing import add, change, find
from coutil.record._drafts import Trials, put_trials, trials_on
from coutil.record._engine import Records, now
from coutil.record._kinds import CHART, ORDER, chart_from, chart_to_text, to_text, wishes_from
from coutil.record._packing import unpacked
from coutil.record._values import (
    ChartRecord,
    Conflict,
    NotKept,
    OrderRecord,
    Revision,
    RevisionHead,
    free_text,
    one_line,
)

if TYPE_CHECKING:
    from sqlalchemy import Connection

HEAD = ("id", "order_id", "number", "author", "note", "base", "passed", "failed_checks", "created")
PACKED_HARD = 6  # Of zlib's 9: a result is written while the maker waits.


@dataclass(frozen=True, slots=True)
class Seen:
    """What a writer worked from: an order and its chart, each at the version it had then, and the readings tried."""

    order: OrderRecord
    chart: ChartRecord
    trials: Trials = field(default_factory=dict)


def add_revision(
    records: Records,
    order_id: int,
    *,
    base: str,
    wishes: Wishes,
    chart: Chart,
    result_text: str,
    failed_checks: int,
    note: str = "",
    author: str = "",
) -> RevisionHead:
    """Keeps a state of an order under the next number; raises BadInput where there is no such order.

    `result_text` is the result file (see coutil.result_file); `failed_checks` how many of its checks fail.
    """
    values = _values(base, wishes, chart, result_text, failed_checks, note, author)
    with records.writing() as link:
        find(link, records, ORDER, order_id, to_change=True)
        return _insert(link, records, order_id, *values)


def keep_alteration(
    records: Records,
    seen: Seen,
    *,
    wishes: Wishes,
    chart: Chart,
    result_text: str,
    failed_checks: int,
    note: str = "",
    author: str = "",
    correct_chart: bool = False,
) -> RevisionHead | None:
    """Keeps the wishes as the order's and the state as a revision: all of it or nothing.

    Readings of `chart` that the client's dated chart does not have are kept as tried on this order, beside it; with
    `correct_chart` they are put on the chart itself.  None where another writer changed the order or the chart after
    they were `seen`; then nothing is written.
    """
    values = _values(seen.order.base, wishes, chart, result_text, failed_checks, note, author)
    with records.writing() as link:
        order = find(link, records, ORDER, seen.order.id, to_change=True)
        taken = find(link, records, CHART, seen.chart.id, to_change=True)
        if (order.version, taken.version) != (seen.order.version, seen.chart.version):
            return None
        if trials_on(link, records, order.id) != seen.trials:
            return None
        change(link, records, ORDER, order.id, order.version, lambda old: replace(old, wishes=wishes))
        readings = chart.readings
        if correct_chart:
            change(link, records, CHART, taken.id, taken.version, lambda old: replace(old, readings=readings))
        put_trials(link, records, order.id, {} if correct_chart else trials_of(taken, chart))
        return _insert(link, records, order.id, *values)


def trials_of(taken: ChartRecord, chart: Chart) -> Trials:
    """The readings in which a chart differs from the one taken, by key: the one taken, and the other; mm."""
    pairs = {
        key: tuple(kept[key].value if key in kept else None for kept in (taken.readings, chart.readings))
        for key in dict.fromkeys((*taken.readings, *chart.readings))
    }
    return {key: (a, b) for key, (a, b) in pairs.items() if a != b}


def _values(
    base: str, wishes: Wishes, chart: Chart, result_text: str, failed_checks: int, note: str, author: str
) -> tuple[dict[str, Any], dict[str, Any]]:
    """The columns of a revision, and of what lies beside it."""
    head = {
        "author": one_line(author, "name"),
        "note": free_text(note, "note"),
        "base": base,
        "passed": int(failed_checks == 0),
        "failed_checks": failed_checks,
        "created": now(),
    }
    packed = zlib.compress(result_text.encode(), PACKED_HARD)
    return head, {"wishes": to_text(wishes), "chart": chart_to_text(chart), "result": packed}


def _insert(
    link: Connection, records: Records, order_id: int, head: Mapping[str, Any], beside: Mapping[str, Any]
) -> RevisionHead:
    from sqlalchemy import func, select

    revisions, data = records.tables.revisions, records.tables.revision_data
    last = select(func.max(revisions.c.number)).where(revisions.c.order_id == order_id)
    values = {**head, "order_id": order_id, "number": (link.execute(last).scalar() or 0) + 1}
    inserted = link.execute(revisions.insert().values(**values)).inserted_primary_key
    assert inserted is not None
    link.execute(data.insert().values(revision_id=inserted[0], **beside))
    return head_of({**values, "id": inserted[0]})


def list_revisions(records: Records, order_id: int) -> tuple[RevisionHead, ...]:
    """The revisions of an order, the newest first, without their results."""
    from sqlalchemy import select

    revisions = records.tables.revisions
    columns = [revisions.c[name] for name in HEAD]
    query = select(*columns).where(revisions.c.order_id == order_id).order_by(revisions.c.number.desc())
    with records.reading() as link:
        return tuple(head_of(row) for row in link.execute(query).mappings())


def find_revision(records: Records, revision_id: int) -> Revision:
    """A whole revision; raises BadInput where there is none."""
    with records.reading() as link:
        return _find(link, records, revision_id)


def latest_revision(records: Records, order_id: int) -> Revision | None:
    """The newest revision of an order, or None."""
    heads = list_revisions(records, order_id)
    return find_revision(records, heads[0].id) if heads else None


def restore_revision(records: Records, revision_id: int, order_version: int) -> OrderRecord | Conflict:
    """The order as it was at that revision: its base, its wishes and its readings.

    No chart is touched: readings that the order's chart does not have are kept as tried.  Only where the order has no
    chart any more, the one of the revision is put among the client's as a new one.
    """
    with records.writing() as link:
        revision = _find(link, records, revision_id)
        order = find(link, records, ORDER, revision.head.order_id, to_change=True)
        chart = _chart_for(link, records, order, revision) if order.version == order_version else None
        base, wishes = revision.head.base, revision.wishes
        changed = change(
            link,
            records,
            ORDER,
            order.id,
            order_version,
            lambda old: replace(old, base=base, wishes=wishes, chart_id=chart.id if chart else old.chart_id),
        )
        if chart is not None:
            put_trials(link, records, order.id, trials_of(chart, revision.chart))
        return changed


def _chart_for(link: Connection, records: Records, order: OrderRecord, revision: Revision) -> ChartRecord:
    """The client's chart with the readings of the revision, else the order's, else a new one."""
    from sqlalchemy import select

    charts, wanted = records.tables.charts, revision.chart
    rows = link.execute(select(charts).where(charts.c.client_id == order.client_id).order_by(charts.c.id)).mappings()
    for kept in (CHART.decode(row) for row in rows):
        if dict(kept.readings) == dict(wanted.readings) and kept.taken == wanted.taken:
            return kept
    if order.chart_id is not None:
        return find(link, records, CHART, order.chart_id)
    note = f"From revision {revision.head.short}."
    return add(
        link, records, CHART, ChartRecord(0, 1, order.client_id, wanted.taken, wanted.worn, note, wanted.readings)
    )


def _find(link: Connection, records: Records, revision_id: int) -> Revision:
    from sqlalchemy import select

    revisions, data = records.tables.revisions, records.tables.revision_data
    query = select(revisions, data.c.wishes, data.c.chart, data.c.result).join_from(
        revisions, data, data.c.revision_id == revisions.c.id
    )
    row = link.execute(query.where(revisions.c.id == revision_id)).mappings().first()
    if row is None:
        raise NotKept(f"There is no revision {revision_id}; it may have been erased.")
    text = unpacked(row["result"]).decode()
    return Revision(head_of(row), wishes_from(row["wishes"]), chart_from(row["chart"]), text)


def head_of(row: Mapping[Any, Any]) -> RevisionHead:
    """A revision without its result."""
    return RevisionHead(**{**{name: row[name] for name in HEAD}, "passed": bool(row["passed"])})
