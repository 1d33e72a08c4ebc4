"""The papers of an order: pattern, workroom sheet, tables and files, each made from a kept revision when asked for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from coutil import job
from coutil.alter import Alteration
from coutil.check import Finding
from coutil.cut import LayPlan, Making, OrderOptions, ordered_style
from coutil.errors import BadInput
from coutil.file_names import file_stem, plain_name
from coutil.lay_file import lay_from_json
from coutil.measure import Unit
from coutil.pack_job import kept_lays
from coutil.pattern import style_to_json
from coutil.record import (
    Client,
    OrderRecord,
    Origin,
    Revision,
    add_base_from,
    find_client,
    find_order,
    find_revision,
    lay_paper,
    list_lays,
    list_revisions,
    nameless,
)
from coutil.result_file import result_from_json, result_to_json
from coutil.sheet import PrintOptions, paper_of
from coutil.tables import chart_csv, checks_csv
from coutil.workroom._http import got, number, posted, see, text, whole
from coutil.workroom._making import making_options
from coutil.workroom._render import page, unit_of
from coutil.workroom._state import AppState

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route

PAPERS: Mapping[str, str] = {
    "a4": "A4",
    "letter": "Letter",
    "a3": "A3",
    "a0": "A0",
    "roll:900": "roll, 90 cm wide",
    "single": "one page",
}
# What is printed: the pattern with the layers and closure of the order, as it was altered, or its toile.
KINDS: Mapping[str, str] = {"ordered": "as ordered", "altered": "stitching layers of the base", "toile": "toile"}
SHEET_PAPERS = ("a4", "letter")
# A paper is looked at, not run: its own styles and pictures count, nothing else does.
SHOWN_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; sandbox"
TYPES = {
    "pdf": "application/pdf",
    "svg": "image/svg+xml",
    "dxf": "image/vnd.dxf",
    "json": "application/json",
    "csv": "text/csv; charset=utf-8",
    "html": "text/html; charset=utf-8",
}


@dataclass(frozen=True, slots=True)
class Asked:
    """A paper that is asked for: of which revision of which order, on what paper, of which kind, in which unit."""

    order: OrderRecord
    client: Client
    revision: Revision
    alteration: Alteration
    findings: tuple[Finding, ...]
    paper: str
    kind: str
    unit: Unit
    lays: tuple[LayPlan, ...] = ()

    @property
    def reference(self) -> str:
        """What stands on every piece: whom and which order it is for."""
        return f"{self.client.name}, order {self.order.id}"

    def numbered(self, alteration: Alteration) -> Alteration:
        """The alteration under the record's short number, so that sheet, guide and pieces name the same revision."""
        style = alteration.style
        provenance = replace(style.provenance, revision=self.revision.head.short)
        return replace(alteration, style=replace(style, provenance=provenance))

    def making(self) -> Making:
        """Everything the order implies for making; raises BadInput for what cannot be made."""
        options = self._ordered()
        return job.making_of(self.alteration, options, self._lays(options))

    def _ordered(self) -> OrderOptions:
        return making_options(self.order.making, self.reference, self.order.wear, self.order.due, self.unit)

    def _lays(self, options: OrderOptions) -> tuple[LayPlan, ...]:
        """The kept lay plans that fit the order as it stands, the newest first."""
        if not self.lays:
            return ()
        fitting, _ = kept_lays(ordered_style(self.alteration.style, options), options, self.lays)
        return tuple(laid.plan for laid in fitting)

    def printed(self) -> tuple[Alteration, tuple[Finding, ...]]:
        """What is printed with its checks."""
        if self.kind == "altered":
            return self.alteration, self.findings
        making = self.making()
        made = replace(self.alteration, style=making.toile.style if self.kind == "toile" else making.style)
        return made, job.check_alteration(made)

    def checked(self, making: Making) -> tuple[Finding, ...]:
        """The checks of the pattern as it is made: with the closure that was ordered."""
        return job.check_alteration(replace(self.alteration, style=making.style))

    def options(self, alteration: Alteration) -> PrintOptions:
        """What is printed beside the pattern, the short revision number with it; as ordered, its bones too."""
        made_as_ordered = self.kind == "ordered" and alteration is not self.alteration
        usual = job.print_options(alteration, self.unit, self._ordered() if made_as_ordered else None)
        return replace(usual, reference=self.reference, revision=self.revision.head.short)


def routes(state: AppState) -> list[Route]:
    """The pages of papers, and the papers."""
    papers = [got(state, f"/revisions/{{id}}/{name}", _paper(name, make)) for name, make in MAKERS.items()]
    return [
        got(state, "/orders/{id}/papers", papers_page),
        *papers,
        posted(state, "/revisions/{id}/base", take_as_base),
    ]


def papers_page(state: AppState, request: Request) -> Response:
    """What can be printed and fetched of an order."""
    order = find_order(state.records, number(request))
    heads = list_revisions(state.records, order.id)
    chosen = request.query_params.get("revision", "")
    wanted = whole(chosen) if chosen else (heads[0].id if heads else 0)
    head = next((head for head in heads if head.id == wanted), None)
    layers = () if head is None else _layers(state, request, head.id)
    return page(
        state,
        request,
        "papers.html",
        here="orders",
        order=order,
        client=find_client(state.records, order.client_id),
        revisions=heads,
        head=head,
        papers=PAPERS,
        kinds=KINDS,
        sheet_papers=SHEET_PAPERS,
        layers=layers,
        runs=state.lays.of(head.id) if head else (),
        plans=list_lays(state.records, head.id) if head else (),
    )


