"""Backups spoilt by chance: each is refused in a sentence with nothing changed, or all that it brings can be read.

600 of them with COUTIL_LONG_TESTS=1, 40 without; half are databases, half archives.
"""

from __future__ import annotations

import io
import os
import random
import sqlite3
import zipfile
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest
from record_samples import keep_everything, records_in

from coutil.errors import BadInput
from coutil.record import (
    Records,
    add_base,
    archive_to,
    backup_to,
    change_client,
    export_client,
    find_base,
    list_bases,
    list_clients,
    list_orders,
    restore_from,
)
from coutil.shipped import shipped_base

N_BACKUPS = 600 if os.environ.get("COUTIL_LONG_TESTS") else 40
VALUES = (
    *(None, -1, 0, 1, 2**31, 2**62, 0.5, float("inf"), "", "x", "{", "[]", "{}", "null", "own-7", "80-18", "\x00"),
    *("a" * 70_000, b"", b"\x00\xff", b"x\x9c", b"\xff\xd8\xff", "\u202e"),
)


def spoil_bytes(data: bytes, chance: random.Random) -> bytes:
    """Some bytes changed, or a part cut out."""
    spoilt = bytearray(data)
    if chance.random() < 0.3:
        begin = chance.randrange(len(data))
        del spoilt[begin : begin + chance.randrange(1, 5000)]
    for _ in range(chance.choice((1, 3, 50))):
        spoilt[chance.randrange(len(spoilt))] = chance.randrange(256)
    return bytes(spoilt)


def spoil_database(path: Path, chance: random.Random) -> None:
    """Some cells hold something else."""
    link = sqlite3.connect(path)
    tables = [row[0] for row in link.execute("SELECT name FROM sqlite_master WHERE sql LIKE 'CREATE TABLE%'")]
    for _ in range(chance.choice((1, 1, 2, 5))):
        table = chance.choice([name for name in tables if name != "sqlite_sequence"])
        column = chance.choice([row[1] for row in link.execute(f"PRAGMA table_info({table})")])
        try:
            link.execute(f'UPDATE {table} SET "{column}" = ?', (chance.choice(VALUES),))
        except sqlite3.Error:
            continue
    link.commit()
    link.close()


def spoil_archive(path: Path, chance: random.Random) -> None:
    """Some fields of some rows hold something else."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    for _ in range(chance.choice((1, 1, 2, 5))):
        name = chance.choice([name for name in parts if parts[name].strip()])
        rows = [msgspec.json.decode(line) for line in parts[name].splitlines()]
        row = chance.choice(rows)
        row[chance.choice(list(row))] = chance.choice([value for value in VALUES if not isinstance(value, bytes)])
        parts[name] = b"".join(msgspec.json.encode(row) + b"\n" for row in rows)
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in parts.items():
            archive.writestr(name, data)


def everything(records: Records) -> tuple[object, ...]:
    """All that pages show; raises where something cannot be read."""
    clients = list_clients(records)
    bases = [head.key for head in list_bases(records) if head.own]
    return (
        *(contents(export_client(records, client.id)) for client in clients),
        *(find_base(records, key) for key in bases),
        *list_orders(records, "all"),
    )


def contents(archive: bytes) -> dict[str, bytes]:
    """What lies in an archive, without the time of its making."""
    with zipfile.ZipFile(io.BytesIO(archive)) as found:
        return {name: found.read(name) for name in found.namelist()}


@pytest.mark.parametrize("kind", ["database", "archive"])
def test_a_spoilt_backup_is_refused_or_can_be_read_whole(tmp_path: Path, kind: str) -> None:
    chance, whole, refused = random.Random(1791), tmp_path / "whole", 0
    with records_in(tmp_path / "book") as records:
        kept = keep_everything(records)
        add_base(records, shipped_base("80-18"), "marks", b"<svg/>", ".svg")
        change_client(records, kept.client.id, 1, lambda old: replace(old, note="changed"))
        if kind == "database" and not records.in_file:
            pytest.skip("of records in a file")
        (backup_to if kind == "database" else archive_to)(records, whole)
        before = everything(records)
        for _ in range(N_BACKUPS // 2):
            path = tmp_path / "spoilt"
            path.write_bytes(whole.read_bytes())
            if chance.random() < 0.3:
                path.write_bytes(spoil_bytes(path.read_bytes(), chance))
            else:
                (spoil_database if kind == "database" else spoil_archive)(path, chance)
            try:
                restore_from(records, path)
            except BadInput as error:
                refused += 1
                said = str(error)
                assert len(said) < 300, said
                assert said.isprintable(), said
                assert everything(records) == before
            else:
                everything(records)
                restore_from(records, whole)
    assert refused > N_BACKUPS / 8
