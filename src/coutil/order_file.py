"""Orders as TOML: how a garment is to be made.

    unit = "cm"
    reference = "opera 12"
    construction = "sandwich"
    closure = "busk"
    eyelet_spacing = "22 mm"

    [cloths.outer]
    name = "silk satin"
    width = 140
    price = 38

    [bones.spiral]
    width = "7 mm"
    step = "1/4 in"

Lengths are numbers in `unit`, or written with their own unit.  What is not named is the trade's usual amount.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

import msgspec
from msgspec import UNSET, UnsetType

from coutil.cut import BoneKind, Cloth, OrderOptions
from coutil.errors import BadInput
from coutil.measure import Unit, parse_length, parse_unit
from coutil.texts import toml_of

Length = float | str

QUARTER_INCH = 25.4 / 4
# The same busks as sold by the inch (supplier lists, from memory): 8 to 15 in.
INCH_BUSKS = tuple(25.4 * inches for inches in range(8, 16))

Lengths = tuple[Length, ...]


class ClothModel(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A cloth for one layer; `price` is for one metre."""

    name: str | UnsetType = UNSET
    width: Length | UnsetType = UNSET
    thickness: Length | UnsetType = UNSET
    price: float | UnsetType = UNSET
    turn: Length | UnsetType = UNSET
    nap: bool | UnsetType = UNSET


