"""Records to try things on: a fresh database, a client with everything that can be kept, and one real result."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path

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

PNG = b"\x89PNG\r\n\x1a\n"
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
    """Fresh records in a folder, closed afterwards."""
    records = open_records(folder / "coutil.db")
    try:
        yield records
    finally:
        records.close()


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
        records, order.id, base="80-18", wishes=wishes, chart=chart.chart(name), result_text=f'{{"result": "{mark}"}}',
        failed_checks=1, note=f"revision note {mark}", author=f"author {mark}",
    )  # fmt: skip
    amount = Amount("side", "left", "waist", -6.5)
    fitting = add_fitting(records, Fitting(0, 1, order.id, "2026-11-02", revision.id, f"remarks {mark}", (amount,)))
    photo = add_photo(records, fitting.id, PNG + mark.encode() * 50, f"caption {mark}")
    papers = {name: f"{mark} {name}".encode() for name in LAY_PAPERS}
    lay = add_lay(records, revision.id, f"lay {mark}", 1234.5, 71.5, papers, (f"remark {mark}",))
    return Kept(client, chart, order, revision, fitting, photo, lay)


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
