"""Fittings: what was seen on the body, what is taken in or let out and where, and photos."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Literal, cast

from coutil.errors import BadInput
from coutil.measure import Unit, parse_length
from coutil.pattern import Style
from coutil.record import (
    LARGEST_PHOTO,
    MOST_PHOTOS,
    Amount,
    Conflict,
    Fitting,
    add_fitting,
    add_photo,
    change_fitting,
    find_base,
    find_client,
    find_fitting,
    find_order,
    list_fittings,
    list_photos,
    list_revisions,
    photo_bytes,
    remove_photo,
)
from coutil.workroom._http import (
    FieldErrors,
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
    upload,
    whole,
)
from coutil.workroom._render import page, unit_of
from coutil.workroom._state import AppState
from coutil.workroom._words import written

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route

HEAD_FIELDS = ("held", "remarks")
MOST_LINES = 200
WAYS = ("in", "out")


def routes(state: AppState) -> list[Route]:
    """The pages of fittings."""
    return [
        got(state, "/orders/{id}/fittings", fittings),
        posted(state, "/orders/{id}/fittings", add),
        got(state, "/fittings/{id}", fitting),
        saved(state, "/api/fittings/{id}", save),
        posted(state, "/fittings/{id}/photos", add_pictures),
        got(state, "/photos/{id}", picture),
        posted(state, "/photos/{id}/remove", remove_picture),
    ]


def fittings(state: AppState, request: Request) -> Response:
    """The fittings of an order."""
    order = find_order(state.records, number(request))
    return page(
        state,
        request,
        "fittings.html",
        here="orders",
        order=order,
        client=find_client(state.records, order.client_id),
        fittings=[one for one in list_fittings(state.records, order.id) if not _is_blank(state, one)],
        shorts={head.id: head.short for head in list_revisions(state.records, order.id)},
    )


def add(state: AppState, request: Request, form: FormData) -> Response:
    """A new fitting, of today, on the newest revision; its page opens."""
    order_id = number(request)
    heads = list_revisions(state.records, order_id)
    newest = heads[0].id if heads else None
    wanted = Fitting(0, 1, order_id, date.today().isoformat(), newest)
    begun = (one for one in list_fittings(state.records, order_id) if one.held == wanted.held and _is_blank(state, one))
    made = next(begun, None) or add_fitting(state.records, wanted)
    return see(f"/fittings/{made.id}")


def _is_blank(state: AppState, found: Fitting) -> bool:
    """Whether nobody has written or photographed anything since it was begun."""
    return found.version == 1 and not (found.remarks or found.amounts or list_photos(state.records, found.id))


def fitting(state: AppState, request: Request) -> Response:
    """The form of one fitting."""
    found = find_fitting(state.records, number(request))
    order = find_order(state.records, found.order_id)
    seams, levels = places(find_base(state.records, order.base)) if order.base else ((), ())
    return page(
        state,
        request,
        "fitting.html",
        here="orders",
        fitting=found,
        order=order,
        client=find_client(state.records, order.client_id),
        revisions=list_revisions(state.records, order.id),
        seams=seams,
        levels=levels,
        lines=lines_of(found, unit_of(request)),
        photos=list_photos(state.records, found.id),
        most_photos=MOST_PHOTOS,
        largest_mb=LARGEST_PHOTO // 1_000_000,
    )


def save(state: AppState, request: Request, saving: Saving) -> Response:
    """Saves what was typed on a fitting's page."""
    fitting_id = number(request)
    outcome = change_fitting(
        state.records, fitting_id, saving.version, lambda old: edited(old, saving.fields, saving.unit)
    )
    return conflict_json(outcome, saving.unit) if isinstance(outcome, Conflict) else kept_json(outcome)


def add_pictures(state: AppState, request: Request, form: FormData) -> Response:
    """Keeps the chosen photo."""
    fitting_id = number(request)
    found = upload(form, "photo", LARGEST_PHOTO)
    if found is None:
        raise BadInput("Choose a photo first.")
    add_photo(state.records, fitting_id, found[1], text(form, "caption"))
    return see(f"/fittings/{fitting_id}#photos")


