"""The measuring guide: every measurement with its definition, how the tape is laid, and a drawing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coutil.measure import MEASUREMENTS
from coutil.workroom._charts import LEAST
from coutil.workroom._figures import figure
from coutil.workroom._http import got
from coutil.workroom._render import page
from coutil.workroom._state import AppState

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route


def routes(state: AppState) -> list[Route]:
    """The guide."""
    return [got(state, "/guide", guide)]


def guide(state: AppState, request: Request) -> Response:
    """All measurements in the order they are taken."""
    titles = dict.fromkeys(m.group for m in MEASUREMENTS.values())
    groups = [(title, [(m, figure(m.key)) for m in MEASUREMENTS.values() if m.group == title]) for title in titles]
    return page(state, request, "guide.html", here="guide", groups=groups, least=LEAST)
