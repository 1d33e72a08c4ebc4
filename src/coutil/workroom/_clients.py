"""Clients: the list with its search, a new one, and one client's page."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from coutil.record import (
    PAGE,
    Client,
    Conflict,
    add_client,
    change_client,
    count_clients,
    find_client,
    list_charts,
    list_clients,
    list_orders,
)
from coutil.workroom._http import Saving, conflict_json, got, kept_json, number, posted, saved, see, text
from coutil.workroom._render import page
from coutil.workroom._state import AppState

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route

FIELDS = ("name", "contact", "note")


def routes(state: AppState) -> list[Route]:
    """The pages of clients."""
    return [
        got(state, "/clients", clients),
        got(state, "/clients/new", new),
        posted(state, "/clients/new", add),
        got(state, "/clients/{id}", client),
        saved(state, "/api/clients/{id}", save),
    ]


def clients(state: AppState, request: Request) -> Response:
    """The list, or what a search finds in it."""
    words, at = request.query_params.get("q", "")[:200], page_number(request)
    found = list_clients(state.records, words, at)
    more = pages(count_clients(state.records, words), at)
    return page(state, request, "clients.html", here="clients", words=words, clients=found, **more)


def new(state: AppState, request: Request) -> Response:
    """The form for a new client."""
    return page(state, request, "client_new.html", here="clients", errors={}, typed={})


def add(state: AppState, request: Request, form: FormData) -> Response:
    """Keeps the new client and goes to its page."""
    from coutil.errors import BadInput

    typed = {name: text(form, name) for name in FIELDS}
    try:
        made = add_client(state.records, **typed)
    except BadInput as error:
        errors = {"name": str(error)}
        return page(state, request, "client_new.html", 422, here="clients", errors=errors, typed=typed)
    return see(f"/clients/{made.id}")


def client(state: AppState, request: Request) -> Response:
    """One client: who it is, the charts, the orders."""
    found = find_client(state.records, number(request))
    return page(
        state,
        request,
        "client.html",
        here="clients",
        client=found,
        charts=[chart for chart in list_charts(state.records, found.id) if not chart.is_blank],
        orders=list_orders(state.records, "all", client_id=found.id),
    )


def save(state: AppState, request: Request, saving: Saving) -> Response:
    """Saves what was typed on a client's page."""
    outcome = change_client(state.records, number(request), saving.version, lambda old: edited(old, saving.fields))
    return conflict_json(outcome, saving.unit) if isinstance(outcome, Conflict) else kept_json(outcome)


def edited(old: Client, fields: Mapping[str, str]) -> Client:
    """The client with some fields as typed; raises FieldErrors."""
    made: Client = each_field(old, {name: {name: value} for name, value in fields.items() if name in FIELDS})
    return made


def each_field(old: Any, changes: Mapping[str, Mapping[str, Any]]) -> Any:
    """The thing with each change made, by the field it was typed in; raises FieldErrors for those that cannot be."""
    from coutil.workroom._http import by_field

    def tried(change: Mapping[str, Any]) -> Callable[[], object]:
        return lambda: replace(old, **change)

    by_field({name: tried(change) for name, change in changes.items()})
    together = {key: value for change in changes.values() for key, value in change.items()}
    return replace(old, **together)


def page_number(request: Request) -> int:
    """Which page of a list is asked for, from 0."""
    digits = request.query_params.get("page", "0")
    return int(digits) if digits.isascii() and digits.isdigit() and len(digits) < 6 else 0


def pages(n_found: int, at: int) -> dict[str, int]:
    """What the foot of a list shows: how many were found, which page this is, and of how many."""
    return {"n_found": n_found, "at": at, "n_pages": max(1, -(-n_found // PAGE))}
