"""Lines to the workroom: counted by address, and closed where a request never comes to its end."""

from __future__ import annotations

import asyncio
import socket
import threading
from collections.abc import Awaitable, Callable, Iterator
from contextlib import closing, contextmanager
from typing import Any

import pytest
import uvicorn

from coutil.workroom._connections import LineLimits, Lines, watched_protocol

PATIENCE_S = 30.0  # Against a hang.
BETWEEN_BYTES_S = 0.05


def test_other_machines_leave_room_for_this_one() -> None:
    """16 lines an address: the fifth address finds 4 x 16 = 64 of 64 held, and this machine still all of its 100."""
    lines = Lines()
    taken = [lines.take(f"10.0.0.{i}") for i in range(5) for _ in range(20)]
    assert [sum(taken[n : n + 20]) for n in range(0, 100, 20)] == [16, 16, 16, 16, 0]
    assert sum(lines.take("127.0.0.1") for _ in range(200)) == 100
    lines.give_back("10.0.0.0")
    assert lines.take("10.0.0.4")
    assert not lines.take("10.0.0.4")
    lines.give_back("127.0.0.1")
    assert lines.take("127.0.0.2"), "the whole of this machine is one"
    assert not lines.take("127.0.0.1")


async def hello(scope: Any, receive: Callable[[], Awaitable[Any]], send: Callable[[Any], Awaitable[None]]) -> None:
    """Reads the whole request and greets."""
    while (message := await receive()).get("more_body"):
        pass
    if message["type"] == "http.disconnect":
        return
    await send({"type": "http.response.start", "status": 200, "headers": [(b"content-length", b"2")]})
    await send({"type": "http.response.body", "body": b"hi"})


@contextmanager
def serving(lines: Lines) -> Iterator[int]:
    """A server with those limits on this machine; its port."""
    with closing(socket.create_server(("127.0.0.1", 0))) as door:
        config = uvicorn.Config(hello, http=watched_protocol(lines), ws="none", lifespan="off", log_level="error")
        server = uvicorn.Server(config)
        thread = threading.Thread(target=lambda: asyncio.run(server.serve([door])))
        thread.start()
        try:
            yield door.getsockname()[1]
        finally:
            server.should_exit = True
            thread.join(PATIENCE_S)
            assert not thread.is_alive()


def line_to(port: int) -> socket.socket:
    return socket.create_connection(("127.0.0.1", port), timeout=PATIENCE_S)


def said_until_closed(line: socket.socket) -> bytes:
    """What comes before the other end closes."""
    found = b""
    try:
        while piece := line.recv(4096):
            found += piece
    except ConnectionResetError:
        pass
    return found


WHOLE = b"GET / HTTP/1.1\r\nhost: x\r\nconnection: close\r\n\r\n"


@pytest.mark.parametrize(
    "half",
    [
        b"",
        b"GET / HT",
        b"GET / HTTP/1.1\r\nhost: x\r\n",
        b"POST / HTTP/1.1\r\nhost: x\r\ncontent-length: 9\r\n\r\nhalf",
    ],
)
def test_a_half_sent_request_is_closed(half: bytes) -> None:
    with serving(Lines(LineLimits(head_s=0.2, body_s=0.2))) as port, closing(line_to(port)) as line:
        line.sendall(half)
        assert b"200" not in said_until_closed(line)


def test_single_bytes_do_not_prolong_it() -> None:
    with serving(Lines(LineLimits(head_s=0.5))) as port, closing(line_to(port)) as line:
        assert any(is_closed_after_a_byte(line) for _ in range(round(PATIENCE_S / BETWEEN_BYTES_S)))


def is_closed_after_a_byte(line: socket.socket) -> bool:
    """Sends one more byte of a request that never ends; whether the other end has closed meanwhile."""
    line.settimeout(BETWEEN_BYTES_S)
    try:
        line.sendall(b"G")
        return line.recv(10) == b""
    except TimeoutError:
        return False
    except OSError:
        return True


def test_many_half_sent_requests_are_not_held_and_pages_come_again() -> None:
    """1,200 lines that say half a request: 100 are held for a moment, the others closed at once, none in the end."""
    lines = Lines(LineLimits(head_s=1.0))
    with serving(lines) as port:
        held: list[socket.socket] = []
        for _ in range(12):
            some = [line_to(port) for _ in range(100)]
            for line in some:
                try:
                    line.sendall(b"GET / HTTP/1.1\r\n")
                except OSError:
                    continue
            assert lines._held.total() <= lines.limits.here
            for line in some[:-5]:
                line.close()
            held += some[-5:]
        for line in held:
            said_until_closed(line)
            line.close()
        with closing(line_to(port)) as line:
            line.sendall(WHOLE)
            assert said_until_closed(line).endswith(b"hi")


def test_a_line_is_free_again_after_its_answer() -> None:
    lines = Lines(LineLimits(here=1))
    with serving(lines) as port:
        for _ in range(5):
            with closing(line_to(port)) as line:
                line.sendall(WHOLE)
                assert said_until_closed(line).endswith(b"hi")
            while lines._held.total():
                threading.Event().wait(0.01)
