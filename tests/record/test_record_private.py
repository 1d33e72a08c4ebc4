"""Measurements are for the owner of the machine alone: the modes of files, what passes, bases made of a client."""

from __future__ import annotations

import base64
import os
import sqlite3
import stat
import subprocess
import sys
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest
from record_samples import Kept, keep_everything, records_in

from coutil.errors import BadInput
from coutil.pattern import Style, style_to_json
from coutil.record import (
    PASSING,
    Origin,
    Records,
    add_base,
    add_base_from,
    backup_to,
    bases_from,
    change_client,
    erase_client,
    find_base,
    list_bases,
    list_clients,
    nameless,
    open_records,
    passing_file,
    restore_from,
    tidy,
)
from coutil.record._backup import LONGEST_LOOK_S, archive_to
from coutil.record._packing import LARGEST_UNPACKED, unpacked
from coutil.shipped import shipped_base

MODES = pytest.mark.skipif(os.name == "nt", reason="this system has other rights")


@pytest.fixture
def records(tmp_path: Path) -> Iterator[Records]:
    with records_in(tmp_path / "book") as kept:
        if not kept.in_file:
            pytest.skip("of records in a file")
        yield kept


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


# --- modes -------------------------------------------------------------------------------------------------------


@MODES
def test_folder_and_files_are_for_their_owner_alone(records: Records, tmp_path: Path) -> None:
    keep_everything(records)
    folder = tmp_path / "book"
    assert mode(folder) == 0o700
    assert {mode(path) for path in folder.iterdir()} == {0o600}


@MODES
def test_what_was_open_to_others_is_put_right(records: Records, tmp_path: Path) -> None:
    folder, file = tmp_path / "book", Path(records.engine.url.database or "")
    records.close()
    folder.chmod(0o755)
    file.chmod(0o644)
    again = open_records(file)
    again.close()
    assert (mode(folder), mode(file)) == (0o700, 0o600)


@MODES
def test_a_folder_with_other_things_in_it_stays_open_to_whom_it_was(tmp_path: Path) -> None:
    (tmp_path / "letters.txt").write_text("hello")
    tmp_path.chmod(0o755)
    open_records(tmp_path / "coutil.db").close()
    assert (mode(tmp_path), mode(tmp_path / "coutil.db")) == (0o755, 0o600)


# --- files that pass -----------------------------------------------------------------------------------------------


def test_what_an_ended_program_left_is_tidied(records: Records) -> None:
    own = passing_file(records, ".db")
    ended = subprocess.run([sys.executable, "-c", "import os; print(os.getpid())"], capture_output=True, check=True)
    left = own.with_name(f"{PASSING}{int(ended.stdout)}-abc.db")
    left.write_bytes(b"everything")
    assert tidy(records) == 1
    assert own.exists()
    assert not left.exists()
    own.unlink()


# --- bases made of a client ------------------------------------------------------------------------------------------


def pattern(records: Records, kept: Kept) -> Style:
    """An altered pattern of the client: her chart is its own."""
    chart = kept.chart.chart(kept.client.name)
    return replace(shipped_base("75-22"), title=f"Overbust for {kept.client.name}", base_chart=chart)


def taken(records: Records, kept: Kept, named: bool) -> str:
    style = pattern(records, kept)
    style = style if named else nameless(style, kept.client.name)
    origin = Origin(kept.client.id, kept.order.id, kept.revision.id)
    return add_base_from(records, style, origin).key


def test_a_base_is_taken_without_name_and_date(records: Records) -> None:
    kept = keep_everything(records)
    key = taken(records, kept, named=False)
    style = find_base(records, key)
    assert style.base_chart.name == "an own base"
    assert style.base_chart.taken == ""
    assert kept.client.name not in style_to_json(style)
    assert [base.key for base in bases_from(records, kept.client.id)] == [key]
    assert bases_from(records, kept.client.id + 1) == ()