class BoneModel(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A steel as it is sold: in steps, or in the lengths of `sold`."""

    width: Length | UnsetType = UNSET
    step: Length | UnsetType = UNSET
    sold: Lengths | UnsetType = UNSET
    tipped: bool | UnsetType = UNSET


class BonesModel(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Both kinds of steel."""

    flat: BoneModel = BoneModel()
    spiral: BoneModel = BoneModel()


class OrderModel(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The fields of an order file; see OrderOptions for what each means."""

    unit: str | UnsetType = UNSET
    reference: str | UnsetType = UNSET
    due: object = UNSET
    wear: str | UnsetType = UNSET
    remarks: tuple[str, ...] | UnsetType = UNSET
    construction: str | UnsetType = UNSET
    closure: str | UnsetType = UNSET
    put_on: str | UnsetType = UNSET
    currency: str | UnsetType = UNSET
    finish: str | UnsetType = UNSET
    casings: str | UnsetType = UNSET
    modesty_panel: bool | UnsetType = UNSET
    waist_tape: bool | UnsetType = UNSET
    stay_tape: bool | UnsetType = UNSET
    loops: bool | UnsetType = UNSET
    measured_over_foam: bool | UnsetType = UNSET
    binding: Length | UnsetType = UNSET
    edge_depth: Length | UnsetType = UNSET
    play: Length | UnsetType = UNSET
    cradle_clear: Length | UnsetType = UNSET
    widest_between_bones: Length | UnsetType = UNSET
    busk_lengths: Lengths | UnsetType = UNSET
    busk_top: Length | UnsetType = UNSET
    busk_bottom: Length | UnsetType = UNSET
    closure_gap: Length | UnsetType = UNSET
    facing: Length | UnsetType = UNSET
    eyelet_spacing: Length | UnsetType = UNSET
    eyelet_line: Length | UnsetType = UNSET
    eyelet_inset: Length | UnsetType = UNSET
    eyelet_waist: Length | UnsetType = UNSET
    widest_gap: Length | UnsetType = UNSET
    donning_gap: Length | UnsetType = UNSET
    waist_tape_width: Length | UnsetType = UNSET
    tape_short: Length | UnsetType = UNSET
    foam: Length | UnsetType = UNSET
    cloths: dict[str, ClothModel] = {}
    bones: BonesModel = BonesModel()


# Texts that are no lengths although they are written as text.
WORDS = frozenset(
    {"unit", "reference", "due", "wear", "remarks", "name", "currency"}
    | {"construction", "closure", "put_on", "finish", "casings"}
)
NUMBERS = frozenset({"price"})

# What msgspec calls the kinds of values, and what a maker does.
KINDS = {
    "float | str": "a length",
    "str": "text in quotes",
    "bool": "true or false",
    "array": "a list",
    "object": "a table",
    "float": "a number",
    "int": "a number",
}


def order_from_toml(text: str, unit: Unit) -> OrderOptions:
    """The order in a TOML text; `unit` holds where it names none.  Raises BadInput for anything else."""
    try:
        model = msgspec.convert(toml_of(text, "order file"), OrderModel)
    except msgspec.ValidationError as error:
        raise BadInput(f"The order does not fit its format: {_in_words(error)}.") from error
    speaks = unit if model.unit is UNSET else parse_unit(model.unit)
    given = _given(model, speaks, "the order")
    given.pop("unit", None)
    given["due"] = _day(model.due)
    given["cloths"] = tuple(
        Cloth(layer, **_given(cloth, speaks, f"cloths.{layer}")) for layer, cloth in model.cloths.items()
    )
    usual = usual_options(speaks)
    given.setdefault("busk_lengths", usual.busk_lengths)
    given["flat"] = _bone(usual.flat, model.bones.flat, speaks)
    given["spiral"] = _bone(usual.spiral, model.bones.spiral, speaks)
    return OrderOptions(**given)


def _day(value: object) -> str:
    """A day as TOML writes it, or in the maker's own words."""
    if value is UNSET or isinstance(value, str):
        return "" if value is UNSET else str(value)
    if isinstance(value, date):
        return value.isoformat()
    raise BadInput("The order's due is a day, such as 2026-12-01, or words in quotes.")


def usual_options(unit: Unit) -> OrderOptions:
    """The trade's usual amounts; where inches are spoken, steels come in quarter inches and busks in inches."""
    usual = OrderOptions()
    if unit != "in":
        return usual
    flat, spiral = (replace(kind, step=QUARTER_INCH) for kind in (usual.flat, usual.spiral))
    return replace(usual, flat=flat, spiral=spiral, busk_lengths=INCH_BUSKS)


def _bone(usual: BoneKind, model: BoneModel, unit: Unit) -> BoneKind:
    """The usual steel of that kind with what the order changes."""
    given = _given(model, unit, f"bones.{usual.name}")
    kept = {name: getattr(usual, name) for name in ("width", "step", "sold", "tipped")}
    return BoneKind(usual.name, **{**kept, **given})


def _given(model: msgspec.Struct, unit: Unit, where: str) -> dict[str, Any]:
    """The fields that were written, lengths in mm."""
    written = {name: getattr(model, name) for name in model.__struct_fields__}
    return {
        name: value if name in WORDS | NUMBERS or isinstance(value, bool) else _lengths(value, unit, f"{where}, {name}")
        for name, value in written.items()
        if value is not UNSET and not isinstance(value, Mapping | BonesModel)
    }


def _lengths(value: Length | Lengths, unit: Unit, where: str) -> float | tuple[float, ...]:
    if isinstance(value, tuple):
        return tuple(_length(each, unit, where) for each in value)
    return _length(value, unit, where)


def _length(value: Length, unit: Unit, where: str) -> float:
    try:
        return parse_length(value if isinstance(value, str) else repr(value), unit)
    except BadInput as error:
        raise BadInput(f"Under {where}: {error}") from error


def _in_words(error: msgspec.ValidationError) -> str:
    """What msgspec found, with the place as the maker wrote it."""
    said = str(error).replace("Object contains unknown", "there is an unknown").replace("`", "")
    found, _, place = said.partition(" - at ")
    where = place.replace("$.", "").replace("$", "").replace("key in ", "")
    words = found[:1].lower() + found[1:]
    for kind, plain in KINDS.items():
        words = words.replace(f"expected {kind}", f"expected {plain}").replace(f"got {kind}", f"got {plain}")
    return f"{words} (under {where})" if where else words
