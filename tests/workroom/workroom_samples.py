"""A workroom to try things on, and how a page of its own and a stranger ask it."""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from coutil.measure import Chart, Reading
from coutil.record import Client, OrderRecord, Records, add_chart, add_client, add_order, open_records
from coutil.shipped import demo_clients
from coutil.workroom import AppState, Pairing, Settings, build_app, templates
from helpers.photos import png

with warnings.catch_warnings():
    # It warns that it would rather have the successor of httpx, which not everybody has.
    warnings.simplefilter("ignore")
    from starlette.testclient import TestClient

OWN = "http://127.0.0.1"
PNG = png(b"x" * 200)


@dataclass(frozen=True)
class Room:
    """A workroom with a browser on this machine."""

    state: AppState
    browser: TestClient
    client: Client = field(repr=False)
    chart_id: int
    order: OrderRecord = field(repr=False)

    @property
    def records(self) -> Records:
        return self.state.records

    def save(self, path: str, version: int, fields: Mapping[str, str], unit: str = "cm") -> tuple[int, Any]:
        """What a form that keeps itself is answered: status and message."""
        answer = self.browser.post(path, json={"version": version, "unit": unit, "fields": dict(fields)})
        return answer.status_code, answer.json()

    def page(self, path: str) -> str:
        """A page that must be there."""
        answer = self.browser.get(path)
        assert answer.status_code == 200, (path, answer.status_code, answer.text[-400:])
        return answer.text


@contextmanager
def room_in(folder: Path, settings: Settings = Settings()) -> Iterator[Room]:  # noqa: B008
    """A workroom with one client, her chart, and an order on it."""
    records = open_records(folder / "coutil.db")
    client = add_client(records, "Contralto", "stage door")
    chart = add_chart(records, client.id, "2026-10-01", readings=dict(contralto().readings))
    order = add_order(records, OrderRecord(0, 1, client.id, "Stage corset", "75-22", chart.id))
    state = AppState(records, templates(), settings, Pairing())
    try:
        yield Room(state, browser_of(state), client, chart.id, order)
    finally:
        state.lays.stop_all()
        records.close()


def browser_of(state: AppState, host: str = "127.0.0.1", own: bool = True) -> TestClient:
    """A browser on the machine of that address; `own` says where its forms come from, as our pages do."""
    headers = {"origin": OWN} if own else {}
    app = build_app(state)
    return TestClient(app, base_url=OWN, headers=headers, client=(host, 5000), follow_redirects=False)


def contralto() -> Chart:
    """The chart of an invented client."""
    return demo_clients()["contralto"]


def readings(**values: float) -> dict[str, Reading]:
    """Readings in mm."""
    return {key: Reading(mm) for key, mm in values.items()}


def links_of(page: str) -> set[str]:
    """Every address a page names in an attribute."""
    return set(re.findall(r"""(?:href|src|action|formaction|data-save|data-marks|data-lay)=["']([^"']*)["']""", page))
