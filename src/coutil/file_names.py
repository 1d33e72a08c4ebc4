"""Names of files: made from any words, or refused where they are no plain name on every system."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

from coutil.errors import BadInput

LONGEST_STEM = 60
LONGEST_NAME = 200  # Bytes: every file system in use takes 255.
LONGEST_SHOWN = 40
# Names that Windows gives to devices, whatever ending follows.
_DEVICES = frozenset(
    ("con", "prn", "aux", "nul", "conin$", "conout$", *(port + n for port in ("com", "lpt") for n in "0123456789¹²³"))
)
_NEVER_IN_A_NAME = frozenset('/\\:*?"<>|')


def file_stem(name: str) -> str:
    """A name as a file name that every system takes: small letters, digits and hyphens, never empty."""
    plain = unicodedata.normalize("NFKD", name[: LONGEST_STEM * 4]).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:LONGEST_STEM].strip("-") or "unnamed"
    return f"{stem}-file" if stem in _DEVICES else stem


def file_stems(names: Sequence[str]) -> tuple[str, ...]:
    """As `file_stem`, of several names whose files lie in one folder: no two are the same."""
    found: dict[str, None] = {}
    for name in names:
        stem = file_stem(name)
        numbered = (f"{stem}-{n}" for n in range(2, len(names) + 2))
        found[stem if stem not in found else next(other for other in numbered if other not in found)] = None
    return tuple(found)


def plain_name(name: str) -> str:
    """The name, where it is that of one file in a folder on every system; raises BadInput for anything else."""
    if not _is_plain(name):
        shown = "".join(c if c.isprintable() else "?" for c in name[:LONGEST_SHOWN])
        raise BadInput(f"'{shown}' is no name for a file: a name is one word without separators, devices or controls.")
    return name


def _is_plain(name: str) -> bool:
    return (
        bool(name)
        and name[-1] not in ". "
        and not _NEVER_IN_A_NAME.intersection(name)
        and all(unicodedata.category(c) not in ("Cc", "Cf", "Cs", "Zl", "Zp") for c in name)
        and len(name.encode()) <= LONGEST_NAME
        and name.partition(".")[0].strip().lower() not in _DEVICES
    )
