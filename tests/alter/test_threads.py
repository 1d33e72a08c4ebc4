"""Small matrices are reckoned on one thread, whichever library holds them."""

from __future__ import annotations

import subprocess
import sys

LOOK = """
from coutil.alter._threads import one_thread
from threadpoolctl import threadpool_info
with one_thread():
    pass
import scipy.linalg
with one_thread():
    print(sorted({library["num_threads"] for library in threadpool_info()}))
"""


def test_every_matrix_library_keeps_to_one_thread_from_the_first_time_on() -> None:
    """In a process of its own, where nothing has been loaded before."""
    done = subprocess.run([sys.executable, "-c", LOOK], capture_output=True, text=True, check=True)
    assert done.stdout.strip() in ("[1]", "[]")
