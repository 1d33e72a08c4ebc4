"""All records in one file, and back.  SQLite's backup is a database file; from any database comes a zip of JSON lines.

Restoring looks through the whole backup first, then replaces everything in one transaction: either all of it is there
afterwards, or nothing has changed.
"""

from __future__ import annotations

import base64
import binascii
import re
import sqlite3
import struct
import time
import zipfile
import zlib
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Set
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

import msgspec

from coutil.draft import STYLES
from coutil.errors import BadInput
from coutil.pattern import style_from_json
from coutil.record._bases import OWN
from coutil.record._changing import Kind
from coutil.record._engine import MIGRATIONS, Records, clear_deleted, open_records
from coutil.record._fittings import kind_of_photo
from coutil.record._kinds import CHART, CLIENT, FITTING, ORDER, OWN_BASE, chart_from, wishes_from
from coutil.record._lays import PAPERS, lay_of
from coutil.record._packing import unpacked
from coutil.record._revisions import head_of
from coutil.record._schema import tables
from coutil.record._values import PhotoKind
from coutil.result_file import result_from_json

if TYPE_CHECKING:
    from sqlalchemy import Connection, Table

SQLITE_HEAD = b"SQLite format 3\0"
ZIP_HEAD = b"PK"
ABOUT = "backup.json"
FORMAT = "coutil-backup"
ROWS_AT_ONCE = 200
# The last version of the records without that table.
UNKNOWN_TO: Mapping[str, int] = {
    "lays": 1, "lay_data": 1, "discarded": 2, "drafts": 3, "draft_steps": 3, "trials": 3, "base_origins": 4,
}  # fmt: skip
# A stranger's file is looked through for no longer than this, and a zip unpacks to no more than so many times itself:
# our own, with photos that do not shrink, unpack to a few times their size, results to twenty times.
LONGEST_LOOK_S = 60.0
MOST_UNPACKED, UNPACKED_BESIDE = 60, 50_000_000
# So much of a backup is held in memory at a time.
HELD_BYTES = 32_000_000
LOOK_EVERY = 10_000  # Steps of the database's machine.
LONGEST_VALUE = 50_000_000  # Bytes: above the largest photo and drawing.
COMPUTED = re.compile(r"\b(CHECK|GENERATED|WHERE)\b", re.IGNORECASE)
LARGEST_NUMBER = 2**53  # What JSON and every database hold exactly.
LONGEST_LINE = 60_000_000  # Of one row as text: above the largest photo, far below what fills a machine.

# What Python's reader of archives raises for a spoilt one, besides what it means to.
UNREADABLE = (
    zipfile.BadZipFile, zlib.error, struct.error, msgspec.DecodeError, NotImplementedError, RuntimeError, EOFError,
    KeyError, ValueError, OSError,
)  # fmt: skip

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
        _require_plain_database(path)
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


def _require_plain_database(path: Path) -> None:
    """Raises BadInput where a file holds anything but whole tables and their indexes: a view could run for ever."""
    give_up = time.monotonic() + LONGEST_LOOK_S
    uri = f"{path.absolute().as_uri()}?mode=ro&immutable=1"
    try:
        with closing(sqlite3.connect(uri, uri=True)) as link:
            link.execute("PRAGMA trusted_schema = OFF")
            link.set_progress_handler(lambda: time.monotonic() > give_up, LOOK_EVERY)
            odd = link.execute("SELECT type, name FROM sqlite_master WHERE type NOT IN ('table', 'index')").fetchone()
            virtual = link.execute("SELECT name FROM sqlite_master WHERE sql LIKE 'CREATE VIRTUAL%'").fetchone()
            link.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, LONGEST_VALUE)
            if odd or virtual or _computes(link):
                raise BadInput("That file holds more than tables, so it is no backup of coutil: nothing changed.")
            (pages,), (size,) = (link.execute(f"PRAGMA {what}").fetchone() for what in ("page_count", "page_size"))
            if pages * size != path.stat().st_size or link.execute("PRAGMA quick_check(1)").fetchone() != ("ok",):
                raise BadInput("The backup is damaged: nothing changed.")
    except (sqlite3.Error, ValueError, OverflowError) as error:
        # Words that are no text come as ValueError.
        raise BadInput("The backup is damaged, or cannot be read in a minute: nothing changed.") from error


