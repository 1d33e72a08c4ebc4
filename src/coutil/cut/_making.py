"""Everything a finished stitching pattern implies for cutting and making, from one call."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from coutil.cut._bones import Bone, Busk, bones_for, find_busk
from coutil.cut._channels import channel_rules, find_channels
from coutil.cut._cutting_list import ClothNeed, CuttingRow, cloth_needs, cutting_rows
from coutil.cut._lacing import BUSK_ADVISED_MM, EyeletLine, Lace, Opening, eyelet_lines, find_lace, find_opening
from coutil.cut._order import OrderOptions
from coutil.cut._ordered import opens_in_front, order_allowances, ordered_style
from coutil.cut._sewing import SeamRow, SewingStep, seam_rows, sewing_order
from coutil.cut._small_parts import SmallPart, casings_of, small_parts
from coutil.cut._toile import Toile, make_toile
from coutil.cut.lay._values import LayPlan
from coutil.measure import Chart
from coutil.pattern import Role, Style, girth, thickness_loss

# Cloth on each side of a bone whose channel is stitched in the allowance, mm (common practice: 2 to 3).
BESIDE_BONE_MM = 2.5
SEAM_ROLES = frozenset({Role.PANEL_SEAM, Role.SIDE_SEAM})


@dataclass(frozen=True, slots=True)
class GirthRow:
    """The finished garment's girth inside at one level, mm.

    `net` is what the pieces add up to, `closed` with the lacing shut, `laced` as ordered, `open` with the
    lacing at the order's widest; `outside` is the laced girth measured on the outside.
    """

    level: str
    net: float
    closed: float
    laced: float
    open: float
    outside: float


@dataclass(frozen=True, slots=True)
class Hardware:
    """Something to buy: how many, or what length of it in mm, and its size in mm where it has one."""

    name: str
    size: float | None
    count: int | None
    length: float | None = None


@dataclass(frozen=True, slots=True)
class Foam:
    """Foam of the cups: its thickness where the order names it, and how much larger the cover is cut, mm."""

    thickness: float | None
    cover: float


@dataclass(frozen=True, slots=True, eq=False)
class Making:
    """The papers of one garment as values; `style` is the pattern with the order's layers and closure."""

    style: Style
    options: OrderOptions
    rows: tuple[CuttingRow, ...]
    parts: tuple[SmallPart, ...]
    cloths: tuple[ClothNeed, ...]
    bones: tuple[Bone, ...]
    busk: Busk | None
    eyelets: tuple[EyeletLine, ...]
    opening: Opening | None
    lace: Lace | None
    foam: Foam | None
    girths: tuple[GirthRow, ...]
    seams: tuple[SeamRow, ...]
    steps: tuple[SewingStep, ...]
    hardware: tuple[Hardware, ...]
    toile: Toile
    remarks: tuple[str, ...]


def plan_making(style: Style, chart: Chart, options: OrderOptions, lays: Sequence[LayPlan] = ()) -> Making:
    """All that is to be cut, bought and sewn for a style worn by the body of `chart`.

    Lengths of cloth are those of `lays`, made for this style as ordered, where they lay a layer.
    Raises BadInput where the order asks for what the style cannot give.
    """
    ordered = ordered_style(style, options)
    bones = bones_for(find_channels(ordered, channel_rules(options)), options)
    busk, eyelets = find_busk(ordered, options), eyelet_lines(ordered, options)
    opening = find_opening(ordered, chart, options)
    lace = find_lace(eyelets, options.donning_gap if opening is None else opening.gap, options)
    rows = cutting_rows(ordered, order_allowances(options))
    parts = small_parts(ordered, bones, options)
    return Making(
        ordered, options, rows, parts, cloth_needs(ordered, rows, parts, options, lays),
        bones, busk, eyelets, opening, lace, _foam(ordered, options), finished_girths(ordered, options),
        seam_rows(ordered), sewing_order(ordered), _hardware(bones, busk, eyelets, lace, parts),
        make_toile(style, options), tuple(_remarks(style, ordered, opening, busk, rows, options)),
    )  # fmt: skip


def parts_as_ordered(ordered: Style, options: OrderOptions) -> tuple[SmallPart, ...]:
    """The small parts alone, of a style that has the layers and closure of its order already."""
    return small_parts(ordered, bones_for(find_channels(ordered, channel_rules(options)), options), options)


