"""Clients: kept, found, changed, erased."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from coutil.record._bases import settle_bases_from
from coutil.record._changing import add, change, find
from coutil.record._engine import Records, clear_deleted, using_reserve
from coutil.record._kinds import CLIENT, plain
from coutil.record._values import Client, ClientRow, Conflict, NoRoom

if TYPE_CHECKING:
    from sqlalchemy import ColumnElement, Connection, Executable, Select

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
    mine = (orders.client_id == clients.id) & not_discarded(records, "order", orders.id)
    n_orders = select(func.count(orders.id)).where(mine).scalar_subquery()
    last = select(func.coalesce(func.max(orders.created), "")).where(mine).scalar_subquery()
    query = select(clients.id, clients.name, clients.contact, n_orders, last, clients.changed)
    found = query.where(*holds_words(clients.search, words)).order_by(clients.name_key, clients.id)
    return found.limit(PAGE).offset(PAGE * max(page, 0))


def holds_words(column: ColumnElement[str], words: str) -> tuple[ColumnElement[bool], ...]:
    """That a column of plain text holds every one of the words, wherever in it."""
    return tuple(column.contains(word, autoescape=True) for word in plain(words).split()[:MOST_WORDS])


def erase_client(records: Records, client_id: int, with_bases: bool = True) -> bool:
    """Erases a client with all charts, orders, revisions, fittings and photos; raises BadInput where there is none.

    Own bases made of the client's revisions go too, or, without `with_bases`, stay without name and date: they still
    hold the measurements they were drafted for.  True where nothing of it is left in the database's files; False where
    another program is just reading them, so that the log can be emptied only later.  Backups and exports made before
    still hold the client.

    On a full disk the room that is kept beside the records is used, and what is large goes first, piece by piece.
    """
    try:
        _erase(records, client_id, with_bases)
    except NoRoom:
        with using_reserve(records):
            _erase_in_steps(records, client_id, with_bases)
            return clear_deleted(records)
    return clear_deleted(records)


def _erase(records: Records, client_id: int, with_bases: bool) -> None:
    with records.writing() as link:
        client = find(link, records, CLIENT, client_id, to_change=True)
        settle_bases_from(link, records, client, with_bases)
        _delete(link, records, client_id)


def _erase_in_steps(records: Records, client_id: int, with_bases: bool) -> None:
    """Photos, lay plans and revisions one by one, each giving its room back, then the rest at once."""
    try:
        for deletes in _steps(records, client_id):
            clear_deleted(records)
            with records.writing() as link:
                for statement in deletes:
                    link.execute(statement)
        clear_deleted(records)
        _erase(records, client_id, with_bases)
    except NoRoom as error:
        raise NoRoom("The disk is too full to erase all of it: make some room on the disk, and erase again.") from error


def _steps(records: Records, client_id: int) -> Iterator[tuple[Executable, ...]]:
    """What to run to delete each photo, lay plan and revision of the client."""
    from sqlalchemy import select

    t = records.tables
    orders = select(t.orders.c.id).where(t.orders.c.client_id == client_id)
    fittings = select(t.fittings.c.id).where(t.fittings.c.order_id.in_(orders))
    revisions = select(t.revisions.c.id).where(t.revisions.c.order_id.in_(orders))
    with records.reading() as link:
        photo_ids = link.execute(select(t.photos.c.id).where(t.photos.c.fitting_id.in_(fittings))).scalars().all()
        lay_ids = link.execute(select(t.lays.c.id).where(t.lays.c.revision_id.in_(revisions))).scalars().all()
        revision_ids = link.execute(revisions).scalars().all()
    for row in photo_ids:
        yield t.photo_data.delete().where(t.photo_data.c.photo_id == row), t.photos.delete().where(t.photos.c.id == row)
    for row in lay_ids:
        yield t.lay_data.delete().where(t.lay_data.c.lay_id == row), t.lays.delete().where(t.lays.c.id == row)
    for row in revision_ids:
        yield (
            t.fittings.update().where(t.fittings.c.revision_id == row).values(revision_id=None),
            t.revision_data.delete().where(t.revision_data.c.revision_id == row),
            t.revisions.delete().where(t.revisions.c.id == row),
        )


def not_discarded(records: Records, kind: str, ids: ColumnElement[int]) -> ColumnElement[bool]:
    """That a chart, order or fitting is not put aside."""
    from sqlalchemy import select

    kept = records.tables.discarded.c
    return ids.not_in(select(kept.row_id).where(kept.kind == kind))


def _delete(link: Connection, records: Records, client_id: int) -> None:
    """Deletes from the leaves up."""
    from sqlalchemy import select

    t = records.tables
    orders = select(t.orders.c.id).where(t.orders.c.client_id == client_id)
    charts = select(t.charts.c.id).where(t.charts.c.client_id == client_id)
    delete_orders(link, records, link.execute(orders).scalars().all())
    delete_charts(link, records, link.execute(charts).scalars().all())
    _forget(link, records, "client", [client_id])
    link.execute(t.clients.delete().where(t.clients.c.id == client_id))


def delete_orders(link: Connection, records: Records, ids: Sequence[int]) -> None:
    """Deletes orders with their revisions, lay plans and fittings."""
    from sqlalchemy import select

    t = records.tables
    fittings = select(t.fittings.c.id).where(t.fittings.c.order_id.in_(ids))
    revisions = select(t.revisions.c.id).where(t.revisions.c.order_id.in_(ids))
    lays = select(t.lays.c.id).where(t.lays.c.revision_id.in_(revisions))
    delete_fittings(link, records, link.execute(fittings).scalars().all())
    link.execute(t.lay_data.delete().where(t.lay_data.c.lay_id.in_(lays)))
    link.execute(t.lays.delete().where(t.lays.c.revision_id.in_(revisions)))
    link.execute(t.revision_data.delete().where(t.revision_data.c.revision_id.in_(revisions)))
    link.execute(t.revisions.delete().where(t.revisions.c.order_id.in_(ids)))
    drafts = select(t.drafts.c.id).where(t.drafts.c.order_id.in_(ids))
    link.execute(t.draft_steps.delete().where(t.draft_steps.c.draft_id.in_(drafts)))
    link.execute(t.drafts.delete().where(t.drafts.c.order_id.in_(ids)))
    link.execute(t.trials.delete().where(t.trials.c.order_id.in_(ids)))
    _forget(link, records, "order", ids)
    link.execute(t.orders.delete().where(t.orders.c.id.in_(ids)))


def delete_fittings(link: Connection, records: Records, ids: Sequence[int]) -> None:
    """Deletes fittings with their photos."""
    from sqlalchemy import select

    t = records.tables
    photos = select(t.photos.c.id).where(t.photos.c.fitting_id.in_(ids))
    link.execute(t.photo_data.delete().where(t.photo_data.c.photo_id.in_(photos)))
    link.execute(t.photos.delete().where(t.photos.c.fitting_id.in_(ids)))
    _forget(link, records, "fitting", ids)
    link.execute(t.fittings.delete().where(t.fittings.c.id.in_(ids)))


def delete_charts(link: Connection, records: Records, ids: Sequence[int]) -> None:
    """Deletes charts that no order is made from."""
    t = records.tables
    _forget(link, records, "chart", ids)
    link.execute(t.charts.delete().where(t.charts.c.id.in_(ids)))


def _forget(link: Connection, records: Records, word: str, ids: Sequence[int]) -> None:
    """Earlier versions, and that it was put aside, go with what they speak of."""
    for table in (records.tables.changes, records.tables.discarded):
        link.execute(table.delete().where(table.c.kind == word, table.c.row_id.in_(ids)))
