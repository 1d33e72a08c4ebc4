"""How each kind of thing lies in its table, and how two versions of it are told apart."""

from __future__ import annotations

import unicodedata
import zlib
from collections.abc import Mapping
from typing import Any

import msgspec

from coutil.alter import Override, Wishes
from coutil.measure import Chart, Reading
from coutil.record._changing import Kind
from coutil.record._packing import unpacked
from coutil.record._values import Amount, ChartRecord, Client, Fitting, OrderRecord, OrderState, OwnBase

Row = Mapping[Any, Any]


def plain(text: str) -> str:
    """The text without accents and capitals, for searching and sorting."""
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(c for c in apart if not unicodedata.combining(c))


def to_text(value: object) -> str:
    """A value as JSON text."""
    return msgspec.json.encode(value, enc_hook=_plain_value).decode()


def wishes_from(text: str) -> Wishes:
    """The wishes in JSON text."""
    return msgspec.json.decode(text, type=Wishes)


def readings_from(text: str) -> dict[str, Reading]:
    """The readings in JSON text."""
    return msgspec.json.decode(text, type=dict[str, Reading])


def chart_to_text(chart: Chart) -> str:
    """A chart as JSON text."""
    return to_text([chart.name, chart.readings, chart.worn, chart.taken, chart.invented])


def chart_from(text: str) -> Chart:
    """The chart in JSON text."""
    return Chart(*msgspec.json.decode(text, type=tuple[str, dict[str, Reading], str, str, bool]))


def _plain_value(value: object) -> object:
    if isinstance(value, Mapping):
        return dict(value)
    raise NotImplementedError(type(value).__name__)


def _client_columns(client: Client) -> dict[str, Any]:
    search = plain(f"{client.name} {client.contact}")
    return {
        "name": client.name,
        "contact": client.contact,
        "note": client.note,
        "name_key": plain(client.name),
        "search": search,
    }


def _client(row: Row) -> Client:
    return Client(**_same(row, "id", "version", "name", "contact", "note", "created", "changed"))


def _client_fields(client: Client) -> dict[str, object]:
    return {"name": client.name, "contact": client.contact, "note": client.note}


def _chart_columns(chart: ChartRecord) -> dict[str, Any]:
    return {
        "client_id": chart.client_id,
        "taken": chart.taken,
        "worn": chart.worn,
        "note": chart.note,
        "readings": to_text(chart.readings),
    }


def _chart(row: Row) -> ChartRecord:
    same = _same(row, "id", "version", "client_id", "taken", "worn", "note", "created", "changed")
    return ChartRecord(**same, readings=readings_from(row["readings"]))


def _chart_fields(chart: ChartRecord) -> dict[str, object]:
    head: dict[str, object] = {"taken": chart.taken, "worn": chart.worn, "note": chart.note}
    return head | {f"readings.{key}": reading for key, reading in chart.readings.items()}


def _order_columns(order: OrderRecord) -> dict[str, Any]:
    same = ("client_id", "chart_id", "title", "base", "wear", "due", "price", "note")
    return {name: getattr(order, name) for name in same} | {
        "wishes": to_text(order.wishes),
        "making": to_text(order.making),
        "state": order.state.value,
        "is_open": int(order.state.is_open),
    }


def _order(row: Row) -> OrderRecord:
    same = _same(
        row, "id", "version", "client_id", "chart_id", "title", "base", "wear", "due", "price", "note", "created",
        "changed",
    )  # fmt: skip
    return OrderRecord(
        **same,
        wishes=wishes_from(row["wishes"]),
        making=msgspec.json.decode(row["making"], type=dict[str, str]),
        state=OrderState(row["state"]),
    )


def _order_fields(order: OrderRecord) -> dict[str, object]:
    names = ("title", "base", "chart_id", "wear", "due", "price", "state", "note")
    wishes = ("reduction", "lacing_gap", "depth_share", "exact_centre_top", "take_heights", "leave_small")
    return (
        {name: getattr(order, name) for name in names}
        | {f"wishes.{name}": getattr(order.wishes, name) for name in wishes}
        | {f"wishes.rows.{override.row}": _said(override) for override in order.wishes.overrides}
        | {f"making.{name}": value for name, value in order.making.items()}
    )


def _said(override: Override) -> tuple[str, float | None, str]:
    return override.state.value, override.amount, override.why


def _fitting_columns(fitting: Fitting) -> dict[str, Any]:
    return {
        "order_id": fitting.order_id,
        "revision_id": fitting.revision_id,
        "held": fitting.held,
        "remarks": fitting.remarks,
        "amounts": to_text(fitting.amounts),
    }


def _fitting(row: Row) -> Fitting:
    same = _same(row, "id", "version", "order_id", "revision_id", "held", "remarks", "created", "changed")
    return Fitting(**same, amounts=msgspec.json.decode(row["amounts"], type=tuple[Amount, ...]))


def _fitting_fields(fitting: Fitting) -> dict[str, object]:
    head: dict[str, object] = {"held": fitting.held, "revision_id": fitting.revision_id, "remarks": fitting.remarks}
    return head | {f"amounts.{a.seam}.{a.side}.{a.level}": a.mm for a in fitting.amounts}


def _base_columns(base: OwnBase) -> dict[str, Any]:
    return {
        "name": base.name,
        "title": base.title,
        "suffix": base.suffix,
        "marks": base.marks_text,
        "style": zlib.compress(base.style_text.encode()),
        "drawing": base.drawing,
    }


def _base(row: Row) -> OwnBase:
    same = _same(row, "id", "version", "name", "title", "suffix", "drawing", "created", "changed")
    return OwnBase(**same, marks_text=row["marks"], style_text=unpacked(row["style"]).decode())


def _base_fields(base: OwnBase) -> dict[str, object]:
    return {"name": base.name, "title": base.title, "pattern": base.style_text, "marks": base.marks_text}


def _same(row: Row, *names: str) -> dict[str, Any]:
    return {name: row[name] for name in names}


CLIENT = Kind("client", lambda t: t.clients, _client_columns, _client, _client_fields)
CHART = Kind("chart", lambda t: t.charts, _chart_columns, _chart, _chart_fields)
ORDER = Kind("order", lambda t: t.orders, _order_columns, _order, _order_fields)
FITTING = Kind("fitting", lambda t: t.fittings, _fitting_columns, _fitting, _fitting_fields)
OWN_BASE = Kind("base pattern", lambda t: t.own_bases, _base_columns, _base, _base_fields)
