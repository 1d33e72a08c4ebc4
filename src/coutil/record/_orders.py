"""Orders: what a client wants made."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Literal

from coutil.errors import BadInput
from coutil.record._changing import add, change, find
from coutil.record._clients import PAGE, holds_words, not_discarded
from coutil.record._engine import Records
from coutil.record._kinds import CHART, CLIENT, ORDER
from coutil.record._values import LONGEST_TEXT, Conflict, OrderRecord, OrderRow, OrderState

if TYPE_CHECKING:
    from sqlalchemy import ColumnElement, Connection, Select

Which = Literal["open", "all"]


def add_order(records: Records, order: OrderRecord) -> OrderRecord:
    """Keeps a new order, its id and version disregarded; raises BadInput where client or chart are not there."""
    with records.writing() as link:
        find(link, records, CLIENT, order.client_id)
        _require_own_chart(link, records, order)
        return add(link, records, ORDER, order)


def find_order(records: Records, order_id: int) -> OrderRecord:
    """The order of that id; raises BadInput where there is none."""
    with records.reading() as link:
        return find(link, records, ORDER, order_id)


def orders_there(records: Records, order_ids: Sequence[int]) -> tuple[int, ...]:
    """Those of the orders that are there."""
    from sqlalchemy import select

    orders = records.tables.orders.c
    with records.reading() as link:
        return tuple(link.execute(select(orders.id).where(orders.id.in_(order_ids)).order_by(orders.id)).scalars())


def change_order(
    records: Records, order_id: int, version: int, edit: Callable[[OrderRecord], OrderRecord]
) -> OrderRecord | Conflict:
    """The order as `edit` makes it, or a Conflict where another was faster.

    Raises BadInput where its chart is another client's.
    """
    with records.writing() as link:
        changed = change(link, records, ORDER, order_id, version, edit)
        if isinstance(changed, OrderRecord):
            _require_own_chart(link, records, changed)
        return changed


def repeat_order(records: Records, order_id: int, chart_id: int | None) -> OrderRecord:
    """The same order again, on another chart: its base, wishes and making, without date, price and revisions."""
    old = find_order(records, order_id)
    again = replace(old, chart_id=chart_id, due="", price="", state=OrderState.ASKED, note=_note_again(old))
    return add_order(records, again)


def _note_again(old: OrderRecord) -> str:
    """The note of a repeat: which order it repeats and what came over from it, then the old note."""
    name = f"order {old.id}" + (f", “{old.title}”" if old.title else "")
    came = f"Repeats {name}. Carried over from it: base, wishes, making, wear and the note; the chart is the newest."
    return f"{came}\n{old.note}"[:LONGEST_TEXT].rstrip()


def list_orders(
    records: Records, which: Which = "open", words: str = "", page: int = 0, client_id: int | None = None
) -> tuple[OrderRow, ...]:
    """One page of orders, by the day they are due; those without a day come last."""
    with records.reading() as link:
        rows = link.execute(orders_query(records, which, words, page, client_id)).all()
    return tuple(_order_row(*row) for row in rows)


def count_orders(records: Records, which: Which = "open", words: str = "", client_id: int | None = None) -> int:
    """How many orders there are of these."""
    from sqlalchemy import func, select

    orders, clients = records.tables.orders, records.tables.clients
    joined = orders.join(clients, clients.c.id == orders.c.client_id) if words.split() else orders
    query = select(func.count()).select_from(joined).where(*_wanted(records, which, words, client_id))
    with records.reading() as link:
        return link.execute(query).scalar() or 0


def orders_query(
    records: Records, which: Which = "open", words: str = "", page: int = 0, client_id: int | None = None
) -> Select[Any]:
    """What `list_orders` asks of the database."""
    from sqlalchemy import func, select

    t = records.tables
    orders, clients = t.orders.c, t.clients.c
    last = select(func.coalesce(func.max(t.revisions.c.number), 0)).where(t.revisions.c.order_id == orders.id)
    columns = (
        orders.id, orders.client_id, clients.name, orders.title, orders.base, orders.due, orders.state,
        last.scalar_subquery(), orders.changed,
    )  # fmt: skip
    query = select(*columns).join_from(t.orders, t.clients, clients.id == orders.client_id)
    found = query.where(*_wanted(records, which, words, client_id))
    return found.order_by(orders.due == "", orders.due, orders.id).limit(PAGE).offset(PAGE * max(page, 0))


def _wanted(records: Records, which: Which, words: str, client_id: int | None) -> tuple[ColumnElement[bool], ...]:
    orders, clients = records.tables.orders.c, records.tables.clients.c
    found: list[ColumnElement[bool]] = [orders.is_open == 1] if which == "open" else []
    found.append(not_discarded(records, "order", orders.id))
    if client_id is not None:
        found.append(orders.client_id == client_id)
    return (*found, *holds_words(clients.search, words))


def _require_own_chart(link: Connection, records: Records, order: OrderRecord) -> None:
    if order.chart_id is None:
        return
    if find(link, records, CHART, order.chart_id).client_id != order.client_id:
        raise BadInput("That chart is another client's: choose one of this client's charts.")


def _order_row(*columns: Any) -> OrderRow:
    row = OrderRow(*columns)
    return replace(row, state=OrderState(row.state))
