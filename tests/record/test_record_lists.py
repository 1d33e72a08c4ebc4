"""Lists and searches: what they find, in which order, and that they stay quick however much is kept."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from record_samples import keep_everything, of_a_file, records_in
from sqlalchemy import Select
from sqlalchemy.dialects import sqlite

from coutil.record import (
    PAGE,
    OrderRecord,
    OrderState,
    Records,
    add_client,
    add_order,
    change_order,
    count_clients,
    count_orders,
    list_clients,
    list_orders,
    list_revisions,
)
from coutil.record._clients import clients_query
from coutil.record._orders import orders_query

N_CLIENTS = 5_000
N_REVISIONS = 20


@pytest.fixture
def records(tmp_path: Path) -> Iterator[Records]:
    with records_in(tmp_path) as kept:
        yield kept


def test_names_are_found_without_accents_and_capitals_and_in_any_part(records: Records) -> None:
    for name in ("Änne Größe", "Zoë", "anna", "O'Hara 100%_"):
        add_client(records, name, "stage door 7" if name == "Zoë" else "")
    assert [row.name for row in list_clients(records)] == ["anna", "Änne Größe", "O'Hara 100%_", "Zoë"]
    assert [row.name for row in list_clients(records, "GROSSE")] == ["Änne Größe"]
    assert [row.name for row in list_clients(records, "zoe")] == ["Zoë"]
    assert [row.name for row in list_clients(records, "door stage")] == ["Zoë"]
    assert [row.name for row in list_clients(records, "0%_")] == ["O'Hara 100%_"]
    assert list_clients(records, "%") == list_clients(records, "100%")
    assert count_clients(records, "an") == 2


def test_a_long_list_comes_in_pages(records: Records) -> None:
    for i in range(PAGE + 3):
        add_client(records, f"Chorus {i:03}")
    first, second = list_clients(records), list_clients(records, page=1)
    assert (len(first), len(second), list_clients(records, page=2)) == (PAGE, 3, ())
    assert [row.name for row in (*first, *second)] == [f"Chorus {i:03}" for i in range(PAGE + 3)]


def test_orders_come_by_the_day_they_are_due_and_closed_ones_only_when_asked(records: Records) -> None:
    client = add_client(records, "Tenor")
    for title, due in (("no day", ""), ("late", "2027-01-01"), ("soon", "2026-12-01"), ("done", "2026-01-01")):
        add_order(records, OrderRecord(0, 1, client.id, title, due=due))
    done = next(row for row in list_orders(records) if row.title == "done")
    from dataclasses import replace

    change_order(records, done.id, 1, lambda old: replace(old, state=OrderState.HANDED_OVER))
    assert [row.title for row in list_orders(records)] == ["soon", "late", "no day"]
    assert [row.title for row in list_orders(records, "all")] == ["done", "soon", "late", "no day"]
    assert (count_orders(records), count_orders(records, "all"), count_orders(records, words="bass")) == (3, 4, 0)
    assert list_orders(records, "all", "ten")[0].client == "Tenor"


def test_a_client_and_an_order_tell_what_came_of_them(records: Records) -> None:
    kept = keep_everything(records)
    assert [(row.n_orders, row.last_order) for row in list_clients(records)] == [(1, kept.order.created)]
    assert [(row.last_revision, row.base) for row in list_orders(records)] == [(1, "80-18")]


def plan_of(records: Records, query: Select[Any]) -> str:
    """How the database will find the rows."""
    text = str(query.compile(dialect=sqlite.dialect(), compile_kwargs={"literal_binds": True}))
    with records.reading() as link:
        return "\n".join(str(row[-1]) for row in link.exec_driver_sql(f"EXPLAIN QUERY PLAN {text}"))


@of_a_file
def test_lists_walk_along_indexes_and_sort_nothing(records: Records) -> None:
    plan = plan_of(records, clients_query(records))
    assert "USING INDEX clients_by_name" in plan
    assert "orders_by_client" in plan
    assert "TEMP B-TREE" not in plan
    plan = plan_of(records, orders_query(records))
    assert "orders_open_by_due" in plan
    assert "revisions_by_order" in plan or "USING COVERING INDEX sqlite_autoindex_revisions" in plan
    assert "orders_by_client" in plan_of(records, orders_query(records, "all", client_id=1))


def test_lists_never_touch_what_is_long(records: Records) -> None:
    for query in (clients_query(records, "a"), orders_query(records, "all", "a")):
        text = str(query)
        for long in ("revision_data", "photo_data", "wishes", "readings", "note"):
            assert long not in text


def many(records: Records) -> None:
    """The house of a busy life: 5,000 clients, an order each, 20 revisions each."""
    t = records.tables
    when = "2026-01-01T00:00:00.000000+00:00"
    dates = {"created": when, "changed": when, "version": 1}
    names = [f"{first} {i:05}" for i in range(N_CLIENTS) for first in (("Anna", "Otto", "Zita", "Karl")[i % 4],)]
    clients = [
        {"id": i + 1, "name": name, "contact": f"street {i}", "note": "", "name_key": name.lower(),
         "search": f"{name.lower()} street {i}", **dates}
        for i, name in enumerate(names)
    ]  # fmt: skip
    orders = [
        {"id": i + 1, "client_id": i + 1, "chart_id": None, "title": f"corset {i}", "base": "80-18", "wishes": "{}",
         "making": "{}", "wear": "", "due": f"2026-{i % 12 + 1:02}-{i % 28 + 1:02}", "price": "", "state": "asked",
         "note": "", "is_open": i % 2, **dates}
        for i in range(N_CLIENTS)
    ]  # fmt: skip
    revisions = [
        {"id": i * N_REVISIONS + n + 1, "order_id": i + 1, "number": n + 1, "author": "Ada", "note": f"state {n}",
         "base": "80-18", "passed": 1, "failed_checks": 0, "created": when}
        for i in range(N_CLIENTS)
        for n in range(N_REVISIONS)
    ]  # fmt: skip
    with records.writing() as link:
        link.execute(t.clients.insert(), clients)
        link.execute(t.orders.insert(), orders)
        link.execute(t.revisions.insert(), revisions)


def test_five_thousand_clients_with_twenty_revisions_each(records: Records, capsys: pytest.CaptureFixture[str]) -> None:
    """Times are printed, not held: the machine may be busy.  Held is that every page is full and right."""
    many(records)
    looks = {
        "first page of clients": lambda: list_clients(records),
        "last page of clients": lambda: list_clients(records, page=N_CLIENTS // PAGE - 1),
        "search for a part of a name": lambda: list_clients(records, "ita 02"),
        "search for nobody": lambda: list_clients(records, "nobody at all"),
        "number of clients": lambda: count_clients(records),
        "open orders": lambda: list_orders(records),
        "all orders, a late page": lambda: list_orders(records, "all", page=80),
        "orders of a name": lambda: list_orders(records, "all", "karl 04"),
        "revisions of an order": lambda: list_revisions(records, 2500),
    }
    found = {}
    with capsys.disabled():
        for name, look in looks.items():
            begun = time.perf_counter()
            found[name] = look()
            print(f"\n  {name}: {(time.perf_counter() - begun) * 1000:.1f} ms", end="")
        print()
    assert found["number of clients"] == N_CLIENTS
    assert len(found["first page of clients"]) == len(found["last page of clients"]) == PAGE  # type: ignore[arg-type]
    assert {row.last_revision for row in found["open orders"]} == {N_REVISIONS}  # type: ignore[attr-defined]
    assert found["search for nobody"] == ()
    assert len(found["revisions of an order"]) == N_REVISIONS  # type: ignore[arg-type]
