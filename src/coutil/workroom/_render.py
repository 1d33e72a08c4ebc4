"""Pages from templates, with what every page knows: unit, theme, and where in the workroom one is."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, cast

from coutil.workroom._state import AppState

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import HTMLResponse

    from coutil.measure import Unit
    from coutil.record import DiscardKind

DELETED = re.compile(r"(chart|order|fitting)-([0-9]{1,9})")
PAGE_OF = re.compile(r"/(chart|order|fitting)s/([0-9]{1,9})(?:/|$)")
THEMES = ("system", "light", "dark")


def unit_of(request: Request) -> Unit:
    """The unit this browser speaks: cm unless its cookie says in."""
    return "in" if request.cookies.get("coutil_unit") == "in" else "cm"


def theme_of(request: Request) -> str:
    """Light, dark, or as the system has it."""
    chosen = request.cookies.get("coutil_theme", "")
    return chosen if chosen in THEMES else "system"


def deleted_here(state: AppState, request: Request) -> tuple[DiscardKind, int] | None:
    """What this page was deleted from, or is the page of, and can be brought back."""
    from coutil.record import is_discarded

    found = DELETED.fullmatch(request.query_params.get("deleted", "")) or PAGE_OF.match(request.url.path)
    if found is None:
        return None
    kind, row_id = cast("DiscardKind", found[1]), int(found[2])
    return (kind, row_id) if is_discarded(state.records, kind, row_id) else None


def page(state: AppState, request: Request, name: str, status: int = 200, **context: Any) -> HTMLResponse:
    """The template of that name as a page; `context` is what it shows."""
    from starlette.responses import HTMLResponse

    deleted = deleted_here(state, request)
    common = {"unit": unit_of(request), "theme": theme_of(request), "path": request.url.path, "here": ""}
    text = state.templates.get_template(name).render({**common, "deleted": deleted, **context})
    return HTMLResponse(text, status)
