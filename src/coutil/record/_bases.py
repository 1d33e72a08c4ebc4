"""Base patterns: those that come with the program, listed without being copied, and the maker's own."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from coutil.draft import STYLES, StyleKind
from coutil.errors import BadInput
from coutil.pattern import Style, style_from_json, style_to_json
from coutil.record._changing import add, change, find
from coutil.record._engine import Records
from coutil.record._kinds import OWN_BASE
from coutil.record._values import BaseHead, Conflict, NotKept, OwnBase
from coutil.shipped import shipped_base

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
        kept = t.changes.c
        link.execute(t.changes.delete().where(kept.kind == OWN_BASE.word, kept.row_id == base_id))
        link.execute(t.own_bases.delete().where(t.own_bases.c.id == base_id))


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