def finished_girths(style: Style, options: OrderOptions) -> tuple[GirthRow, ...]:
    """Girths of the finished garment at every level that goes all the way round, from the top down.

    The inside is what the pieces add up to, less what the cloth takes where the style's layers have a thickness;
    the outside is larger by 2 pi times the thickness of all layers.
    """
    loss = thickness_loss(style)
    closed = _closure_gap(style, options) - loss
    thick = 2 * math.pi * thickness(style, options)
    rows = []
    for level in style.levels:
        if {"front", "back"} <= {piece.part for piece in style.pieces if level.name in piece.levels}:
            net = girth(style, level.name).full
            inside = net + closed
            laced, widest = inside + style.base_fit.lacing_gap, inside + options.widest_gap
            rows.append(GirthRow(level.name, net, inside, laced, widest, laced + thick))
    return tuple(rows)


def thickness(style: Style, options: OrderOptions) -> float:
    """All layers of cloth together, without the foam of the cups, mm: as the style says, else as ordered."""
    return sum(layer.thickness or options.cloth(layer.name).thickness for layer in style.layers if layer.allowance)


def _closure_gap(style: Style, options: OrderOptions) -> float:
    if not opens_in_front(style):
        return 0.0
    return style.base_fit.closure_gap or options.closure_gap


def _foam(style: Style, options: OrderOptions) -> Foam | None:
    if all(layer.allowance for layer in style.layers):
        return None
    return Foam(options.foam, max(layer.over_foam for layer in style.layers))


def _hardware(
    bones: Sequence[Bone],
    busk: Busk | None,
    eyelets: Sequence[EyeletLine],
    lace: Lace | None,
    parts: Sequence[SmallPart],
) -> tuple[Hardware, ...]:
    found = [] if busk is None or not busk.length else [Hardware("busk", busk.length, 1)]
    found += _bone_stock(bones)
    tips = sum(bone.tips for bone in bones)
    found += [Hardware("tips for spiral steel", None, tips)] if tips else []
    holes = sum(line.count * line.sides for line in eyelets)
    found += [Hardware("eyelets with washers", None, holes)] if holes else []
    found += [] if lace is None else [Hardware("lace", None, 1, lace.length)]
    found += _tape_stock(parts)
    return tuple(found)


def _tape_stock(parts: Sequence[SmallPart]) -> list[Hardware]:
    """Tapes by name and width, in all."""
    stock: dict[tuple[str, float], float] = {}
    for part in parts:
        if part.grain == "tape":
            stock[part.name, part.width] = stock.get((part.name, part.width), 0.0) + part.count * part.length
    return [Hardware(name, width, None, length) for (name, width), length in stock.items()]


def _bone_stock(bones: Sequence[Bone]) -> list[Hardware]:
    stock = Counter[tuple[str, float]]()
    for bone in bones:
        stock[bone.kind.name, bone.length] += bone.count
    return [Hardware(name, length, count) for (name, length), count in sorted(stock.items())]


def _remarks(
    style: Style,
    ordered: Style,
    opening: Opening | None,
    busk: Busk | None,
    rows: Sequence[CuttingRow],
    options: OrderOptions,
) -> Iterator[str]:
    """What the maker should look at before cutting, one sentence each."""
    if opening is None:
        over = "shoulder girth" if options.put_on == "over_the_head" else "hip girth"
        yield f"No {over} is known, so the opening needed to get in is not computed: measure the {over}."
    elif opening.busk_advised:
        needed = f"The lacing would have to open {opening.needed:.0f} mm to get in"
        yield f"{needed}; over {BUSK_ADVISED_MM:g} mm take a busk."
    if opens_in_front(ordered) and not style.base_fit.closure_gap:
        yield (
            f"The pattern leaves no closure gap: with the busk the girths inside are {options.closure_gap:g} mm "
            "larger than altered for.  Alter it with closure_gap among the wishes."
        )
    if busk is not None and not busk.length:
        yield f"No busk is sold short enough for the {busk.room:.0f} mm of room: close the front by a seam."
    if opens_in_front(style) and options.closure == "closed":
        yield "The pattern opens in front though the order says closed: sew the front closure as a seam."
    if casings_of(ordered, options) == "allowances":
        yield from _allowance_remarks(rows, options)


def _allowance_remarks(rows: Sequence[CuttingRow], options: OrderOptions) -> Iterator[str]:
    """Channels in the allowances need cloth beside the bone, and leave no way for a tape."""
    if options.waist_tape:
        yield "A waist tape cannot be combined with channels in the seam allowances: use strips, or leave out the tape."
    seams = [edge.width for row in rows for edge in row.allowances if edge.role in SEAM_ROLES and edge.width]
    needed = max(options.flat.width, options.spiral.width) + 2 * BESIDE_BONE_MM
    if seams and min(seams) < needed:
        yield f"Channels in the seam allowances need {needed:g} mm of allowance; the narrowest has {min(seams):g} mm."
