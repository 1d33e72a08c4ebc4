"""The database: one SQLite file by default, PostgreSQL by its URL, through the same statements.

SQLite keeps a write-ahead log and waits for the disk at every commit (synchronous FULL): what was committed survives
the end of the program at any moment, and the end of the power too.  What is deleted is overwritten.
"""

from __future__ import annotations

import os
import secrets
import shutil
import sqlite3
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from coutil.errors import BadInput
from coutil.record._schema import Tables, tables
from coutil.record._values import NoRoom, NotKept

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

    Migration = Callable[[Connection], None]

APPLICATION_ID = 0x636F7574  # Marks the file as ours: the letters c, o, u, t.
WAIT_FOR_OTHERS_MS = 15_000
KEPT_OPEN = 8
# Measurements of people are for the owner of the machine alone.
FOLDER_MODE, FILE_MODE = 0o700, 0o600
# How files begin that lie beside the records for a moment.
PASSING = ".passing-"
# Room that is kept so that a client can be erased on a full disk: what is erased is overwritten first, and goes through
# the log meanwhile.  Three times the largest photo: its pages, and those that move into their place.
RESERVE, RESERVE_BYTES = ".reserve", 24_000_000
# How SQLite says that the disk is full, of the file, of the log and of what several programs share.
FULL = frozenset({"SQLITE_FULL", "SQLITE_IOERR_WRITE", "SQLITE_IOERR_SHMSIZE"})
CLEAR_WITHIN_S = 3.0
CLEAR_PATIENCE_MS = 300

SETTINGS = (
    f"PRAGMA busy_timeout = {WAIT_FOR_OTHERS_MS}",
    # Counts only for a file without tables, hence before any is made.
    "PRAGMA auto_vacuum = INCREMENTAL",
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
    "PRAGMA foreign_keys = ON",
    "PRAGMA secure_delete = ON",
    "PRAGMA trusted_schema = OFF",
)


@dataclass(frozen=True, slots=True, eq=False)
class Records:
    """The open records.  May be used from several threads; several processes may hold the same file open."""

    engine: Engine
    tables: Tables

    @property
    def in_file(self) -> bool:
        """Whether everything is in one SQLite file."""
        return self.engine.dialect.name == "sqlite"

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """One consistent view; raises BadInput where the database cannot be read."""
        with _in_words(), self.engine.connect() as link, link.begin():
            yield link

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """One transaction: all of it is kept, on the disk, when the block ends, or none of it where it raises."""
        with _in_words(), self.engine.connect().execution_options(coutil_writes=True) as link, link.begin():
            yield link

    def close(self) -> None:
        """Ends all connections; what was committed is on the disk already."""
        self.engine.dispose()


def open_records(place: str | Path) -> Records:
    """The records in a file, made where missing, or behind a database URL; brought to the newest version.

    Raises BadInput, in one sentence, for what is no such file, is newer than this program or cannot be reached.
    """
    return open_with(place, MIGRATIONS)


def open_with(place: str | Path, migrations: Sequence[Migration]) -> Records:
    """As `open_records`, with the given steps from an empty database to the newest version."""
    is_url = isinstance(place, str) and "://" in place
    records = Records(_engine_at(place) if is_url else _engine_in(Path(place)), tables())
    try:
        with _in_words():
            _migrate(records, migrations)
    except BaseException:
        records.close()
        raise
    return records


def now() -> str:
    """The time of a change, in UTC to the microsecond."""
    return datetime.now(UTC).isoformat(timespec="microseconds")


def clear_deleted(records: Records) -> bool:
    """Gives deleted pages back and empties the write-ahead log; whether nothing of what was deleted is left in it.

    In PostgreSQL the tables are written anew; its own log keeps old pages until it has gone round.
    """
    if not records.in_file:
        return _written_anew(records)
    give_up = time.monotonic() + CLEAR_WITHIN_S
    while not (done := _cleared(records)) and time.monotonic() < give_up:
        time.sleep(0.05)
    return done


def _written_anew(records: Records) -> bool:
    from sqlalchemy.exc import DBAPIError

    names = ", ".join(table.name for table in records.tables.kept())
    with records.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as link:
        # Whoever reads holds the tables: they are not waited for without end.
        link.exec_driver_sql(f"SET lock_timeout = {round(CLEAR_WITHIN_S * 1000)}")
        try:
            link.exec_driver_sql(f"VACUUM FULL {names}")
        except DBAPIError:
            return False
        finally:
            link.exec_driver_sql("RESET lock_timeout")
    return True


