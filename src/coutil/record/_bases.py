"""Base patterns: those that come with the program, listed without being copied, and the maker's own."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial
from typing import TYPE_CHECKING

from coutil.draft import STYLES, StyleKind
from coutil.errors import BadInput
from coutil.pattern import Style, style_from_json, style_to_json
from coutil.record._changing import add, change, find
from coutil.record._engine import Records
from coutil.record._kinds import OWN_BASE
from coutil.record._values import BaseHead, Client, Conflict, NotKept, OwnBase
from coutil.shipped import shipped_base

if TYPE_CHECKING:
    from sqlalchemy import Connection

OWN = "own-"


def list_bases(records: Records) -> tuple[BaseHead, ...]:
    """All base patterns, the maker's own first; no pattern is read for it."""
    from sqlalchemy import select

    own = records.tables.own_bases.c
    query = select(own.id, own.title, own.version, own.created).order_by(own.title, own.id)
    with records.reading() as link:
        rows = link.execute(query).all()
    mine = (BaseHead(f"{OWN}{row.id}", row.title, True, "", row.id, row.version, row.created) for row in rows)
    return (*mine, *_shipped_heads())


def base_head(records: Records, key: str) -> BaseHead | None:
    """How a base is called: an own one, or any size that can be drafted; None where there is none of that key."""
    for kind in STYLES.values():
        size = kind.size_of(key)
        if size is not None:
            return _shipped_head(kind, size)
    return next((head for head in list_bases(records) if head.key == key), None)


def find_base(records: Records, key: str) -> Style:
    """The base an order names; raises BadInput where there is none."""
    if key.startswith(OWN):
        return style_from_json(find_own_base(records, own_id(key)).style_text)
    return shipped_base(key)


def find_own_base(records: Records, base_id: int) -> OwnBase:
    """An own base with its drawing and marks; raises BadInput where there is none."""
    with records.reading() as link:
        return find(link, records, OWN_BASE, base_id)


def own_id(key: str) -> int:
    """The id in the key of an own base; raises BadInput for any other word."""
    digits = key.removeprefix(OWN)
    if not key.startswith(OWN) or not (digits.isascii() and digits.isdigit() and len(digits) < 10):
        raise NotKept(f"There is no base pattern {key[:40]}.")
    return int(digits)


def add_base(records: Records, style: Style, marks_text: str = "", drawing: bytes = b"", suffix: str = "") -> OwnBase:
    """Keeps an own base, with the drawing and the marks it was read from where it was."""
    base = OwnBase(0, 1, style.name, style.title, style_to_json(style), marks_text, drawing, suffix)
    with records.writing() as link:
        return add(link, records, OWN_BASE, base)


@dataclass(frozen=True, slots=True)
class Origin:
    """Of whose revision a base was made."""

    client_id: int
    order_id: int
    revision_id: int


def add_base_from(records: Records, style: Style, origin: Origin) -> OwnBase:
    """Keeps a revision's pattern as an own base, and of whose revision it was made."""
    base = OwnBase(0, 1, style.name, style.title, style_to_json(style), "", b"", "")
    with records.writing() as link:
        kept = add(link, records, OWN_BASE, base)
        ids = {"client_id": origin.client_id, "order_id": origin.order_id, "revision_id": origin.revision_id}
        link.execute(records.tables.base_origins.insert().values(base_id=kept.id, **ids))
        return kept


def bases_from(records: Records, client_id: int) -> tuple[BaseHead, ...]:
    """The own bases that were made of a client's revisions: they hold her measurements."""
    from sqlalchemy import select

    own, origins = records.tables.own_bases.c, records.tables.base_origins.c
    query = select(own.id, own.title, own.version, own.created).join_from(
        records.tables.own_bases, records.tables.base_origins, origins.base_id == own.id
    )
    with records.reading() as link:
        rows = link.execute(query.where(origins.client_id == client_id).order_by(own.title, own.id)).all()
    return tuple(BaseHead(f"{OWN}{row.id}", row.title, True, "", row.id, row.version, row.created) for row in rows)


