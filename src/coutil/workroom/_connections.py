"""Who may hold a line to the workroom, and for how long without saying what it wants.

A request that never comes to its end costs a line, and whoever holds all lines stops every page.  So each line must
finish its request in time, and other machines may hold only some of the lines: the rest is kept for this one.
"""

from __future__ import annotations

import asyncio
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from coutil.workroom._guard import is_loopback

if TYPE_CHECKING:
    from uvicorn.protocols.http.h11_impl import H11Protocol


@dataclass(frozen=True, slots=True)
class LineLimits:
    """How many lines may be held, and how long a request may take to come in, seconds.

    A browser holds six lines.  All of them together stay below the 256 open files that some systems allow a program.
    """

    here: int = 100
    outside: int = 64
    one_address: int = 16
    head_s: float = 15.0
    body_s: float = 600.0  # A large photo over a weak wireless line; a backup from this machine takes seconds.


@dataclass(slots=True)
class Lines:
    """The lines held now, by address."""

    limits: LineLimits = LineLimits()
    _held: Counter[str] = field(default_factory=Counter)

    def take(self, address: str) -> bool:
        """Takes a line for that address; False where it holds too many, or all those of its kind are held."""
        if not self._has_room(address):
            return False
        self._held[address] += 1
        return True

    def give_back(self, address: str) -> None:
        """The line is free again."""
        self._held[address] -= 1
        self._held += Counter()  # Forgets addresses that hold none.

    def _has_room(self, address: str) -> bool:
        here = sum(count for held, count in self._held.items() if is_loopback(held))
        if is_loopback(address):
            return here < self.limits.here
        outside = self._held.total() - here
        return outside < self.limits.outside and self._held[address] < self.limits.one_address


def watched_protocol(lines: Lines) -> type[H11Protocol]:
    """The server's HTTP protocol, with these limits."""
    import h11
    from uvicorn.protocols.http.h11_impl import H11Protocol

    patience = {h11.IDLE: lines.limits.head_s, h11.SEND_BODY: lines.limits.body_s}

    class Watched(H11Protocol):
        """One line."""

        _timer: asyncio.TimerHandle | None = None
        _waits_for: object = None
        _address: str | None = None

        def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
            super().connection_made(transport)
            address = self.client[0] if self.client else ""
            if not lines.take(address):
                transport.abort()
                return
            self._address = address
            self._watch()

        def data_received(self, data: bytes) -> None:
            super().data_received(data)
            self._watch()

        def on_response_complete(self) -> None:
            super().on_response_complete()
            self._watch()

        def connection_lost(self, exc: Exception | None) -> None:
            super().connection_lost(exc)
            self._stop()
            if self._address is not None:
                lines.give_back(self._address)
                self._address = None

        def _watch(self) -> None:
            """Counts the time of what is waited for now, from when it began: single bytes do not prolong it."""
            if (now := self.conn.their_state) is self._waits_for:
                return
            self._stop()
            self._waits_for = now
            if (seconds := patience.get(now)) is not None:
                self._timer = self.loop.call_later(seconds, self.transport.abort)

        def _stop(self) -> None:
            if self._timer is not None:
                self._timer.cancel()
                self._timer = None

    return Watched
