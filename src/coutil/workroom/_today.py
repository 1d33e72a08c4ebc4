"""The first page, the switches in the head of every page, and pairing."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from coutil.record import count_clients, count_orders, list_clients, list_orders
from coutil.workroom._guard import address_of
from coutil.workroom._http import got, posted, see, text
from coutil.workroom._pairing import COOKIE, PASS_LASTS_S, TooSoon
from coutil.workroom._render import THEMES, page
from coutil.workroom._state import AppState

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route

A_YEAR_S = 365 * 24 * 3600
SHOWN = 12
UNITS = ("cm", "in")


def routes(state: AppState) -> list[Route]:
    """The first page, the switches, pairing."""
    return [
        got(state, "/", today),
        posted(state, "/switch", switch),
        got(state, "/pair", pair),
        posted(state, "/pair", paired),
    ]


def today(state: AppState, request: Request) -> Response:
    """What is to be done next: the open orders by the day they are due, and the clients."""
    orders = list_orders(state.records, "open")[:SHOWN]
    return page(
        state,
        request,
        "today.html",
        here="today",
        orders=orders,
        n_open=count_orders(state.records, "open"),
        n_clients=count_clients(state.records),
        clients=list_clients(state.records)[:SHOWN],
    )


def switch(state: AppState, request: Request, form: FormData) -> Response:
    """Another unit or another light, remembered by this browser alone."""
    answer = see(_own_path(text(form, "back")))
    for name, known in (("unit", UNITS), ("theme", THEMES)):
        if (chosen := text(form, name)) in known:
            answer.set_cookie(f"coutil_{name}", chosen, max_age=A_YEAR_S, httponly=True, samesite="strict")
    return answer


def pair(state: AppState, request: Request) -> Response:
    """Where another machine enters the code."""
    return page(state, request, "pair.html", error="")


def paired(state: AppState, request: Request, form: FormData) -> Response:
    """A pass for the right code."""
    address = address_of(request.scope)
    try:
        ticket = state.pairing.redeem(text(form, "code"), address)
    except TooSoon as error:
        sentence = f"Too many wrong codes came from this machine: wait {_time(error.seconds)}, then type it again."
        return page(state, request, "pair.html", 429, error=sentence)
    if ticket is None:
        sentence = "That is not the code shown in the terminal; a code counts once."
        return page(state, request, "pair.html", 403, error=sentence)
    answer = see("/")
    answer.set_cookie(COOKIE, ticket, max_age=round(PASS_LASTS_S), httponly=True, samesite="strict")
    return answer


def _time(seconds: float) -> str:
    whole = math.ceil(seconds)
    return f"{whole} seconds" if whole < 120 else f"{math.ceil(whole / 60)} minutes"


def _own_path(path: str) -> str:
    """The page one came from, if it is one of ours."""
    return path if path.startswith("/") and not path.startswith(("//", "/\\")) else "/"
