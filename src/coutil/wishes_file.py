"""Wishes as TOML: what the client ordered beside the measurements, and what the maker's eye overrules.

    unit = "cm"
    reduction = 6
    lacing_gap = "2 in"
    closure_gap = "4 mm"   # the front closes with a busk, which stands open so far
    take_heights = true

    [rows.side_front]
    state = "overruled"
    amount = 0.4
    why = "the left side seam sat forward at the last fitting"

Lengths are numbers in `unit`, or written with their own unit.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from coutil.alter import Override, State, Wishes
from coutil.errors import BadInput
from coutil.measure import Unit, parse_length, parse_unit
from coutil.texts import toml_of

LENGTHS = ("reduction", "lacing_gap", "closure_gap")
CHOICES = ("exact_centre_top", "take_heights", "leave_small")
FIELDS = ("unit", *LENGTHS, *CHOICES, "depth_share", "rows")
ROW_FIELDS = ("state", "amount", "why")
STATES = (State.OVERRULED, State.LEFT, State.LOCKED)


def wishes_from_toml(text: str, unit: Unit) -> Wishes:
    """The wishes in a TOML text; `unit` holds where it names none.  Raises BadInput for anything else."""
    data = toml_of(text, "wishes file")
    _require_known(data, FIELDS, "the wishes")
    speaks = parse_unit(_text(data["unit"], "unit")) if "unit" in data else unit
    lengths = {key: size_of(data[key], speaks, key) for key in LENGTHS if key in data}
    choices = {key: _choice(data[key], key) for key in CHOICES if key in data}
    return Wishes(
        reduction=lengths.get("reduction"),
        lacing_gap=lengths.get("lacing_gap"),
        closure_gap=lengths.get("closure_gap"),
        depth_share=_share(data["depth_share"]) if "depth_share" in data else None,
        exact_centre_top=choices.get("exact_centre_top", False),
        take_heights=choices.get("take_heights", False),
        leave_small=choices.get("leave_small", False),
        overrides=tuple(_overrides(data.get("rows", {}), speaks)),
    )


def length_of(value: object, unit: Unit, what: str) -> float:
    """A length in mm from a number in `unit` or a written length; raises BadInput naming `what`."""
    try:
        written = value if isinstance(value, str) else repr(_number(value))
        return parse_length(written, unit)
    except BadInput as error:
        raise BadInput(f"Under {what}: {error}") from error


def size_of(value: object, unit: Unit, what: str) -> float:
    """As `length_of`, of what cannot be below nothing."""
    size = length_of(value, unit, what)
    if size < 0:
        raise BadInput(f"Under {what}: {str(value)[:40]} is below 0.")
    return size


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise BadInput(f"{str(value)[:40]} is no length.")
    return value


def _overrides(rows: object, unit: Unit) -> Iterator[Override]:
    for key, fields in _table(rows, "rows").items():
        row = _table(fields, f"rows.{key}")
        _require_known(row, ROW_FIELDS, f"row {key}")
        yield _override(key, row, unit)


def _override(key: str, row: Mapping[str, Any], unit: Unit) -> Override:
    state, why = row.get("state"), row.get("why")
    if state not in list(STATES):
        raise BadInput(f"Under row {key}, state is overruled, left or locked, not {str(state)[:40]}.")
    if not isinstance(why, str) or not why.strip():
        raise BadInput(f"Under row {key}, say why: a reason is kept with every row that is overruled or left.")
    amount = length_of(row["amount"], unit, f"row {key}, amount") if "amount" in row else None
    if state == State.OVERRULED and amount is None:
        raise BadInput(f"Under row {key}, give the amount that is to be applied instead.")
    if state == State.LEFT and amount is not None:
        raise BadInput(f"Under row {key}, a row left as in the base has no amount.")
    return Override(key, State(state), why.strip(), amount)


def _table(value: object, what: str) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise BadInput(f"Under {what}, a table is needed, such as [rows.side].")
    return value


def _require_known(data: Mapping[str, Any], known: tuple[str, ...], what: str) -> None:
    for key in data:
        if key not in known:
            raise BadInput(f"There is no field {key[:40]!r} in {what}: the fields are {', '.join(known)}.")


def _choice(value: object, key: str) -> bool:
    if not isinstance(value, bool):
        raise BadInput(f"Under {key}, write true or false.")
    return value


def _share(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 1:
        raise BadInput("Under depth_share, give the part of the difference in cup depth to apply, from 0 to 1.")
    return float(value)


def _text(value: object, key: str) -> str:
    if not isinstance(value, str):
        raise BadInput(f"Under {key}, write a word in quotes.")
    return value
