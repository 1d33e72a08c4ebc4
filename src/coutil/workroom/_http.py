"""How pages are wired: plain functions of state and request, run outside the server's loop; what forms send."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from math import isfinite
from typing import TYPE_CHECKING, Any, NoReturn, TypeVar

from coutil.errors import BadInput
from coutil.record import Conflict
from coutil.workroom._state import AppState
from coutil.workroom._words import field_title, moment, shown

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route

    from coutil.measure import Unit

T = TypeVar("T")

MOST_FILES = 40
MOST_FIELDS = 2000
LONGEST_FIELD = 1_000_000
LARGEST_MESSAGE = 2_000_000  # Of JSON.
LONGEST_WHOLE = 16  # Digits and sign of a whole number: beyond it JavaScript's own numbers are no longer exact.


class FieldErrors(BadInput):
    """What is wrong with single fields of a form, a sentence to each."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__(" ".join(errors.values()))
        self.errors = dict(errors)


@dataclass(frozen=True, slots=True)
class Saving:
    """What a page's script sends to have fields saved: the version it started from, and the fields as typed."""

    version: int
    unit: Unit
    fields: Mapping[str, str] = field(default_factory=dict)


def got(state: AppState, path: str, show: Callable[[AppState, Request], Response]) -> Route:
    """A page to look at."""
    from starlette.routing import Route

    def endpoint(request: Request) -> Response:
        return show(state, request)

    return Route(path, endpoint, methods=["GET"])


def posted(state: AppState, path: str, take: Callable[[AppState, Request, FormData], Response]) -> Route:
    """What a form is sent to."""
    from starlette.concurrency import run_in_threadpool
    from starlette.routing import Route

    async def endpoint(request: Request) -> Response:
        form = await _form_of(request)
        try:
            return await run_in_threadpool(take, state, request, form)
        finally:
            await form.close()

    return Route(path, endpoint, methods=["POST"])


async def _form_of(request: Request) -> FormData:
    """The form that is sent; raises BadInput where its files find no room on the disk."""
    limits = {"max_files": MOST_FILES, "max_fields": MOST_FIELDS, "max_part_size": LONGEST_FIELD}
    try:
        return await request.form(**limits)
    except OSError as error:
        raise BadInput("What was sent cannot be taken in: make some room on the disk, and send it again.") from error


def called(state: AppState, path: str, take: Callable[[AppState, Request, Any], Response]) -> Route:
    """What a page's script calls with JSON."""
    from starlette.concurrency import run_in_threadpool
    from starlette.routing import Route

    async def endpoint(request: Request) -> Response:
        body = await request.body()
        return await run_in_threadpool(lambda: take(state, request, from_json(body)))

    return Route(path, endpoint, methods=["POST"])


def saved(state: AppState, path: str, save: Callable[[AppState, Request, Saving], Response]) -> Route:
    """What a form saves itself to as it is typed."""
    return called(state, path, lambda state, request, data: save(state, request, saving_from(data)))


def from_json(body: bytes) -> Any:
    """The value in a JSON body; raises BadInput for anything else."""
    if len(body) > LARGEST_MESSAGE:
        raise BadInput("That message is longer than any page sends.")
    try:
        value = json.loads(body, parse_int=_whole_in_json, parse_float=_figure_in_json, parse_constant=_no_figure)
        # Half a letter (a lone surrogate) can stand in JSON, but neither on a page nor in the records.
        json.dumps(value, ensure_ascii=False).encode()
    except (ValueError, RecursionError) as error:
        raise BadInput("The page sent something that cannot be read: load it again.") from error
    return value


def _whole_in_json(digits: str) -> int:
    if len(digits) > LONGEST_WHOLE:
        raise ValueError("no page sends so large a number")
    return int(digits)


def _figure_in_json(digits: str) -> float:
    found = float(digits)
    return found if isfinite(found) else _no_figure(digits)


def _no_figure(word: str) -> NoReturn:
    raise ValueError(f"{word[:20]} is no figure")


def saving_from(data: object) -> Saving:
    """What is to be saved; raises BadInput for anything but {version, unit, fields}."""
    fault = BadInput("The page sent something that cannot be read: load it again.")
    if not isinstance(data, dict):
        raise fault
    version, unit, fields = data.get("version"), data.get("unit"), data.get("fields")
    if not isinstance(version, int) or isinstance(version, bool) or unit not in ("cm", "in"):
        raise fault
    if not isinstance(fields, dict) or not all(isinstance(value, str) for value in fields.values()):
        raise fault
    return Saving(version, unit, fields)


def told_json(value: object, status: int = 200) -> Response:
    """A JSON answer."""
    from starlette.responses import JSONResponse

    return JSONResponse(value, status)


def see(path: str) -> Response:
    """On to another page after something was done."""
    from starlette.responses import RedirectResponse

    return RedirectResponse(path, 303)


def conflict_json(conflict: Conflict, unit: Unit) -> Response:
    """What a second writer is told, field by field."""
    fields = [
        {
            "name": change.name,
            "title": field_title(change.name),
            "before": shown(change.name, change.before, unit),
            "mine": shown(change.name, change.mine, unit),
            "theirs": shown(change.name, change.theirs, unit),
            "clashes": change.clashes,
            "changed_by_me": change.mine != change.before,
        }
        for change in conflict.fields
    ]
    return told_json({"version": conflict.version, "conflict": fields}, 409)


def kept_json(thing: Any, **more: object) -> Response:
    """What a form is told after it saved itself."""
    return told_json({"version": thing.version, "saved": moment(thing.changed), **more})


def number(request: Request, name: str = "id") -> int:
    """The number in the address; raises BadInput for anything else."""
    return whole(str(request.path_params[name]))


def whole(text: str) -> int:
    """A whole number of a list or an address, not negative; raises BadInput for anything else."""
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise BadInput("There is nothing under that number.")
    return int(text)


def text(form: FormData, name: str) -> str:
    """A text field of a form, empty where it is missing or is a file."""
    value = form.get(name, "")
    return value if isinstance(value, str) else ""


def upload(form: FormData, name: str, limit: int) -> tuple[str, bytes] | None:
    """The ending of a file's name and its bytes, None where no file was chosen; raises BadInput beyond `limit`.

    Of the name nothing but its ending is used, and never as a path.
    """
    value = form.get(name)
    if value is None or isinstance(value, str) or not value.filename:
        return None
    data = value.file.read(limit + 1)
    if len(data) > limit:
        raise BadInput(f"The file has more than {limit / 1e6:g} MB.")
    ending = value.filename.rpartition(".")[2].lower()
    return (f".{ending}" if ending.isascii() and ending.isalnum() else ""), data


def by_field(fields: Mapping[str, Callable[[], T]]) -> dict[str, T]:
    """Each field read; raises FieldErrors with a sentence for every one that cannot be."""
    values: dict[str, T] = {}
    errors: dict[str, str] = {}
    for name, read in fields.items():
        try:
            values[name] = read()
        except BadInput as error:
            errors[name] = str(error)
    if errors:
        raise FieldErrors(errors)
    return values
