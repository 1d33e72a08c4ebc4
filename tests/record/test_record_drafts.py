"""Drafts of the alteration page lie with the order: kept step by step, taken up, dropped, erased with the client."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from record_samples import keep_everything, records_in

from coutil.errors import BadInput
from coutil.record import (
    MOST_STEPS,
    Records,
    backup_to,
    book_mark,
    drop_draft,
    erase_client,
    find_draft,
    keep_draft,
    list_drafts,
    open_records,
)
from coutil.record._drafts import MOST_DRAFTS


@pytest.fixture
def records(tmp_path: Path) -> Iterator[Records]:
    with records_in(tmp_path) as kept:
        yield kept


def test_every_book_has_a_mark_of_its_own(records: Records, tmp_path: Path) -> None:
    mark = book_mark(records)
    assert len(mark) == 32
    assert book_mark(records) == mark
    with records_in(tmp_path / "other") as others:
        assert book_mark(others) != mark
    backup_to(records, tmp_path / "backup.db")
    again = open_records(tmp_path / "backup.db")
    assert book_mark(again) == mark, "a backup is the same book"
    again.close()


def test_steps_follow_one_another_and_undone_ones_are_replaced(records: Records) -> None:
    order = keep_everything(records).order.id
    keep_draft(records, order, "window-1", "one", 0, ["a", "b", "c"])
    keep_draft(records, order, "window-1", "two", 2, ["d"])
    found = find_draft(records, order, "window-1")
    assert found is not None
    assert (found.head.head, found.steps) == ("two", ("a", "b", "d"))
    with pytest.raises(BadInput, match="Steps before these are missing"):
        keep_draft(records, order, "window-1", "three", 5, ["e"])
    assert find_draft(records, order, "window-1") == found
    with pytest.raises(BadInput, match=f"No more than {MOST_STEPS} steps"):
        keep_draft(records, order, "window-1", "three", MOST_STEPS, ["e"])
    with pytest.raises(BadInput, match="cannot be read"):
        keep_draft(records, order, "w" * 65, "head", 0, [])


def test_a_draft_is_of_one_order(records: Records) -> None:
    order = keep_everything(records).order.id
    with pytest.raises(BadInput):
        keep_draft(records, order + 99, "window-1", "head", 0, [])
    keep_draft(records, order, "window-1", "head", 0, ["a"])
    assert find_draft(records, order + 99, "window-1") is None
    drop_draft(records, order + 99, "window-1")
    assert [one.window for one in list_drafts(records, order)] == ["window-1"]
    drop_draft(records, order, "window-1")
    assert list_drafts(records, order) == ()
    assert find_draft(records, order, "window-1") is None


def test_the_newest_comes_first_and_the_oldest_goes(records: Records) -> None:
    order = keep_everything(records).order.id
    for i in range(MOST_DRAFTS + 3):
        keep_draft(records, order, f"window-{i}", "head", 0, ["a"])
    keep_draft(records, order, "window-5", "head", 1, [])
    windows = [one.window for one in list_drafts(records, order)]
    assert windows[:2] == ["window-5", f"window-{MOST_DRAFTS + 2}"]
    assert len(windows) == MOST_DRAFTS
    assert "window-0" not in windows


def test_drafts_are_erased_with_their_client(records: Records, tmp_path: Path) -> None:
    kept = keep_everything(records)
    keep_draft(records, kept.order.id, "window-1", '{"bust": "987654321.5"}', 0, ["step 987654321.5"])
    erase_client(records, kept.client.id)
    assert list_drafts(records, kept.order.id) == ()
    records.close()
    for path in tmp_path.rglob("*"):
        assert not path.is_file() or b"987654321.5" not in path.read_bytes(), path


@settings(max_examples=30, deadline=None)
@given(edits=st.lists(st.tuples(st.integers(0, 6), st.lists(st.text(max_size=5), max_size=3)), max_size=12))
def test_what_is_kept_is_what_a_list_would_be(edits: list[tuple[int, list[str]]], tmp_path_factory) -> None:
    with records_in(tmp_path_factory.mktemp("drafts")) as records:
        order, model = keep_everything(records).order.id, list[str]()
        keep_draft(records, order, "window-1", "", 0, [])
        for wanted, steps in edits:
            first = min(wanted, len(model))
            model = [*model[:first], *steps]
            keep_draft(records, order, "window-1", "", first, steps)
        found = find_draft(records, order, "window-1")
        assert found is not None
        assert list(found.steps) == model
