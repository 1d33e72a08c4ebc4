"""What the tests make in PostgreSQL is taken away after each of them."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from record_samples import POSTGRES, drop_schemas


@pytest.fixture(autouse=True)
def left_as_it_was() -> Iterator[None]:
    """Where a server is named, nothing of a test stays in it."""
    yield
    if POSTGRES:
        drop_schemas()
