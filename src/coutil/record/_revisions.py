"""Revisions: every saved state of an order, numbered, with its note and everything that came of it."""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from coutil.alter import Wishes
from coutil.measure import Chart
from coutil.record._changing import add, change, find
from coutil.record._engine import Records, now
from coutil.record._kinds import CHART, ORDER, chart_from, chart_to_text, to_text, wishes_from
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
    """What a writer worked from: an order and its chart, each at the version it had then."""

    order: OrderRecord
    chart: ChartRecord


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
) -> RevisionHead | None:
    """Keeps wishes and readings as the order's and the chart's, and the state as a revision: all of it or nothing.

    None where another writer changed the order or the chart after they were `seen`; then nothing is written.
    """
    values = _values(seen.order.base, wishes, chart, result_text, failed_checks, note, author)
    with records.writing() as link:
        order = find(link, records, ORDER, seen.order.id, to_change=True)
        taken = find(link, records, CHART, seen.chart.id, to_change=True)
        if (order.version, taken.version) != (seen.order.version, seen.chart.version):
            return None
        change(link, records, ORDER, order.id, order.version, lambda old: replace(old, wishes=wishes))
        readings = chart.readings
        change(link, records, CHART, taken.id, taken.version, lambda old: replace(old, readings=readings))
        return _insert(link, records, order.id, *values)


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
    return _head({**values, "id": inserted[0]})


def list_revisions(records: Records, order_id: int) -> tuple[RevisionHead, ...]:
    """The revisions of an order, the newest first, without their results."""
    from sqlalchemy import select

    revisions = records.tables.revisions
    columns = [revisions.c[name] for name in HEAD]
    query = select(*columns).where(revisions.c.order_id == order_id).order_by(revisions.c.number.desc())
    with records.reading() as link:
        return tuple(_head(row) for row in link.execute(query).mappings())


def find_revision(records: Records, revision_id: int) -> Revision:
    """A whole revision; raises BadInput where there is none."""
    with records.reading() as link:
        return _find(link, records, revision_id)


def latest_revision(records: Records, order_id: int) -> Revision | None:
    """The newest revision of an order, or None."""
    heads = list_revisions(records, order_id)
    return find_revision(records, heads[0].id) if heads else None


def restore_revision(records: Records, revision_id: int, order_version: int) -> OrderRecord | Conflict:
    """The order as it was at that revision: its base, its wishes and the chart of that day.

    A chart that has changed since is not touched: the one of the revision is put beside it as a new one.
    """
    with records.writing() as link:
        revision = _find(link, records, revision_id)
        order = find(link, records, ORDER, revision.head.order_id, to_change=True)
        chart_id = order.chart_id
        if order.version == order_version:
            chart_id = _chart_like(link, records, order.client_id, revision)
        base, wishes = revision.head.base, revision.wishes
        return change(
            link,
            records,
            ORDER,
            order.id,
            order_version,
            lambda old: replace(old, base=base, wishes=wishes, chart_id=chart_id),
        )


def _chart_like(link: Connection, records: Records, client_id: int, revision: Revision) -> int:
    """The client's chart with the readings of the revision, made where there is none any more."""
    from sqlalchemy import select

    charts = records.tables.charts
    rows = link.execute(select(charts).where(charts.c.client_id == client_id).order_by(charts.c.id)).mappings()
    chart = revision.chart
    for kept in (CHART.decode(row) for row in rows):
        if dict(kept.readings) == dict(chart.readings) and kept.taken == chart.taken:
            return kept.id
    note = f"From revision {revision.head.short}."
    again = ChartRecord(0, 1, client_id, chart.taken, chart.worn, note, chart.readings)
    return add(link, records, CHART, again).id


def _find(link: Connection, records: Records, revision_id: int) -> Revision:
    from sqlalchemy import select

    revisions, data = records.tables.revisions, records.tables.revision_data
    query = select(revisions, data.c.wishes, data.c.chart, data.c.result).join_from(
        revisions, data, data.c.revision_id == revisions.c.id
    )
    row = link.execute(query.where(revisions.c.id == revision_id)).mappings().first()
    if row is None:
        raise NotKept(f"There is no revision {revision_id}; it may have been erased.")
    text = zlib.decompress(row["result"]).decode()
    return Revision(_head(row), wishes_from(row["wishes"]), chart_from(row["chart"]), text)


def _head(row: Mapping[Any, Any]) -> RevisionHead:
    return RevisionHead(**{**{name: row[name] for name in HEAD}, "passed": bool(row["passed"])})
