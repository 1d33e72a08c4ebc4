"""The workroom served: a port, a browser, the records, until it is stopped."""

from __future__ import annotations

import http.client
import json
import socket
import threading
import webbrowser
from collections.abc import Callable
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from coutil.errors import BadInput
from coutil.workroom._connections import Lines, watched_protocol
from coutil.workroom._folders import data_folder
from coutil.workroom._pairing import Pairing
from coutil.workroom._state import AppState, Settings, templates

if TYPE_CHECKING:
    from uvicorn import Server

    from coutil.record import Records

HERE_ONLY = "127.0.0.1"
EVERYWHERE = "0.0.0.0"
FILE_NAME = "coutil.db"
MOST_WAITING = 128
# Few programs use it.
USUAL_PORT = 8421
OPEN_WITHIN_S = 3.0
WAIT_FOR_PAGES_S = 2  # When it is stopped, pages that still load get so long.


@dataclass(frozen=True, slots=True)
class ServeOptions:
    """How the workroom is to be served.

    `place` is a database URL or the folder of the records, None for the usual one; `port` 0 takes a free one.  The
    usual port is always the same: what a browser holds while the program is away, it holds for that address.
    """

    place: str | Path | None = None
    port: int = USUAL_PORT
    lan: bool = False
    open_browser: bool = True


def serve(options: ServeOptions, say: Callable[[str], None]) -> None:
    """Serves the workroom until it is stopped; raises BadInput where port or records cannot be had.

    `say` is told where the page is and, for other machines, the pairing code.
    """
    from coutil.record import book_mark, open_records

    with closing(open_records(records_place(options.place))) as records:
        if _is_open_already(options, book_mark(records)):
            say(f"The workroom is open already, at http://{HERE_ONLY}:{options.port}/.")
            if options.open_browser:
                webbrowser.open(f"http://{HERE_ONLY}:{options.port}/")
            return
        _serve_on(records, options, say)


def _serve_on(records: Records, options: ServeOptions, say: Callable[[str], None]) -> None:
    from coutil.record import erase_discarded, keep_reserve, tidy
    from coutil.workroom._app import build_app

    with closing(_bound_for(options)) as door:
        tidy(records)
        port = door.getsockname()[1]
        settings = Settings(hosts=_hosts(options.lan), lan=options.lan)
        pairing = Pairing(_code_teller(say) if options.lan else None)
        erase_discarded(records)
        keep_reserve(records)
        state = AppState(records, templates(), settings, pairing)
        _tell(port, options, say)
        _run(build_app(state), door, options, port)
        state.lays.stop_all()


def _is_open_already(options: ServeOptions, book: str) -> bool:
    """Whether a workroom over these very records answers at that port."""
    if not options.port:
        return False
    line = http.client.HTTPConnection(HERE_ONLY, options.port, timeout=OPEN_WITHIN_S)
    with closing(line), suppress(OSError, ValueError, http.client.HTTPException):
        line.request("GET", "/api/orders/known?ids=")
        answer = json.loads(line.getresponse().read(4096))
        return isinstance(answer, dict) and answer.get("book") == book
    return False


def _code_teller(say: Callable[[str], None]) -> Callable[[str], None]:
    return lambda code: say(f"Code for the next machine: {code[:4]} {code[4:]}")


def records_place(place: str | Path | None) -> str | Path:
    """The database URL, or the file in the folder."""
    if isinstance(place, str) and "://" in place:
        return place
    return Path(place or data_folder()) / FILE_NAME


def _bound_for(options: ServeOptions) -> socket.socket:
    return _bound(EVERYWHERE if options.lan else HERE_ONLY, options.port)


def _bound(host: str, port: int) -> socket.socket:
    """A listening socket, taken before anything is told, so that the port is ours."""
    door = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        door.bind((host, port))
        # Listening from now on: who comes before the pages are ready waits instead of being turned away.
        door.listen(MOST_WAITING)
    except (OSError, OverflowError) as error:
        door.close()
        why = "another program has it, or it needs rights"
        raise BadInput(f"Port {port} cannot be used: {why}; give another with --port, or 0 for any.") from error
    return door


def _hosts(lan: bool) -> frozenset[str]:
    """The names this machine answers to: its own addresses too where others may come in."""
    own = Settings().hosts
    return own | frozenset(addresses()) | {socket.gethostname().lower()} if lan else own


def addresses() -> tuple[str, ...]:
    """This machine's addresses in the local network."""
    found: dict[str, None] = {}
    with suppress(OSError):
        for entry in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET):
            found[str(entry[4][0])] = None
    with suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        # Nothing is sent: connecting a datagram socket only asks which address would be used.
        probe.connect(("10.255.255.255", 1))
        found[str(probe.getsockname()[0])] = None
    return tuple(address for address in found if not address.startswith("127."))


def _tell(port: int, options: ServeOptions, say: Callable[[str], None]) -> None:
    say(f"The workroom is open at http://{HERE_ONLY}:{port}/ (Ctrl-C closes it).")
    for address in addresses() if options.lan else ():
        say(f"From other machines, not encrypted: http://{address}:{port}/")


def _run(app: Any, door: socket.socket, options: ServeOptions, port: int) -> None:
    import uvicorn

    config = uvicorn.Config(
        app,
        log_level="error",
        access_log=False,
        server_header=False,
        date_header=False,
        timeout_graceful_shutdown=WAIT_FOR_PAGES_S,
        # No page speaks over a socket; the lines are counted and timed.
        ws="none",
        http=watched_protocol(Lines()),
        proxy_headers=False,
        lifespan="off",
    )
    server = uvicorn.Server(config)
    if options.open_browser:
        threading.Thread(target=_open_when_ready, args=(server, port), daemon=True).start()
    server.run(sockets=[door])


def _open_when_ready(server: Server, port: int) -> None:
    pause = threading.Event()
    while not server.started and not server.should_exit:
        pause.wait(0.02)
    with suppress(Exception):
        webbrowser.open(f"http://{HERE_ONLY}:{port}/")
