"""Lay plans in the workroom: asked for, watched while a shorter one is looked for, stopped, kept, fetched."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from coutil.cut import LayCloth
from coutil.errors import BadInput
from coutil.lay_job import LayOrder, lay, lay_files
from coutil.measure import Unit, format_length
from coutil.record import LAY_PAPERS, add_lay, find_client, find_lay, find_order, find_revision, lay_paper, remove_lay
from coutil.sheet import Heading
from coutil.wishes_file import size_of
from coutil.workroom._http import got, number, posted, see, text, whole
from coutil.workroom._lay_runs import LayRun, Progress
from coutil.workroom._making import making_options
from coutil.workroom._papers import Asked, asked_for, document
from coutil.workroom._render import page, unit_of
from coutil.workroom._revisions import drawing
from coutil.workroom._state import AppState
from coutil.workroom._words import said

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route

LONGEST_S = 600
USUAL_S = 10
BEAT_S = 1.0  # A page hears at least so often, and so notices when nobody speaks any more.


def routes(state: AppState) -> list[Route]:
    """The pages of lay plans."""
    return [
        posted(state, "/revisions/{id}/lay", start),
        got(state, "/lays/{id}", lay_page),
        got(state, "/lays/{id}/progress", progress),
        posted(state, "/lays/{id}/stop", stop),
        got(state, "/plans/{id}", plan_page),
        got(state, "/plans/{id}/plan.svg", picture),
        *(got(state, f"/plans/{{id}}/lay.{name}", _fetched(name)) for name in LAY_PAPERS),
        posted(state, "/plans/{id}/remove", remove),
    ]


def start(state: AppState, request: Request, form: FormData) -> Response:
    """Begins to look for a lay of the chosen layers on the chosen cloth."""
    asked = asked_for(state, request)
    order = _order(asked, form)
    seconds = whole(text(form, "seconds") or str(USUAL_S))
    if seconds > LONGEST_S:
        raise BadInput(f"Look for a lay plan for at most {LONGEST_S} seconds.")
    heading, unit = Heading(asked.reference, asked.revision.head.short), asked.unit

    def work(run: LayRun) -> None:
        laid = lay(
            order,
            seconds,
            report=lambda plan: run.tell(length=plan.length, use=plan.use),
            tick=lambda gone: run.tell(gone=round(gone, 1)),
            cancelled=run.enough.is_set,
        )
        papers = {ending.lstrip("."): data for ending, data in lay_files(laid, heading, unit).items()}
        plan, remarks = laid.plan, tuple(laid.plan.remarks)
        kept = add_lay(state.records, run.revision_id, run.title, plan.length, plan.use, papers, remarks)
        run.kept = kept.id
        run.tell(length=plan.length, use=plan.use)

    title = f"{', '.join(order.layers)} on {format_length(order.cloth.width, unit)}"
    return see(f"/lays/{state.lays.start(asked.revision.head.id, title, seconds, work).number}")


def lay_page(state: AppState, request: Request) -> Response:
    """A lay plan while it is looked for; once it is kept, on to it."""
    run = state.lays.find(number(request))
    if run.kept is not None:
        return see(f"/plans/{run.kept}")
    told = told_progress(run.progress, unit_of(request))
    return page(state, request, "lay.html", here="orders", run=run, told=told, **_whose(state, run.revision_id))


def plan_page(state: AppState, request: Request) -> Response:
    """A kept lay plan."""
    plan = find_lay(state.records, number(request))
    return page(state, request, "plan.html", here="orders", plan=plan, **_whose(state, plan.revision_id))


def _whose(state: AppState, revision_id: int) -> dict[str, Any]:
    """What the head of a lay plan's page tells."""
    head = find_revision(state.records, revision_id).head
    order = find_order(state.records, head.order_id)
    return {"head": head, "order": order, "client": find_client(state.records, order.client_id)}


def progress(state: AppState, request: Request) -> Response:
    """The progress as events, until the lay has ended."""
    from starlette.responses import StreamingResponse

    run, unit = state.lays.find(number(request)), unit_of(request)
    return StreamingResponse(events(run, unit), media_type="text/event-stream")


def events(run: LayRun, unit: Unit) -> Iterator[str]:
    """One event for every change, and a beat in between."""
    seen: Progress | None = None
    while seen is None or not seen.ended:
        now = run.wait(seen, BEAT_S)
        yield f"data: {json.dumps(told_progress(now, unit))}\n\n" if now != seen else ": beat\n\n"
        seen = now


def told_progress(now: Progress, unit: Unit) -> dict[str, object]:
    """The progress as a page shows it."""
    length = format_length(now.length, unit) if now.length is not None else ""
    use = f"{now.use:.1f} %" if now.use is not None else ""
    return {**asdict(now), "length": length, "use": use, "error": said(now.error, unit)}


def stop(state: AppState, request: Request, form: FormData) -> Response:
    """Ends the looking; the best lay so far is kept."""
    run = state.lays.find(number(request))
    run.enough.set()
    return see(f"/lays/{run.number}")


def picture(state: AppState, request: Request) -> Response:
    """The lay plan as a picture."""
    return drawing(lay_paper(state.records, number(request), "svg").decode())


def remove(state: AppState, request: Request, form: FormData) -> Response:
    """Erases a kept lay plan."""
    plan = find_lay(state.records, number(request))
    order_id = find_revision(state.records, plan.revision_id).head.order_id
    remove_lay(state.records, plan.id)
    return see(f"/orders/{order_id}/papers?revision={plan.revision_id}")


def _fetched(name: str) -> Callable[[AppState, Request], Response]:
    def answer(state: AppState, request: Request) -> Response:
        plan = find_lay(state.records, number(request))
        return document(lay_paper(state.records, plan.id, name), f"lay-{plan.revision_id}-{plan.id}.{name}")

    return answer


def _order(asked: Asked, form: FormData) -> LayOrder:
    order, unit = asked.order, asked.unit
    making = making_options(order.making, asked.reference, order.wear, order.due, unit)
    style = asked.making().style
    known = tuple(layer.name for layer in style.layers)
    layers = tuple(name for name in known if text(form, f"layer.{name}"))
    if not layers:
        raise BadInput("Choose at least one layer to lay.")
    cloth = LayCloth(
        size_of(text(form, "width"), unit, "width of the cloth"),
        nap=bool(text(form, "nap")),
        folded=bool(text(form, "folded")),
        price=_price(text(form, "price")),
    )
    return LayOrder(style, layers, cloth, making, small=bool(text(form, "small")))


def _price(typed: str) -> float | None:
    if not typed.strip():
        return None
    try:
        price = float(typed.replace(",", "."))
    except ValueError:
        price = -1.0
    if not 0 <= price < 1e6:
        raise BadInput("The price of a metre is a plain figure, such as 38 or 38.50.")
    return price
