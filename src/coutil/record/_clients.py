"""Clients: kept, found, changed, erased."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from coutil.record._changing import add, change, find
from coutil.record._engine import Records, clear_deleted
from coutil.record._kinds import CLIENT, plain
from coutil.record._values import Client, ClientRow, Conflict

if TYPE_CHECKING:
    from sqlalchemy import ColumnElement, Connection, Select

PAGE = 50  # Rows of a list at a time.
MOST_WORDS = 6


def add_client(records: Records, name: str, contact: str = "", note: str = "") -> Client:
    """Keeps a new client; raises BadInput for a client without a name."""
    client = Client(0, 1, name, contact, note)
    with records.writing() as link:
        return add(link, records, CLIENT, client)


def find_client(records: Records, client_id: int) -> Client:
    """The client of that id; raises BadInput where there is none."""
    with records.reading() as link:
        return find(link, records, CLIENT, client_id)


def change_client(
    records: Records, client_id: int, version: int, edit: Callable[[Client], Client]
) -> Client | Conflict:
    """The client as `edit` makes it, or a Conflict where another was faster."""
    with records.writing() as link:
        return change(link, records, CLIENT, client_id, version, edit)


def list_clients(records: Records, words: str = "", page: int = 0) -> tuple[ClientRow, ...]:
    """One page of clients by name; with `words`, those whose name or contact holds every one of them."""
    with records.reading() as link:
        rows = link.execute(clients_query(records, words, page)).all()
    return tuple(ClientRow(*row) for row in rows)


def count_clients(records: Records, words: str = "") -> int:
    """How many clients the words find."""
    from sqlalchemy import func, select

    clients = records.tables.clients
    with records.reading() as link:
        found = select(func.count()).select_from(clients).where(*holds_words(clients.c.search, words))
        return link.execute(found).scalar() or 0


def clients_query(records: Records, words: str = "", page: int = 0) -> Select[Any]:
    """What `list_clients` asks of the database."""
    from sqlalchemy import func, select

    clients, orders = records.tables.clients.c, records.tables.orders.c
    mine = orders.client_id == clients.id
    n_orders = select(func.count(orders.id)).where(mine).scalar_subquery()
    last = select(func.coalesce(func.max(orders.created), "")).where(mine).scalar_subquery()
    query = select(clients.id, clients.name, clients.contact, n_orders, last, clients.changed)
    found = query.where(*holds_words(clients.search, words)).order_by(clients.name_key, clients.id)
    return found.limit(PAGE).offset(PAGE * max(page, 0))


def holds_words(column: ColumnElement[str], words: str) -> tuple[ColumnElement[bool], ...]:
    """That a column of plain text holds every one of the words, wherever in it."""
    return tuple(column.contains(word, autoescape=True) for word in plain(words).split()[:MOST_WORDS])


def erase_client(records: Records, client_id: int) -> bool:
    """Erases a client with all charts, orders, revisions, fittings and photos; raises BadInput where there is none.

    True where nothing of it is left in the database's files; False where another program is just reading them, so
    that the log can be emptied only later.  Backups and exports made before still hold the client.
    """
    with records.writing() as link:
        find(link, records, CLIENT, client_id, to_change=True)
        _delete(link, records, client_id)
    return clear_deleted(records)


def _delete(link: Connection, records: Records, client_id: int) -> None:
    """Deletes from the leaves up; earlier versions go with what they are versions of."""
    from sqlalchemy import select

    t = records.tables
    orders = select(t.orders.c.id).where(t.orders.c.client_id == client_id)
    fittings = select(t.fittings.c.id).where(t.fittings.c.order_id.in_(orders))
    photos = select(t.photos.c.id).where(t.photos.c.fitting_id.in_(fittings))
    revisions = select(t.revisions.c.id).where(t.revisions.c.order_id.in_(orders))
    lays = select(t.lays.c.id).where(t.lays.c.revision_id.in_(revisions))
    charts = select(t.charts.c.id).where(t.charts.c.client_id == client_id)
    kept = t.changes.c
    for word, ids in (("fitting", fittings), ("order", orders), ("chart", charts)):
        link.execute(t.changes.delete().where(kept.kind == word, kept.row_id.in_(ids)))
    link.execute(t.changes.delete().where(kept.kind == "client", kept.row_id == client_id))
    link.execute(t.photo_data.delete().where(t.photo_data.c.photo_id.in_(photos)))
    link.execute(t.photos.delete().where(t.photos.c.fitting_id.in_(fittings)))
    link.execute(t.fittings.delete().where(t.fittings.c.order_id.in_(orders)))
    link.execute(t.lay_data.delete().where(t.lay_data.c.lay_id.in_(lays)))
    link.execute(t.lays.delete().where(t.lays.c.revision_id.in_(revisions)))
    link.execute(t.revision_data.delete().where(t.revision_data.c.revision_id.in_(revisions)))
    link.execute(t.revisions.delete().where(t.revisions.c.order_id.in_(orders)))
    link.execute(t.orders.delete().where(t.orders.c.client_id == client_id))
    link.execute(t.charts.delete().where(t.charts.c.client_id == client_id))
    link.execute(t.clients.delete().where(t.clients.c.id == client_id))
