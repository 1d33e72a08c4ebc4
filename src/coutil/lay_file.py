"""Lay plans as text: kept so that a plan can be drawn again exactly, and read as what the maker has fixed.

A file holds where each part lies, never the cut lines themselves: those are derived from the style again, and a
plan is drawn only with parts of the sizes it was made for.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import msgspec

from coutil.cut.lay import LayPart, LayPlan, PartSize, Placement, part_sizes, plan_of
from coutil.errors import BadInput
from coutil.measure import Unit, parse_length
from coutil.pattern import FileModel, fault_in_words, model_from_json, model_to_json, require_format, value_as
from coutil.texts import toml_of

LAY_FORMAT = "coutil-lay"
LAY_VERSION = 1

# Parts whose size differs by no more than this, mm, or by this share of their area, are the same parts.
SAME_SIZE_MM = 0.05
SAME_AREA = 1e-4


class ClothModel(FileModel, frozen=True):
    """The cloth, mm; `price` per metre of length."""

    width: float
    selvedge: float
    gap: float
    nap: bool
    folded: bool
    grain: bool
    price: float | None = None


class PartSizeModel(FileModel, frozen=True):
    """A part the plan was made for: counts by hand, length along the grain and width across, mm, area in mm^2."""

    piece: str
    layer: str
    drawn: int
    mirrored: int
    along: float
    across: float
    area: float


class PlacementModel(FileModel, frozen=True):
    """Where a part lies: lower left corner of the box around it, mm from the cloth's end and edge."""

    piece: str
    layer: str
    hand: Literal["drawn", "mirrored"]
    x: float
    y: float
    rotation: Literal[0, 90, 180, 270] = 0
    copies: Literal[1, 2] = 1
    fixed: bool = False


class LayFile(FileModel, frozen=True):
    """A lay plan file: the cloth, the parts it was made for, and where each lies."""

    format: Literal["coutil-lay"]
    version: Literal[1]
    style: str
    cloth: ClothModel
    parts: tuple[PartSizeModel, ...]
    placements: tuple[PlacementModel, ...]
    length: float
    area: float
    method: str
    remarks: tuple[str, ...] = ()


class _FixedPart(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One `[[part]]` of a maker's own file; lengths as numbers in her unit or as text with one."""

    piece: str
    x: float | str
    y: float | str
    layer: str | None = None
    hand: Literal["drawn", "mirrored"] = "drawn"
    rotation: Literal[0, 90, 180, 270] = 0


class _FixedFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A maker's own file of fixed parts."""

    part: tuple[_FixedPart, ...] = ()


def lay_to_json(plan: LayPlan) -> str:
    """The text of a lay plan file."""
    return model_to_json(lay_to_model(plan))


def lay_to_model(plan: LayPlan) -> LayFile:
    """The file model of a lay plan."""
    fields = {name: getattr(plan, name) for name in LayPlan.__slots__}
    cloth, parts = value_as(plan.cloth, ClothModel), value_as(plan.parts, tuple[PartSizeModel, ...])
    placements = value_as(plan.placements, tuple[PlacementModel, ...])
    named = {**fields, "cloth": cloth, "parts": parts, "placements": placements}
    return LayFile("coutil-lay", 1, **named)


def lay_from_json(text: str | bytes) -> LayPlan:
    """The lay plan in the text of a file; raises BadInput for anything else.

    What it says is not yet held against any parts: see `lay_again`.
    """
    require_format(text, LAY_FORMAT, LAY_VERSION, "lay plan")
    model = model_from_json(text, LayFile, "lay plan")
    return lay_from_model(model)


def lay_from_model(model: LayFile) -> LayPlan:
    """The lay plan of a file model, not yet held against any parts."""
    return value_as({name: getattr(model, name) for name in LayPlan.__slots__}, LayPlan)


def lay_again(kept: LayPlan, parts: tuple[LayPart, ...]) -> LayPlan:
    """The kept plan, checked on the cut lines of these parts.

    Raises BadInput where the parts are not those it was made for, or no longer lie soundly.
    """
    other = next((name for name in _differing(kept.parts, part_sizes(parts))), None)
    if other is not None:
        raise BadInput(f"This lay plan was made for another {other}: lay the pattern again.")
    again = plan_of(kept.style, parts, kept.cloth, kept.placements)
    return replace(kept, placements=again.placements)


def fixed_parts(text: str, layers: tuple[str, ...], unit: Unit) -> tuple[Placement, ...]:
    """The parts a maker has fixed, from a kept lay plan or from a TOML file of her own.

    Of a lay plan those marked as fixed are taken.  In TOML each `[[part]]` names piece, x and y, and may name
    layer (needed where several are laid), hand and rotation.  Raises BadInput for what cannot be read.
    """
    if text.lstrip().startswith("{"):
        return tuple(one for one in lay_from_json(text).placements if one.fixed)
    return tuple(_fixed_part(part, layers, unit) for part in _fixed_file(text).part)


def _fixed_file(text: str) -> _FixedFile:
    try:
        return msgspec.convert(toml_of(text, "file of fixed parts"), _FixedFile)
    except msgspec.ValidationError as error:
        raise BadInput(f"The file of fixed parts does not fit its format: {fault_in_words(error)}.") from error


def _fixed_part(part: _FixedPart, layers: tuple[str, ...], unit: Unit) -> Placement:
    layer = part.layer or (layers[0] if len(layers) == 1 else None)
    if layer is None:
        raise BadInput(f"Say of which layer the fixed {part.piece} is: several are laid.")
    x, y = (parse_length(str(figure), unit) for figure in (part.x, part.y))
    return Placement(part.piece, layer, part.hand, x, y, part.rotation, fixed=True)


def _differing(kept: tuple[PartSize, ...], now: tuple[PartSize, ...]) -> list[str]:
    """Names of the parts in which two lists differ."""
    known = {(size.piece, size.layer): size for size in now}
    faults = [f"{size.piece} ({size.layer})" for size in kept if not _same(size, known.get((size.piece, size.layer)))]
    named = {(size.piece, size.layer) for size in kept}
    return faults + [f"{piece} ({layer})" for piece, layer in known if (piece, layer) not in named]


def _same(a: PartSize, b: PartSize | None) -> bool:
    return (
        b is not None
        and (a.drawn, a.mirrored) == (b.drawn, b.mirrored)
        and max(abs(a.along - b.along), abs(a.across - b.across)) <= SAME_SIZE_MM
        and abs(a.area - b.area) <= SAME_AREA * b.area
    )
