"""The tables.  What is long (results, photos) lies in tables of its own, so that a list never passes over it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlalchemy import Column, MetaData, Table


@dataclass(frozen=True, slots=True, eq=False)
class Tables:
    """Every table by name."""

    meta: MetaData
    clients: Table
    charts: Table
    orders: Table
    own_bases: Table
    revisions: Table
    revision_data: Table
    lays: Table
    lay_data: Table
    fittings: Table
    photos: Table
    photo_data: Table
    drafts: Table
    draft_steps: Table
    trials: Table
    base_origins: Table
    changes: Table
    settings: Table
    discarded: Table
    migrations: Table

    def kept(self) -> tuple[Table, ...]:
        """All that a backup holds, each after those it refers to."""
        return (
            self.clients, self.charts, self.orders, self.own_bases, self.revisions, self.revision_data,
            self.lays, self.lay_data, self.fittings, self.photos, self.photo_data, self.drafts,
            self.draft_steps, self.trials, self.base_origins, self.changes, self.settings, self.discarded,
        )  # fmt: skip


@cache
def tables() -> Tables:
    """The tables of the newest version."""
    from sqlalchemy import MetaData

    meta = MetaData()
    return Tables(
        meta,
        _clients(meta),
        _charts(meta),
        _orders(meta),
        _own_bases(meta),
        _revisions(meta),
        _revision_data(meta),
        _lays(meta),
        _lay_data(meta),
        _fittings(meta),
        _photos(meta),
        _photo_data(meta),
        _drafts(meta),
        _draft_steps(meta),
        _trials(meta),
        _base_origins(meta),
        _changes(meta),
        _settings(meta),
        _discarded(meta),
        _migrations(meta),
    )


def _clients(meta: MetaData) -> Table:
    from sqlalchemy import Index, Table

    return Table(
        "clients",
        meta,
        *_head(),
        *_texts("name", "contact", "note"),
        # As in `name`, without accents and capitals: for the order of lists; `search` holds the contact too.
        *_texts("name_key", "search"),
        Index("clients_by_name", "name_key", "id"),
        sqlite_autoincrement=True,
    )


def _charts(meta: MetaData) -> Table:
    from sqlalchemy import Index, Table

    return Table(
        "charts",
        meta,
        *_head(),
        _belongs("client_id", "clients.id"),
        *_texts("taken", "worn", "note", "readings"),
        Index("charts_by_client", "client_id", "taken", "id"),
        sqlite_autoincrement=True,
    )


def _orders(meta: MetaData) -> Table:
    from sqlalchemy import Column, ForeignKey, Index, Integer, Table

    return Table(
        "orders",
        meta,
        *_head(),
        _belongs("client_id", "clients.id"),
        Column("chart_id", Integer, ForeignKey("charts.id"), nullable=True),
        *_texts("title", "base", "wishes", "making", "wear", "due", "price", "state", "note"),
        Column("is_open", Integer, nullable=False),
        Index("orders_by_client", "client_id", "id"),
        Index("orders_by_chart", "chart_id"),
        Index("orders_open_by_due", "is_open", "due", "id"),
        Index("orders_by_due", "due", "id"),
        sqlite_autoincrement=True,
    )


def _own_bases(meta: MetaData) -> Table:
    from sqlalchemy import Column, LargeBinary, Table

    return Table(
        "own_bases",
        meta,
        *_head(),
        *_texts("name", "title", "suffix", "marks"),
        Column("style", LargeBinary, nullable=False),
        Column("drawing", LargeBinary, nullable=False),
        sqlite_autoincrement=True,
    )


def _revisions(meta: MetaData) -> Table:
    from sqlalchemy import Column, Integer, Table, UniqueConstraint

    return Table(
        "revisions",
        meta,
        Column("id", Integer, primary_key=True),
        _belongs("order_id", "orders.id"),
        Column("number", Integer, nullable=False),
        *_texts("author", "note", "base"),
        Column("passed", Integer, nullable=False),
        Column("failed_checks", Integer, nullable=False),
        *_texts("created"),
        UniqueConstraint("order_id", "number", name="revisions_by_order"),
        sqlite_autoincrement=True,
    )


def _revision_data(meta: MetaData) -> Table:
    from sqlalchemy import Column, ForeignKey, Integer, LargeBinary, Table

    return Table(
        "revision_data",
        meta,
        Column("revision_id", Integer, ForeignKey("revisions.id"), primary_key=True, autoincrement=False),
        *_texts("wishes", "chart"),
        Column("result", LargeBinary, nullable=False),
    )


def _lays(meta: MetaData) -> Table:
    from sqlalchemy import Column, Float, Index, Integer, Table

    return Table(
        "lays",
        meta,
        Column("id", Integer, primary_key=True),
        _belongs("revision_id", "revisions.id"),
        *_texts("title", "remarks", "created"),
        Column("length", Float, nullable=False),
        Column("use", Float, nullable=False),
        Index("lays_by_revision", "revision_id", "id"),
        sqlite_autoincrement=True,
    )


def _lay_data(meta: MetaData) -> Table:
    from sqlalchemy import Column, ForeignKey, Integer, LargeBinary, Table

    return Table(
        "lay_data",
        meta,
        Column("lay_id", Integer, ForeignKey("lays.id"), primary_key=True, autoincrement=False),
        *(Column(name, LargeBinary, nullable=False) for name in ("json", "svg", "pdf")),
    )


def _fittings(meta: MetaData) -> Table:
    from sqlalchemy import Column, ForeignKey, Index, Integer, Table

    return Table(
        "fittings",
        meta,
        *_head(),
        _belongs("order_id", "orders.id"),
        Column("revision_id", Integer, ForeignKey("revisions.id"), nullable=True),
        *_texts("held", "remarks", "amounts"),
        Index("fittings_by_order", "order_id", "held", "id"),
        Index("fittings_by_revision", "revision_id"),
        sqlite_autoincrement=True,
    )


def _photos(meta: MetaData) -> Table:
    from sqlalchemy import Column, Index, Integer, Table

    return Table(
        "photos",
        meta,
        Column("id", Integer, primary_key=True),
        _belongs("fitting_id", "fittings.id"),
        *_texts("kind", "caption", "created"),
        Column("size", Integer, nullable=False),
        Index("photos_by_fitting", "fitting_id", "id"),
        sqlite_autoincrement=True,
    )


def _photo_data(meta: MetaData) -> Table:
    from sqlalchemy import Column, ForeignKey, Integer, LargeBinary, Table

    return Table(
        "photo_data",
        meta,
        Column("photo_id", Integer, ForeignKey("photos.id"), primary_key=True, autoincrement=False),
        Column("data", LargeBinary, nullable=False),
    )


def _drafts(meta: MetaData) -> Table:
    from sqlalchemy import Column, Integer, Table, UniqueConstraint

    return Table(
        "drafts",
        meta,
        Column("id", Integer, primary_key=True),
        _belongs("order_id", "orders.id"),
        *_texts("window", "head", "changed"),
        UniqueConstraint("order_id", "window", name="drafts_by_window"),
        sqlite_autoincrement=True,
    )


def _draft_steps(meta: MetaData) -> Table:
    from sqlalchemy import Column, ForeignKey, Integer, Table

    return Table(
        "draft_steps",
        meta,
        Column("draft_id", Integer, ForeignKey("drafts.id"), primary_key=True, autoincrement=False),
        Column("position", Integer, primary_key=True, autoincrement=False),
        *_texts("body"),
    )


def _trials(meta: MetaData) -> Table:
    """Readings tried on an order's alteration page that its chart does not have."""
    from sqlalchemy import Column, ForeignKey, Integer, Table

    order = Column("order_id", Integer, ForeignKey("orders.id"), primary_key=True, autoincrement=False)
    return Table("trials", meta, order, *_texts("readings"))


