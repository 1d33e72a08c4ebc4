"""One thread for the small matrices of the solve: a second one costs five times what it brings at this size."""

from __future__ import annotations

from contextlib import AbstractContextManager, nullcontext
from typing import Any

from threadpoolctl import ThreadpoolController

_controller: ThreadpoolController | None = None


def one_thread() -> AbstractContextManager[Any]:
    """Hold the matrix library to one thread; the search for libraries is done once a process."""
    global _controller  # noqa: PLW0603  looking for loaded libraries takes milliseconds
    if _controller is None:
        # It comes with a matrix library of its own, which has to be there to be found.
        import scipy.linalg.lapack  # noqa: F401

        _controller = ThreadpoolController()
    return _controller.limit(limits=1) if _controller.info() else nullcontext()
