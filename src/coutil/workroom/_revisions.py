"""Revisions of an order: worked out and kept, listed, compared, restored."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from coutil import job
from coutil.check import Verdict
from coutil.errors import BadInput
from coutil.measure import Unit
from coutil.record import (
    Conflict,
    Revision,
    RevisionHead,
    add_revision,
    compare_revisions,
    find_base,
    find_chart,
    find_client,
    find_order,
    find_revision,
    list_revisions,
    read_setting,
    restore_revision,
)
from coutil.sheet import Heading, overview_svg
from coutil.workroom._http import got, number, posted, see, text, whole
from coutil.workroom._render import page, unit_of
from coutil.workroom._state import AppState

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route

# A drawing is looked at, not run: its own styles count, nothing else does.
DRAWING_POLICY = "default-src 'none'; style-src 'unsafe-inline'; sandbox"


@dataclass(frozen=True, slots=True)
class Pair:
    """Two revisions of one order, the earlier first."""

    earlier: Revision
    later: Revision


def routes(state: AppState) -> list[Route]:
    """The pages of revisions."""
    return [
        got(state, "/orders/{id}/revisions", revisions),
        posted(state, "/orders/{id}/revisions", keep),
        got(state, "/orders/{id}/revisions/compare", compared),
        got(state, "/orders/{id}/revisions/overlay.svg", overlay),
        posted(state, "/revisions/{id}/restore", restore),
    ]


def revisions(state: AppState, request: Request) -> Response:
    """Every saved state of an order."""
    order = find_order(state.records, number(request))
    return page(
        state,
        request,
        "revisions.html",
        here="orders",
        order=order,
        client=find_client(state.records, order.client_id),
        revisions=list_revisions(state.records, order.id),
    )


def keep(state: AppState, request: Request, form: FormData) -> Response:
    """Works the order out as it stands and keeps it as a revision."""
    author = text(form, "author") or read_setting(state.records, "author")
    keep_revision(state, number(request), unit_of(request), text(form, "note"), author)
    return see(f"/orders/{number(request)}/revisions")


def keep_revision(state: AppState, order_id: int, unit: Unit, note: str = "", author: str = "") -> RevisionHead:
    """Works the order out, every step of it, and keeps it; raises BadInput where chart or base are missing."""
    order = find_order(state.records, order_id)
    if order.chart_id is None or not order.base:
        raise BadInput("A pattern needs a chart and a base: choose both on the order's page.")
    client = find_client(state.records, order.client_id)
    chart = find_chart(state.records, order.chart_id).chart(client.name)
    done = job.run(job.Order(find_base(state.records, order.base), chart, order.wishes, unit))
    return add_revision(
        state.records,
        order.id,
        base=order.base,
        wishes=order.wishes,
        chart=chart,
        result_text=job.result_text(done),
        failed_checks=sum(finding.verdict is Verdict.FAIL for finding in done.findings),
        note=note,
        author=author,
    )


def compared(state: AppState, request: Request) -> Response:
    """Two revisions: chart, rows, checks, and one drawn over the other."""
    order = find_order(state.records, number(request))
    pair = _pair(state, request)
    return page(
        state,
        request,
        "revisions_compared.html",
        here="orders",
        order=order,
        client=find_client(state.records, order.client_id),
        pair=pair,
        found=compare_revisions(pair.earlier, pair.later),
    )


def overlay(state: AppState, request: Request) -> Response:
    """The earlier revision dashed beneath the later one."""
    pair = _pair(state, request)
    found = compare_revisions(pair.earlier, pair.later)
    a, b = found.earlier.alteration.style, found.later.alteration.style
    title = f"{pair.earlier.head.short} dashed, {pair.later.head.short} solid"
    return drawing(overview_svg(a, b, found.later.alteration.plan, title, Heading(b.base_chart.name)))


def restore(state: AppState, request: Request, form: FormData) -> Response:
    """The order as it was at a revision."""
    revision_id = number(request)
    outcome = restore_revision(state.records, revision_id, whole(text(form, "version")))
    if isinstance(outcome, Conflict):
        raise BadInput("The order has been changed in another window since: look at it again, then restore.")
    return see(f"/orders/{outcome.id}?restored={revision_id}&version={outcome.version}")


def drawing(svg: str) -> Response:
    """An SVG to be shown as a picture."""
    from starlette.responses import Response

    return Response(svg, media_type="image/svg+xml", headers={"content-security-policy": DRAWING_POLICY})


def _pair(state: AppState, request: Request) -> Pair:
    a, b = (find_revision(state.records, whole(request.query_params.get(name, ""))) for name in ("a", "b"))
    if {a.head.order_id, b.head.order_id} != {number(request)}:
        raise BadInput("These revisions are not this order's.")
    return Pair(*sorted((a, b), key=lambda revision: revision.head.number))
