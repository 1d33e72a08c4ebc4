"""A backup holds everything and comes back whole, or not at all."""

from __future__ import annotations

import json
import sqlite3
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from record_samples import keep_everything, of_a_file, records_in

from coutil.errors import BadInput
from coutil.record import (
    LAY_PAPERS,
    Records,
    add_base,
    add_client,
    archive_to,
    backup_suffix,
    backup_to,
    export_client,
    find_base,
    find_client,
    find_fitting,
    find_lay,
    find_order,
    find_revision,
    keep_setting,
    lay_paper,
    list_bases,
    list_clients,
    list_lays,
    open_records,
    photo_bytes,
    read_setting,
    restore_from,
)
from coutil.shipped import base_names, shipped_base
from helpers.photos import png

FIRST = b'{"format":"coutil-backup","version":1}'
Backup = Callable[[Records, Path], None]


@pytest.fixture
def records(tmp_path: Path) -> Iterator[Records]:
    with records_in(tmp_path / "here") as kept:
        yield kept


@pytest.mark.parametrize("backup", [backup_to, archive_to])
def test_a_backup_comes_back_whole_in_other_records(records: Records, tmp_path: Path, backup: Backup) -> None:
    kept = keep_everything(records)
    base = add_base(records, shipped_base("80-18"), "marks", b"<svg/>", ".svg")
    keep_setting(records, "author", "Ada")
    backup(records, tmp_path / "backup")
    with records_in(tmp_path / "there") as others:
        add_client(others, "Whoever was there before")
        restore_from(others, tmp_path / "backup")
        assert [row.name for row in list_clients(others)] == ["Contralto"]
        assert find_client(others, kept.client.id) == kept.client
        assert find_order(others, kept.order.id) == kept.order
        assert find_fitting(others, kept.fitting.id) == kept.fitting
        assert find_revision(others, kept.revision.id) == find_revision(records, kept.revision.id)
        assert photo_bytes(others, kept.photo.id) == ("image/png", png(b"plain" * 50))
        assert find_lay(others, kept.lay.id) == kept.lay
        assert lay_paper(others, kept.lay.id, "svg") == b"plain svg"
        assert find_base(others, base.key) == shipped_base("80-18")
        assert read_setting(others, "author") == "Ada"
        assert add_client(others, "Tenor").id > kept.client.id


def test_an_archive_made_before_lay_plans_were_kept_comes_back(records: Records, tmp_path: Path) -> None:
    kept = keep_everything(records)
    path = tmp_path / "backup"
    archive_to(records, path)
    rewrite(path, {"lays.jsonl": None, "lay_data.jsonl": None, "backup.json": FIRST})
    restore_from(records, path)
    assert find_order(records, kept.order.id) == kept.order
    assert list_lays(records, kept.revision.id) == ()


@pytest.mark.parametrize(
    "parts",
    [
        {"lays.jsonl": None},
        {"charts.jsonl": None, "backup.json": FIRST},
        {"backup.json": b'{"format":"coutil-backup","version":99}'},
        {"backup.json": b'{"format":"coutil-backup","version":"two"}'},
    ],
)
def test_an_archive_that_lacks_a_table_or_is_newer_changes_nothing(
    records: Records, tmp_path: Path, parts: dict[str, bytes | None]
) -> None:
    kept = keep_everything(records)
    archive_to(records, tmp_path / "backup")
    rewrite(tmp_path / "backup", parts)
    with pytest.raises(BadInput):
        restore_from(records, tmp_path / "backup")
    assert find_lay(records, kept.lay.id) == kept.lay


def rewrite(path: Path, parts: dict[str, bytes | None]) -> None:
    """Puts other parts into an archive; None takes one out."""
    with zipfile.ZipFile(path) as archive:
        kept: dict[str, bytes | None] = {name: archive.read(name) for name in archive.namelist()}
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in (kept | parts).items():
            if data is not None:
                archive.writestr(name, data)


