"""The naming convention: what a line's name says it is.

    piece                the outline of that piece, closed
    piece.edge           one edge of it; or a line named `edge` within a group named `piece`
    level waist          a level line; within a group (or as `piece.level waist`) of that piece alone
    bust point, mark X   a small circle at a landmark
    grain, mirror        the grain line; the line a half is mirrored at
    piece.cut            the cut line of a piece; `piece.stitching` its stitching line

Blanks, hyphens and underscores count alike, as do small and capital letters.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from coutil.drawing._values import DrawnLine
from coutil.pattern import Role

Kind = Literal["edge", "outline", "level", "mark", "grain", "mirror", "other", "loose"]

# Layers of the open interchange practice that tell by themselves what lies on them.
LAYERS: Mapping[str, Kind] = MappingProxyType(
    {"1": "outline", "14": "outline", "4": "other", "5": "other", "6": "mirror", "7": "grain", "9": "other",
     "10": "other", "11": "other", "13": "mark", "80": "other", "81": "other", "82": "other", "83": "other",
     "84": "other", "85": "other", "86": "other", "87": "other"}
)  # fmt: skip
CUT_LAYER, SEW_LAYER, INTERNAL_LAYER, TEXT_LAYER = "1", "14", "8", "15"
TURN_LAYER = "2"

_AUTOMATIC = re.compile(
    r"(?:path|g|group|layer|rect|line|polyline|polygon|use|svg|ellipse|circle|shape|object|defs|image|"
    r"figure|axes|patch|line2d|surface|canvas|page|sheet|background|frame)?[_\d]*"
)
_COPY = re.compile(r"_\d+$")
_ROLE_WORDS = tuple(sorted((role.value for role in Role), key=len, reverse=True))


@dataclass(frozen=True, slots=True)
class Label:
    """What a line is, of which piece (empty: of any) and under which name."""

    kind: Kind
    piece: str = ""
    name: str = ""


def tidy(name: str) -> str:
    """A name as the program writes it: small letters, one underscore for every gap."""
    return re.sub(r"[\s_\-]+", "_", name.strip().lower()).strip("_")


def is_automatic(name: str) -> bool:
    """Whether a drawing program gave the name, such as path1234."""
    return _AUTOMATIC.fullmatch(tidy(name)) is not None


def label_of(line: DrawnLine) -> Label:
    """What the line's own name, its groups and its layer say."""
    layer = tidy(line.layer)
    names = [tidy(name) for name in line.names if not is_automatic(name)]
    if layer in LAYERS or layer in (INTERNAL_LAYER, "3", TURN_LAYER, TEXT_LAYER):
        return _on_layer(line, layer, names)
    if layer and not is_automatic(layer) and layer not in ("0", "defpoints"):
        names.append(layer)
    own_named = bool(line.layer) or (bool(line.names) and not is_automatic(line.names[-1]))
    if not names:
        return Label("loose")
    own = names[-1]
    return _of_name(own, names[:-1] if own_named else names, line.closed, own_named)


def _on_layer(line: DrawnLine, layer: str, names: list[str]) -> Label:
    piece = names[-1] if names else ""
    kind = LAYERS.get(layer, "other" if layer != INTERNAL_LAYER else "loose")
    if kind == "outline":
        word = "cut" if layer == CUT_LAYER else "stitching"
        return Label("outline" if line.closed else "edge", piece, word if line.closed else "")
    return Label(kind, piece, "" if kind != "mark" else "drill")


def _of_name(own: str, groups: list[str], closed: bool, own_named: bool) -> Label:
    piece, dot, thing = own.rpartition(".")
    if not dot:
        piece, thing = (groups[-1] if groups else ""), own
    special = _special(piece, thing)
    if special is not None:
        return special
    if thing in ("cut", "stitching"):
        return Label("outline", piece, thing)
    if closed:
        return Label("outline", own if not dot else piece, "")
    if not own_named:
        return Label("edge", own, "")
    return Label("edge", piece, thing)


def _special(piece: str, thing: str) -> Label | None:
    """Levels, marks, grain and mirror lines; numbers that copying adds are dropped."""
    plain = _COPY.sub("", thing)
    if plain in ("grain", "mirror"):
        return Label("grain" if plain == "grain" else "mirror", piece)
    if plain.rstrip("0123456789") == "bust_point":
        return Label("mark", piece, "bust_point")
    for word, kind in (("level_", "level"), ("mark_", "mark"), ("notch", "other"), ("text", "other")):
        if thing.startswith(word):
            name = plain.removeprefix(word) if plain != word.rstrip("_") else ""
            return Label(kind, piece, name)  # type: ignore[arg-type]
    return None


def role_of_name(edge: str) -> Role | None:
    """The role an edge's name begins or ends with, such as `panel_seam_2` or `back_closure`."""
    for word in _ROLE_WORDS:
        if edge.startswith(word) or edge.endswith(word):
            return Role(word)
    return None


# The trade's letters for the panels of a half, from the centre front round to the centre back.
LETTERS: Mapping[str, str] = MappingProxyType(
    {"cf": "centre_front", "sf": "side_front", "sb": "side_back", "cb": "centre_back"}
)


def spelt_out(piece: str) -> str:
    """A piece's name with the trade's letters in words: CF is the centre front."""
    return "_".join(LETTERS.get(word, word) for word in piece.split("_"))


def part_of_name(piece: str) -> Literal["front", "back"] | None:
    """Front or back, where the name says one of them, in words or in the trade's letters."""
    said = [word for word in ("front", "back") if word in spelt_out(piece)]
    return said[0] if len(said) == 1 else None  # type: ignore[return-value]


def place_of_name(piece: str) -> int | None:
    """How far from the centre front round a panel lies, where its name is one of those the letters stand for."""
    name = spelt_out(piece)
    return list(LETTERS.values()).index(name) if name in LETTERS.values() else None
