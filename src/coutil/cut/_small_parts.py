"""Small parts: facings, casings, tapes, modesty panel, binding, loops.  Rectangles in mm, as they are cut."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from coutil.cut._bones import Bone
from coutil.cut._channels import WAIST, laced_edges
from coutil.cut._order import Casings, OrderOptions
from coutil.cut._ordered import main_layer, show_layer
from coutil.pattern import Edge, Piece, Role, Style, allowance_of, widths

Grain = Literal["straight", "bias", "tape"]

# Each side of a casing's strip turns under by 3/8 in: 1 1/8 in for a 3/8 in channel (common practice).
CASING_TURN_MM = 9.5
# A strip runs a little past both edges and is trimmed there.
TRIM_MM = 10.0
# Binding is folded twice on each side: four times the finished width; joins and corners take a tenth.
BINDING_FOLDS = 4
BINDING_SPARE = 1.10
# The panel behind the lacing reaches this far under each edge (common practice: 40 to 50).
PANEL_UNDER_MM = 45.0
SEAM_MM = 10.0
# Tapes that differ by less than a hundredth of a millimetre are alike: sums of widths carry rounding.
TAPE_DECIMALS = 2
# A tape's end is caught in the closure's facing.
TAPE_TURN_MM = 15.0
# A closure that turns back at least this far is its own facing.
OWN_FACING_MM = 45.0
# A loop of narrow tape to hang the garment by: 160 mm folded in two.
LOOP_SIZE = (160.0, 6.0)
# Two facings, each cut for a left and a right side.
PAIR = 2

EDGE_ROLES = frozenset({Role.TOP, Role.NECKLINE, Role.ARMHOLE, Role.HEM})


@dataclass(frozen=True, slots=True)
class SmallPart:
    """A rectangle or strip to cut: how many, each so long and wide as cut, from what, and what it becomes.

    `layer` names the layer whose cloth is used, "" for tape that is bought by its width.  `finished` is its
    length in the garment; `length` is what is cut.  `made_with` names the piece it is cut in one with, and
    nothing is cut then.
    """

    name: str
    count: int
    length: float
    width: float
    layer: str
    grain: Grain
    finished: float
    note: str = ""
    made_with: str = ""

    @property
    def area(self) -> float:
        """Square mm of cloth for all of them; 0 for tape and for what is cut in one with a piece."""
        return 0.0 if not self.layer or self.made_with else self.count * self.length * self.width


def small_parts(style: Style, bones: Sequence[Bone], options: OrderOptions) -> tuple[SmallPart, ...]:
    """Every small part the order asks for, in the order of use."""
    return tuple(
        part
        for parts in (
            _tapes(style, options),
            _casings(style, bones, options),
            _facings(style, options),
            _stay_tape(style, options),
            _binding(style, options),
            _modesty(style, options),
            _loops(options),
        )
        for part in parts
    )


def waist_tapes(style: Style, options: OrderOptions) -> tuple[float, ...]:
    """Finished lengths of the waist tapes, mm: each runs from closure to closure, short by `tape_short` a half.

    Pieces joined by seams share a tape; the two halves of a half style share one where a centre seam or fold
    joins them, and have one each where a busk parts them.  Example: half waist 298, closed front: 592; with a
    busk two of 296.
    """
    runs = [sum(found) for found in _waist_runs(style)]
    if style.half and not _parted(style):
        return tuple(2 * (run - options.tape_short) for run in runs)
    if style.half:
        return tuple(run - options.tape_short for run in runs for _ in range(style.sides))
    halves = max(1, round(2 / len(runs))) if runs else 1
    return tuple(run - halves * options.tape_short for run in runs)


def edge_runs(style: Style, roles: frozenset[Role]) -> dict[float, int]:
    """Lengths of what runs along the edges of these roles without a break, mm, and how many there are of each.

    One runs round the garment where the front is closed; an open front parts it in two.
    """
    edges = [
        [e.curve.length for p in style.pieces if p.name in group for e in p.edges if e.role in roles]
        for group in _joined(style)
    ]
    runs = [sum(found) for found in edges if found]
    if style.half and not _parted(style):
        return {2 * sum(runs): 1} if runs else {}
    # Left and right of an even body differ by what figures round off: they are one length.
    alike = {round(run, TAPE_DECIMALS): run for run in runs}
    counts = Counter(round(run, TAPE_DECIMALS) for run in runs)
    return {run: style.sides * counts[key] for key, run in alike.items()}


def casings_of(style: Style, options: OrderOptions) -> Casings:
    """Where bones go: between two layers in a sandwich, else into strips, unless the order says."""
    return options.casings or ("between" if style.construction == "sandwich" else "strips")


def _tapes(style: Style, options: OrderOptions) -> Iterator[SmallPart]:
    if not options.waist_tape:
        return
    tapes = [round(length, TAPE_DECIMALS) for length in waist_tapes(style, options)]
    for length in dict.fromkeys(tapes):
        note = f"{options.tape_short:g} mm short on each half; a turning of {TAPE_TURN_MM:g} mm at each end"
        cut = length + 2 * TAPE_TURN_MM
        count = tapes.count(length)
        yield SmallPart("waist tape", count, cut, options.waist_tape_width, "", "tape", length, note)


def _casings(style: Style, bones: Sequence[Bone], options: OrderOptions) -> Iterator[SmallPart]:
    if casings_of(style, options) != "strips":
        return
    for bone in bones:
        if bone.channel.place == "closure":
            continue  # Bones beside the lacing lie between the piece and its facing.
        length = bone.channel.length
        width = bone.kind.channel + 2 * CASING_TURN_MM
        name = f"casing, {bone.channel.name}"
        cut = length + 2 * TRIM_MM
        yield SmallPart(name, bone.count, cut, width, main_layer(style), "bias", length)


def _facings(style: Style, options: OrderOptions) -> Iterator[SmallPart]:
    """One at each closure, unless the closure turns back as its own."""
    for piece in style.pieces:
        for edge in piece.edges:
            if edge.role is Role.CLOSURE:
                yield _facing(style, piece, edge, options)


def _facing(style: Style, piece: Piece, edge: Edge, options: OrderOptions) -> SmallPart:
    kind = "back facing" if edge in laced_edges(piece) else "busk facing"
    length, layer = edge.curve.length, main_layer(style)
    name = f"{kind}, {piece.title.lower()}"
    turned = allowance_of(edge)
    if turned >= OWN_FACING_MM:
        note = f"the closure turns back {turned:g} mm"
        return SmallPart(name, style.sides, length, turned, layer, "straight", length, note, made_with=piece.title)
    width = options.facing + turned
    return SmallPart(name, style.sides, length + 2 * SEAM_MM, width, layer, "straight", length)


def _stay_tape(style: Style, options: OrderOptions) -> Iterator[SmallPart]:
    if not options.stay_tape:
        return
    note = "along the stitching line of the neckline, from centre to upper corner, so that it cannot stretch"
    for run, count in edge_runs(style, frozenset({Role.NECKLINE})).items():
        yield SmallPart("neckline stay tape", count, run + 2 * TRIM_MM, LOOP_SIZE[1], "", "tape", run, note)


def _binding(style: Style, options: OrderOptions) -> Iterator[SmallPart]:
    if options.finish != "bound":
        return
    edges = (("upper edge", EDGE_ROLES - {Role.HEM}), ("lower edge", frozenset({Role.HEM})))
    width = BINDING_FOLDS * options.binding
    for words, roles in edges:
        note = f"finished {options.binding:g} mm wide; edges and a tenth more"
        for run, count in edge_runs(style, roles).items():
            cut = run * BINDING_SPARE
            yield SmallPart(f"binding, {words}", count, cut, width, show_layer(style), "bias", run, note)


def _modesty(style: Style, options: OrderOptions) -> Iterator[SmallPart]:
    lengths = [edge.curve.length for piece in style.pieces for edge in laced_edges(piece)]
    if not options.modesty_panel or not lengths:
        return
    gap = style.base_fit.lacing_gap
    wide, high = gap + 2 * PANEL_UNDER_MM, max(lengths)
    note = f"finished {wide:g} mm wide: the gap of {gap:g} mm and {PANEL_UNDER_MM:g} mm under each edge"
    inside = "lining" if any(own.name == "lining" for own in style.layers) else main_layer(style)
    for layer in dict.fromkeys((show_layer(style), inside)):
        count = 1 if show_layer(style) != inside else PAIR
        cut = (high + 2 * SEAM_MM, wide + 2 * SEAM_MM)
        yield SmallPart("modesty panel", count, *cut, layer, "straight", high, note)


def _loops(options: OrderOptions) -> Iterator[SmallPart]:
    if options.loops:
        yield SmallPart("hanging loops", PAIR, *LOOP_SIZE, "", "tape", LOOP_SIZE[0] / 2, "folded in two")


def _parted(style: Style) -> bool:
    """Whether the front of the garment opens along its whole waist."""
    return any(
        edge.role is Role.CLOSURE
        for piece in style.pieces
        if piece.part == "front" and WAIST in piece.levels
        for edge in piece.edges
    )


def _waist_runs(style: Style) -> list[list[float]]:
    """Widths at the waist of the pieces that hang together by seams, one list for each group."""
    found = widths(style)
    runs = [[found[name, WAIST] for name in sorted(group) if (name, WAIST) in found] for group in _joined(style)]
    return [run for run in runs if run]


def _joined(style: Style) -> list[set[str]]:
    """Names of the pieces that hang together by seams, one set for each group."""
    groups = [{p.name} for p in style.pieces]
    for seam in style.seams:
        joined = {ref.piece for ref in (*seam.a, *seam.b)}
        touched = [group for group in groups if group & joined]
        groups = [group for group in groups if not group & joined] + [set[str]().union(*touched)]
    return groups