@pytest.mark.parametrize("named", [False, True])
def test_nothing_of_an_erased_client_is_left_in_any_file(records: Records, tmp_path: Path, named: bool) -> None:
    """Her name and a figure that only she has are looked for in every file, and in what is packed in them."""
    kept = keep_everything(records)
    key = taken(records, kept, named)
    waist = pattern(records, kept).base_chart["waist_girth"]
    marks = (kept.client.name.encode(), f'"waist_girth":{{"value":{waist}'.encode())
    assert any(mark in everything(tmp_path / "book") for mark in marks)
    assert erase_client(records, kept.client.id)
    assert key not in [base.key for base in list_bases(records)]
    records.close()
    for mark in marks:
        assert mark not in everything(tmp_path / "book")


def test_a_base_that_is_kept_loses_name_and_date(records: Records, tmp_path: Path) -> None:
    kept = keep_everything(records)
    key = taken(records, kept, named=True)
    assert kept.client.name in style_to_json(find_base(records, key))
    assert erase_client(records, kept.client.id, with_bases=False)
    style = find_base(records, key)
    assert style.base_chart["waist_girth"] == pattern_waist(style)
    records.close()
    assert kept.client.name.encode() not in everything(tmp_path / "book")


def pattern_waist(style: Style) -> float:
    return style.base_chart.readings["waist_girth"].value


def everything(folder: Path) -> bytes:
    """All files' bytes, and what is packed among them."""
    found = []
    for path in folder.rglob("*"):
        if path.is_file():
            data = path.read_bytes()
            found.append(data)
            at = data.find(b"\x78\x9c")
            while at >= 0:
                with suppress(zlib.error):
                    found.append(zlib.decompressobj().decompress(data[at:]))
                at = data.find(b"\x78\x9c", at + 1)
    return b"\n".join(found)


# --- strange backups --------------------------------------------------------------------------------------------


def still_there(records: Records) -> bool:
    return [row.name for row in list_clients(records)] == ["Contralto"]


def refused(records: Records, path: Path, words: str) -> None:
    """Refused in a sentence; everything is as it was, and can be written to."""
    with pytest.raises(BadInput, match=words):
        restore_from(records, path)
    assert still_there(records)
    erase_client(records, keep_everything(records, "second").client.id)
    assert still_there(records)


def test_an_endless_view_is_refused_at_once(records: Records, tmp_path: Path) -> None:
    keep_everything(records)
    path = tmp_path / "endless.db"
    backup_to(records, path)
    with sqlite3.connect(path) as link:
        link.execute("PRAGMA foreign_keys = OFF")
        columns = [row[1] for row in link.execute("PRAGMA table_info(clients)")]
        link.execute("DROP TABLE clients")
        told = ", ".join(f"x AS {column}" for column in columns)
        endless = "WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n)"
        link.execute(f"CREATE VIEW clients AS {endless} SELECT {told} FROM n")
    link.close()
    refused(records, path, "more than tables")
    assert LONGEST_LOOK_S <= 60


def test_a_trigger_is_refused(records: Records, tmp_path: Path) -> None:
    keep_everything(records)
    path = tmp_path / "trigger.db"
    backup_to(records, path)
    with sqlite3.connect(path) as link:
        link.execute("CREATE TRIGGER t AFTER INSERT ON migrations BEGIN DELETE FROM clients; END")
    link.close()
    refused(records, path, "more than tables")


def test_a_database_with_a_byte_missing_or_broken_is_refused(records: Records, tmp_path: Path) -> None:
    keep_everything(records)
    path = tmp_path / "short.db"
    backup_to(records, path)
    whole = path.read_bytes()
    path.write_bytes(whole[:-1])
    refused(records, path, "damaged|cannot be restored")
    path.write_bytes(whole[:4096] + b"\xff" * 300 + whole[4396:])
    refused(records, path, "damaged|cannot be restored")


def test_an_archive_that_unpacks_to_no_end_is_refused(records: Records, tmp_path: Path) -> None:
    keep_everything(records)
    path = tmp_path / "bomb.zip"
    archive_to(records, path)
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("more.jsonl", b" " * 300_000_000)
    assert path.stat().st_size < 1_000_000
    refused(records, path, "unpacks to more")


