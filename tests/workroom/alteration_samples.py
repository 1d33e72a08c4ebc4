"""What the tests of the alteration page share: an order to alter, the page's questions, and a served page."""

from __future__ import annotations

import functools
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import uvicorn
from starlette.applications import Starlette

from coutil.alter import Wishes
from coutil.measure import Chart
from coutil.pattern import Style
from coutil.record import OrderRecord, Records, add_chart, add_client, add_order, open_records
from coutil.shipped import demo_clients, shipped_base
from coutil.workroom import build_app
from coutil.workroom._alteration import Desk
from coutil.workroom._state import AppState, templates

BASE = "80-18"
REDUCTION_MM = 60.0


@functools.cache
def base() -> Style:
    return shipped_base(BASE)


@functools.cache
def contralto() -> Chart:
    return demo_clients()["contralto"]


@functools.cache
def desk() -> Desk:
    return Desk(base())


@functools.cache
def altered() -> Style:
    """The pattern every new order opens with."""
    return desk().work(contralto(), Wishes(reduction=REDUCTION_MM), "cm").job.alteration.style


@dataclass(frozen=True)
class Workroom:
    """Records, and the application over them."""

    records: Records
    app: Starlette

    def order(self, client: str = "Contralto") -> OrderRecord:
        """A new order of a new client, on a base that fits her roughly."""
        person = add_client(self.records, client)
        chart = add_chart(self.records, person.id, "2026-10-01", readings=dict(contralto().readings))
        wishes = Wishes(reduction=REDUCTION_MM)
        return add_order(self.records, OrderRecord(0, 1, person.id, "Opera overbust", BASE, chart.id, wishes))


def open_workroom(folder: Path) -> Workroom:
    """An empty workroom."""
    records = open_records(folder / "records.sqlite")
    return Workroom(records, build_app(AppState(records, templates())))


@contextmanager
def served(app: Any, port: int = 0) -> Iterator[str]:
    """The application on that port of this machine, on a free one where none is given; its address."""
    config = uvicorn.Config(app, host="127.0.0.1", port=port, log_level="warning", lifespan="off")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    port = server.servers[0].sockets[0].getsockname()[1]
    try:
        yield f"http://127.0.0.1:{port}"
    finally:
        server.should_exit = True
        thread.join(10)
