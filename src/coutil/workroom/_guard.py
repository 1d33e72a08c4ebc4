"""Who is let in.  Every request and every socket passes here before anything of the workroom sees it.

Refused are: a Host that is not this machine's (a page that had its name pointed here), anything another page or
another program's page on this machine asks for, a changing request that does not say where it comes from, more bytes
than are allowed, and other machines without a pass.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from ipaddress import ip_address
from typing import TYPE_CHECKING, Any

from coutil.workroom._pairing import COOKIE
from coutil.workroom._state import AppState, Settings

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    Fault = Callable[[Scope, Exception], ASGIApp]
    Told = Callable[[Scope, "Refusal"], ASGIApp]

SAFE = frozenset({"GET", "HEAD"})
ALLOWED = frozenset({"GET", "HEAD", "POST", "DELETE"})
OPEN_TO_ALL = ("/pair", "/static/")
TOO_MUCH = 413
LONGEST_PATH = 500  # No address of the workroom comes near it; far longer ones hold numbers that cannot be read.
BACKUP_PATH = "/privacy/restore"

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS: Mapping[str, str] = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    # Nothing is told to other origins; with no-referrer browsers would hide from us too which page a form comes from.
    "referrer-policy": "same-origin",
    "x-frame-options": "DENY",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
    "cache-control": "no-store",
}


@dataclass(frozen=True, slots=True)
class Refusal:
    """An HTTP status and the sentence that goes with it."""

    status: int
    sentence: str


class TooMuch(Exception):
    """More bytes came than are allowed."""


class Guard:
    """The outermost layer of the application."""

    def __init__(self, app: ASGIApp, state: AppState, fault: Fault, too_much: Told) -> None:
        """`fault` makes the answer where the program itself is at fault, `too_much` where more came than is allowed."""
        self.app, self.state, self.fault, self.too_much = app, state, fault, too_much

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        refusal = find_refusal(scope, self.state)
        if refusal is not None:
            await self._refuse(refusal, scope, receive, send)
            return
        limit = largest_body(scope.get("path", ""), self.state.settings)
        answer = _Answer(send)
        try:
            await self.app(scope, _limited(receive, limit), answer)
        except TooMuch:
            if not answer.begun:
                await self._refuse(_too_much(limit), scope, receive, send)
        except Exception as error:
            if os.environ.get("COUTIL_TRACEBACK") or answer.begun or scope["type"] != "http":
                raise
            await self.fault(scope, error)(scope, receive, answer)

    async def _refuse(self, refusal: Refusal, scope: Scope, receive: Receive, send: Send) -> None:
        # Only who has been let in is shown a page of the workroom.
        if refusal.status == TOO_MUCH and scope["type"] == "http":
            await self.too_much(scope, refusal)(scope, receive, _Answer(send))
        else:
            await _refuse(refusal, scope, receive, send)


def find_refusal(scope: Mapping[str, Any], state: AppState) -> Refusal | None:
    """Why a request or socket is refused, or None."""
    headers = _headers(scope)
    if not _host_is_ours(headers.get("host", ""), state.settings):
        return Refusal(400, "The workroom answers only under its own address.")
    if (method := scope.get("method", "GET")) not in ALLOWED:
        return Refusal(405, f"The workroom does not take {method[:10]} requests.")
    if not _comes_from_us(scope, headers):
        return Refusal(403, "Another page asked for this, so the workroom refused it. Open the workroom itself.")
    if not _may_enter(scope, headers, state):
        return Refusal(401, "This machine is not paired yet: open /pair and enter the code shown in the terminal.")
    return _beyond_bounds(scope, headers, state.settings)


def _beyond_bounds(scope: Mapping[str, Any], headers: Mapping[str, str], settings: Settings) -> Refusal | None:
    path = scope.get("path", "")
    if len(path) > LONGEST_PATH:
        return Refusal(404, "There is no such page.")
    limit = largest_body(path, settings)
    return _too_much(limit) if _announced(headers) > limit else None


def largest_body(path: str, settings: Settings) -> int:
    """How many bytes a request to that path may have."""
    return settings.largest_backup if path == BACKUP_PATH else settings.largest_upload


def _headers(scope: Mapping[str, Any]) -> dict[str, str]:
    """The headers by name; one that is sent twice is joined, and so fits nothing."""
    found: dict[str, str] = {}
    for raw_name, raw in scope.get("headers", ()):
        name, value = raw_name.decode("latin-1").lower(), raw.decode("latin-1")
        found[name] = f"{found[name]}, {value}" if name in found else value
    return found


def _host_is_ours(host: str, settings: Settings) -> bool:
    name = host.lower()
    if name.rpartition(":")[2].isdigit() and not name.endswith("]"):
        name = name.rpartition(":")[0]
    return name in settings.hosts


def _comes_from_us(scope: Mapping[str, Any], headers: Mapping[str, str]) -> bool:
    """Whether our own page, or nobody's page (an address typed in), asks."""
    site, origin = headers.get("sec-fetch-site"), headers.get("origin")
    if site is not None and site not in ("same-origin", "none"):
        return False
    if origin is not None:
        return origin == f"http://{headers.get('host', '')}"
    if scope["type"] == "websocket":
        return False
    # Every browser of today says where a changing request comes from.
    return scope.get("method") in SAFE or site == "same-origin"


