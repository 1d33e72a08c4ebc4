"""Orders: the list, a new one, one order's page with its wishes, and the door to its alteration."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from coutil.draft import STYLES, StyleKind
from coutil.errors import BadInput
from coutil.measure import Unit
from coutil.record import (
    ChartRecord,
    Conflict,
    OrderRecord,
    OrderState,
    RevisionHead,
    add_order,
    base_head,
    book_mark,
    change_order,
    count_orders,
    find_base,
    find_chart,
    find_client,
    find_order,
    latest_revision,
    list_bases,
    list_charts,
    list_clients,
    list_fittings,
    list_orders,
    list_revisions,
    orders_there,
    repeat_order,
)
from coutil.wishes_file import size_of
from coutil.workroom._clients import page_number, pages
from coutil.workroom._http import (
    Saving,
    by_field,
    conflict_json,
    got,
    kept_json,
    number,
    posted,
    saved,
    see,
    text,
    told_json,
    whole,
)
from coutil.workroom._making import CHOICES, LENGTHS, NAMES, SWITCHES, making_options
from coutil.workroom._render import page
from coutil.workroom._state import AppState

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route

HEAD_FIELDS = ("title", "base", "wear", "due", "price", "state", "note")
WISH_LENGTHS = ("reduction", "lacing_gap")
WISH_CHOICES = ("take_heights", "leave_small", "exact_centre_top")
MOST_NEAREST = 2  # Of one style.

Edit = Callable[[OrderRecord], OrderRecord]


def routes(state: AppState) -> list[Route]:
    """The pages of orders."""
    return [
        got(state, "/orders", orders),
        got(state, "/orders/new", new),
        posted(state, "/orders/new", add),
        got(state, "/orders/{id}", order_page),
        got(state, "/api/orders/known", known_orders),
        saved(state, "/api/orders/{id}", save),
        posted(state, "/orders/{id}/repeat", repeat),
        got(state, "/orders/{id}/alteration", alteration),
    ]


def orders(state: AppState, request: Request) -> Response:
    """The list of orders, open ones alone or all."""
    which = "all" if request.query_params.get("which") == "all" else "open"
    words, at = request.query_params.get("q", "")[:200], page_number(request)
    found = list_orders(state.records, "all" if which == "all" else "open", words, at)
    more = pages(count_orders(state.records, "all" if which == "all" else "open", words), at)
    return page(state, request, "orders.html", here="orders", orders=found, which=which, words=words, **more)


def known_orders(state: AppState, request: Request) -> Response:
    """Which of some orders are there, and in which book: a browser that holds something of others lets go of it."""
    words = request.query_params.get("ids", "")[:4000].split(",")
    asked = [word for word in words if word.isascii() and word.isdigit()]
    known = orders_there(state.records, [int(word) for word in asked if len(word) < 10])
    return told_json({"book": book_mark(state.records), "orders": list(known)})


def new(state: AppState, request: Request) -> Response:
    """The form for a new order: for whom, and what."""
    chosen = request.query_params.get("client", "")
    client = find_client(state.records, whole(chosen)) if chosen else None
    clients = () if client else list_clients(state.records, request.query_params.get("q", "")[:200])
    words = request.query_params.get("q", "")[:200]
    return page(state, request, "order_new.html", here="orders", client=client, clients=clients, words=words, error="")


def add(state: AppState, request: Request, form: FormData) -> Response:
    """Keeps the new order on the client's newest chart, with the base nearest to it."""
    client = find_client(state.records, whole(text(form, "client")))
    title = text(form, "title").strip()
    if not title:
        error = "Say what is to be made: stage corset, wedding bustier."
        told = {"client": client, "clients": (), "words": "", "error": error}
        return page(state, request, "order_new.html", 422, here="orders", **told)
    newest = newest_chart(state, client.id)
    first = nearest(newest)[:1] if newest else ()
    wanted = OrderRecord(
        0, 1, client.id, title, base=first[0] if first else "", chart_id=newest.id if newest else None
    )
    return see(f"/orders/{add_order(state.records, wanted).id}")


def order_page(state: AppState, request: Request) -> Response:
    """One order: what, from which chart and base, the wishes, how it is made, and what came of it."""
    order = find_order(state.records, number(request))
    kept = list_charts(state.records, order.client_id)
    charts = [chart for chart in kept if not chart.is_blank or chart.id == order.chart_id]
    chart = next((one for one in charts if one.id == order.chart_id), None)
    bases = list_bases(state.records)
    revisions = list_revisions(state.records, order.id)
    return page(
        state,
        request,
        "order.html",
        here="orders",
        order=order,
        client=find_client(state.records, order.client_id),
        charts=charts,
        chart=chart,
        own_bases=[base for base in bases if base.own],
        shipped=[base for base in bases if not base.own],
        nearest=nearest(chart) if chart else (),
        base_title=base_title(state, order.base),
        revisions=revisions,
        restored=_restored(request, order, revisions),
        fittings=list_fittings(state.records, order.id),
        states=list(OrderState),
        choices=CHOICES,
        switches=SWITCHES,
        lengths=LENGTHS,
        wish_choices=WISH_WORDS,
    )


def _restored(request: Request, order: OrderRecord, revisions: Sequence[RevisionHead]) -> RevisionHead | None:
    """The revision the order has just been set back to; None once anything of the order has changed since."""
    asked = request.query_params
    if asked.get("version") != str(order.version):
        return None
    return next((head for head in revisions if str(head.id) == asked.get("restored")), None)


WISH_WORDS: Mapping[str, str] = {
    "take_heights": "take the wanted heights instead of leaving them open",
    "leave_small": "leave differences within the tape's error as in the base",
    "exact_centre_top": "meet the distance to the centre top exactly, though the top may drop",
}