def take_as_base(state: AppState, request: Request, form: FormData) -> Response:
    """The altered pattern as a base of its own."""
    asked = asked_for(state, request)
    style = asked.alteration.style
    if text(form, "named") != "yes":
        style = nameless(style, asked.client.name)
    style = replace(style, title=text(form, "title").strip() or style.title)
    origin = Origin(asked.client.id, asked.order.id, asked.revision.head.id)
    return see(f"/bases/{add_base_from(state.records, style, origin).key}")


def asked_for(state: AppState, request: Request) -> Asked:
    """The revision with its order and client, and how its paper is wanted; raises BadInput for other words."""
    revision = find_revision(state.records, number(request))
    order = find_order(state.records, revision.head.order_id)
    result = result_from_json(revision.result_text)
    paper, kind = request.query_params.get("paper", "a4"), request.query_params.get("kind", "altered")
    paper_of(paper)
    if kind not in KINDS:
        raise BadInput(f"A pattern is printed {', '.join(KINDS.values())}.")
    client = find_client(state.records, order.client_id)
    kept_plans = list_lays(state.records, revision.head.id)
    lays = (*(lay_from_json(lay_paper(state.records, kept.id, "json")) for kept in kept_plans), *result.lays)
    return Asked(order, client, revision, result.alteration, result.findings, paper, kind, unit_of(request), lays)


def _layers(state: AppState, request: Request, revision_id: int) -> tuple[str, ...]:
    """The layers of the order, or of the pattern where the order cannot be made as it says."""
    revision = find_revision(state.records, revision_id)
    order = find_order(state.records, revision.head.order_id)
    alteration = result_from_json(revision.result_text).alteration
    client = find_client(state.records, order.client_id)
    asked = Asked(order, client, revision, alteration, (), "a4", "ordered", unit_of(request))
    try:
        style = asked.making().style
    except BadInput:
        style = alteration.style
    return tuple(layer.name for layer in style.layers)


def _pattern(asked: Asked) -> bytes:
    made, findings = asked.printed()
    return job.pattern_pdf(made, findings, asked.paper, asked.unit, asked.options(made))


def _overlay(asked: Asked) -> bytes:
    options = asked.options(asked.alteration)
    return job.pattern_pdf(asked.alteration, asked.findings, asked.paper, asked.unit, options, overlay=True)


def _pieces_svg(asked: Asked) -> bytes:
    made, _ = asked.printed()
    return job.pattern_svg(made, asked.options(made)).encode()


def _pieces_dxf(asked: Asked) -> bytes:
    made, _ = asked.printed()
    return job.pattern_dxf(made, asked.options(made), "r2000")


def _sheet_pdf(asked: Asked) -> bytes:
    paper: Literal["a4", "letter"] = "letter" if asked.paper == "letter" else "a4"
    making = asked.making()
    return job.workroom_sheet_pdf(
        asked.numbered(asked.alteration), asked.checked(making), making, paper, asked.unit
    )


def _sheet_html(asked: Asked) -> bytes:
    making = asked.making()
    alteration = asked.numbered(asked.alteration)
    return job.workroom_sheet_html(alteration, asked.checked(making), making, asked.unit).encode()


def _guide_pdf(asked: Asked) -> bytes:
    paper: Literal["a4", "letter"] = "letter" if asked.paper == "letter" else "a4"
    return job.alteration_guide_pdf(asked.numbered(job.with_steps(asked.alteration)), paper, asked.unit)


def _guide_html(asked: Asked) -> bytes:
    return job.alteration_guide_html(asked.numbered(job.with_steps(asked.alteration)), asked.unit).encode()


def _result(asked: Asked) -> str:
    """The result as it was kept, with the lay plans found since."""
    if not asked.lays:
        return asked.revision.result_text
    return result_to_json(asked.alteration, asked.findings, asked.lays)


MAKERS: Mapping[str, Callable[[Asked], bytes]] = {
    "pattern.pdf": _pattern,
    "overlay.pdf": _overlay,
    "pieces.svg": _pieces_svg,
    "pieces.dxf": _pieces_dxf,
    "workroom.pdf": _sheet_pdf,
    "workroom.html": _sheet_html,
    "guide.pdf": _guide_pdf,
    "guide.html": _guide_html,
    "overview.svg": lambda asked: job.overview_text(asked.alteration).encode(),
    "chart.csv": lambda asked: chart_csv(asked.alteration.plan, asked.unit, asked.alteration.style.sides).encode(),
    "checks.csv": lambda asked: checks_csv(asked.findings, asked.unit).encode(),
    "style.json": lambda asked: style_to_json(asked.alteration.style).encode(),
    "result.json": lambda asked: _result(asked).encode(),
}
SHOWN = frozenset({"workroom.html", "guide.html", "overview.svg"})  # Looked at in the browser unless ?save is given.


def _paper(name: str, make: Callable[[Asked], bytes]) -> Callable[[AppState, Request], Response]:
    def answer(state: AppState, request: Request) -> Response:
        asked = asked_for(state, request)
        stem, _, ending = name.rpartition(".")
        papered = f"-{asked.paper.replace(':', '')}" if ending == "pdf" else ""
        kind = f"-{asked.kind}" if stem in ("pattern", "pieces") and asked.kind != "altered" else ""
        short = asked.revision.head.short
        saved_as = f"{file_stem(f'order-{asked.order.id}-{short}-{stem}{kind}{papered}')}.{ending}"
        return document(make(asked), saved_as, shown=name in SHOWN and "save" not in request.query_params)

    return answer


def document(body: bytes, name: str, *, shown: bool = False) -> Response:
    """A paper to keep under that name, or to look at without letting it run anything."""
    from starlette.responses import Response

    way = "inline" if shown else "attachment"
    headers = {"content-disposition": f'{way}; filename="{plain_name(name)}"', "content-security-policy": SHOWN_POLICY}
    return Response(body, media_type=TYPES[name.rpartition(".")[2]], headers=headers)
