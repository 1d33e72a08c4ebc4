"""Texts that came from elsewhere: what may stand in them, how long they may be, TOML read with care.

A control character in a name can move a terminal's cursor and hide what was written there, a mark of writing
direction can turn a line round: neither gets past a reader.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import Any

from coutil.errors import BadInput

LONGEST_TEXT = 2000  # Letters: a note of a page; names are far shorter.
LONGEST_NAME = 120  # A title, a reference, a piece's or a layer's name.
LARGEST_TOML = 2_000_000
DEEPEST = 40  # Tables within tables.
# Controls but tab and line ends, and marks that turn the direction of writing.
_HIDDEN = "\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069"
_UNPRINTED = re.compile(f"[{_HIDDEN}]")
_ANY_CONTROL = re.compile(f"[{_HIDDEN}\t\n\r\u2028\u2029]+")
# The same in JSON: as bytes, and as escapes of them.
_IN_JSON = re.compile(
    rb"\\u(?:000[0-8bBcCeEfF]|001[0-9a-fA-F]|007[fF]|00[89][0-9a-fA-F]|202[a-eA-E]|206[6-9])"
    rb"|\x7f|\xc2[\x80-\x9f]|\xe2\x80[\xaa-\xae]|\xe2\x81[\xa6-\xa9]|\\[bf]"
)


def plain(text: str, longest: int = LONGEST_NAME) -> str:
    """The text on one line, its control characters blanks, cut off where it is too long to be a name."""
    return _ANY_CONTROL.sub(" ", text[: 4 * longest])[:longest]


def require_printed(text: str, what: str) -> str:
    """The text; raises BadInput, with the line, where a control character hides in it."""
    found = _UNPRINTED.search(text)
    if found is None:
        return text
    line = text.count("\n", 0, found.start()) + 1
    raise BadInput(
        f"The {what} has a control character (U+{ord(found[0]):04X}) in line {line}: take it out; it can hide text."
    )


def require_plain_json(data: bytes, what: str) -> None:
    """Raises BadInput, with the line, where a control character hides in a JSON text."""
    found = _IN_JSON.search(data)
    # Two backslashes before the letters are a backslash and letters, no escape.
    while found is not None and found[0].startswith(b"\\") and _is_escaped(data, found.start()):
        found = _IN_JSON.search(data, found.end())
    if found is not None:
        line = data.count(b"\n", 0, found.start()) + 1
        raise BadInput(f"The {what} has a control character in line {line}: take it out; it can hide text.")


def toml_of(text: str, what: str) -> dict[str, Any]:
    """The tables in a TOML text; raises BadInput for anything else, too long texts and control characters.

    `what` names it: the order, the wishes, the marks file.
    """
    if len(text) > LARGEST_TOML:
        raise BadInput(f"The {what} has more than {LARGEST_TOML / 1e6:.0f} MB: keep what belongs to it.")
    try:
        found = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadInput(f"The {what} is not TOML: {plain(str(error)).rstrip('.')}.") from error
    except (ValueError, RecursionError) as error:
        raise BadInput(f"The {what} is nested too deep, or holds a number too long to be one.") from error
    _require_plain(found, what, (), 0)
    return found


def _require_plain(value: Any, what: str, place: tuple[str, ...], depth: int) -> None:
    """Raises BadInput for a text that is too long, or that holds control characters, and where it stands."""
    under = f" under {plain('.'.join(place), 60)}" if place else ""
    if isinstance(value, str):
        if len(value) > LONGEST_TEXT:
            raise BadInput(f"The {what} has {len(value)} letters{under}, and {LONGEST_TEXT} are the most: shorten it.")
        require_printed(value, f"{what}{under}")
    elif depth > DEEPEST:
        raise BadInput(f"The {what} is nested more than {DEEPEST} deep{under}.")
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            _require_plain(key, what, place, depth)
            _require_plain(inner, what, (*place, key), depth + 1)
    elif isinstance(value, list):
        for inner in value:
            _require_plain(inner, what, place, depth + 1)


def _is_escaped(data: bytes, at: int) -> bool:
    before = at
    while before and data[before - 1 : before] == b"\\":
        before -= 1
    return (at - before) % 2 == 1