def picture(state: AppState, request: Request) -> Response:
    """A photo's bytes, as what they are and nothing else."""
    from starlette.responses import Response

    kind, data = photo_bytes(state.records, number(request))
    return Response(data, media_type=kind, headers={"content-security-policy": "default-src 'none'; sandbox"})


def remove_picture(state: AppState, request: Request, form: FormData) -> Response:
    """Erases a photo."""
    remove_photo(state.records, number(request))
    return see(f"/fittings/{whole(text(form, 'fitting'))}#photos")


def places(style: Style) -> tuple[tuple[tuple[str, str], ...], tuple[str, ...]]:
    """Where a pattern can be taken in: its seams with their titles, and its levels."""
    titles = {piece.name: piece.title for piece in style.pieces}
    seams = tuple(
        (
            seam.name,
            f"{seam.name.replace('_', ' ')} ({titles[seam.a[0].piece]} to {titles[seam.b[0].piece]})".lower(),
        )
        for seam in style.seams
    )
    edges = (("top_edge", "top edge"), ("hem", "hem"), ("centre_back", "centre back, lacing"))
    return (*seams, *(edge for edge in edges if edge[0] not in dict(seams))), tuple(lv.name for lv in style.levels)


def lines_of(found: Fitting, unit: Unit) -> list[dict[str, str]]:
    """The amounts as typed: how much, in or out, at which seam, side and level."""
    return [
        {
            "seam": amount.seam,
            "side": amount.side,
            "level": amount.level,
            "way": "out" if amount.mm > 0 else "in",
            "amount": written(abs(amount.mm), unit),
        }
        for amount in found.amounts
    ]


def edited(old: Fitting, fields: Mapping[str, str], unit: Unit) -> Fitting:
    """The fitting with fields as typed; raises FieldErrors.

    The amounts come all together: `a.count`, and for each line `a.N.seam`, `.side`, `.level`, `.way`, `.amount`.
    """
    changes: dict[str, dict[str, object]] = {name: {name: fields[name]} for name in HEAD_FIELDS if name in fields}
    if "revision_id" in fields:
        chosen = fields["revision_id"]
        changes["revision_id"] = {"revision_id": whole(chosen) if chosen else None}
    if "a.count" in fields:
        changes["a.count"] = {"amounts": amounts_of(fields, unit)}
    elif any(name.startswith("a.") for name in fields):
        raise BadInput("The amounts of a fitting are kept all together: load the page again and type them anew.")

    def tried(change: Mapping[str, object]) -> Callable[[], Fitting]:
        return lambda: replace(old, **change)  # type: ignore[arg-type]

    by_field({name: tried(change) for name, change in changes.items()})
    together = {key: value for change in changes.values() for key, value in change.items()}
    return replace(old, **together)  # type: ignore[arg-type]


def amounts_of(fields: Mapping[str, str], unit: Unit) -> tuple[Amount, ...]:
    """The lines that name a seam and an amount; raises FieldErrors by line."""
    n_lines = min(whole(fields["a.count"]), MOST_LINES)
    typed = [i for i in range(n_lines) if fields.get(f"a.{i}.amount", "").strip()]

    def read(i: int) -> Callable[[], Amount]:
        return lambda: _amount({name: fields.get(f"a.{i}.{name}", "") for name in FIELDS_OF_A_LINE}, unit)

    made = by_field({f"a.{i}.amount": read(i) for i in typed})
    if len({(a.seam, a.side, a.level) for a in made.values()}) < len(made):
        raise FieldErrors({f"a.{typed[-1]}.amount": "The same place stands in two lines: put them together."})
    return tuple(made.values())


FIELDS_OF_A_LINE = ("seam", "side", "level", "way", "amount")


def _amount(line: Mapping[str, str], unit: Unit) -> Amount:
    mm = parse_length(line["amount"], unit)
    if mm <= 0:
        raise BadInput("Write how much as a plain figure, and choose take in or let out.")
    if line["way"] not in WAYS:
        raise BadInput("Say whether it is taken in or let out.")
    side = cast(Literal["both", "left", "right"], line["side"])
    return Amount(line["seam"], side, line["level"], round(mm if line["way"] == "out" else -mm, 3))
