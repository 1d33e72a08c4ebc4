"""Lay plans: each that was found for a revision, with its papers as they were drawn."""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import msgspec

from coutil.record._engine import Records, clear_deleted, now
from coutil.record._kinds import to_text
from coutil.record._packing import unpacked
from coutil.record._values import NotKept, one_line

if TYPE_CHECKING:
    from sqlalchemy import Connection

PAPERS = ("json", "svg", "pdf")  # The plan itself, a drawing, a page to print.
HEAD = ("id", "revision_id", "title", "length", "use", "remarks", "created")


@dataclass(frozen=True, slots=True)
class LayRecord:
    """A kept lay plan without its papers: what is laid on which cloth, the length of cloth (mm), the use (%)."""

    id: int
    revision_id: int
    title: str
    length: float
    use: float
    remarks: tuple[str, ...]
    created: str


def add_lay(
    records: Records,
    revision_id: int,
    title: str,
    length: float,
    use: float,
    papers: Mapping[str, bytes],
    remarks: tuple[str, ...] = (),
) -> LayRecord:
    """Keeps a lay plan with its papers, named as in PAPERS; raises BadInput where there is no such revision."""
    from sqlalchemy import select

    t = records.tables
    head = {
        "revision_id": revision_id,
        "title": one_line(title, "title"),
        "length": length,
        "use": use,
        "remarks": to_text(remarks),
        "created": now(),
    }
    packed = {name: zlib.compress(papers[name]) for name in PAPERS}
    with records.writing() as link:
        known = select(t.revisions.c.id).where(t.revisions.c.id == revision_id)
        if link.execute(known).first() is None:
            raise NotKept(f"There is no revision {revision_id}; it may have been erased.")
        inserted = link.execute(t.lays.insert().values(**head)).inserted_primary_key
        assert inserted is not None
        link.execute(t.lay_data.insert().values(lay_id=inserted[0], **packed))
    return lay_of({**head, "id": inserted[0]})


def list_lays(records: Records, revision_id: int) -> tuple[LayRecord, ...]:
    """The lay plans of a revision, the newest first."""
    with records.reading() as link:
        return _lays(link, records, "revision_id", revision_id)


def find_lay(records: Records, lay_id: int) -> LayRecord:
    """The lay plan of that id; raises BadInput where there is none."""
    with records.reading() as link:
        found = _lays(link, records, "id", lay_id)
    if not found:
        raise _gone(lay_id)
    return found[0]


def lay_paper(records: Records, lay_id: int, name: str) -> bytes:
    """One paper of a lay plan, named as in PAPERS; raises BadInput where there is none."""
    from sqlalchemy import select

    data = records.tables.lay_data.c
    with records.reading() as link:
        packed = link.execute(select(data[name]).where(data.lay_id == lay_id)).scalar()
    if packed is None:
        raise _gone(lay_id)
    return unpacked(packed)


def remove_lay(records: Records, lay_id: int) -> None:
    """Erases a lay plan; one that is gone already is no error."""
    t = records.tables
    with records.writing() as link:
        link.execute(t.lay_data.delete().where(t.lay_data.c.lay_id == lay_id))
        link.execute(t.lays.delete().where(t.lays.c.id == lay_id))
    clear_deleted(records)


def _lays(link: Connection, records: Records, column: str, value: int) -> tuple[LayRecord, ...]:
    from sqlalchemy import select

    lays = records.tables.lays.c
    query = select(*(lays[name] for name in HEAD)).where(lays[column] == value).order_by(lays.id.desc())
    return tuple(lay_of(row) for row in link.execute(query).mappings())


def lay_of(row: Mapping[Any, Any]) -> LayRecord:
    remarks = msgspec.json.decode(row["remarks"], type=tuple[str, ...])
    return LayRecord(**{**{name: row[name] for name in HEAD}, "remarks": remarks})


def _gone(lay_id: int) -> NotKept:
    return NotKept(f"There is no lay plan {lay_id}; it may have been erased.")