@of_a_file
def test_a_backup_is_one_file_that_opens_by_itself(records: Records, tmp_path: Path) -> None:
    keep_everything(records)
    folder = tmp_path / "backups"
    folder.mkdir()
    backup_to(records, folder / "backup.db")
    assert [path.name for path in folder.iterdir()] == ["backup.db"]
    assert backup_suffix(records) == ".db"
    again = open_records(folder / "backup.db")
    assert len(list_clients(again)) == 1
    again.close()


def wrong_files() -> dict[str, Callable[[Path, Records], None]]:
    """What is no backup, or a damaged one."""

    def of_bytes(data: bytes) -> Callable[[Path, Records], None]:
        return lambda path, _: path.write_bytes(data) and None  # type: ignore[func-returns-value]

    def other_database(path: Path, _: Records) -> None:
        link = sqlite3.connect(path)
        link.execute("create table recipes (name text)")
        link.close()

    def newer(path: Path, records: Records) -> None:
        open_records(path).close()
        link = sqlite3.connect(path)
        link.execute("insert into migrations values (99, '')")
        link.commit()
        link.close()

    def cut_short(path: Path, records: Records) -> None:
        archive_to(records, path)
        path.write_bytes(path.read_bytes()[:-200])

    def spoilt(path: Path, records: Records) -> None:
        archive_to(records, path)
        with zipfile.ZipFile(path) as archive:
            row = json.loads(archive.read("charts.jsonl"))
        rewrite(path, {"charts.jsonl": json.dumps({**row, "readings": '{"elbow": {"value": 1}}'}).encode()})

    return {
        "nothing": of_bytes(b""),
        "a picture": of_bytes(png(b"x" * 100)),
        "half a database": of_bytes(b"SQLite format 3\0" + b"\xff" * 5000),
        "half a zip": of_bytes(b"PK\x03\x04" + b"x" * 100),
        "another database": other_database,
        "a newer version": newer,
        "a zip cut short": cut_short,
        "a spoilt row": spoilt,
    }


@pytest.mark.parametrize("what", wrong_files())
def test_what_is_no_backup_changes_nothing(records: Records, tmp_path: Path, what: str) -> None:
    kept = keep_everything(records)
    path = tmp_path / "wrong"
    wrong_files()[what](path, records)
    with pytest.raises(BadInput) as told:
        restore_from(records, path)
    assert str(told.value).count(".") <= 2
    assert "Traceback" not in str(told.value)
    assert find_order(records, kept.order.id) == kept.order
    assert [row.name for row in list_clients(records)] == ["Contralto"]


def test_an_export_can_be_read_without_the_program(records: Records, tmp_path: Path) -> None:
    kept = keep_everything(records)
    keep_everything(records, "Somebody else", "elsewhere")
    path = tmp_path / "export.zip"
    path.write_bytes(export_client(records, kept.client.id))
    with zipfile.ZipFile(path) as archive:
        told = json.loads(archive.read("client.json"))
        names = set(archive.namelist())
        assert archive.read(f"photos/{kept.photo.id}.png") == png(b"plain" * 50)
        result = json.loads(archive.read(f"results/{kept.revision.id}.json"))
        assert result["base"]["provenance"]["text"] == "plain"
        chart = json.loads(archive.read(f"charts/{kept.chart.id}.json"))
        everything = b"".join(archive.read(name) for name in names)
    assert told["client"]["name"] == "Contralto"
    assert told["orders"][0]["wishes"]["reduction"] == 60.0
    assert told["orders"][0]["revisions"][0]["short"] == "r1"
    assert told["orders"][0]["fittings"][0]["amounts"] == [
        {"seam": "side", "side": "left", "level": "waist", "mm": -6.5}
    ]
    assert chart["measurements"]["bust_girth"] == 980
    assert b"elsewhere" not in everything
    assert f"lays/{kept.lay.id}.pdf" in names
    assert len(names) == 4 + len(LAY_PAPERS)


def test_shipped_bases_are_listed_and_never_copied(records: Records) -> None:
    assert [head.key for head in list_bases(records)] == list(base_names())
    assert "80-18" in base_names()
    assert find_base(records, "80-18") == shipped_base("80-18")
    with records.reading() as link:
        assert link.execute(records.tables.own_bases.select()).all() == []