def _base_origins(meta: MetaData) -> Table:
    """Of which client, order and revision an own base was made.  Their ids are kept, so that erasing finds it."""
    from sqlalchemy import Column, ForeignKey, Integer, Table

    base = Column("base_id", Integer, ForeignKey("own_bases.id"), primary_key=True, autoincrement=False)
    ids = (Column(name, Integer, nullable=False) for name in ("client_id", "order_id", "revision_id"))
    return Table("base_origins", meta, base, *ids)


def _changes(meta: MetaData) -> Table:
    """Earlier versions of what was changed, so that a second writer can be told what happened meanwhile."""
    from sqlalchemy import Column, Integer, LargeBinary, Table

    return Table(
        "changes",
        meta,
        *_texts("kind", key=True),
        Column("row_id", Integer, primary_key=True, autoincrement=False),
        Column("version", Integer, primary_key=True, autoincrement=False),
        Column("fields", LargeBinary, nullable=False),
    )


def _settings(meta: MetaData) -> Table:
    from sqlalchemy import Table

    return Table("settings", meta, *_texts("name", key=True), *_texts("value"))


def _discarded(meta: MetaData) -> Table:
    """What is put aside: left out of lists, and brought back by losing its line here."""
    from sqlalchemy import Column, Integer, Table

    return Table(
        "discarded",
        meta,
        *_texts("kind", key=True),
        Column("row_id", Integer, primary_key=True, autoincrement=False),
        *_texts("since"),
    )


def _migrations(meta: MetaData) -> Table:
    from sqlalchemy import Column, Integer, Table

    return Table(
        "migrations", meta, Column("version", Integer, primary_key=True, autoincrement=False), *_texts("applied")
    )


def _head() -> tuple[Column[int] | Column[str], ...]:
    from sqlalchemy import Column, Integer

    return (Column("id", Integer, primary_key=True), Column("version", Integer, nullable=False), *_dates())


def _dates() -> tuple[Column[str], ...]:
    return _texts("created", "changed")


def _texts(*names: str, key: bool = False) -> tuple[Column[str], ...]:
    from sqlalchemy import Column, Text

    return tuple(Column(name, Text, primary_key=key, nullable=False) for name in names)


def _belongs(name: str, to: str) -> Column[int]:
    from sqlalchemy import Column, ForeignKey, Integer

    return Column(name, Integer, ForeignKey(to), nullable=False)
