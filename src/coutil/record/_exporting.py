"""Everything kept about one client, in one zip archive that can be read without this program."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from dataclasses import asdict

import msgspec

from coutil.measure import chart_to_json
from coutil.record._charts import list_charts
from coutil.record._clients import find_client
from coutil.record._engine import Records
from coutil.record._fittings import list_fittings, list_photos, photo_bytes
from coutil.record._lays import PAPERS, lay_paper, list_lays
from coutil.record._orders import find_order
from coutil.record._revisions import find_revision, list_revisions
from coutil.record._values import Client, Fitting, Photo, Revision

SUFFIXES = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}
FORMAT = "coutil-client"


def export_client(records: Records, client_id: int) -> bytes:
    """The archive; raises BadInput where there is no such client.

    client.json holds the client, orders, revisions' notes and fittings; charts, results, lay plans and photos lie
    beside it as files of their own.
    """
    client = find_client(records, client_id)
    order_ids = _order_ids(records, client_id)
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in _files(records, client, order_ids):
            archive.writestr(name, data)
    return target.getvalue()


def _order_ids(records: Records, client_id: int) -> tuple[int, ...]:
    from sqlalchemy import select

    orders = records.tables.orders.c
    with records.reading() as link:
        found = link.execute(select(orders.id).where(orders.client_id == client_id).order_by(orders.id))
        return tuple(found.scalars())


def _files(records: Records, client: Client, order_ids: tuple[int, ...]) -> Iterator[tuple[str, bytes]]:
    orders = [_order(records, order_id) for order_id in order_ids]
    charts = list_charts(records, client.id, deleted=True)
    notes = [{"file": f"charts/{c.id}.json", "taken": c.taken, "note": c.note} for c in charts]
    head = {"format": FORMAT, "version": 1, "client": asdict(client)}
    yield "client.json", _json({**head, "charts": notes, "orders": orders})
    for chart in charts:
        yield f"charts/{chart.id}.json", chart_to_json(chart.chart(client.name)).encode()
    for order_id in order_ids:
        yield from _results(records, order_id)
        yield from _lays(records, order_id)
        yield from _pictures(records, order_id)


def _order(records: Records, order_id: int) -> dict[str, object]:
    order = find_order(records, order_id)
    revisions = [_revision(find_revision(records, head.id)) for head in list_revisions(records, order_id)]
    fittings = [_fitting(records, fitting) for fitting in list_fittings(records, order_id, deleted=True)]
    fields = {name: getattr(order, name) for name in order.__slots__}
    return {**fields, "making": dict(order.making), "revisions": revisions, "fittings": fittings}


def _fitting(records: Records, fitting: Fitting) -> dict[str, object]:
    photos = [{"file": _name(photo), "caption": photo.caption} for photo in list_photos(records, fitting.id)]
    return {**asdict(fitting), "photos": photos}


def _revision(revision: Revision) -> dict[str, object]:
    head = revision.head
    return {**asdict(head), "short": head.short, "wishes": revision.wishes, "result": f"results/{head.id}.json"}


def _results(records: Records, order_id: int) -> Iterator[tuple[str, bytes]]:
    for head in list_revisions(records, order_id):
        yield f"results/{head.id}.json", find_revision(records, head.id).result_text.encode()


def _lays(records: Records, order_id: int) -> Iterator[tuple[str, bytes]]:
    for head in list_revisions(records, order_id):
        for lay in list_lays(records, head.id):
            for name in PAPERS:
                yield f"lays/{lay.id}.{name}", lay_paper(records, lay.id, name)


def _pictures(records: Records, order_id: int) -> Iterator[tuple[str, bytes]]:
    for fitting in list_fittings(records, order_id):
        for photo in list_photos(records, fitting.id):
            yield _name(photo), photo_bytes(records, photo.id)[1]


def _name(photo: Photo) -> str:
    return f"photos/{photo.id}.{SUFFIXES[photo.kind]}"


def _json(value: object) -> bytes:
    return msgspec.json.format(msgspec.json.encode(value), indent=2)