def _may_enter(scope: Mapping[str, Any], headers: Mapping[str, str], state: AppState) -> bool:
    if is_this_machine(scope):
        return True
    if not state.settings.lan:
        return False
    path = scope.get("path", "")
    return any(path == p or (p.endswith("/") and path.startswith(p)) for p in OPEN_TO_ALL) or state.pairing.admits(
        _cookie(headers.get("cookie", ""), COOKIE), address_of(scope)
    )


def is_this_machine(scope: Mapping[str, Any]) -> bool:
    """Whether the other end of the line is on this machine."""
    return is_loopback(address_of(scope))


def address_of(scope: Mapping[str, Any]) -> str:
    """The address at the other end of the line."""
    return str((scope.get("client") or ("", 0))[0])


def is_loopback(address: str) -> bool:
    """Whether that address is this machine's own."""
    try:
        return ip_address(address.partition("%")[0]).is_loopback
    except ValueError:
        return False


def _cookie(header: str, name: str) -> str | None:
    for part in header.split(";"):
        key, _, value = part.strip().partition("=")
        if key == name:
            return value
    return None


def _announced(headers: Mapping[str, str]) -> int:
    length = headers.get("content-length", "0")
    return int(length) if length.isascii() and length.isdigit() and len(length) < 19 else 0


def _too_much(limit: int) -> Refusal:
    return Refusal(TOO_MUCH, f"That is more than the {limit / 1e6:g} MB that can be taken at once.")


async def _refuse(refusal: Refusal, scope: Scope, receive: Receive, send: Send) -> None:
    from starlette.responses import PlainTextResponse, RedirectResponse, Response

    if scope["type"] == "websocket":
        # Closing before accepting is answered with 403 by the server.
        await receive()
        await send({"type": "websocket.close", "code": 1008})
        return
    answer: Response = PlainTextResponse(refusal.sentence, refusal.status)
    if refusal.status == 401 and scope.get("method") == "GET":
        answer = RedirectResponse("/pair", 303)
    await answer(scope, receive, _Answer(send))


def _limited(receive: Receive, limit: int) -> Receive:
    """Counts what comes in, whatever was announced."""
    taken = 0

    async def counted() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > limit:
            raise TooMuch
        return message

    return counted


class _Answer:
    """Puts our headers on every answer; a page that brings its own policy keeps it."""

    def __init__(self, send: Send) -> None:
        self.send, self.begun = send, False

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.begun = True
            given = {name.lower() for name, _ in message.get("headers", ())}
            ours = ((name.encode(), value.encode()) for name, value in HEADERS.items())
            added = [(name, value) for name, value in ours if name not in given]
            message = {**message, "headers": [*message.get("headers", ()), *added]}
        await self.send(message)
