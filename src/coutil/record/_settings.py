"""Small things the workroom remembers: the maker's name on revisions, the usual paper."""

from __future__ import annotations

from coutil.record._engine import Records
from coutil.record._values import one_line


def read_setting(records: Records, name: str, usual: str = "") -> str:
    """What is kept under that name, or `usual`."""
    from sqlalchemy import select

    settings = records.tables.settings.c
    with records.reading() as link:
        found = link.execute(select(settings.value).where(settings.name == name)).scalar()
    return usual if found is None else found


def keep_setting(records: Records, name: str, value: str) -> None:
    """Keeps one line of text under that name."""
    settings, line = records.tables.settings, one_line(value, "setting")
    with records.writing() as link:
        changed = link.execute(settings.update().where(settings.c.name == name).values(value=line))
        if not changed.rowcount:
            link.execute(settings.insert().values(name=name, value=line))
