"""Erasing a client leaves nothing of it: in no table, and in no byte of the files."""

from __future__ import annotations

import random
import zlib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from record_samples import Kept, keep_everything, of_a_file, records_in, worked_out
from sqlalchemy import func, select

from coutil.record import (
    NotKept,
    Records,
    add_photo,
    change_chart,
    change_client,
    change_fitting,
    change_order,
    erase_client,
    find_client,
    find_revision,
    list_clients,
    remove_photo,
)
from helpers.photos import png

MARK = "zauberfloete"
OTHER = "other-client"


@pytest.fixture
def records(tmp_path: Path) -> Iterator[Records]:
    with records_in(tmp_path) as kept:
        yield kept


def bytes_of(folder: Path) -> bytes:
    """All bytes of the database's files."""
    return b"".join(path.read_bytes() for path in sorted(folder.iterdir()))


def busy(records: Records, kept: Kept) -> None:
    """Changes everything several times, so that earlier versions are kept too."""
    for i in range(5):
        word = f"{MARK} {i} " * 40
        change_client(records, kept.client.id, i + 1, lambda old, w=word: replace(old, note=w))  # type: ignore[misc]
        change_chart(records, kept.chart.id, i + 1, lambda old, w=word: replace(old, note=w))  # type: ignore[misc]
        change_order(records, kept.order.id, i + 1, lambda old, w=word: replace(old, note=w))  # type: ignore[misc]
        change_fitting(records, kept.fitting.id, i + 1, lambda old, w=word: replace(old, remarks=w))  # type: ignore[misc]


@of_a_file
def test_nothing_of_the_client_is_left_in_any_byte(records: Records, tmp_path: Path) -> None:
    others = [keep_everything(records, f"Chorus {i}", OTHER) for i in range(30)]
    kept = keep_everything(records, f"{MARK} the client", MARK)
    more = [keep_everything(records, f"Understudy {i}", OTHER) for i in range(30)]
    busy(records, kept)
    noise = random.Random(5).randbytes(400_000)
    add_photo(records, kept.fitting.id, png(noise), f"{MARK} photo")
    packed = zlib.compress(find_revision(records, kept.revision.id).result_text.encode(), 6)
    before = bytes_of(tmp_path)
    assert MARK.encode() in before
    assert noise[100_000:100_064] in before
    assert erase_client(records, kept.client.id)
    after = bytes_of(tmp_path)
    assert MARK.encode() not in after
    assert MARK.encode() not in after.lower()
    assert not any(noise[i : i + 48] in after for i in range(0, len(noise) - 48, 500))
    # The first bytes of a packed result are the same for all; its end, with the checksum, is its own.
    assert packed[-12:] not in after
    assert OTHER.encode() in after
    assert find_client(records, others[0].client.id) == others[0].client
    assert find_client(records, more[-1].client.id) == more[-1].client


def test_nothing_of_the_client_is_left_in_any_table(records: Records) -> None:
    keep_everything(records)
    first = counts(records)
    kept = keep_everything(records, "Tenor")
    busy(records, kept)
    erase_client(records, kept.client.id)
    assert counts(records) == first
    assert [row.name for row in list_clients(records)] == ["Contralto"]


def counts(records: Records) -> dict[str, int]:
    with records.reading() as link:
        found = {t.name: link.execute(select(func.count()).select_from(t)).scalar() for t in records.tables.kept()}
    return {name: count or 0 for name, count in found.items()}


def test_the_file_gets_smaller(records: Records, tmp_path: Path) -> None:
    kept = keep_everything(records)
    keep_everything(records, "Tenor")
    for i in range(4):
        add_photo(records, kept.fitting.id, png(random.Random(i).randbytes(500_000)))
    assert erase_client(records, kept.client.id)
    assert len(bytes_of(tmp_path)) < 500_000


def test_a_number_is_never_given_twice(records: Records) -> None:
    """A sheet printed for an erased order never fits another order by chance."""
    kept = keep_everything(records)
    erase_client(records, kept.client.id)
    again = keep_everything(records, "Tenor")
    assert again.client.id > kept.client.id
    assert again.order.id > kept.order.id
    assert again.revision.id > kept.revision.id


def test_erasing_waits_for_nobody_for_ever(records: Records, tmp_path: Path) -> None:
    """While another window reads, the rows are gone, and it is said that the file is not tidied yet."""
    kept = keep_everything(records, MARK, MARK)
    with records.reading() as link:
        link.execute(select(func.count()).select_from(records.tables.clients)).scalar()
        assert not erase_client(records, kept.client.id)
    assert list_clients(records) == ()
    assert erase_client(records, keep_everything(records, "Tenor").client.id)
    assert MARK.encode() not in bytes_of(tmp_path)


def test_a_photo_is_erased_alone(records: Records, tmp_path: Path) -> None:
    kept = keep_everything(records)
    noise = random.Random(7).randbytes(50_000)
    photo = add_photo(records, kept.fitting.id, png(noise))
    remove_photo(records, photo.id)
    assert noise[2000:2064] not in bytes_of(tmp_path)
    remove_photo(records, photo.id)


def test_whom_nobody_knows_cannot_be_erased(records: Records) -> None:
    with pytest.raises(NotKept, match="There is no client 4"):
        erase_client(records, 4)


@of_a_file
def test_a_real_result_goes_too(records: Records, tmp_path: Path) -> None:
    from coutil.record import add_revision

    text, wishes, chart = worked_out(60.0)
    kept = keep_everything(records)
    words = {"base": "75-22", "wishes": wishes, "chart": chart, "failed_checks": 0}
    head = add_revision(records, kept.order.id, result_text=text, **words)  # type: ignore[arg-type]
    assert find_revision(records, head.id).result_text == text
    packed = zlib.compress(text.encode(), 6)
    assert packed[5000:5064] in bytes_of(tmp_path)
    assert erase_client(records, kept.client.id)
    left = bytes_of(tmp_path)
    assert not any(packed[i : i + 40] in left for i in range(100, len(packed) - 40, 200))
