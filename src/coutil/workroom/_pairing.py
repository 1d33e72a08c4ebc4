"""Other machines come in once with a code from the terminal, and then by a cookie; both live in memory alone.

Guesses are slowed down by the address they come from, so that nobody's guesses void the code another is typing.  A
pass counts for the address it was given to, until it ends or is removed.
"""

from __future__ import annotations

import hmac
import secrets
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass

COOKIE = "coutil_pass"
# Without vowels and without letters that are taken for digits: nothing to misread, no words by chance.
LETTERS = "BCDFGHJKMNPQRTVWXZ2346789"
CODE_LENGTH = 8
FREE_TRIES = 5  # Of one address; every further one waits twice as long as the one before.
FIRST_WAIT_S = 2.0
LONGEST_WAIT_S = 3600.0
MOST_ADDRESSES = 4096  # Remembered for their wrong guesses; the one that guessed longest ago is forgotten first.
PASS_LASTS_S = 16 * 3600.0  # A long day of fittings.


@dataclass(frozen=True, slots=True)
class Machine:
    """A machine that was let in: a number to remove it by, its address, and when it came and has to leave, s."""

    number: int
    address: str
    since: float
    until: float


@dataclass(frozen=True, slots=True)
class _Misses:
    count: int
    until: float  # No guess is looked at before, s.


class TooSoon(Exception):
    """The address has guessed wrong too often; `seconds` until its next guess is looked at."""

    def __init__(self, seconds: float) -> None:
        super().__init__(seconds)
        self.seconds = seconds


class Pairing:
    """The one-time code and the passes given for it.  A code counts until it is used."""

    def __init__(self, show: Callable[[str], None] | None = None, clock: Callable[[], float] = time.time) -> None:
        """`show` is told every code that counts from then on, the first one included; `clock` gives seconds."""
        self._show, self._clock = show or (lambda _: None), clock
        self._lock = threading.Lock()
        self._passes: dict[str, Machine] = {}
        self._missed: OrderedDict[str, _Misses] = OrderedDict()
        self._n_given = 0
        self._renew()

    def redeem(self, code: str, address: str) -> str | None:
        """A pass for the code, or None; the code is used up by it.  Raises TooSoon for an address that has to wait."""
        with self._lock:
            self._require_patience(address)
            written = "".join(code.upper().split()).replace("-", "")
            if not hmac.compare_digest(written.encode("utf-8", "replace"), self.code.encode()):
                self._miss(address)
                return None
            self._missed.pop(address, None)
            self._renew()
            return self._give(address)

    def admits(self, ticket: str | None, address: str) -> bool:
        """Whether that pass was given to that address by this run of the program, and has not ended."""
        with self._lock:
            machine = self._passes.get(ticket or "")
            return machine is not None and machine.address == address and self._clock() < machine.until

    def machines(self) -> tuple[Machine, ...]:
        """The machines that are let in now."""
        with self._lock:
            return tuple(machine for machine in self._passes.values() if self._clock() < machine.until)

    def remove(self, number: int) -> None:
        """From now on the machine of that number is outside; one that is outside already is no error."""
        with self._lock:
            self._passes = {ticket: machine for ticket, machine in self._passes.items() if machine.number != number}

    def _give(self, address: str) -> str:
        now = self._clock()
        self._passes = {ticket: machine for ticket, machine in self._passes.items() if now < machine.until}
        self._n_given += 1
        ticket = secrets.token_urlsafe(32)
        self._passes[ticket] = Machine(self._n_given, address, now, now + PASS_LASTS_S)
        return ticket

    def _require_patience(self, address: str) -> None:
        missed = self._missed.get(address)
        if missed is not None and (left := missed.until - self._clock()) > 0:
            raise TooSoon(left)

    def _miss(self, address: str) -> None:
        count = self._missed.pop(address, _Misses(0, 0.0)).count + 1
        self._missed[address] = _Misses(count, self._clock() + wait_after(count))
        while len(self._missed) > MOST_ADDRESSES:
            self._missed.popitem(last=False)

    def _renew(self) -> None:
        self.code = new_code()
        self._show(self.code)


def wait_after(n_wrong: int) -> float:
    """How long an address waits after so many wrong guesses in a row, seconds."""
    if n_wrong < FREE_TRIES:
        return 0.0
    # From the twelfth doubling on the longest wait counts; larger powers are not even worked out.
    return min(FIRST_WAIT_S * 2.0 ** min(n_wrong - FREE_TRIES, 12), LONGEST_WAIT_S)


def new_code() -> str:
    """A code of CODE_LENGTH letters and digits."""
    return "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))
