"""The server ended at any moment while pages save: what a page was told is kept is kept, and an alteration is whole.

200 moments with COUTIL_LONG_TESTS=1, 2 without.  Each time `coutil serve` is a process of its own, asked over HTTP.
"""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import subprocess
import threading
from dataclasses import dataclass
from pathlib import Path

import httpx
import pytest
from test_workroom_serve import answered, served

from coutil.alter import Wishes
from coutil.measure import Chart
from coutil.record import (
    OrderRecord,
    add_chart,
    add_client,
    add_order,
    find_chart,
    find_client,
    find_order,
    find_revision,
    find_trials,
    list_revisions,
    open_records,
)
from coutil.shipped import demo_clients

N_KILLS = 200 if os.environ.get("COUTIL_LONG_TESTS") else 2
LONGEST_S = 1.2  # From the first question to the end of the server.
SAVE = "/api/orders/1/alteration"

pytestmark = pytest.mark.skipif(os.name == "nt", reason="Windows has no signal that ends a process like kill -9")


@dataclass
class Told:
    """What the pages were told: the version of the client, and how many revisions were saved."""

    client: int
    revisions: int


def test_nothing_a_page_was_told_is_lost(tmp_path: Path) -> None:
    fill(tmp_path)
    moments, told = random.Random(1867), Told(1, 0)
    for _ in range(N_KILLS):
        with served(tmp_path) as (process, address):
            answered(address)
            save_until(process, address, moments.uniform(0.0, LONGEST_S), told)
        told = require_whole(tmp_path / "coutil.db", told)
    # Else it was killed before anything was saved, and nothing was tried.
    assert told.client > N_KILLS / 2
    print(f"\n  {N_KILLS} ends, {told.client} versions of the client and {told.revisions} revisions kept")


def fill(folder: Path) -> None:
    """One client with an order."""
    records = open_records(folder / "coutil.db")
    client = add_client(records, "Contralto")
    chart = add_chart(records, client.id, "2026-10-01", readings=dict(demo_clients()["contralto"].readings))
    add_order(records, OrderRecord(0, 1, client.id, "Stage corset", "80-18", chart.id, Wishes(reduction=60.0)))
    records.close()


def save_until(process: subprocess.Popen[str], address: str, seconds: float, told: Told) -> None:
    """Two pages save as fast as they can, until the server is killed after so many seconds."""
    windows = [threading.Thread(target=work, args=(address, told)) for work in (save_notes, save_alterations)]
    killer = threading.Timer(seconds, lambda: os.kill(process.pid, signal.SIGKILL))
    for thread in (*windows, killer):
        thread.start()
    for thread in (*windows, killer):
        thread.join(60)
    process.wait(20)


def save_notes(address: str, told: Told) -> None:
    """The client's page: each save is a new version."""
    with httpx.Client(base_url=address, headers={"origin": address}, timeout=60) as page:
        try:
            while True:
                message = {"version": told.client, "unit": "cm", "fields": {"note": f"{told.client + 1} " * 200}}
                told.client = page.post("/api/clients/1", json=message).raise_for_status().json()["version"]
        except httpx.TransportError:
            return


def save_alterations(address: str, told: Told) -> None:
    """The alteration page: another waist and another reduction with each revision."""
    with httpx.Client(base_url=address, headers={"origin": address}, timeout=60) as page:
        try:
            opened = page.get(SAVE).raise_for_status().json()
            seen, draft = opened["versions"], opened["draft"]
            while True:
                step = (told.revisions + 1) % 20
                mine = {**draft, "reduction": 40.0 + step, "chart": {**draft["chart"], "waist_girth": 700.0 + step}}
                message = {"draft": mine, "origin": draft, "seen": seen, "note": str(step)}
                answer = page.post(f"{SAVE}/save", json=message)
                saved = answer.raise_for_status().json()
                seen, draft = saved["versions"], saved["draft"]
                told.revisions += 1
        except httpx.TransportError:
            return


def require_whole(path: Path, told: Told) -> Told:
    """The database is sound and holds what was told, or the one save that could not be told any more."""
    link = sqlite3.connect(path)
    assert link.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert link.execute("PRAGMA foreign_key_check").fetchall() == []
    link.close()
    records = open_records(path)
    client, order, chart = find_client(records, 1), find_order(records, 1), find_chart(records, 1)
    heads = list_revisions(records, 1)
    last = find_revision(records, heads[0].id) if heads else None
    trials = find_trials(records, 1)
    records.close()
    assert client.version in (told.client, told.client + 1)
    assert client.version == 1 or client.note == f"{client.version} " * 200
    assert len(heads) in (told.revisions, told.revisions + 1)
    if last is not None:
        assert last.wishes == order.wishes, "wishes and revision belong together"
        tried = {key: value for key, (_, value) in trials.items() if value is not None}
        worked_from = {**readings_of(chart.chart("Contralto")), **tried}
        assert readings_of(last.chart) == worked_from, "readings tried and revision belong together"
        assert last.result_text.endswith("}\n") or last.result_text.endswith("}")
    return Told(client.version, len(heads))


def readings_of(chart: Chart) -> dict[str, float]:
    """The readings in mm."""
    return {key: reading.value for key, reading in chart.readings.items()}