def _computes(link: sqlite3.Connection) -> bool:
    """Whether a table works something out by itself, which ours never do: that may take any time and memory."""
    told = " ".join(sql for (sql,) in link.execute("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL"))
    columns = "SELECT 1 FROM sqlite_master AS t, pragma_table_xinfo(t.name) AS c WHERE c.hidden > 0"
    return COMPUTED.search(told) is not None or link.execute(columns).fetchone() is not None


def _require_bounded(archive: zipfile.ZipFile, size: int) -> None:
    """Raises BadInput for an archive that unpacks to more than any backup does."""
    if sum(entry.file_size for entry in archive.infolist()) > MOST_UNPACKED * size + UNPACKED_BESIDE:
        raise BadInput("That archive unpacks to more than a backup can hold: nothing changed.")


def _opened(path: Path) -> Records:
    try:
        return open_records(path)
    except BadInput as error:
        raise BadInput(f"That file cannot be restored: {str(error)[0].lower()}{str(error)[1:]}") from error


def _rows_of(link: Connection, table: Table) -> Rows:
    yield from link.execute(table.select()).mappings()


def _replace_all(records: Records, rows_of: Callable[[Table], Rows]) -> None:
    """Everything is looked through first, while others go on working; only then is anything replaced."""
    kept = records.tables.kept()
    _require_together({table.name: _looked_through(table, rows_of) for table in kept})
    with records.writing() as link:
        for table in reversed(kept):
            link.execute(table.delete())
        for table in kept:
            with closing(rows_of(table)) as found:
                for rows in _batches(found):
                    link.execute(table.insert(), rows)
        _count_on(link, records, kept)


def _looked_through(table: Table, rows_of: Callable[[Table], Rows]) -> dict[int, Any]:
    """What must fit something in another table, by the row's id; raises BadInput for a row that no page could show."""
    tie = TIES.get(table.name)
    with closing(rows_of(table)) as found:
        return {row[tie[0]]: tie[1](row) for row in _sound(table, found) if tie is not None}


def _require_together(ties: Mapping[str, Mapping[int, Any]]) -> None:
    """Raises BadInput where a photo, revision or lay plan is not what lies beside it, or an order's base is missing."""
    for name, beside in (("photos", "photo_data"), ("revisions", "revision_data"), ("lays", "lay_data")):
        if ties[name] != ties[beside]:
            raise _damaged(name)
    own = {f"{OWN}{base_id}" for base_id in ties["own_bases"]}
    for base in set(ties["orders"].values()) - own - {""}:
        if all(kind.size_of(base) is None for kind in STYLES.values()):
            raise _damaged("orders")


def _nothing(_: Mapping[Any, Any]) -> None:
    """For what has only to be there."""


# The column with the id and what must be the same, or be known, in another table.
TIES: Mapping[str, tuple[str, Callable[[Mapping[Any, Any]], Any]]] = {
    "photos": ("id", lambda row: (row["kind"], row["size"])),
    "photo_data": ("photo_id", lambda row: (kind_of_photo(row["data"]), len(row["data"]))),
    "revisions": ("id", _nothing),
    "revision_data": ("revision_id", _nothing),
    "lays": ("id", _nothing),
    "lay_data": ("lay_id", _nothing),
    "own_bases": ("id", _nothing),
    "orders": ("id", lambda row: row["base"]),
}


def _damaged(name: str) -> BadInput:
    return BadInput(f"The backup is damaged among its {name.replace('_', ' ')}: nothing changed.")


