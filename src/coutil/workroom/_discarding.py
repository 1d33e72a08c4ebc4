"""Charts, orders and fittings deleted by one click, and brought back by another."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast, get_args

from coutil.errors import BadInput
from coutil.record import (
    KEPT_DAYS,
    DiscardKind,
    bring_back,
    discard,
    find_chart,
    find_fitting,
    find_order,
    list_discarded,
)
from coutil.workroom._http import got, number, posted, see
from coutil.workroom._render import page
from coutil.workroom._state import AppState

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route


def routes(state: AppState) -> list[Route]:
    """Deleting, bringing back, and the list of what is deleted."""
    return [
        posted(state, "/deleted/{kind}/{id}/delete", delete),
        posted(state, "/deleted/{kind}/{id}/back", back),
        got(state, "/deleted", deleted),
    ]


def delete(state: AppState, request: Request, form: FormData) -> Response:
    """Puts it aside; the page it was listed on opens and offers to bring it back."""
    kind, row_id = _kind(request), number(request)
    above = _above(state, kind, row_id)
    discard(state.records, kind, row_id)
    return see(f"{above}?deleted={kind}-{row_id}")


def back(state: AppState, request: Request, form: FormData) -> Response:
    """Puts it back where it was; its page opens."""
    kind, row_id = _kind(request), number(request)
    bring_back(state.records, kind, row_id)
    return see(f"/{kind}s/{row_id}")


def deleted(state: AppState, request: Request) -> Response:
    """All that can be brought back."""
    found = list_discarded(state.records)
    return page(state, request, "deleted.html", here="privacy", found=found, days=KEPT_DAYS)


def _kind(request: Request) -> DiscardKind:
    kind = str(request.path_params["kind"])
    if kind not in get_args(DiscardKind):
        raise BadInput("Only charts, orders and fittings can be deleted there.")
    return cast(DiscardKind, kind)


def _above(state: AppState, kind: DiscardKind, row_id: int) -> str:
    """The page on which it is listed."""
    if kind == "fitting":
        return f"/orders/{find_fitting(state.records, row_id).order_id}/fittings"
    owner = find_chart(state.records, row_id) if kind == "chart" else find_order(state.records, row_id)
    return f"/clients/{owner.client_id}"