def _cleared(records: Records) -> bool:
    link = records.engine.raw_connection()
    cursor = link.cursor()
    try:
        # Someone who reads for long is not waited for as a writer is.
        cursor.execute(f"PRAGMA busy_timeout = {CLEAR_PATIENCE_MS}")
        # As a script, since a single statement without columns would be stopped after its first page.
        cursor.executescript("PRAGMA incremental_vacuum")
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        busy = cursor.fetchone()
        return busy is not None and busy[0] == 0
    except sqlite3.OperationalError:
        # The disk is full, or another program writes.
        return False
    finally:
        cursor.execute(f"PRAGMA busy_timeout = {WAIT_FOR_OTHERS_MS}")
        link.close()


def _engine_in(path: Path) -> Engine:
    from sqlalchemy import URL, create_engine, event

    try:
        _make_private(path)
    except OSError as error:
        raise BadInput(f"The folder {path.parent} cannot be made: {(error.strerror or 'refused').lower()}.") from error
    url = URL.create("sqlite", database=str(path))
    engine = create_engine(url, pool_size=KEPT_OPEN, max_overflow=KEPT_OPEN, pool_timeout=30)
    event.listen(engine, "connect", _set_up)
    event.listen(engine, "begin", _begin)
    return engine


def _make_private(path: Path) -> None:
    """The folder, made where missing, and the database in it: for their owner alone, as measurements of people are.

    What was there before is put right.  A folder that holds other things too stays open to whom it was.
    """
    path.parent.mkdir(parents=True, exist_ok=True, mode=FOLDER_MODE)
    with suppress(PermissionError):
        if all(name.startswith((path.name, PASSING)) for name in os.listdir(path.parent)):
            path.parent.chmod(FOLDER_MODE)
        # Its log and index take the database's mode.
        with suppress(FileExistsError):
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, FILE_MODE))
        for kept in (path, *(path.with_name(path.name + end) for end in ("-wal", "-shm"))):
            if kept.is_file():
                kept.chmod(FILE_MODE)


def passing_folder(records: Records) -> Path:
    """Where files lie that are gone in a moment: beside the records, else where this system keeps such files."""
    place = records.engine.url.database
    return Path(place).parent if records.in_file and place else Path(tempfile.gettempdir())


def passing_file(records: Records, suffix: str) -> Path:
    """A new file for its owner alone, under a name that `tidy` knows."""
    path = passing_folder(records) / f"{PASSING}{os.getpid()}-{secrets.token_hex(8)}{suffix}"
    path.touch(mode=FILE_MODE, exist_ok=False)
    return path


def tidy(records: Records) -> int:
    """Removes what programs that were ended left of such files; how many."""
    left = [path for path in passing_folder(records).glob(f"{PASSING}*") if not _is_at_work(path)]
    for path in left:
        with suppress(OSError):
            shutil.rmtree(path) if path.is_dir() else path.unlink()
    return len(left)


