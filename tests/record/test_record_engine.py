"""The database itself: how it is opened, brought up to date, and what it does with what is none of its own."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from record_samples import of_a_file, records_in

from coutil.errors import BadInput
from coutil.record import add_client, list_clients, open_records
from coutil.record._engine import MIGRATIONS, open_with


@of_a_file
def test_the_file_waits_for_the_disk_and_overwrites_what_is_deleted(tmp_path: Path) -> None:
    with records_in(tmp_path) as records, records.reading() as link:
        settings = {
            name: link.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "synchronous", "secure_delete", "auto_vacuum", "foreign_keys")
        }
    safe = {"journal_mode": "wal", "synchronous": 2, "secure_delete": 1, "auto_vacuum": 2, "foreign_keys": 1}
    assert settings == safe


def test_opening_again_changes_nothing(tmp_path: Path) -> None:
    with records_in(tmp_path) as records:
        client = add_client(records, "Tenor")
    with records_in(tmp_path) as records:
        assert [row.id for row in list_clients(records)] == [client.id]


@of_a_file
def test_a_newer_program_adds_its_steps_once_and_an_older_one_refuses(tmp_path: Path) -> None:
    def shoes(link: Any) -> None:
        link.exec_driver_sql("ALTER TABLE clients ADD COLUMN shoe TEXT NOT NULL DEFAULT ''")

    with records_in(tmp_path) as records:
        add_client(records, "Tenor")
    for _ in range(2):
        newer = open_with(tmp_path / "coutil.db", (*MIGRATIONS, shoes))
        with newer.reading() as link:
            assert link.exec_driver_sql("SELECT name, shoe FROM clients").all() == [("Tenor", "")]
            versions = link.exec_driver_sql("SELECT version FROM migrations").scalars().all()
            assert versions == [*range(1, len(MIGRATIONS) + 2)]
        newer.close()
    with pytest.raises(BadInput, match="written by a newer coutil"):
        open_records(tmp_path / "coutil.db")


@of_a_file
def test_a_step_that_fails_leaves_the_old_version(tmp_path: Path) -> None:
    def half(link: Any) -> None:
        link.exec_driver_sql("CREATE TABLE shoes (id INTEGER)")
        link.exec_driver_sql("SELECT * FROM nowhere")

    with records_in(tmp_path) as records:
        add_client(records, "Tenor")
    with pytest.raises(BadInput, match="cannot be used"):
        open_with(tmp_path / "coutil.db", (*MIGRATIONS, half))
    with records_in(tmp_path) as records, records.reading() as link:
        assert "shoes" not in link.exec_driver_sql("SELECT name FROM sqlite_master").scalars().all()


@pytest.mark.parametrize(
    ("place", "sentence"),
    [
        ("mysql://host/name", r"a file or postgresql://"),
        ("://", "given as postgresql"),
        ("postgresql://nobody@127.0.0.1:1/none", "cannot be used|psycopg is needed"),
    ],
)
def test_no_such_database(place: str, sentence: str) -> None:
    with pytest.raises(BadInput, match=sentence):
        open_records(place)


def test_a_file_that_is_something_else(tmp_path: Path) -> None:
    (tmp_path / "text.db").write_text("no database at all, but text of some length " * 30)
    with pytest.raises(BadInput, match="the file is no database"):
        open_records(tmp_path / "text.db")
    link = sqlite3.connect(tmp_path / "other.db")
    link.execute("create table recipes (name text)")
    link.close()
    with pytest.raises(BadInput, match="something other than coutil's records"):
        open_records(tmp_path / "other.db")
    (tmp_path / "file").write_text("")
    with pytest.raises(BadInput, match=r"folder .* cannot be made"):
        open_records(tmp_path / "file" / "coutil.db")


def test_the_room_loads_no_database_library_before_it_opens_one() -> None:
    script = "import sys, coutil.record; print('sqlalchemy' in sys.modules)"
    root = str(Path(__file__).parents[2] / "src")
    environment = {**os.environ, "PYTHONPATH": root}
    told = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, env=environment)
    assert told.stdout.strip() == "False"


def test_records_of_the_first_version_get_their_tables_for_lay_plans(tmp_path: Path) -> None:
    old = open_with(tmp_path / "coutil.db", MIGRATIONS[:1])
    with old.writing() as link:
        for table in ("lay_data", "lays"):
            link.exec_driver_sql(f"DROP TABLE {table}")
    add_client(old, "Tenor")
    old.close()
    newer = open_records(tmp_path / "coutil.db")
    with newer.reading() as link:
        assert link.exec_driver_sql("SELECT count(*) FROM lays").scalar() == 0
        assert link.exec_driver_sql("SELECT name FROM clients").scalars().all() == ["Tenor"]
    newer.close()
