"""Privacy: everything about a client to take along or to erase, all records to put aside and to put back."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from coutil.errors import BadInput
from coutil.record import (
    PASSING,
    backup_suffix,
    backup_to,
    bases_from,
    count_clients,
    erase_client,
    export_client,
    find_client,
    keep_setting,
    list_clients,
    list_orders,
    list_revisions,
    passing_file,
    passing_folder,
    read_setting,
    restore_from,
)
from coutil.workroom._clients import page_number, pages
from coutil.workroom._http import got, number, posted, see, text
from coutil.workroom._pairing import Machine
from coutil.workroom._render import page
from coutil.workroom._state import AppState

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route

AT_ONCE = 1 << 20


def routes(state: AppState) -> list[Route]:
    """The pages of privacy."""
    return [
        got(state, "/privacy", privacy),
        got(state, "/clients/{id}/export.zip", export),
        got(state, "/clients/{id}/erase", ask_erase),
        posted(state, "/clients/{id}/erase", erase),
        got(state, "/privacy/backup", backup),
        posted(state, "/privacy/restore", restore),
        posted(state, "/privacy/author", author),
        posted(state, "/privacy/machines/{id}/remove", remove_machine),
    ]


def privacy(state: AppState, request: Request) -> Response:
    """What is kept where, and how to take it along, erase it, put it aside and back."""
    words, at = request.query_params.get("q", "")[:200], page_number(request)
    return page(
        state,
        request,
        "privacy.html",
        here="privacy",
        clients=list_clients(state.records, words, at),
        words=words,
        in_file=state.records.in_file,
        author=read_setting(state.records, "author"),
        done=request.query_params.get("done", ""),
        lan=state.settings.lan,
        machines=[_shown(machine) for machine in state.pairing.machines()],
        **pages(count_clients(state.records, words), at),
    )


def export(state: AppState, request: Request) -> Response:
    """Everything about one client as a zip archive."""
    from starlette.responses import Response

    client_id = number(request)
    headers = {"content-disposition": f'attachment; filename="client-{client_id}.zip"'}
    return Response(export_client(state.records, client_id), media_type="application/zip", headers=headers)


def ask_erase(state: AppState, request: Request) -> Response:
    """What would be erased, and the name to type so that it is not done by a slip."""
    client = find_client(state.records, number(request))
    bases = bases_from(state.records, client.id)
    return page(state, request, "erase.html", here="privacy", client=client, bases=bases, error="")


def erase(state: AppState, request: Request, form: FormData) -> Response:
    """Erases a client whose name was typed."""
    client = find_client(state.records, number(request))
    if " ".join(text(form, "name").split()) != client.name:
        error = "Type the name exactly as it stands above."
        bases = bases_from(state.records, client.id)
        return page(state, request, "erase.html", 422, here="privacy", client=client, bases=bases, error=error)
    orders = list_orders(state.records, "all", client_id=client.id)
    revisions = frozenset(head.id for order in orders for head in list_revisions(state.records, order.id))
    state.lays.forget(revisions)
    with_bases = text(form, "bases") != "keep"
    done = "erased" if erase_client(state.records, client.id, with_bases) else "erased-later"
    return see(f"/privacy?done={done}")


def backup(state: AppState, request: Request) -> Response:
    """All records in one file."""
    from starlette.responses import Response, StreamingResponse

    suffix = backup_suffix(state.records)
    name = f"coutil-{date.today().isoformat()}{suffix}"
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    if request.method == "HEAD":
        return Response(headers=headers, media_type="application/octet-stream")
    path = passing_file(state.records, suffix)
    try:
        backup_to(state.records, path)
        size = path.stat().st_size
        copy = path.open("rb")
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    # Open, it needs no name any more: whatever becomes of who asked, nothing is left.  Windows wants it closed first.
    with suppress(PermissionError):
        path.unlink()
    headers["content-length"] = str(size)
    return StreamingResponse(_sent(copy, path), media_type="application/octet-stream", headers=headers)


def restore(state: AppState, request: Request, form: FormData) -> Response:
    """Puts a backup in the place of all records."""
    if text(form, "sure") != "yes":
        raise BadInput("Tick that the backup is to take the place of everything kept now.")
    with _uploaded(state, form) as path:
        restore_from(state.records, path)
    state.lays.stop_all()
    return see("/privacy?done=restored")


def author(state: AppState, request: Request, form: FormData) -> Response:
    """Who signs revisions from now on."""
    keep_setting(state.records, "author", text(form, "author"))
    return see("/privacy?done=author")


def remove_machine(state: AppState, request: Request, form: FormData) -> Response:
    """From now on another machine stays outside; it may be paired anew."""
    state.pairing.remove(number(request))
    return see("/privacy?done=machine#machines")


def _shown(machine: Machine) -> dict[str, str | int]:
    since, until = (datetime.fromtimestamp(at, UTC).isoformat() for at in (machine.since, machine.until))
    return {"number": machine.number, "address": machine.address, "since": since, "until": until}


def _sent(copy: BinaryIO, path: Path) -> Iterator[bytes]:
    """The open file piece by piece; it is gone from the disk afterwards."""
    try:
        with copy:
            while piece := copy.read(AT_ONCE):
                yield piece
    finally:
        path.unlink(missing_ok=True)


@contextmanager
def _uploaded(state: AppState, form: FormData) -> Iterator[Path]:
    """The uploaded file under a name of our own, in a folder that is gone afterwards."""
    value = form.get("backup")
    if value is None or isinstance(value, str) or not value.filename:
        raise BadInput("Choose a backup file first.")
    with _folder_for(state) as folder:
        path = folder / "backup"
        try:
            with path.open("wb") as target:
                while piece := value.file.read(AT_ONCE):
                    target.write(piece)
        except OSError as error:
            raise BadInput("The backup cannot be taken in: the disk is full.") from error
        yield path


@contextmanager
def _folder_for(state: AppState) -> Iterator[Path]:
    """A folder for its owner alone that is gone afterwards."""
    try:
        folder = tempfile.TemporaryDirectory(prefix=f"{PASSING}{os.getpid()}-", dir=passing_folder(state.records))
    except OSError as error:
        raise BadInput("The backup cannot be taken in: there is no room for it on the disk.") from error
    with folder as name:
        yield Path(name)