def keep_reserve(records: Records) -> None:
    """Takes some room beside the records, as far as there is any, for the day when the disk is full."""
    path = passing_folder(records) / RESERVE
    if not records.in_file or (path.exists() and path.stat().st_size == RESERVE_BYTES):
        return
    try:
        with open(path, "wb", opener=lambda name, flags: os.open(name, flags, FILE_MODE)) as file:
            # Chance bytes, since some systems keep zeros in no room at all.
            file.write(secrets.token_bytes(RESERVE_BYTES // 24) * 24)
    except OSError:
        path.unlink(missing_ok=True)


@contextmanager
def using_reserve(records: Records) -> Iterator[None]:
    """Gives the kept room away meanwhile."""
    if records.in_file:
        (passing_folder(records) / RESERVE).unlink(missing_ok=True)
    try:
        yield
    finally:
        keep_reserve(records)


def _is_at_work(path: Path) -> bool:
    """Whether the program that made the file still runs; another's file of the last day is left alone."""
    number = path.name.removeprefix(PASSING).partition("-")[0]
    try:
        if os.name == "nt" or not number.isdigit():
            return time.time() - path.stat().st_mtime < 86400
        os.kill(int(number), 0)
    except (ProcessLookupError, FileNotFoundError):
        return False
    except (PermissionError, OverflowError):
        return True
    return True


def _engine_at(url: str | Path) -> Engine:
    from sqlalchemy import create_engine, make_url
    from sqlalchemy.exc import ArgumentError

    try:
        parsed = make_url(str(url))
    except ArgumentError as error:
        raise BadInput("The database is given as postgresql://user@host/name.") from error
    if parsed.get_backend_name() == "sqlite" and parsed.database:
        return _engine_in(Path(parsed.database))
    if parsed.get_backend_name() != "postgresql":
        raise BadInput("The database is a file or postgresql://user@host/name.")
    if parsed.drivername == "postgresql":
        parsed = parsed.set(drivername="postgresql+psycopg")
    try:
        return create_engine(parsed, pool_size=KEPT_OPEN, isolation_level="READ COMMITTED")
    except ModuleNotFoundError as error:
        raise BadInput("For PostgreSQL the package psycopg is needed: install coutil[postgres].") from error


def _set_up(link: Any, _: object) -> None:
    """Transactions are begun by `_begin`, not by the driver."""
    link.isolation_level = None
    cursor = link.cursor()
    for setting in SETTINGS:
        cursor.execute(setting)
    cursor.close()


def _begin(link: Connection) -> None:
    """A writer takes its turn at once, so that what it read before it wrote still holds."""
    writes = link.get_execution_options().get("coutil_writes")
    link.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _migrate(records: Records, migrations: Sequence[Migration]) -> None:
    with records.writing() as link:
        done = _version(link, records)
        if done > len(migrations):
            raise BadInput("These records were written by a newer coutil: use that one, or restore an older backup.")
        for version, migration in enumerate(migrations[done:], start=done + 1):
            migration(link)
            link.execute(records.tables.migrations.insert().values(version=version, applied=now()))


def _version(link: Connection, records: Records) -> int:
    """The version of the database, 0 for an empty one; raises BadInput for a file that is something else's."""
    from sqlalchemy import func, inspect, select

    known = inspect(link).get_table_names()
    if "migrations" not in known:
        if known and records.in_file:
            raise BadInput("This database holds something other than coutil's records.")
        if records.in_file:
            link.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
        return 0
    return link.execute(select(func.max(records.tables.migrations.c.version))).scalar() or 0


def _first_tables(link: Connection) -> None:
    tables().meta.create_all(link)


def _kept_lays(link: Connection) -> None:
    """Lay plans, which were not kept before.  A database that is made today has their tables already."""
    t = tables()
    t.meta.create_all(link, tables=[t.lays, t.lay_data])


def _put_aside(link: Connection) -> None:
    """What is put aside, which was not known before."""
    t = tables()
    t.meta.create_all(link, tables=[t.discarded])


def _kept_drafts(link: Connection) -> None:
    """Drafts of the alteration page, which only the browser kept before, and readings that were tried."""
    t = tables()
    t.meta.create_all(link, tables=[t.drafts, t.draft_steps, t.trials])


def _known_origins(link: Connection) -> None:
    """Where an own base comes from, and photos without what their cameras wrote into them."""
    from sqlalchemy import select

    from coutil.record._photo_marks import without_marks

    t = tables()
    t.meta.create_all(link, tables=[t.base_origins])
    photos = link.execute(select(t.photos.c.id, t.photos.c.kind)).all()
    for photo_id, kind in photos:
        kept = t.photo_data.c.photo_id == photo_id
        data = link.execute(select(t.photo_data.c.data).where(kept)).scalar()
        # One that cannot be read stays as it is: it is the maker's only copy.
        with suppress(BadInput, KeyError):
            clean = without_marks(bytes(data or b""), kind)
            link.execute(t.photo_data.update().where(kept).values(data=clean))
            link.execute(t.photos.update().where(t.photos.c.id == photo_id).values(size=len(clean)))


MIGRATIONS: tuple[Callable[[Any], None], ...] = (_first_tables, _kept_lays, _put_aside, _kept_drafts, _known_origins)


@contextmanager
def _in_words() -> Iterator[None]:
    """Turns what the database says into one sentence."""
    from sqlalchemy.exc import DBAPIError, SQLAlchemyError

    try:
        yield
    except DBAPIError as error:
        if getattr(error.orig, "sqlite_errorname", "") in FULL:
            raise NoRoom("The records cannot be used: the disk is full.") from error
        raise BadInput(f"The records cannot be used: {_reason(str(error.orig))}.") from error
    except SQLAlchemyError as error:
        raise BadInput(f"The records cannot be used: {_reason(str(error))}.") from error
    except OverflowError as error:
        # SQLite's whole numbers have 64 bits; nothing that is kept has such a number.
        raise NotKept("There is nothing under that number.") from error
    except UnicodeEncodeError as error:
        raise BadInput("The text holds half a letter that cannot be kept: type it anew.") from error


def _reason(said: str) -> str:
    """The database's own words on one line, or better ones where they are known."""
    line = " ".join(said.split())[:200].rstrip(".") or "no reason was given"
    known = {
        "file is not a database": "the file is no database",
        "database is locked": "another program has been writing for too long; try again",
        "disk is full": "the disk is full",
        "unable to open": "the file cannot be opened",
        "readonly": "the file may not be written",
        "malformed": "the file is damaged; restore a backup",
    }
    return next((words for part, words in known.items() if part in line), line)
