"""Marks files: TOML read strictly, and written so that a maker can find her way in it."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any

import msgspec

from coutil.drawing._marks import Marks
from coutil.errors import BadInput
from coutil.texts import toml_of

DECIMALS = 6  # A millionth of a millimetre: nothing is lost on the way back.
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_PLACE = re.compile(r"^(?P<fault>.*?) - at `(?P<place>[^`]*)`$", re.DOTALL)

HEAD = """\
# Marks of a drawing: what each line is.  Correct what is wrong and import again with --marks.
# Lengths are millimetres.  `inside` and `origin` are places on the drawing, y up from its lower edge;
# every other place counts from the piece's origin: x to the right, y the height above the waist.
# What this file states is not guessed again; delete a line or a table to have it proposed anew.
"""


def marks_from_toml(text: str) -> Marks:
    """The marks in a TOML text; raises BadInput, naming the place, for what does not belong there."""
    data = toml_of(text, "marks file")
    try:
        marks = msgspec.convert(data, Marks)
    except msgspec.ValidationError as error:
        raise BadInput(f"The marks file does not fit: {_in_words(error)}.") from error
    _require_numbers(data, "")
    if marks.sharing is not None:
        _require_known(data["sharing"], msgspec.to_builtins(marks.sharing), "sharing")
    if not 1e-4 <= marks.scale <= 1e4:
        raise BadInput(f"The marks file gives scale {marks.scale:g}: give how many times larger the pattern is.")
    return marks


def marks_to_toml(marks: Marks, notes: Sequence[str] = ()) -> str:
    """The text of a marks file, with remarks as comments at its head."""
    data = msgspec.to_builtins(marks)
    told = "".join(f"# {_comment(note)}\n" for note in notes)
    return HEAD + told + "\n" + "\n".join(_table(data, ())) + "\n"


def _comment(note: str) -> str:
    return "".join(c if c.isprintable() else " " for c in note)


def _table(data: Mapping[str, Any], path: tuple[str, ...]) -> list[str]:
    """Plain values first, then the tables within."""
    stated = {key: value for key, value in data.items() if value is not None}
    plain = {key: value for key, value in stated.items() if not _is_table(value, (*path, key))}
    lines = [f"{_key(key)} = {_value(value)}" for key, value in plain.items()]
    if path and (lines or not stated):
        lines = ["", f"[{'.'.join(_key(part) for part in path)}]", *lines]
    for key, value in stated.items():
        if key not in plain:
            lines += _table(value, (*path, key))
    return lines


# What stands in a table of these names takes one line each, as `hem = { from = [0, -90], role = "hem" }`.
_LISTS = frozenset({"edges", "landmarks", "readings"})


def _is_table(value: object, path: tuple[str, ...]) -> bool:
    return isinstance(value, Mapping) and not _is_inline(path)


def _is_inline(path: tuple[str, ...]) -> bool:
    if path[-1] in ("ease", "caps") or (path[-1] == "levels" and path[0] == "pieces"):
        return True
    return len(path) > 1 and (path[-2] in _LISTS or path[-2:-1] == ("levels",))


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return _number(value)
    if isinstance(value, str):
        return _string(value)
    if isinstance(value, Mapping):
        inner = ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items() if v is not None)
        return f"{{ {inner} }}" if inner else "{}"
    return _list(value)


def _list(values: Sequence[Any]) -> str:
    if any(isinstance(value, Mapping | list | tuple) for value in values) and len(values) > 1:
        return "[\n" + "".join(f"  {_value(value)},\n" for value in values) + "]"
    return f"[{', '.join(_value(value) for value in values)}]"


def _number(value: float) -> str:
    if isinstance(value, int):
        return str(value)
    text = f"{value:.{DECIMALS}f}".rstrip("0")
    text = text + "0" if text.endswith(".") else text
    return "0.0" if text == "-0.0" else text


def _string(text: str) -> str:
    escaped = "".join(
        f"\\{c}"
        if c in '"\\'
        else c
        if c.isprintable()
        else f"\\u{ord(c):04x}"
        if ord(c) < 0x10000
        else f"\\U{ord(c):08x}"
        for c in text
    )
    return f'"{escaped}"'


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _string(key)


def _require_numbers(value: Any, place: str) -> None:
    """TOML knows nan and inf; a pattern does not."""
    if isinstance(value, float) and not (math.isfinite(value) and abs(value) < 1e9):
        raise BadInput(f"The marks file gives {value} under {place.strip(' ,')}, which is no length.")
    items = value.items() if isinstance(value, Mapping) else enumerate(value, 1) if isinstance(value, list) else ()
    for key, inner in items:
        _require_numbers(inner, f"{place}, {key}")


def _require_known(given: Any, known: Any, place: str) -> None:
    if isinstance(given, Mapping) and isinstance(known, Mapping):
        for key, value in given.items():
            if key not in known:
                raise BadInput(f"There is no field {str(key)[:40]!r} under {place} in the marks file.")
            _require_known(value, known[key], f"{place}, {key}")


def _in_words(error: Exception) -> str:
    found = _PLACE.match(str(error))
    if found is None:
        return str(error).replace("`", "")
    steps = found["place"].removeprefix("$").replace("[...]", ".entry").replace("[", ".").replace("]", "")
    words = [f"no. {int(step) + 1}" if step.isdigit() else step for step in steps.split(".") if step]
    return f"{found['fault'].replace('`', '')} (under {' '.join(words)})"
