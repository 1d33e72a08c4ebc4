"""All records in one file, and back.  SQLite's backup is a database file; from any database comes a zip of JSON lines.

Restoring replaces everything in one transaction: either all of the backup is there afterwards, or nothing has changed.
"""

from __future__ import annotations

import base64
import binascii
import sqlite3
import zipfile
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Set
from contextlib import closing, contextmanager
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from coutil.errors import BadInput
from coutil.record._changing import Kind
from coutil.record._engine import MIGRATIONS, Records, clear_deleted, open_records
from coutil.record._kinds import CHART, CLIENT, FITTING, ORDER, OWN_BASE
from coutil.record._schema import tables

if TYPE_CHECKING:
    from sqlalchemy import Connection, Table

SQLITE_HEAD = b"SQLite format 3\0"
ZIP_HEAD = b"PK"
ABOUT = "backup.json"
FORMAT = "coutil-backup"
ROWS_AT_ONCE = 200
# The last version of the records without that table.
UNKNOWN_TO: Mapping[str, int] = {"lays": 1, "lay_data": 1, "discarded": 2, "drafts": 3, "draft_steps": 3, "trials": 3}
LONGEST_LINE = 200_000_000  # Of one row as text: above the largest photo, far below what fills a machine.

Rows = Generator[Mapping[Any, Any], None, None]
KINDS: Mapping[str, Kind[Any]] = {
    "clients": CLIENT,
    "charts": CHART,
    "orders": ORDER,
    "fittings": FITTING,
    "own_bases": OWN_BASE,
}


def backup_suffix(records: Records) -> str:
    """How the name of a backup file ends."""
    return ".db" if records.in_file else ".zip"


def backup_to(records: Records, path: Path) -> None:
    """Writes everything into a new file, while others go on working; raises BadInput where it cannot be written."""
    try:
        if records.in_file:
            _copy_file(records, path)
        else:
            archive_to(records, path)
    except (OSError, sqlite3.Error) as error:
        raise BadInput(f"The backup cannot be written: {error}.") from error


