"""What is kept packed, and unpacked to no more than anything kept has: a few packed bytes can fill a machine."""

from __future__ import annotations

import zlib

LARGEST_UNPACKED = 100_000_000  # Bytes; a whole pattern with its steps has a million.


def unpacked(packed: bytes) -> bytes:
    """The bytes as they were; raises ValueError for what is damaged or unpacks to no end."""
    reader = zlib.decompressobj()
    try:
        found = reader.decompress(packed, LARGEST_UNPACKED)
    except zlib.error as error:
        raise ValueError("damaged") from error
    if not reader.eof:
        raise ValueError("more than is ever kept")
    return found
