"""How every change is made: one transaction, a version that must still be the one the writer saw, the old one kept."""

from __future__ import annotations

import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Generic, TypeVar

import msgspec

from coutil.record._engine import Records, now
from coutil.record._packing import unpacked
from coutil.record._schema import Tables
from coutil.record._values import ChartRecord, Client, Conflict, FieldChange, Fitting, NotKept, OrderRecord, OwnBase

if TYPE_CHECKING:
    from sqlalchemy import Connection, Table

T = TypeVar("T", Client, ChartRecord, OrderRecord, Fitting, OwnBase)
OldFields = Mapping[str, Any]

VERSIONS_KEPT = 50  # Of each thing: more saves than two windows make between two looks at one of them.


@dataclass(frozen=True, slots=True)
class Kind(Generic[T]):
    """One kind of changeable thing.

    `word` is what a maker calls it, `table` finds its table, `encode` gives its columns without id, version and
    dates, `decode` is its inverse on a whole row, `fields` spreads it out to compare two of them field by field.
    """

    word: str
    table: Callable[[Tables], Table]
    encode: Callable[[T], dict[str, Any]]
    decode: Callable[[Mapping[Any, Any]], T]
    fields: Callable[[T], dict[str, object]]


def add(link: Connection, records: Records, kind: Kind[T], thing: T) -> T:
    """Keeps a new thing, its id and version disregarded; the thing as kept."""
    when = now()
    values = {**kind.encode(thing), "version": 1, "created": when, "changed": when}
    inserted = link.execute(kind.table(records.tables).insert().values(**values))
    assert inserted.inserted_primary_key is not None
    return replace(thing, id=inserted.inserted_primary_key[0], version=1, created=when, changed=when)


def find(link: Connection, records: Records, kind: Kind[T], row_id: int, *, to_change: bool = False) -> T:
    """The thing of that id; raises BadInput where there is none, or no more.

    `to_change` lets no other writer at it until the transaction ends.
    """
    from sqlalchemy import select

    table = kind.table(records.tables)
    query = select(table).where(table.c.id == row_id)
    row = link.execute(query.with_for_update() if to_change else query).mappings().first()
    if row is None:
        raise NotKept(f"There is no {kind.word} {row_id}; it may have been erased.")
    return kind.decode(row)


def change(
    link: Connection, records: Records, kind: Kind[T], row_id: int, version: int, edit: Callable[[T], T]
) -> T | Conflict:
    """The thing as `edit` makes it, or a Conflict where it is no longer at `version`; then nothing is written."""
    current = find(link, records, kind, row_id, to_change=True)
    if current.version != version:
        return _conflict(link, records, kind, current, version, edit)
    wanted = edit(current)
    old, new = kind.encode(current), kind.encode(wanted)
    if old == new:
        return current
    _keep(link, records, kind.word, current.id, current.version, old)
    when, table = now(), kind.table(records.tables)
    link.execute(table.update().where(table.c.id == row_id).values(**new, version=version + 1, changed=when))
    return replace(wanted, id=current.id, version=version + 1, created=current.created, changed=when)


def _conflict(
    link: Connection, records: Records, kind: Kind[T], current: T, version: int, edit: Callable[[T], T]
) -> Conflict:
    before = _earlier(link, records, kind, current, version)
    # A version too old to be kept is compared with what is saved now.
    started = before if before is not None else current
    was: dict[str, object] = kind.fields(started)
    mine: dict[str, object] = kind.fields(edit(started))
    theirs: dict[str, object] = kind.fields(current)
    names = dict.fromkeys((*was, *mine, *theirs))
    changed = (FieldChange(name, was.get(name), mine.get(name), theirs.get(name)) for name in names)
    told = tuple(field for field in changed if field.mine != field.before or field.theirs != field.before)
    return Conflict(current.version, told, current)


def _earlier(link: Connection, records: Records, kind: Kind[T], current: T, version: int) -> T | None:
    from sqlalchemy import select

    kept = records.tables.changes.c
    query = select(kept.fields).where(kept.kind == kind.word, kept.row_id == current.id, kept.version == version)
    packed = link.execute(query).scalar()
    if packed is None:
        return None
    fields: OldFields = msgspec.msgpack.decode(unpacked(packed))
    dates = {"id": current.id, "version": version, "created": current.created, "changed": current.changed}
    return kind.decode({**fields, **dates})


def _keep(link: Connection, records: Records, word: str, row_id: int, version: int, fields: OldFields) -> None:
    kept = records.tables.changes
    packed = zlib.compress(msgspec.msgpack.encode(fields))
    link.execute(kept.insert().values(kind=word, row_id=row_id, version=version, fields=packed))
    old = version - VERSIONS_KEPT
    link.execute(kept.delete().where(kept.c.kind == word, kept.c.row_id == row_id, kept.c.version <= old))
