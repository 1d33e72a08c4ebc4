"""Charts, orders and fittings put aside: out of every list, brought back by one click, really erased after 30 days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Literal

from coutil.errors import BadInput
from coutil.record._changing import find
from coutil.record._clients import delete_charts, delete_fittings, delete_orders
from coutil.record._engine import Records, clear_deleted, now
from coutil.record._kinds import CHART, FITTING, ORDER

if TYPE_CHECKING:
    from sqlalchemy import ColumnElement, Connection, Table

DiscardKind = Literal["chart", "order", "fitting"]

KEPT_DAYS = 30  # As long as a maker needs to notice that something is missing.


@dataclass(frozen=True, slots=True)
class Discarded:
    """Something put aside: what, whose, what it is called or the day it is of, and since when."""

    kind: DiscardKind
    row_id: int
    client_id: int
    client: str
    words: str
    since: str


def discard(records: Records, kind: DiscardKind, row_id: int) -> None:
    """Puts a chart, an order or a fitting aside; raises BadInput where there is none, or an order still needs it."""
    kept = records.tables.discarded
    with records.writing() as link:
        find(link, records, {"chart": CHART, "order": ORDER, "fitting": FITTING}[kind], row_id, to_change=True)  # type: ignore[arg-type]
        if kind == "chart":
            _require_unused(link, records, row_id)
        _take_back(link, kept, kind, row_id)
        link.execute(kept.insert().values(kind=kind, row_id=row_id, since=now()))


def bring_back(records: Records, kind: DiscardKind, row_id: int) -> None:
    """Puts it back where it was; what was not put aside is no error."""
    with records.writing() as link:
        _take_back(link, records.tables.discarded, kind, row_id)


def is_discarded(records: Records, kind: DiscardKind, row_id: int) -> bool:
    """Whether it is put aside."""
    from sqlalchemy import select

    kept = records.tables.discarded.c
    with records.reading() as link:
        query = select(kept.row_id).where(kept.kind == kind, kept.row_id == row_id)
        return link.execute(query).first() is not None


def list_discarded(records: Records) -> tuple[Discarded, ...]:
    """All that is put aside, the last first."""
    with records.reading() as link:
        found = [one for kind in ("chart", "order", "fitting") for one in _of_kind(link, records, kind)]
    return tuple(sorted(found, key=lambda one: one.since, reverse=True))


def erase_discarded(records: Records, days: int = KEPT_DAYS) -> int:
    """Really erases what was put aside so many days ago or before; how many things that were."""
    before = (datetime.now(UTC) - timedelta(days=days)).isoformat(timespec="microseconds")
    old = [one for one in list_discarded(records) if one.since <= before]
    if not old:
        return 0
    with records.writing() as link:
        for kind, delete in (("fitting", delete_fittings), ("order", delete_orders), ("chart", delete_charts)):
            delete(link, records, [one.row_id for one in old if one.kind == kind])
    clear_deleted(records)
    return len(old)


def _take_back(link: Connection, kept: Table, kind: str, row_id: int) -> None:
    link.execute(kept.delete().where(kept.c.kind == kind, kept.c.row_id == row_id))


def _require_unused(link: Connection, records: Records, chart_id: int) -> None:
    from sqlalchemy import select

    orders = records.tables.orders.c
    title = link.execute(select(orders.title).where(orders.chart_id == chart_id)).scalar()
    if title is not None:
        name = f"“{title}”" if title else "an order"
        raise BadInput(f"The order {name} is made from this chart: choose another chart there first.")


def _of_kind(link: Connection, records: Records, kind: str) -> list[Discarded]:
    from sqlalchemy import literal, select

    t = records.tables
    kept, clients, orders = t.discarded.c, t.clients.c, t.orders.c
    thing, words, joined, owner = {
        "chart": (t.charts, t.charts.c.taken, t.charts, t.charts.c.client_id),
        "order": (t.orders, orders.title, t.orders, orders.client_id),
        "fitting": (
            t.fittings, t.fittings.c.held, t.fittings.join(t.orders, orders.id == t.fittings.c.order_id),
            orders.client_id,
        ),
    }[kind]  # fmt: skip
    columns = (literal(kind), kept.row_id, clients.id, clients.name, words, kept.since)
    is_it: ColumnElement[bool] = (kept.row_id == thing.c.id) & (kept.kind == kind)
    query = select(*columns).select_from(joined.join(t.clients, clients.id == owner).join(t.discarded, is_it))
    return [Discarded(*columns) for columns in map(tuple, link.execute(query).all())]