def archive_to(records: Records, path: Path) -> None:
    """As `backup_to`, always as a zip of JSON lines, which any database takes."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive, records.reading() as link:
        about = {"format": FORMAT, "version": len(MIGRATIONS)}
        archive.writestr(ABOUT, msgspec.json.encode(about))
        for table in records.tables.kept():
            with archive.open(f"{table.name}.jsonl", "w", force_zip64=True) as target:
                for row in link.execute(table.select().order_by(*table.primary_key.columns)).mappings():
                    target.write(msgspec.json.encode(_written(row)) + b"\n")


def restore_from(records: Records, path: Path) -> None:
    """Puts what a backup holds in the place of everything kept; for any other file raises BadInput and changes nothing.

    The file is opened to be brought to the newest version, so give a copy that may be changed.
    """
    with path.open("rb") as file:
        head = file.read(len(SQLITE_HEAD))
    if head == SQLITE_HEAD:
        with closing(_opened(path)) as kept, kept.reading() as link:
            _replace_all(records, lambda table: _rows_of(link, table))
    elif head.startswith(ZIP_HEAD):
        with _archive(path) as archive:
            known = set(archive.namelist())
            _replace_all(records, lambda table: _lines_of(archive, table, known))
    else:
        raise BadInput("That file is no backup of coutil: choose one made on this page.")
    clear_deleted(records)


def _copy_file(records: Records, path: Path) -> None:
    link = records.engine.raw_connection()
    try:
        with closing(sqlite3.connect(path)) as target:
            source = link.driver_connection
            assert isinstance(source, sqlite3.Connection)
            source.backup(target)
            # A backup is one file, without a log beside it.
            target.execute("PRAGMA journal_mode = DELETE")
    finally:
        link.close()


def _opened(path: Path) -> Records:
    try:
        return open_records(path)
    except BadInput as error:
        raise BadInput(f"That file cannot be restored: {str(error)[0].lower()}{str(error)[1:]}") from error


def _rows_of(link: Connection, table: Table) -> Rows:
    yield from link.execute(table.select()).mappings()


def _replace_all(records: Records, rows_of: Callable[[Table], Rows]) -> None:
    kept = records.tables.kept()
    with records.writing() as link:
        for table in reversed(kept):
            link.execute(table.delete())
        for table in kept:
            with closing(rows_of(table)) as found:
                for rows in _batches(_sound(table, found)):
                    link.execute(table.insert(), rows)
        _count_on(link, records, kept)


def _count_on(link: Connection, records: Records, kept: Iterable[Table]) -> None:
    """PostgreSQL's counters know nothing of ids that were given; SQLite's do."""
    if records.in_file:
        return
    for name in (table.name for table in kept if table.name != "settings" and "id" in table.c):
        counter = f"pg_get_serial_sequence('{name}', 'id')"
        link.exec_driver_sql(f"SELECT setval({counter}, coalesce(max(id), 0) + 1, false) FROM {name}")


def _batches(rows: Rows) -> Iterator[list[dict[str, Any]]]:
    while batch := [dict(row) for row in islice(rows, ROWS_AT_ONCE)]:
        yield batch


def _sound(table: Table, rows: Rows) -> Rows:
    """The rows, each looked at before it is kept; raises BadInput for one that no page could show."""
    kind = KINDS.get(table.name)
    for row in rows:
        try:
            if set(row) != set(table.c.keys()):
                raise ValueError
            if kind is not None:
                kind.decode(row)
        except (BadInput, ValueError, TypeError, KeyError, msgspec.DecodeError, OSError) as error:
            raise BadInput(
                f"The backup is damaged among its {table.name.replace('_', ' ')}: nothing changed."
            ) from error
        yield row


@contextmanager
def _archive(path: Path) -> Iterator[zipfile.ZipFile]:
    damaged = "That archive is no backup of coutil, or it is damaged: nothing changed."
    try:
        with zipfile.ZipFile(path) as archive:
            about = msgspec.json.decode(archive.read(ABOUT), type=dict[str, str | int])
            if about.get("format") != FORMAT:
                raise BadInput(damaged)
            if about.get("version") not in range(1, len(MIGRATIONS) + 1):
                raise BadInput("That backup is of a newer version of coutil: restore it with that version.")
            _require_all(archive, int(about["version"]))
            yield archive
    except (zipfile.BadZipFile, KeyError, msgspec.DecodeError, NotImplementedError, RuntimeError, EOFError) as error:
        raise BadInput(damaged) from error


def _require_all(archive: zipfile.ZipFile, version: int) -> None:
    """Raises KeyError where a table is missing that a backup of that version holds."""
    for table in tables().kept():
        if version > UNKNOWN_TO.get(table.name, 0):
            archive.getinfo(f"{table.name}.jsonl")


def _lines_of(archive: zipfile.ZipFile, table: Table, known: Set[str]) -> Rows:
    """The rows of a table; none of one that the backup is too old to know."""
    if f"{table.name}.jsonl" not in known:
        return
    with archive.open(f"{table.name}.jsonl") as lines:
        while line := lines.readline(LONGEST_LINE):
            yield _read(msgspec.json.decode(line, type=dict[str, Any]), table)


def _written(row: Mapping[Any, Any]) -> dict[str, Any]:
    """Bytes become text in base64."""
    return {k: base64.b64encode(v).decode() if isinstance(v, bytes | memoryview) else v for k, v in row.items()}


def _read(row: dict[str, Any], table: Table) -> dict[str, Any]:
    from sqlalchemy import LargeBinary

    packed = (c.name for c in table.c if isinstance(c.type, LargeBinary) and isinstance(row.get(c.name), str))
    try:
        return {**row, **{name: base64.b64decode(row[name], validate=True) for name in packed}}
    except binascii.Error as error:
        raise BadInput("The backup is damaged: nothing changed.") from error
