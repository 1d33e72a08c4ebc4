"""On a full disk nothing is lost, and a client can still be erased."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from record_samples import keep_everything, of_a_file, records_in

from coutil.errors import BadInput
from coutil.record import NoRoom, _clients, erase_client, find_client, keep_reserve, list_clients, passing_file, tidy
from coutil.record._engine import RESERVE, RESERVE_BYTES
from helpers.full_disk import run_on_small_disk

# Sixty megabytes: a client with twelve photos of a megabyte, another, then whatever fits.
SCRIPT = f"""
import os, sys
from pathlib import Path
sys.path[:0] = {[str(Path(__file__).parent), str(Path(__file__).parents[1])]!r}
from record_samples import keep_everything
from helpers.photos import png
from coutil.record import (
    add_client, add_photo, erase_client, find_client, find_order, keep_reserve, list_clients, open_records, NoRoom,
)

folder = Path(sys.argv[1])
records = open_records(folder / "coutil.db")
kept = keep_everything(records, "zauberfloete", "zauberfloete")
other = keep_everything(records, "Tenor")
for n in range(12):
    add_photo(records, kept.fitting.id, png(os.urandom(1_000_000)))
if WITH_RESERVE:
    keep_reserve(records)
for size in (1_000_000, 4096, 1):
    try:
        with open(folder / f"full-{{size}}", "wb", buffering=0) as file:
            while file.write(os.urandom(size)):
                pass
    except OSError:
        pass
for _ in range(200):
    try:
        add_client(records, "one more", "x" * 20000)
    except NoRoom as error:
        print(error)
        break
print(os.statvfs(folder).f_bavail)
try:
    print("erased", erase_client(records, kept.client.id))
except NoRoom as error:
    print(error)
    sys.exit()
data = b"".join(path.read_bytes() for path in folder.glob("coutil.db*"))
print("left", data.lower().count(b"zauberfloete"))
print("there", find_order(records, other.order.id) == other.order)
print("reserve", (folder / ".reserve").exists())
"""


@of_a_file
def test_a_client_is_erased_on_a_full_disk(tmp_path: Path) -> None:
    told = run_on_small_disk(SCRIPT.replace("WITH_RESERVE", "True"), tmp_path, 60).splitlines()
    assert told == [
        "The records cannot be used: the disk is full.", "0", "erased True", "left 0", "there True", "reserve True",
    ]  # fmt: skip


@of_a_file
def test_without_the_reserve_it_is_said_that_room_is_needed(tmp_path: Path) -> None:
    told = run_on_small_disk(SCRIPT.replace("WITH_RESERVE", "False"), tmp_path, 60).splitlines()
    assert told[-1] == "The disk is too full to erase all of it: make some room on the disk, and erase again."


@of_a_file
def test_what_is_erased_piece_by_piece_is_all_erased(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    at_once, tried = _clients._erase, list[int]()

    def full_at_first(*arguments: object) -> None:
        tried.append(1)
        if len(tried) == 1:
            raise NoRoom("full")
        at_once(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr(_clients, "_erase", full_at_first)
    with records_in(tmp_path) as records:
        other, kept = keep_everything(records), keep_everything(records, "zauberfloete", "zauberfloete")
        assert erase_client(records, kept.client.id)
        assert [row.name for row in list_clients(records)] == ["Contralto"]
        assert find_client(records, other.client.id) == other.client
        assert not any(b"zauberfloete" in path.read_bytes() for path in tmp_path.glob("coutil.db*"))


@of_a_file
def test_the_reserve_is_private_and_made_once(tmp_path: Path) -> None:
    with records_in(tmp_path) as records:
        keep_reserve(records)
        path = tmp_path / RESERVE
        assert path.stat().st_size == RESERVE_BYTES == 24_000_000
        if sys.platform != "win32":
            assert path.stat().st_mode & 0o777 == 0o600
        first = path.stat().st_mtime_ns
        keep_reserve(records)
        assert path.stat().st_mtime_ns == first


@of_a_file
def test_a_folder_that_an_ended_program_left_is_removed_with_what_is_in_it(tmp_path: Path) -> None:
    with records_in(tmp_path) as records:
        mine = passing_file(records, ".db")
        # No system gives this number to a program.
        left = tmp_path / ".passing-4194999-abc"
        left.mkdir()
        (left / "backup").write_bytes(b"the whole book")
        assert tidy(records) == 1
        assert not left.exists()
        assert mine.exists()


def test_the_disk_is_full_in_one_sentence() -> None:
    assert issubclass(NoRoom, BadInput)
