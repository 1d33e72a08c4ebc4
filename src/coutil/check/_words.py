"""How things are called on the check list: levels, seams and pieces by their titles, millimetres with one decimal."""

from __future__ import annotations

from collections.abc import Iterable

from coutil.pattern import EdgeRef, Piece, Role, Seam, Style

LEVEL_WORDS = {
    "bust": "at the bust",
    "underbust": "at the underbust",
    "waist": "at the waist",
    "high_hip": "at the high hip",
    "hip": "at the hip",
    "hem": "at the lower edge",
}
ROLE_WORDS = {
    Role.PANEL_SEAM: "panel seam",
    Role.SIDE_SEAM: "side seam",
    Role.CUP_SEAM: "cup seam",
    Role.CRADLE: "cradle seam",
    Role.CENTRE: "centre seam",
    Role.CLOSURE: "closure",
    Role.TOP: "top",
    Role.NECKLINE: "neckline",
    Role.ARMHOLE: "armhole",
    Role.HEM: "lower edge",
}


def at_level(level: str) -> str:
    """`waist` -> at the waist."""
    return LEVEL_WORDS.get(level, f"at the {level.replace('_', ' ')}")


def mm(value: float, sign: bool = False) -> str:
    """`4.24` -> 4.2 mm; a value that rounds to nothing has no minus."""
    shown = f"{value:+.1f}" if sign else f"{value:.1f}"
    return f"{'0.0' if float(shown) == 0.0 else shown} mm"


def full_half(value: float) -> str:
    """Full girth first, half in brackets: 640.0 mm (320.0)."""
    return f"{value:.1f} mm ({value / 2:.1f})"


def edge_title(piece: Piece, edge: str) -> str:
    """`panel seam of the side front`; the edge's own name where its role alone would be ambiguous."""
    found = piece.edge(edge)
    same = sum(other.role is found.role for other in piece.edges)
    word = ROLE_WORDS[found.role] if same == 1 else edge.replace("_", " ")
    return f"{word} of the {piece.title.lower()}"


def seam_title(style: Style, seam: Seam) -> str:
    """`Panel seam, centre front to side front`; the role where all edges share one, else the seam's own name."""
    roles = {style.piece(ref.piece).edge(ref.edge).role for ref in (*seam.a, *seam.b)}
    own = seam.name.replace("_", " ")
    word = ROLE_WORDS[roles.pop()] if len(roles) == 1 else own if own.endswith("seam") else f"{own} seam"
    return f"{word[:1].upper()}{word[1:]}, {_titles(style, seam.a)} to {_titles(style, seam.b)}"


def seam_pieces(seam: Seam) -> tuple[str, ...]:
    """Names of the pieces a seam joins, each once."""
    return once(ref.piece for ref in (*seam.a, *seam.b))


def once(names: Iterable[str]) -> tuple[str, ...]:
    """The names in order, each once."""
    return tuple(dict.fromkeys(names))


def _titles(style: Style, chain: tuple[EdgeRef, ...]) -> str:
    return " and ".join(once(style.piece(ref.piece).title.lower() for ref in chain))
