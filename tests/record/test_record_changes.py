"""Every change names the version it started from; nobody's change is lost."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from record_samples import keep_everything, records_in

from coutil.alter import Override, State, Wishes
from coutil.errors import BadInput
from coutil.measure import Reading
from coutil.record import (
    Amount,
    ChartRecord,
    Client,
    Conflict,
    Fitting,
    NotKept,
    OrderRecord,
    OrderState,
    Records,
    add_chart,
    add_client,
    add_fitting,
    add_order,
    change_chart,
    change_client,
    change_fitting,
    change_order,
    find_chart,
    find_client,
    find_fitting,
    find_order,
    find_revision,
    find_trials,
    repeat_order,
    restore_revision,
)


@pytest.fixture
def records(tmp_path: Path) -> Iterator[Records]:
    with records_in(tmp_path) as kept:
        yield kept


def test_everything_comes_back_as_it_was_kept(records: Records) -> None:
    kept = keep_everything(records)
    assert find_client(records, kept.client.id) == kept.client
    assert find_chart(records, kept.chart.id) == kept.chart
    assert find_order(records, kept.order.id) == kept.order
    assert find_fitting(records, kept.fitting.id) == kept.fitting
    revision = find_revision(records, kept.revision.id)
    assert revision.head == kept.revision
    assert (revision.wishes, revision.chart) == (kept.order.wishes, kept.chart.chart("Contralto"))
    assert (kept.revision.short, kept.revision.passed) == ("r1", False)


def test_a_change_grows_the_version_by_one(records: Records) -> None:
    client = add_client(records, "Tenor")
    changed = change_client(records, client.id, 1, lambda old: replace(old, note="taller than he says"))
    assert isinstance(changed, Client)
    assert (changed.version, changed.note) == (2, "taller than he says")
    assert find_client(records, client.id) == changed


def test_a_change_that_changes_nothing_is_none(records: Records) -> None:
    client = add_client(records, "Tenor")
    assert change_client(records, client.id, 1, lambda old: replace(old, name=" Tenor ")) == client


def test_the_second_writer_is_told_field_by_field(records: Records) -> None:
    client = add_client(records, "Tenor", "stage door", "old note")
    change_client(records, client.id, 1, lambda old: replace(old, contact="box 5", note="their note"))
    answer = change_client(records, client.id, 1, lambda old: replace(old, name="Baritone", note="my note"))
    assert isinstance(answer, Conflict)
    told = {change.name: (change.before, change.mine, change.theirs, change.clashes) for change in answer.fields}
    assert told == {
        "name": ("Tenor", "Baritone", "Tenor", False),
        "contact": ("stage door", "stage door", "box 5", False),
        "note": ("old note", "my note", "their note", True),
    }
    assert answer.version == 2
    assert find_client(records, client.id).name == "Tenor", "a conflict writes nothing"


def test_readings_are_told_one_by_one(records: Records) -> None:
    client = add_client(records, "Tenor")
    chart = add_chart(records, client.id, "2026-10-01", readings={"waist_girth": Reading(800)})

    def with_reading(key: str, mm: float) -> object:
        return lambda old: replace(old, readings={**old.readings, key: Reading(mm)})

    change_chart(records, chart.id, 1, with_reading("bust_girth", 1000))  # type: ignore[arg-type]
    answer = change_chart(records, chart.id, 1, with_reading("waist_girth", 810))  # type: ignore[arg-type]
    assert isinstance(answer, Conflict)
    told = {change.name: change.clashes for change in answer.fields}
    assert told == {"readings.waist_girth": False, "readings.bust_girth": False}
    merged = change_chart(records, chart.id, answer.version, with_reading("waist_girth", 810))  # type: ignore[arg-type]
    assert isinstance(merged, ChartRecord)
    assert {key: reading.value for key, reading in merged.readings.items()} == {"waist_girth": 810, "bust_girth": 1000}


def test_wishes_and_overruled_rows_are_told_one_by_one(records: Records) -> None:
    client = add_client(records, "Tenor")
    order = add_order(records, OrderRecord(0, 1, client.id, "waistcoat"))
    row = Override("side_front", State.LEFT, "sat well")
    change_order(records, order.id, 1, lambda old: replace(old, wishes=Wishes(reduction=50, overrides=(row,))))
    answer = change_order(records, order.id, 1, lambda old: replace(old, wishes=Wishes(lacing_gap=40)))
    assert isinstance(answer, Conflict)
    names = {change.name for change in answer.fields}
    assert names == {"wishes.reduction", "wishes.lacing_gap", "wishes.rows.side_front"}


def test_amounts_of_a_fitting_are_told_by_place(records: Records) -> None:
    kept = keep_everything(records)
    more = Amount("side", "right", "waist", 3.0)
    change_fitting(records, kept.fitting.id, 1, lambda old: replace(old, amounts=(*old.amounts, more)))
    answer = change_fitting(records, kept.fitting.id, 1, lambda old: replace(old, amounts=()))
    assert isinstance(answer, Conflict)
    told = {change.name: (change.mine, change.theirs) for change in answer.fields}
    assert told == {"amounts.side.right.waist": (None, 3.0), "amounts.side.left.waist": (None, -6.5)}


def test_a_version_older_than_those_kept_is_still_refused(records: Records) -> None:
    client = add_client(records, "Tenor")
    for i in range(60):
        change_client(records, client.id, i + 1, lambda old, i=i: replace(old, note=str(i)))  # type: ignore[misc]
    answer = change_client(records, client.id, 1, lambda old: replace(old, name="Baritone"))
    assert isinstance(answer, Conflict)
    assert answer.version == 61
    assert [change.name for change in answer.fields] == ["name"]


def test_of_writers_at_the_same_moment_exactly_one_wins_each_version(records: Records) -> None:
    """Eight windows each add their word to the same note, again and again, as a person who merges would."""
    client = add_client(records, "Tenor")

    def add_word(word: str) -> None:
        version = 1
        while True:
            answer = change_client(records, client.id, version, lambda old: replace(old, note=f"{old.note} {word}"))
            if isinstance(answer, Client):
                return
            version = answer.version

    threads = [threading.Thread(target=add_word, args=(f"w{i}",)) for i in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    kept = find_client(records, client.id)
    assert sorted(kept.note.split()) == [f"w{i}" for i in range(8)]
    assert kept.version == 9


WORDS = st.text(st.characters(exclude_categories=("Cc", "Cs")), max_size=20)
EDITS = st.lists(st.tuples(st.sampled_from(("contact", "note")), WORDS, st.booleans()), max_size=8)


@given(edits=EDITS)
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_series_of_changes_and_stale_changes_loses_one(records: Records, edits: list[tuple[str, str, bool]]) -> None:
    """What is kept is always what the last writer who was let through wrote; a stale writer never gets through."""
    client = add_client(records, "Tenor")
    expected, version = {"contact": "", "note": ""}, 1
    for field, word, stale in edits:
        given = max(version - 1, 0) if stale else version
        answer = change_client(records, client.id, given, lambda old, f=field, w=word: replace(old, **{f: w}))  # type: ignore[misc]
        assert isinstance(answer, Conflict) == stale
        if isinstance(answer, Client):
            expected[field], version = getattr(answer, field), answer.version
    kept = find_client(records, client.id)
    assert (kept.contact, kept.note, kept.version) == (expected["contact"], expected["note"], version)


def test_what_is_not_there_is_said_in_one_sentence(records: Records) -> None:
    with pytest.raises(NotKept, match=r"There is no client 99; it may have been erased\."):
        find_client(records, 99)
    with pytest.raises(NotKept, match="There is no chart 99"):
        change_chart(records, 99, 1, lambda old: old)
    with pytest.raises(NotKept, match="There is no client 5"):
        add_chart(records, 5)


def test_a_faulty_edit_leaves_all_as_it_was(records: Records) -> None:
    client = add_client(records, "Tenor")
    with pytest.raises(BadInput, match="Give the client a name"):
        change_client(records, client.id, 1, lambda old: replace(old, name="  "))
    assert find_client(records, client.id) == client


def test_nobody_gets_another_clients_chart(records: Records) -> None:
    mine, theirs = keep_everything(records), keep_everything(records, "Tenor")
    with pytest.raises(BadInput, match="another client's"):
        change_order(records, mine.order.id, 1, lambda old: replace(old, chart_id=theirs.chart.id))
    assert find_order(records, mine.order.id) == mine.order
    with pytest.raises(BadInput, match="another order's"):
        add_fitting(records, Fitting(0, 1, mine.order.id, revision_id=theirs.revision.id))


def test_going_back_to_a_revision_touches_no_chart(records: Records) -> None:
    kept = keep_everything(records)
    change_chart(records, kept.chart.id, 1, lambda old: replace(old, readings={"bust_girth": Reading(990)}))
    changed = change_order(records, kept.order.id, 1, lambda old: replace(old, base="85-18", wishes=Wishes()))
    assert isinstance(changed, OrderRecord)
    back = restore_revision(records, kept.revision.id, changed.version)
    assert isinstance(back, OrderRecord)
    assert (back.base, back.wishes) == ("80-18", kept.order.wishes)
    assert back.chart_id == kept.chart.id
    assert find_chart(records, kept.chart.id).readings == {"bust_girth": Reading(990)}
    trials = find_trials(records, kept.order.id)
    assert {key: tried for key, (_, tried) in trials.items()} == {
        key: reading.value for key, reading in kept.chart.readings.items()
    }
    assert isinstance(restore_revision(records, kept.revision.id, 1), Conflict)


def test_an_order_is_repeated_on_a_new_chart(records: Records) -> None:
    kept = keep_everything(records)
    chart = add_chart(records, kept.client.id, "2027-10-01")
    again = repeat_order(records, kept.order.id, chart.id)
    assert again.id != kept.order.id
    assert (again.base, again.wishes, again.chart_id) == (kept.order.base, kept.order.wishes, chart.id)
    assert (again.due, again.price, again.state) == ("", "", OrderState.ASKED)
