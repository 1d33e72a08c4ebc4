"""The style as ordered: the layers the construction needs, their turn of cloth, and how the front closes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from coutil.cut._order import Cloth, Construction, OrderOptions
from coutil.cut._widths import OUTER_ROLES, Allowances
from coutil.errors import BadInput
from coutil.pattern import Layer, Piece, Role, Seam, Style

# Turn of cloth at sewn edges and at the garment's edges, mm (common practice): layers by construction.
TURNS: Mapping[Construction, Mapping[str, tuple[float, float]]] = MappingProxyType(
    {
        "single": {"strength": (0.0, 0.0)},
        "mounted": {"outer": (0.0, 0.0), "strength": (0.0, 0.0)},
        "sandwich": {"outer": (0.5, 0.5), "strength": (0.0, 0.0)},
        "floating_lining": {"outer": (0.0, 0.0), "strength": (0.0, 0.0), "lining": (-0.5, -2.0)},
    }
)
KNOWN_LAYERS = frozenset({"outer", "strength", "lining"})

# What a seam takes up in its own thickness, mm a seam; half of it is added back at each of its two edges.
TAKE_UP: Mapping[Construction, float] = MappingProxyType(
    {"single": 0.0, "mounted": 0.5, "sandwich": 1.0, "floating_lining": 0.5}
)

# A cup cover over foam of t mm is larger by so many t (common practice).
COVER_PER_FOAM = 1.1

# Edges that are turned in rather than bound keep this much cloth (common practice: 10 to 15).
TURNED_EDGE_MM = 12.0


def ordered_style(style: Style, options: OrderOptions) -> Style:
    """The style with the layers, the edges' finish and the closure of the order; the stitching lines stay as they are.

    Without a construction in the order the style's own layers stay.  A front closed by a seam in the pattern
    becomes a closure where a busk is ordered.  Raises BadInput where an ordered cloth has no layer.
    """
    layered = style if options.construction is None else _constructed(style, options, options.construction)
    _require_layers(layered, options)
    turned = tuple(
        _over_foam(_with_turn(layer, options.cloth(layer.name)), options, show_layer(layered))
        for layer in layered.layers
    )
    ordered = replace(layered, layers=turned, pieces=tuple(_finished(piece, options) for piece in layered.pieces))
    return opened_front(ordered) if options.closure == "busk" else ordered


def main_layer(style: Style) -> str:
    """The layer that bears the pull: strength where there is one, else the first with an allowance."""
    names = [layer.name for layer in style.layers if layer.allowance]
    return "strength" if "strength" in names else next(iter(names), "")


def show_layer(style: Style) -> str:
    """The layer that is seen: outer where there is one."""
    return "outer" if any(layer.name == "outer" for layer in style.layers) else main_layer(style)


def opened_front(style: Style) -> Style:
    """The style with the centre front as a closure, for a busk; one that opens already stays as it is."""
    if opens_in_front(style):
        return style
    seams = tuple(seam for seam in style.seams if not _is_front_centre(style, seam))
    return replace(style, pieces=tuple(_opened(piece) for piece in style.pieces), seams=seams)


def opens_in_front(style: Style) -> bool:
    """Whether a front piece has a closure."""
    return any(e.role is Role.CLOSURE for piece in style.pieces if piece.part == "front" for e in piece.edges)


def order_allowances(options: OrderOptions) -> Allowances:
    """The widths that the finish of the edges asks for; an edge with its own allowance keeps it."""
    if options.finish == "bound":
        return Allowances()
    return Allowances(by_role=dict.fromkeys(OUTER_ROLES, TURNED_EDGE_MM))


def _finished(piece: Piece, options: OrderOptions) -> Piece:
    """The piece with the widths its finish asks for on it, so that every sheet and every lay cuts the same line."""
    wanted = order_allowances(options).by_role
    edges = tuple(
        replace(edge, allowance=wanted[edge.role]) if edge.allowance is None and edge.role in wanted else edge
        for edge in piece.edges
    )
    return replace(piece, edges=edges)


def _constructed(style: Style, options: OrderOptions, construction: Construction) -> Style:
    wanted = TURNS[construction]
    kept = [layer for layer in style.layers if _is_kept(layer, wanted)]
    if not any(layer.allowance for layer in kept):
        names = ", ".join(layer.name for layer in style.layers) or "none"
        raise BadInput(f"A {construction} garment needs a layer {' and '.join(wanted)}; the style has {names}.")
    layers = tuple(_turned(layer, wanted, TAKE_UP[construction] / 2) for layer in kept)
    names_kept = {layer.name for layer in layers}
    pieces = tuple(
        replace(piece, cut=tuple(source for source in piece.cut if source.layer in names_kept))
        for piece in style.pieces
    )
    return replace(style, layers=layers, pieces=pieces, construction=construction)


def _is_kept(layer: Layer, wanted: Mapping[str, tuple[float, float]]) -> bool:
    """Foam and layers of the maker's own naming stay in every construction."""
    return layer.name in wanted or layer.name not in KNOWN_LAYERS


def _turned(layer: Layer, wanted: Mapping[str, tuple[float, float]], take_up: float) -> Layer:
    if not layer.allowance or layer.name not in wanted:
        return layer
    turn, at_edges = wanted[layer.name]
    return replace(layer, turn=turn + take_up, turn_at_edges=at_edges)


def _with_turn(layer: Layer, cloth: Cloth) -> Layer:
    if cloth.turn is None:
        return layer
    return replace(layer, turn=cloth.turn, turn_at_edges=cloth.turn)


def _over_foam(layer: Layer, options: OrderOptions, cover: str) -> Layer:
    """The cover of foam cups is larger by 1.1 times the foam, unless the cups were measured over it."""
    if options.foam is None or layer.name != cover:
        return layer
    return replace(layer, over_foam=0.0 if options.measured_over_foam else COVER_PER_FOAM * options.foam)


def _opened(piece: Piece) -> Piece:
    """A front piece whose centre edge becomes a closure; cut open, since the busk needs two sides."""
    if piece.part != "front" or not any(edge.role is Role.CENTRE for edge in piece.edges):
        return piece
    edges = tuple(
        replace(edge, role=Role.CLOSURE, allowance=None) if edge.role is Role.CENTRE else edge
        for edge in piece.edges
    )
    return replace(piece, edges=edges, centre_cut=None)


def _is_front_centre(style: Style, seam: Seam) -> bool:
    """Whether the seam joins the two sides of the front of a whole style, where a busk parts them."""
    pieces = [(style.piece(ref.piece), ref.edge) for ref in (*seam.a, *seam.b)]
    return all(piece.part == "front" and piece.edge(edge).role is Role.CENTRE for piece, edge in pieces)


def _require_layers(style: Style, options: OrderOptions) -> None:
    known = [layer.name for layer in style.layers]
    for cloth in options.cloths:
        if cloth.layer not in known:
            raise BadInput(
                f"The order has a cloth for {cloth.layer[:40]!r}, a layer that is not made: "
                f"name one of {', '.join(known)}."
            )