def delete_bases(link: Connection, records: Records, ids: Sequence[int]) -> None:
    """Deletes own bases; orders that name them are left without a base."""
    t = records.tables
    link.execute(t.orders.update().where(t.orders.c.base.in_([f"{OWN}{i}" for i in ids])).values(base=""))
    link.execute(t.changes.delete().where(t.changes.c.kind == OWN_BASE.word, t.changes.c.row_id.in_(ids)))
    link.execute(t.base_origins.delete().where(t.base_origins.c.base_id.in_(ids)))
    link.execute(t.own_bases.delete().where(t.own_bases.c.id.in_(ids)))


def settle_bases_from(link: Connection, records: Records, client: Client, delete: bool) -> None:
    """Before a client goes: deletes the bases made of her revisions, or takes name and date out of them."""
    from sqlalchemy import select

    t = records.tables
    ids = link.execute(select(t.base_origins.c.base_id).where(t.base_origins.c.client_id == client.id)).scalars().all()
    if delete:
        delete_bases(link, records, ids)
        return
    for base_id in ids:
        base = find(link, records, OWN_BASE, base_id, to_change=True)
        style = nameless(style_from_json(base.style_text), client.name)
        change(link, records, OWN_BASE, base_id, base.version, partial(_with_style, style))
        earlier = t.changes.c.kind == OWN_BASE.word, t.changes.c.row_id == base_id
        link.execute(t.changes.delete().where(*earlier))
    link.execute(t.base_origins.delete().where(t.base_origins.c.client_id == client.id))


def nameless(style: Style, name: str) -> Style:
    """The pattern without whose it was and when she was measured; the measurements it was drafted for stay."""
    title = " ".join(style.title.replace(name, "").replace(" ,", ",").split()).strip(" ,") or "Own base"
    chart = replace(style.base_chart, name="an own base", taken="", worn="")
    readings = {key: replace(reading, taken=None) for key, reading in chart.readings.items()}
    return replace(style, title=title, base_chart=replace(chart, readings=readings))


def _with_style(style: Style, base: OwnBase) -> OwnBase:
    return replace(base, name=style.name, title=style.title, style_text=style_to_json(style))


def change_base(records: Records, base_id: int, version: int, edit: Callable[[OwnBase], OwnBase]) -> OwnBase | Conflict:
    """The base as `edit` makes it, or a Conflict where another was faster."""
    with records.writing() as link:
        return change(link, records, OWN_BASE, base_id, version, edit)


def remove_base(records: Records, base_id: int) -> None:
    """Takes an own base off the list; raises BadInput while an order names it.  Revisions keep theirs."""
    from sqlalchemy import func, select

    t = records.tables
    with records.writing() as link:
        base = find(link, records, OWN_BASE, base_id, to_change=True)
        used = link.execute(select(func.count(t.orders.c.id)).where(t.orders.c.base == base.key)).scalar() or 0
        if used:
            orders = "one order" if used == 1 else f"{used} orders"
            raise BadInput(f"{base.title} is the base of {orders}: give them another base first.")
        delete_bases(link, records, (base_id,))


@cache
def _shipped_heads() -> tuple[BaseHead, ...]:
    """The run of sizes that lists show, by style and size."""
    return tuple(_shipped_head(kind, size) for kind in STYLES.values() for size in kind.sizes)


def _shipped_head(kind: StyleKind, size: tuple[int, ...]) -> BaseHead:
    return BaseHead(kind.base_name(size), f"{kind.title}{_size_words(size)}", False, kind.title)


def _size_words(size: tuple[int, ...]) -> str:
    if len(size) == 2:
        return f", underbust {size[0]} cm, bust {size[1]} cm more"
    return f", waist {size[0]} cm"
