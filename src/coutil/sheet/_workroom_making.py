"""The sections of the workroom sheet that speak of making: cutting list, parts, bones, lacing, sewing order."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import groupby

from coutil.cut import (
    FOAM_TRIM_MM,
    Bone,
    Busk,
    ClothNeed,
    CuttingRow,
    EyeletLine,
    Hardware,
    Lace,
    Making,
    Opening,
    SewingStep,
    SmallPart,
    casings_of,
)
from coutil.measure import Unit, format_length
from coutil.pattern import Role
from coutil.sheet._bone_plan import bone_plan
from coutil.sheet._piece_label import turn_words
from coutil.sheet._workroom_words import (
    Grid,
    Section,
    aligned,
    bought,
    counted,
    figure,
    fine,
    joined,
    listed,
    plain,
    sentence_case,
    small,
    to_cut,
    width_words,
)

# As wide as A4 between its margins; Letter is a little wider.
PICTURE_MM = 188.0

# So many eyelets stand side by side in a table; inches with their fractions need more room.
EYELETS_WIDE = {"mm": 12, "in": 8}
HEAD_SHARE = 3.2

# Names of girths a body passes through, as they are spoken of.
GIRTH_WORDS = {"hip_girth": "hip", "high_hip_girth": "high hip (no hip girth was taken)", "shoulder_girth": "shoulders"}
GRAINS = {"straight": "straight", "bias": "bias", "tape": "tape"}


def cutting_section(making: Making, unit: Unit) -> Section:
    """What is cut from each layer, with the cloth it needs."""
    layers = groupby(making.rows, key=lambda row: row.layer)
    needs = {need.cloth.layer: need for need in making.cloths}
    parts = {part.layer for part in making.parts if part.area}
    grids = []
    for layer, found in layers:
        rows = tuple(found)
        caption = joined((sentence_case(plain(layer)), turn_words(*rows[0].turn), _cloth_words(needs[layer], unit)))
        grids.append(_cutting_grid(caption, rows, unit, with_busk=making.busk is not None))
    extra = f"Small parts of {listed([plain(p) for p in sorted(parts)])} follow below." if parts else ""
    notes = (
        "Widths are from the stitching line; turn of cloth is already in the printed cut line.  Grain runs along "
        "the arrow on the piece.",
        *_foam_words(making, unit),
        *_cloth_notes(making),
        extra,
    )
    return Section("Cutting list", tuple(note for note in notes if note), tuple(grids))


def _cutting_grid(caption: str, rows: Sequence[CuttingRow], unit: Unit, *, with_busk: bool) -> Grid:
    name = fine(unit)
    heads = ("piece", "cut", "grain", f"allowance, {name}", f"size, {name}")
    lines = tuple(_cutting_line(row, unit, with_busk=with_busk) for row in rows)
    return Grid(caption, heads, lines, (28, 36, 18, 100, 34))


def _cutting_line(row: CuttingRow, unit: Unit, *, with_busk: bool) -> tuple[str, ...]:
    size = f"{to_cut(row.size[0], unit)} × {to_cut(row.size[1], unit)}"
    sides = ": left for studs, right for loops" if with_busk and row.at_busk and row.mirrored else ""
    return (row.title, _cut_words(row) + sides, _grain_words(row), _allowance_words(row, unit), size)


def _cut_words(row: CuttingRow) -> str:
    if row.on_fold:
        return f"{row.count}, on the fold"
    if row.mirrored and row.count % 2 == 0:
        return f"{row.count}, {'a mirrored pair' if row.count == 2 else 'in mirrored pairs'}"
    return str(row.count)


def _grain_words(row: CuttingRow) -> str:
    return "upright" if abs(row.grain_deg - 90.0) < 0.05 else f"{row.grain_deg:.0f}° to the level"


def _allowance_words(row: CuttingRow, unit: Unit) -> str:
    """Widths with the edges that have them, the widest first; `none, bound` for raw edges."""
    by_width: dict[float, dict[str, None]] = {}
    for edge in row.allowances:
        by_width.setdefault(edge.width, {})[plain(edge.role)] = None
    words = []
    for width in sorted(by_width, reverse=True):
        edges = ", ".join(by_width[width])
        amount = "none" if not width else width_words(abs(width), unit) + (" cut back" if width < 0 else "")
        words.append(f"{amount}: {edges}")
    return "; ".join(words)


def _cloth_words(need: ClothNeed, unit: Unit) -> str:
    cloth = need.cloth
    width = f"{format_length(cloth.width, unit)} wide"
    if need.laid_with:
        return joined((cloth.name, f"laid with {plain(need.laid_with)}"))
    length = bought(need.length, unit)
    return joined((cloth.name, f"{length}, {width}, by its lay plan" if need.laid else f"about {length}, {width}"))


def _cloth_notes(making: Making) -> Iterator[str]:
    priced = [need for need in making.cloths if need.cost is not None and not need.laid_with]
    guessed = [plain(need.cloth.layer) for need in making.cloths if not need.laid]
    beside = [plain(need.cloth.layer) for need in making.cloths if need.laid and not need.small_laid]
    if guessed:
        which = "Lengths" if len(guessed) == len(making.cloths) else f"Lengths for {listed(guessed)}"
        yield (
            f"{which} of cloth are an estimate before a lay plan: the area of all pieces and small parts and 15 per "
            "cent, by the width of the cloth, and never less than the longest piece."
        )
    if beside:
        yield (
            f"The small parts of {listed(beside)} do not lie on the plan: cloth for them, their area and 15 per cent, "
            "is added to its length."
        )
    if priced:
        words = [f"{plain(need.cloth.layer)} {need.cost:.2f}" for need in priced]
        total = sum(need.cost or 0.0 for need in priced)
        currency = f" {making.options.currency}" if making.options.currency else ""
        yield f"Cost of the cloth: {', '.join(words)}, in all {total:.2f}{currency}."


def _foam_words(making: Making, unit: Unit) -> Iterator[str]:
    if making.foam is None:
        return
    thick = "" if making.foam.thickness is None else f" of {small(making.foam.thickness, unit)}"
    yield (
        f"Cup foam{thick}: cut on the stitching line, edges butted, trimmed back {small(FOAM_TRIM_MM, unit)} from "
        "neckline, armhole and cradle."
    )
    if making.foam.cover:
        yield (
            f"The cover over the foam is cut {small(making.foam.cover, unit)} larger all round but at the cup seam: "
            "already in the cut line of the pattern as ordered."
        )


def parts_section(making: Making, unit: Unit) -> Section:
    """Facings, casings, tapes, modesty panel, binding, loops."""
    casings = [part for part in making.parts if part.name.startswith("casing")]
    others = [part for part in making.parts if part not in casings]
    grids = [_parts_grid("Small parts, as cut", others, unit)]
    if casings:
        grids.append(_parts_grid("Casings, as cut", casings, unit))
    notes = {
        "strips": "Bones lie in casings: strips whose two long edges turn in.",
        "between": "Bones lie between the two layers, in channels stitched through both: no casings are cut.",
        "allowances": "Bones lie in channels stitched through the pressed seam allowances: no casings are cut.",
    }
    return Section("Small parts", (notes[casings_of(making.style, making.options)],), tuple(grids))


def _parts_grid(caption: str, parts: Sequence[SmallPart], unit: Unit) -> Grid:
    """The parts as cut; without the column of remarks where there are none."""
    name = fine(unit)
    heads = ("part", "cut", f"long, {name}", f"wide, {name}", "from", "grain", f"finished, {name}", "remarks")
    rows = [_part_line(part, unit) for part in parts]
    count = len(heads) if any(row[-1] for row in rows) else len(heads) - 1
    shares = (44, 12, 18, 16, 20, 18, 20, 60)[:count]
    wide = 1.0 if count == len(heads) else 0.75
    return Grid(caption, heads[:count], tuple(row[:count] for row in rows), shares, frozenset((1, 2, 3, 6)), wide=wide)


def _part_line(part: SmallPart, unit: Unit) -> tuple[str, ...]:
    title = sentence_case(part.name)
    finished = aligned(part.finished, unit)
    if part.made_with:
        cut_with = f"in one with the {part.made_with.lower()}: {_in_unit(part.note, unit)}"
        return (title, "–", "–", figure(part.width, unit), plain(part.layer), "–", finished, cut_with)
    source = plain(part.layer) if part.layer else "bought"
    sizes = (str(part.count), to_cut(part.length, unit), to_cut(part.width, unit))
    return (title, *sizes, source, GRAINS[part.grain], finished, _in_unit(part.note, unit))


def _in_unit(words: str, unit: Unit) -> str:
    from coutil.speech import in_unit

    return in_unit(words, fine(unit))


def bone_section(making: Making, unit: Unit) -> Section:
    """Every channel with its bone: kind, length to cut, how many."""
    options, name = making.options, fine(unit)
    heads = (
        "no.", "channel", "ends at", f"channel, {name}", "off straight, per cent", "bone", f"cut, {name}", "pieces",
    )  # fmt: skip
    rows = tuple(_bone_line(i + 1, bone, unit) for i, bone in enumerate(making.bones))
    total = sum(bone.count for bone in making.bones)
    free = small(options.edge_depth + options.play, unit)
    note = (
        f"{counted(total, 'bone')}.  A bone is the finished channel less {free} at each finished edge "
        f"({small(options.edge_depth, unit)} for the edge's depth, {small(options.play, unit)} play) and "
        f"{small(options.cradle_clear, unit)} at the cradle, rounded down to a sold length.  Flat steel lies only "
        "where the channel is straight within 2 mm on 100 mm: 2 per cent."
    )
    widths = dict.fromkeys((bone.kind.name, bone.kind.width, bone.kind.channel) for bone in making.bones)
    wide = [f"{kind} {small(w, unit)} wide in a channel of {small(c, unit)}" for kind, w, c in widths]
    notes = (note, sentence_case("; ".join(wide)) + ".") if wide else (note,)
    grid = Grid("Bones", heads, rows, (9, 58, 30, 20, 24, 26, 16, 15), frozenset((0, 3, 4, 6, 7)))
    return Section("Bones", notes, (grid,), picture=bone_plan(making, PICTURE_MM))


def _bone_line(number: int, bone: Bone, unit: Unit) -> tuple[str, ...]:
    channel = bone.channel
    return (
        str(number),
        sentence_case(channel.name),
        f"{plain(channel.lower)}, {plain(channel.upper)}",
        aligned(channel.length, unit),
        f"{channel.off_straight:.1f}",
        bone.kind.name,
        figure(bone.length, unit),
        str(bone.count),
    )


def closure_section(making: Making, unit: Unit) -> Section:
    """Busk, eyelets, the opening needed to get in, the lace."""
    notes = (
        *_busk_words(making.busk, unit),
        *(words for line in making.eyelets for words in _eyelet_words(line, making, unit)),
        *_opening_words(making.opening, unit),
        *_lace_words(making.lace, making, unit),
    )
    grids = tuple(grid for line in making.eyelets for grid in _eyelet_grids(line, unit))
    return Section("Closure, eyelets and lace", notes, grids)


def _busk_words(busk: Busk | None, unit: Unit) -> Iterator[str]:
    if busk is None:
        return
    if not busk.length:
        yield f"No busk fits the room of {small(busk.room, unit)} at the centre front."
        return
    yield (
        f"Busk {small(busk.length, unit)}: centre front {small(busk.front, unit)}, room {small(busk.room, unit)}; "
        f"{small(busk.below_top, unit)} below the upper edge, {small(busk.above_hem, unit)} above the hem.  Studs "
        f"on the wearer's left, loops on the right: two different centre fronts.  The closed busk stands open "
        f"{small(busk.gap, unit)}."
    )


def _eyelet_words(line: EyeletLine, making: Making, unit: Unit) -> Iterator[str]:
    options = making.options
    bone = options.flat
    yield (
        f"{line.title}: {counted(line.count, 'eyelet')} on each edge, {line.count * line.sides} in all, on a line "
        f"{small(options.eyelet_line, unit)} inside the edge; a bone of {small(bone.width, unit)} outside the line and "
        f"one beyond it."
    )
    if line.waist is not None:
        yield (
            f"Eyelets {line.waist + 1} and {line.waist + 2} from the hem lie astride the waist, "
            f"{small(line.pitches[line.waist], unit)} apart."
        )


def _eyelet_grids(line: EyeletLine, unit: Unit) -> Iterator[Grid]:
    """The eyelets from the hem up, side by side, as many to a table as the page is wide."""
    widest = EYELETS_WIDE["in" if unit == "in" else "mm"]
    most = math.ceil(line.count / math.ceil(line.count / widest))
    nexts = (*(aligned(pitch, unit) for pitch in line.pitches), "")
    for first in range(0, line.count, most):
        last = min(first + most, line.count)
        heads = ("eyelet, from the hem up", *(str(i + 1) for i in range(first, last)))
        above = (f"above the hem, {fine(unit)}", *(aligned(mm, unit) for mm in line.along[first:last]))
        rows = (above, (f"to the next, {fine(unit)}", *nexts[first:last]))
        caption = f"Eyelets {first + 1} to {last}, {line.title.lower()}"
        count = last - first
        shares = (HEAD_SHARE, *[1.0] * count)
        yield Grid(
            caption,
            heads,
            rows,
            shares,
            frozenset(range(1, count + 1)),
            wide=(HEAD_SHARE + count) / (HEAD_SHARE + widest),
        )


def _opening_words(opening: Opening | None, unit: Unit) -> Iterator[str]:
    if opening is None:
        return
    through = GIRTH_WORDS[opening.through]
    narrowest = f"narrowest net girth {format_length(opening.narrowest, unit)}"
    body = format_length(opening.body, unit)
    if opening.front_opens:
        yield f"The front opens, so the lacing need not open for getting in ({through} {body}, {narrowest})."
        return
    yield f"To get in, the lacing must open {format_length(opening.needed, unit)}: {through} {body} less {narrowest}."


def _lace_words(lace: Lace | None, making: Making, unit: Unit) -> Iterator[str]:
    if lace is None:
        return
    to_edge = small(making.options.eyelet_line, unit)
    yield (
        f"Lace {bought(lace.length, unit)}: {lace.pairs} pairs opened to {format_length(lace.gap, unit)}.  Two "
        f"crossings for each step between eyelets, each the root of (gap + 2 × {to_edge})² + step², one bar straight "
        f"across, two loops and two tails of {small(300, unit)}; rounded up."
    )


def hardware_section(making: Making, unit: Unit) -> Section:
    """What to buy, with counts."""
    rows = tuple(_hardware_line(item, unit) for item in making.hardware)
    heads = ("item", f"size, {fine(unit)}", "how many", "length in all")
    return Section("Hardware", grids=(Grid("To buy", heads, rows, (50, 24, 24, 30), frozenset((1, 2, 3)), wide=0.7),))


def _hardware_line(item: Hardware, unit: Unit) -> tuple[str, ...]:
    size = "" if item.size is None else figure(item.size, unit)
    count = "" if item.count is None else str(item.count)
    return (sentence_case(item.name), size, count, "" if item.length is None else bought(item.length, unit))


FROM_WORDS = {Role.TOP: "the upper edge", Role.CENTRE: "the centre line"}
SEAM_WORDS = {
    Role.CUP_SEAM: "Cup seam",
    Role.PANEL_SEAM: "Panel seam",
    Role.CENTRE: "Centre seam",
    Role.CRADLE: "Cup into its cradle",
    Role.SIDE_SEAM: "Side seam",
    Role.CLOSURE: "Closure",
}


def sewing_section(making: Making, unit: Unit) -> Section:
    """The seams in their order with match points, then the making up."""
    steps = (
        *_before_seams(making),
        *(_seam_words(step, unit) for step in making.steps),
        *_making_up(making, unit),
    )
    spoken = "inches" if unit == "in" else "millimetres"
    note = (
        f"Match points are in {spoken} along the seam from that start: on the side named first, and on the other "
        "where it differs.  A strip of pressed allowance lies on the neighbour before the next seam crosses it."
    )
    return Section("Sewing order", (note,), steps=steps)


def _before_seams(making: Making) -> Iterator[str]:
    if making.style.construction in ("mounted", "floating_lining"):
        yield "Mount the outer pieces on the strength pieces and treat them as one; mark levels and match points."
    else:
        yield "Mark levels, match points, channels and the bust point on the pieces."


def _seam_words(step: SewingStep, unit: Unit) -> str:
    name = SEAM_WORDS.get(step.role, sentence_case(plain(step.role)))
    a, b = listed([title.lower() for title in step.a]), listed([title.lower() for title in step.b])
    pieces = f"left {a} to right {a}" if step.a == step.b else f"{a} to {b}"
    times = "" if step.sides == 1 else ", both sides"
    start = FROM_WORDS.get(step.start, f"the {plain(step.start)}")
    matches = "; ".join(_match_words(m.name, m.a, m.b, unit) for m in step.matches)
    matched = f"  Match {matches}." if matches else ""
    return f"{name}: {pieces}{times}, {small(step.length, unit)} from {start}.{matched}"


def _match_words(name: str, a: float, b: float, unit: Unit) -> str:
    first, second = figure(a, unit), figure(b, unit)
    return f"{plain(name)} {first}" if first == second else f"{plain(name)} {first} on {second}"


def _making_up(making: Making, unit: Unit) -> Iterator[str]:
    parts = {part.name.split(",")[0] for part in making.parts}
    if "waist tape" in parts:
        tapes = sum(part.count for part in making.parts if part.name == "waist tape")
        yield (
            f"Waist tape ({counted(tapes, 'piece')}): pin it along the waist from closure to closure, spread its "
            "shortness evenly, catch it at every seam; before any casing."
        )
    if "casing" in parts:
        yield "Casings: stitch them over seams and panel channels, both edges, over the waist tape."
    if casings_of(making.style, making.options) == "between":
        yield "Stitch the channels through both layers as marked."
    if making.busk is not None and making.busk.length:
        yield "Busk: loops into the wearer's right centre front, studs into the left; close it: levels must meet."
    if making.eyelets:
        yield "Closure: turn it back along its line and stitch the channels outside and beyond the eyelet line."
    if "neckline stay tape" in parts:
        yield "Stay tape along the neckline, from centre to upper corner."
    if making.foam is not None:
        yield "Lay the butted foam cups into the cups and catch them at the cradle."
    yield "Slide in the bones by their numbers; the rounded ends keep clear of the edges."
    yield "Bind the edges." if making.options.finish == "bound" else "Turn in the edges and fell them."
    if making.eyelets:
        yield "Set the eyelets as listed, from the waist pairs outwards."
    if "modesty panel" in parts:
        yield "Modesty panel: make it up and attach it along one side only, behind the lacing."
    if "hanging loops" in parts:
        yield "Hanging loops at the side seams."
    yield "Lace up, measure the inside at every level against the list above, and note it."


def toile_section(making: Making, unit: Unit) -> Section:
    """The toile: its list and its bones."""
    toile, name = making.toile, fine(unit)
    bones = tuple(
        (sentence_case(bone.channel.name), aligned(bone.channel.length, unit), bone.kind.name,
         figure(bone.length, unit), str(bone.count))
        for bone in toile.bones
    )  # fmt: skip
    strips = tuple(
        f"{sentence_case(part.name)}: {part.count}, {to_cut(part.length, unit)} × {to_cut(part.width, unit)} {name}, "
        f"{part.note}."
        for part in toile.strips
    )
    levels = ", ".join(plain(level) for level in dict.fromkeys(line.level for line in toile.levels))
    points = ", ".join(plain(point) for point in dict.fromkeys(point.name for point in toile.points))
    marks = f"Mark on every piece: {joined((levels, points))}; panel middles for the bones."
    heads = ("bone", f"channel, {name}", "steel", f"cut, {name}", "pieces")
    return Section(
        "Toile",
        (
            "One layer of strong cloth that does not stretch; seams free of bones so that they can be fitted.",
            marks,
            *strips,
        ),
        (
            _cutting_grid("Toile, single layer", toile.rows, unit, with_busk=False),
            Grid(
                "Bones of the toile, up the middle of each panel",
                heads,
                bones,
                (60, 30, 30, 30, 20),
                frozenset((1, 3, 4)),
            ),
        ),
    )
