"""Other machines come in once with a code from the terminal, and then by a cookie; both live in memory alone."""

from __future__ import annotations

import hmac
import secrets
import threading
from collections.abc import Callable

COOKIE = "coutil_pass"
# Without vowels and without letters that are taken for digits: nothing to misread, no words by chance.
LETTERS = "BCDFGHJKMNPQRTVWXZ2346789"
CODE_LENGTH = 8
MOST_TRIES = 5


class Pairing:
    """The one-time code and the passes given for it.  After a good code or MOST_TRIES bad ones a new code counts."""

    def __init__(self, show: Callable[[str], None] | None = None) -> None:
        """`show` is told every code that counts from then on, the first one included."""
        self._show = show or (lambda _: None)
        self._lock = threading.Lock()
        self._passes: set[str] = set()
        self._tries = 0
        self._renew()

    def redeem(self, code: str) -> str | None:
        """A pass for the code, or None; the code is used up by it."""
        with self._lock:
            written = "".join(code.upper().split()).replace("-", "")
            if not hmac.compare_digest(written.encode(), self.code.encode()):
                self._missed()
                return None
            self._renew()
            ticket = secrets.token_urlsafe(32)
            self._passes.add(ticket)
            return ticket

    def admits(self, ticket: str | None) -> bool:
        """Whether that pass was given out by this run of the program."""
        with self._lock:
            return ticket is not None and ticket in self._passes

    def _missed(self) -> None:
        self._tries += 1
        if self._tries >= MOST_TRIES:
            self._renew()

    def _renew(self) -> None:
        self.code, self._tries = new_code(), 0
        self._show(self.code)


def new_code() -> str:
    """A code of CODE_LENGTH letters and digits."""
    return "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))
