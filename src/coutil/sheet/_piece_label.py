"""What stands on a printed piece: title, style, client, revision, size, cut count, grain, allowance."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from coutil.cut import USUAL, edge_width, is_fold
from coutil.measure import Chart, Unit, en_band, en_cup, format_length
from coutil.pattern import CutFrom, Layer, Piece, Role, Style, allowance_of

# What is marked on a piece beside its lines.
MARKS = ("notches", "levels", "grain", "points", "fold", "bones")

NONE = "none"
# No ruler shows less, mm.
LEAST_WIDTH_MM = 0.05


@dataclass(frozen=True, slots=True)
class PrintOptions:
    """What to print beside the pattern itself; what is empty is left out.

    `revision` is the short number of the pattern's revision.  `layers`, empty, prints each piece once, on the
    first layer it is cut from, and again for every layer without allowance; else the layers named, or "all".
    `cautions` are printed on the first page, each as one paragraph.  `marks` are some of MARKS.  `channels`
    holds by piece the middle lines (m, 2) of its bone channels, in the piece's own frame.  `measured` is what
    the 100 mm square came out at, across and down, where the print is to be rescaled by it.
    """

    reference: str = ""
    date: str = ""
    revision: str = ""
    unit: Unit = "cm"
    layers: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    marks: frozenset[str] = frozenset(MARKS)
    channels: Mapping[str, Sequence[NDArray[np.float64]]] = field(default_factory=dict)
    measured: tuple[float, float] = (100.0, 100.0)


def head_words(options: PrintOptions) -> str:
    """Client reference, revision and date in one line, those that are given."""
    return " · ".join(word for word in (options.reference, _when(options)) if word)


def _when(options: PrintOptions) -> str:
    revision = f"revision {options.revision}" if options.revision else ""
    return " · ".join(word for word in (revision, options.date) if word)


def label_words(
    style: Style, piece: Piece, layer: Layer | None, others: Collection[str], options: PrintOptions
) -> tuple[str, ...]:
    """The label of one copy of a piece, one fact a line; `others` names the layers cut by this copy too."""
    words = (
        piece.title,
        style.title,
        options.reference,
        _when(options),
        size_words(style.base_chart),
        *cut_words(piece, layer, others),
        "grain along the arrow" if "grain" in options.marks else "",
        *allowance_words(piece, layer, options.unit),
    )
    return tuple(word for word in words if word)


def size_words(chart: Chart) -> str:
    """The EN 13402 size: band number and cup letter, or the band alone; "" without an underbust girth."""
    under, bust = chart.get("underbust_girth"), chart.get("bust_girth")
    if under is None:
        return ""
    cup = en_cup(bust - under) if bust is not None else None
    return f"size EN {en_band(under)}{cup or ''}"


def cut_words(piece: Piece, layer: Layer | None, others: Collection[str]) -> list[str]:
    """What is cut by one copy: its own layer first, then `others`; whether on the fold."""
    if layer is None:
        return []
    own = [f"cut {_count_words(source)}" for source in piece.cut if source.layer == layer.name]
    also = [f"and {_count_words(source)}" for source in piece.cut if source.layer in others]
    fold = ["on the fold of the cloth"] if piece.centre_cut == "fold" else []
    return [*own, *also, *fold]


def _count_words(source: CutFrom) -> str:
    mirrored = ", mirrored" if source.mirrored else ""
    return f"{source.count} × {_words(source.layer)}{mirrored}"


def allowance_words(piece: Piece, layer: Layer | None, unit: Unit) -> list[str]:
    """The commonest width first, then the edges that have another; "no allowance" where there is none.

    Where the cut line runs outside or inside of that by the layer's own figures, a line says by how much.
    """
    if layer is None or not layer.allowance:
        return ["no allowance"]
    return [*_plain_widths(piece, unit), *_beyond_words(piece, layer)]


def _plain_widths(piece: Piece, unit: Unit) -> list[str]:
    edges = [(edge.role, allowance_of(edge)) for edge in piece.edges if not is_fold(piece, edge)]
    given = Counter(width for _, width in edges if width > 0)
    if not given:
        return ["no allowance"]
    seams = {width for role, width in edges if role in (Role.PANEL_SEAM, Role.SIDE_SEAM)}
    usual = max(given, key=lambda width: (given[width], width in seams, -width))
    others = dict.fromkeys(f"{_words(role)} {_width(w, unit)}" for role, w in edges if w != usual)
    return [f"allowance included {_width(usual, unit)}", *([", ".join(others)] if others else [])]


def _beyond_words(piece: Piece, layer: Layer) -> list[str]:
    """What the layer's cut line runs beside the allowances: its turn of cloth, and room over foam on a cup."""
    over = {edge_width(piece, e, layer, USUAL) - edge_width(piece, e, replace(layer, over_foam=0.0), USUAL)
            for e in piece.edges}  # fmt: skip
    foam = f"{signed_mm(max(over))} over the foam, but at the cup seam" if max(over) > LEAST_WIDTH_MM else ""
    return [words for words in (turn_words(layer.turn, layer.turn_at_edges), foam) if words]


def turn_words(at_seams: float, at_edges: float) -> str:
    """Turn of cloth, mm: how far the cut line runs outside the allowance; "" where it does not."""
    if at_seams == at_edges:
        return f"turn of cloth {signed_mm(at_seams)}" if at_seams else ""
    parts = ((at_seams, "at seams"), (at_edges, "at the garment's edges"))
    return "turn of cloth " + ", ".join(f"{signed_mm(mm)} {where}" for mm, where in parts if mm)


def signed_mm(mm: float) -> str:
    """`+0.5 mm`, `−2 mm`: so small a figure is told in mm alone."""
    return f"{'−' if mm < 0 else '+'}{abs(mm):g} mm"


def _words(name: str) -> str:
    return name.replace("_", " ")


def _width(mm: float, unit: Unit) -> str:
    """Widths of allowances are spoken of in mm; in inches the mm stand behind, since sixteenths only come near."""
    if not mm:
        return NONE
    exact = format_length(mm, "mm")
    return f"{format_length(mm, 'in')} ({exact})" if unit == "in" else exact