def save(state: AppState, request: Request, saving: Saving) -> Response:
    """Saves what was typed on an order's page."""
    outcome = change_order(state.records, number(request), saving.version, _edit(state, saving))
    return conflict_json(outcome, saving.unit) if isinstance(outcome, Conflict) else kept_json(outcome)


def repeat(state: AppState, request: Request, form: FormData) -> Response:
    """The same again, on the client's newest chart."""
    order = find_order(state.records, number(request))
    newest = newest_chart(state, order.client_id)
    return see(f"/orders/{repeat_order(state.records, order.id, newest.id if newest else None).id}")


def alteration(state: AppState, request: Request) -> Response:
    """The alteration page, or what must be chosen before."""
    order = find_order(state.records, number(request))
    client = find_client(state.records, order.client_id)
    if lacking := _lacking(state, order):
        name = "alteration_missing.html"
        return page(state, request, name, here="orders", order=order, client=client, lacking=lacking)
    assert order.chart_id is not None
    return page(
        state,
        request,
        "alteration.html",
        here="orders",
        order=order,
        client=client,
        base=find_base(state.records, order.base),
        chart=find_chart(state.records, order.chart_id),
        revision=latest_revision(state.records, order.id),
    )


def newest_chart(state: AppState, client_id: int) -> ChartRecord | None:
    """The client's newest chart that holds a reading."""
    return next((chart for chart in list_charts(state.records, client_id) if not chart.is_empty), None)


def _lacking(state: AppState, order: OrderRecord) -> tuple[tuple[str, str, str], ...]:
    """What must be there before a pattern can be altered: a sentence, where to mend it, and the words of that link."""
    chart = find_chart(state.records, order.chart_id) if order.chart_id is not None else None
    here = f"/orders/{order.id}"
    found: list[tuple[str, str, str]] = []
    if chart is None and newest_chart(state, order.client_id) is None:
        found.append(("The client is not measured yet.", f"/clients/{order.client_id}", "Begin a chart"))
    elif chart is None:
        found.append(("No chart is chosen.", f"{here}#f-chart_id", "Choose one"))
    elif chart.is_empty:
        found.append(("The chart holds no readings yet.", f"/charts/{chart.id}", "Write them in"))
    if not order.base:
        found.append(("No base pattern is chosen.", f"{here}#f-base", "Choose one"))
    return tuple(found)


def nearest(record: ChartRecord) -> tuple[str, ...]:
    """The shipped bases nearest to a chart, some of each style; none of a style whose readings are missing."""
    return tuple(name for kind in STYLES.values() for name in _nearest_of(kind, record)[:MOST_NEAREST])


def _nearest_of(kind: StyleKind, record: ChartRecord) -> tuple[str, ...]:
    try:
        return tuple(kind.base_name(size) for size in kind.nearest(record.chart("chart")))
    except BadInput:
        return ()


def base_title(state: AppState, key: str) -> str:
    """What a base is called, its key where it is no longer there."""
    head = base_head(state.records, key)
    return head.title if head else key


def _edit(state: AppState, saving: Saving) -> Edit:
    """What the typed fields make of an order; raises FieldErrors when it is applied."""
    is_there = base_head(state.records, saving.fields.get("base", "")) is not None

    def edit(old: OrderRecord) -> OrderRecord:
        names = {name: value for name, value in saving.fields.items() if is_field(name)}
        made = by_field({name: _read(old, name, value, saving.unit, is_there) for name, value in names.items()})
        new = old
        for change in made.values():
            new = change(new)
        return new

    return edit


def is_field(name: str) -> bool:
    """Whether an order's page has a field of that name."""
    kind, _, rest = name.partition(".")
    known = {"wishes": (*WISH_LENGTHS, *WISH_CHOICES, "depth_share"), "making": NAMES}
    return name in (*HEAD_FIELDS, "chart_id") or rest in known.get(kind, ())


def _read(old: OrderRecord, name: str, value: str, unit: Unit, is_there: bool) -> Callable[[], Edit]:
    """Reads one field; what it gives changes the order."""
    kind, _, rest = name.partition(".")

    def read() -> Edit:
        if kind == "wishes":
            wish: dict[str, Any] = {rest: _wish(rest, value, unit)}
            return lambda order: replace(order, wishes=replace(order.wishes, **wish))
        if kind == "making":
            return _made(old, rest, value, unit)
        change = _head(name, value, is_there)
        replace(old, **change)
        return lambda order: replace(order, **change)

    return read


def _head(name: str, value: str, is_there: bool) -> dict[str, Any]:
    if name == "chart_id":
        return {name: whole(value) if value else None}
    if name == "base" and value and not is_there:
        raise BadInput("That base pattern is no longer there: choose another.")
    return {name: value}


def _wish(name: str, value: str, unit: Unit) -> object:
    if name in WISH_CHOICES:
        return value == "yes"
    if not value.strip():
        return None
    if name == "depth_share":
        return _share(value)
    return size_of(value, unit, "waist reduction" if name == "reduction" else "lacing gap")


def _share(value: str) -> float:
    try:
        share = float(value.replace(",", ".").removesuffix("%")) / 100
    except ValueError:
        share = -1.0
    if not 0 <= share <= 1:
        raise BadInput("Give the share of the cup depth's difference in per cent, 0 to 100.")
    return share


def _made(old: OrderRecord, name: str, value: str, unit: Unit) -> Edit:
    """A length is kept with its unit, so that it stays what it was under another one."""
    plain = value.strip()
    if name in LENGTHS and plain and plain[-1].isdigit():
        plain = f"{plain} {unit}"
    making_options({name: plain}, "", "", "", unit)
    return lambda order: replace(order, making={**order.making, name: plain})


