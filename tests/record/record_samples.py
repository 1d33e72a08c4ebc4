"""Records to try things on: a fresh database, a client with everything that can be kept, and one real result."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest
from sqlalchemy import Connection, NullPool, create_engine, make_url

from coutil import job
from coutil.alter import Alterer, Override, State, Wishes
from coutil.measure import Chart, Reading
from coutil.record import (
    LAY_PAPERS,
    Amount,
    ChartRecord,
    Client,
    Fitting,
    LayRecord,
    OrderRecord,
    Photo,
    Records,
    RevisionHead,
    add_chart,
    add_client,
    add_fitting,
    add_lay,
    add_order,
    add_photo,
    add_revision,
    open_records,
)
from coutil.result_file import result_to_json
from coutil.shipped import demo_clients, shipped_base
from helpers.photos import png

# A server to run the tests of records against, as postgresql://user@host/database; without it SQLite is used.
POSTGRES = os.environ.get("COUTIL_TEST_POSTGRES", "")
OURS = "coutil_test_"

of_a_file = pytest.mark.skipif(bool(POSTGRES), reason="this is about the file of SQLite")


READINGS = {
    "bust_girth": Reading(980.0),
    "waist_girth": Reading.of_repeats((705.0, 707.0, 706.0)),
    "waist_to_lap_left": Reading(192.0, "estimated"),
}


@dataclass(frozen=True)
class Kept:
    """A client with one of everything."""

    client: Client
    chart: ChartRecord
    order: OrderRecord
    revision: RevisionHead
    fitting: Fitting
    photo: Photo
    lay: LayRecord


@contextmanager
def records_in(folder: Path) -> Iterator[Records]:
    """Fresh records in a folder, closed afterwards; in PostgreSQL, where it is named, a schema for the folder."""
    records = open_records(_database_of(folder) if POSTGRES else folder / "coutil.db")
    try:
        yield records
    finally:
        records.close()


def _database_of(folder: Path) -> str:
    """The URL of a schema of the folder's own, made where it is missing."""
    name = OURS + hashlib.sha256(str(folder).encode()).hexdigest()[:16]
    with connected() as link:
        link.exec_driver_sql(f"CREATE SCHEMA IF NOT EXISTS {name}")
    url = make_url(POSTGRES).update_query_dict({"options": f"-csearch_path={name}"})
    return url.render_as_string(hide_password=False)


@contextmanager
def connected() -> Iterator[Connection]:
    """The server that COUTIL_TEST_POSTGRES names, each statement at once."""
    url = make_url(POSTGRES).set(drivername="postgresql+psycopg")
    engine = create_engine(url, isolation_level="AUTOCOMMIT", poolclass=NullPool)
    with engine.connect() as link:
        yield link


def drop_schemas() -> None:
    """Takes away what the tests have made."""
    with connected() as link:
        names = link.exec_driver_sql(f"SELECT nspname FROM pg_namespace WHERE nspname LIKE '{OURS}%%'").scalars().all()
        for name in names:
            link.exec_driver_sql(f"DROP SCHEMA {name} CASCADE")


def keep_everything(records: Records, name: str = "Contralto", mark: str = "plain") -> Kept:
    """A client with one of everything; `mark` stands in every text that can hold one."""
    client = add_client(records, name, f"contact {mark}", f"note {mark}")
    chart = add_chart(records, client.id, "2026-10-01", f"worn {mark}", f"chart note {mark}", READINGS)
    wishes = Wishes(reduction=60.0, overrides=(Override("side_front", State.LEFT, f"why {mark}"),))
    wanted = OrderRecord(
        0, 1, client.id, f"title {mark}", "80-18", chart.id, wishes, {"closure": "busk"}, f"wear {mark}", "2026-12-24",
        f"price {mark}", note=f"order note {mark}",
    )  # fmt: skip
    order = add_order(records, wanted)
    revision = add_revision(
        records, order.id, base="80-18", wishes=wishes, chart=chart.chart(name), result_text=_result(mark),
        failed_checks=1, note=f"revision note {mark}", author=f"author {mark}",
    )  # fmt: skip
    amount = Amount("side", "left", "waist", -6.5)
    fitting = add_fitting(records, Fitting(0, 1, order.id, "2026-11-02", revision.id, f"remarks {mark}", (amount,)))
    photo = add_photo(records, fitting.id, png(mark.encode() * 50), f"caption {mark}")
    papers = {name: f"{mark} {name}".encode() for name in LAY_PAPERS}
    lay = add_lay(records, revision.id, f"lay {mark}", 1234.5, 71.5, papers, (f"remark {mark}",))
    return Kept(client, chart, order, revision, fitting, photo, lay)


def _result(mark: str) -> str:
    """A real result with the mark in the words about its base."""
    found = json.loads(worked_out(60.0)[0])
    found["base"]["provenance"]["text"] = mark
    return json.dumps(found)


@cache
def contralto() -> Chart:
    """The chart of an invented client."""
    return demo_clients()["contralto"]


@cache
def worked_out(reduction: float) -> tuple[str, Wishes, Chart]:
    """A real result for the contralto with that reduction, mm, without steps; its wishes and its chart."""
    wishes = Wishes(reduction=reduction)
    alteration = Alterer(shipped_base("75-22")).alter(contralto(), wishes)
    return result_to_json(alteration, job.check_alteration(alteration)), wishes, contralto()