def _count_on(link: Connection, records: Records, kept: Iterable[Table]) -> None:
    """PostgreSQL's counters know nothing of ids that were given; SQLite's do."""
    if records.in_file:
        return
    for name in (table.name for table in kept if table.name != "settings" and "id" in table.c):
        counter = f"pg_get_serial_sequence('{name}', 'id')"
        link.exec_driver_sql(f"SELECT setval({counter}, coalesce(max(id), 0) + 1, false) FROM {name}")


def _batches(rows: Rows) -> Iterator[list[dict[str, Any]]]:
    """The rows some at a time, fewer where they are long: a batch lies in memory."""
    batch, held = list[dict[str, Any]](), 0
    for row in rows:
        batch.append(dict(row))
        held += sum(len(value) for value in row.values() if isinstance(value, str | bytes))
        if len(batch) == ROWS_AT_ONCE or held > HELD_BYTES:
            yield batch
            batch, held = [], 0
    if batch:
        yield batch


def _sound(table: Table, rows: Rows) -> Rows:
    """The rows, each looked at before it is kept; raises BadInput for one that no page could show."""
    kind = KINDS.get(table.name)
    for row in rows:
        try:
            if set(row) != set(table.c.keys()):
                raise ValueError
            _require_types(table, row)
            if kind is not None:
                kind.decode(row)
            _require_readable(table.name, row)
        except (BadInput, ValueError, TypeError, KeyError, msgspec.DecodeError, OSError) as error:
            raise _damaged(table.name) from error
        yield row


def _require_types(table: Table, row: Mapping[Any, Any]) -> None:
    """Raises ValueError where a value is of another kind than its column: SQLite itself takes any."""
    for column in table.c:
        value, kind = row[column.name], column.type.python_type
        is_right = isinstance(value, (int, float) if kind is float else kind) and not isinstance(value, bool)
        if not is_right and not (value is None and column.nullable):
            raise ValueError(column.name)
        if kind is int and value is not None and not 0 <= value < LARGEST_NUMBER:
            raise ValueError(column.name)
        if kind is str:
            # What SQLite or JSON let through and no page can send.
            value.encode()
        if value and column.name in ("created", "changed"):
            datetime.fromisoformat(value)


def _require_readable(name: str, row: Mapping[Any, Any]) -> None:
    """Raises where a row cannot be what its page would show: a result, a photo, a draft."""
    if name == "revision_data":
        result_from_json(unpacked(row["result"]))
        wishes_from(row["wishes"])
        chart_from(row["chart"])
    elif name == "revisions":
        head_of(row)
    elif name == "photos":
        if row["kind"] not in get_args(PhotoKind):
            raise ValueError
    elif name == "photo_data":
        kind_of_photo(row["data"])
    elif name == "own_bases":
        style_from_json(unpacked(row["style"]))
    elif name == "lays":
        lay_of(row)
    elif name == "lay_data":
        for paper in PAPERS:
            unpacked(row[paper])
    elif name == "changes":
        msgspec.msgpack.decode(unpacked(row["fields"]), type=dict[str, Any])
    elif name == "trials":
        msgspec.json.decode(row["readings"], type=dict[str, tuple[float | None, float | None]])
    elif name in ("drafts", "draft_steps"):
        msgspec.json.decode(row["head" if name == "drafts" else "body"], type=dict[str, Any])


@contextmanager
def _archive(path: Path) -> Iterator[zipfile.ZipFile]:
    damaged = "That archive is no backup of coutil, or it is damaged: nothing changed."
    try:
        with zipfile.ZipFile(path) as archive:
            _require_bounded(archive, path.stat().st_size)
            about = msgspec.json.decode(archive.read(ABOUT), type=dict[str, str | int])
            if about.get("format") != FORMAT:
                raise BadInput(damaged)
            if about.get("version") not in range(1, len(MIGRATIONS) + 1):
                raise BadInput("That backup is of a newer version of coutil: restore it with that version.")
            _require_all(archive, int(about["version"]))
            yield archive
    except UNREADABLE as error:
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
