"""The application: every page and address of the workroom behind one guard."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coutil.errors import CoutilError
from coutil.record import NotKept
from coutil.workroom import (
    _alteration_api,
    _bases,
    _charts,
    _clients,
    _discarding,
    _fittings,
    _guide,
    _lay_pages,
    _orders,
    _papers,
    _privacy,
    _revisions,
    _today,
)
from coutil.workroom._guard import Guard, Refusal
from coutil.workroom._http import FieldErrors, told_json
from coutil.workroom._render import page, unit_of
from coutil.workroom._state import HERE, AppState
from coutil.workroom._words import said

if TYPE_CHECKING:
    from starlette.applications import Starlette
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import BaseRoute

ROOMS = (
    _today,
    _clients,
    _charts,
    _orders,
    _alteration_api,
    _revisions,
    _bases,
    _fittings,
    _papers,
    _lay_pages,
    _guide,
    _privacy,
    _discarding,
)

FORM_PAGES = ("/bases", "/clients/new", "/orders/new")  # Where a form is sent to the page it stands on.


def build_app(state: AppState) -> Starlette:
    """The workroom as an ASGI application."""
    from starlette.applications import Starlette
    from starlette.exceptions import HTTPException
    from starlette.middleware import Middleware
    from starlette.requests import Request

    return Starlette(
        routes=_routes(state),
        middleware=[
            Middleware(
                Guard,
                state=state,
                fault=lambda scope, error: _fault(state, Request(scope), error),
                too_much=lambda scope, refusal: _too_much(state, Request(scope), refusal),
            )
        ],
        exception_handlers={
            CoutilError: lambda request, error: _told(state, request, error),
            HTTPException: lambda request, error: _not_there(state, request, error),
        },
    )


def _routes(state: AppState) -> list[BaseRoute]:
    from starlette.routing import Mount
    from starlette.staticfiles import StaticFiles

    rooms = [route for room in ROOMS for route in room.routes(state)]
    return [*rooms, Mount("/static", StaticFiles(directory=HERE / "static"))]


def _wants_json(request: Request) -> bool:
    return request.headers.get("content-type", "").startswith("application/json")


def _told(state: AppState, request: Request, error: Exception) -> Response:
    """A trouble with what was given: a sentence, beside its field where it belongs to one."""
    status = 404 if isinstance(error, NotKept) else 422
    unit = unit_of(request)
    if _wants_json(request):
        fields = error.errors if isinstance(error, FieldErrors) else {}
        # What is said of a field holds what was typed and examples of how to type: no figure in it is to be turned.
        errors = {name: said(sentence, "mm") for name, sentence in fields.items()}
        return told_json({"error": said(str(error), unit), "errors": errors}, status)
    return page(state, request, "trouble.html", status, sentence=said(str(error), unit), back=_back(request))


def _not_there(state: AppState, request: Request, error: Exception) -> Response:
    status = getattr(error, "status_code", 404)
    sentence = "There is no such page." if status == 404 else f"{getattr(error, 'detail', '')}."
    if _wants_json(request):
        return told_json({"error": sentence, "errors": {}}, status)
    return page(state, request, "trouble.html", status, sentence=sentence, back="/")


def _fault(state: AppState, request: Request, error: Exception) -> Response:
    sentence = f"Something in the program went wrong ({type(error).__name__}); nothing you saved is lost."
    if _wants_json(request):
        return told_json({"error": sentence, "errors": {}}, 500)
    return page(state, request, "trouble.html", 500, sentence=sentence, back="/")


def _too_much(state: AppState, request: Request, refusal: Refusal) -> Response:
    """The page of a form whose upload was refused, with a way back to it."""
    if _wants_json(request):
        return told_json({"error": refusal.sentence, "errors": {}}, refusal.status)
    path = request.url.path
    back = path if path in FORM_PAGES else _back(request)
    return page(state, request, "trouble.html", refusal.status, sentence=refusal.sentence, back=back)


def _back(request: Request) -> str:
    """The page to go back to: the one above, since the browser tells no other."""
    above = request.url.path.rstrip("/").rpartition("/")[0]
    return above or "/"
