"""Pages from templates, with what every page knows: unit, theme, and where in the workroom one is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from coutil.workroom._state import AppState

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import HTMLResponse

    from coutil.measure import Unit

THEMES = ("system", "light", "dark")


def unit_of(request: Request) -> Unit:
    """The unit this browser speaks: cm unless its cookie says in."""
    return "in" if request.cookies.get("coutil_unit") == "in" else "cm"


def theme_of(request: Request) -> str:
    """Light, dark, or as the system has it."""
    chosen = request.cookies.get("coutil_theme", "")
    return chosen if chosen in THEMES else "system"


def page(state: AppState, request: Request, name: str, status: int = 200, **context: Any) -> HTMLResponse:
    """The template of that name as a page; `context` is what it shows."""
    from starlette.responses import HTMLResponse

    common = {"unit": unit_of(request), "theme": theme_of(request), "path": request.url.path, "here": ""}
    text = state.templates.get_template(name).render({**common, **context})
    return HTMLResponse(text, status)