@pytest.mark.parametrize(
    ("table", "change"),
    [
        ("revision_data", {"result": {"bytes": "AAAA"}}),
        ("revision_data", {"wishes": "{"}),
        ("revision_data", {"chart": "[]"}),
        ("revisions", {"number": "one"}),
        ("revision_data", {"result": base64.b64encode(zlib.compress(b"{}")).decode()}),
        ("photos", {"kind": "text/html"}),
        ("photos", {"kind": "image/jpeg"}),
        ("photos", {"size": 1}),
        ("photos", {"id": -5}),
        ("photos", {"id": 2**64}),
        ("clients", {"changed": "soon"}),
        ("clients", {"version": 2**70}),
        ("orders", {"base": "own-99"}),
        ("own_bases", {"style": base64.b64encode(zlib.compress(b"{}")).decode()}),
        ("own_bases", {"style": base64.b64encode(zlib.compress(b" " * 200_000_000)).decode()}),
        ("lays", {"remarks": "{"}),
        ("lay_data", {"pdf": "AAAA"}),
        ("changes", {"fields": "AAAA"}),
        ("photo_data", {"data": {"bytes": "AAAA"}}),
        ("charts", {"readings": "{"}),
        ("orders", {"wishes": "{"}),
    ],
)
def test_a_damaged_row_changes_nothing(records: Records, tmp_path: Path, table: str, change: dict[str, object]) -> None:
    kept = keep_everything(records)
    add_base(records, shipped_base("80-18"))
    change_client(records, kept.client.id, 1, lambda old: replace(old, note="changed"))
    path, broken = tmp_path / "whole.zip", tmp_path / "broken.zip"
    archive_to(records, path)
    with zipfile.ZipFile(path) as whole, zipfile.ZipFile(broken, "w") as copy:
        for name in whole.namelist():
            data = whole.read(name)
            if name == f"{table}.jsonl":
                rows = [msgspec.json.decode(line) for line in data.splitlines()]
                assert rows, "nothing was changed"
                data = b"\n".join(msgspec.json.encode({**row, **change}) for row in rows) + b"\n"
            copy.writestr(name, data)
    refused(records, broken, "damaged among its")


@pytest.mark.parametrize("table", ["photo_data", "revision_data", "lay_data"])
def test_what_lies_beside_a_row_must_be_there(records: Records, tmp_path: Path, table: str) -> None:
    keep_everything(records)
    path = tmp_path / "less.db"
    backup_to(records, path)
    with sqlite3.connect(path) as link:
        link.execute(f"DELETE FROM {table}")
    link.close()
    refused(records, path, "damaged among its")


@pytest.mark.parametrize(
    "column",
    [
        "ALTER TABLE clients ADD COLUMN large TEXT AS (hex(zeroblob(200000000)))",
        "ALTER TABLE clients ADD COLUMN large TEXT CHECK (length(hex(zeroblob(200000000))) > 0)",
        "CREATE INDEX large ON clients (id) WHERE length(hex(zeroblob(200000000))) > 0",
    ],
)
def test_a_table_that_works_something_out_is_refused(records: Records, tmp_path: Path, column: str) -> None:
    keep_everything(records)
    path = tmp_path / "computing.db"
    backup_to(records, path)
    with sqlite3.connect(path) as link:
        link.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, 1_000_000_000)
        link.execute(column)
    link.close()
    refused(records, path, "more than tables")


def test_what_unpacks_to_no_end_is_not_unpacked() -> None:
    assert unpacked(zlib.compress(b"plain")) == b"plain"
    for packed in (zlib.compress(b" " * (LARGEST_UNPACKED + 1)), b"\x00\xff", b"", zlib.compress(b"plain")[:-1]):
        with pytest.raises(ValueError, match=r"damaged|more than"):
            unpacked(packed)
