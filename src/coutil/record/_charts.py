"""A client's charts over time."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from coutil.measure import Reading
from coutil.record._changing import add, change, find
from coutil.record._clients import not_discarded
from coutil.record._engine import Records
from coutil.record._kinds import CHART, CLIENT
from coutil.record._values import ChartRecord, Conflict


def add_chart(
    records: Records,
    client_id: int,
    taken: str = "",
    worn: str = "",
    note: str = "",
    readings: Mapping[str, Reading] | None = None,
) -> ChartRecord:
    """Keeps a new chart of a client; raises BadInput where there is no such client."""
    chart = ChartRecord(0, 1, client_id, taken, worn, note, readings or {})
    with records.writing() as link:
        find(link, records, CLIENT, client_id)
        return add(link, records, CHART, chart)


def find_chart(records: Records, chart_id: int) -> ChartRecord:
    """The chart of that id; raises BadInput where there is none."""
    with records.reading() as link:
        return find(link, records, CHART, chart_id)


def change_chart(
    records: Records, chart_id: int, version: int, edit: Callable[[ChartRecord], ChartRecord]
) -> ChartRecord | Conflict:
    """The chart as `edit` makes it, or a Conflict where another was faster."""
    with records.writing() as link:
        return change(link, records, CHART, chart_id, version, edit)


def list_charts(records: Records, client_id: int, deleted: bool = False) -> tuple[ChartRecord, ...]:
    """All charts of a client, the newest first; with `deleted`, those that can be brought back too."""
    from sqlalchemy import select

    charts = records.tables.charts
    hidden = () if deleted else (not_discarded(records, "chart", charts.c.id),)
    found = select(charts).where(charts.c.client_id == client_id, *hidden)
    query = found.order_by(charts.c.taken.desc(), charts.c.id.desc())
    with records.reading() as link:
        return tuple(CHART.decode(row) for row in link.execute(query).mappings())
