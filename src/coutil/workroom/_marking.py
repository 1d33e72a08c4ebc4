"""Marks of a drawing changed by name: pieces, edges, corners, levels and seams; then written as a marks file again."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from coutil.errors import BadInput
from coutil.pattern import Role
from coutil.texts import toml_of

NAME = re.compile(r"[a-z][a-z0-9_]{0,39}")
BACKWARD = " backward"
FURTHEST_MM = 5000.0

Marks = dict[str, Any]


@dataclass(frozen=True, slots=True)
class EdgeWish:
    """An edge as it is to be called, what it is, and whether it is straight."""

    piece: str
    edge: str
    name: str
    role: str
    straight: bool


@dataclass(frozen=True, slots=True)
class SeamWish:
    """A seam as it is to be: side A and side B as edges parted by blanks or commas, each piece.edge [backward]."""

    name: str
    a: str
    b: str
    ease: float


def read_marks(text: str) -> Marks:
    """The marks as plain data; raises BadInput where they cannot be read."""
    return toml_of(text, "marks file")


def marks_text(marks: Mapping[str, Any]) -> str:
    """The marks as a marks file; every table of it stands in one line."""
    return "".join(f"{_key(name)} = {_toml(value)}\n" for name, value in marks.items())


def with_titles(marks: Marks, title: str, titles: Mapping[str, str]) -> Marks:
    """The pattern and its pieces under other titles."""
    pieces = {
        name: {**piece, "title": titles.get(name, piece.get("title", ""))}
        for name, piece in marks.get("pieces", {}).items()
    }
    return {**marks, "title": title, "pieces": pieces}


def with_edges(marks: Marks, wishes: list[EdgeWish]) -> Marks:
    """Edges with other names and roles; every seam and rule that names one follows it.

    Raises BadInput for a name that is none, or that two edges of a piece would share.
    """
    for wish in wishes:
        _require_edge(wish)
    new = {(wish.piece, wish.edge): wish for wish in wishes}
    pieces = {name: _with_edges(name, piece, new) for name, piece in marks.get("pieces", {}).items()}
    names = {key: wish.name for key, wish in new.items() if wish.name != wish.edge}
    rest = {key: value if key == "pieces" else _renamed(value, names) for key, value in marks.items()}
    return {**rest, "pieces": pieces}


def with_seams(marks: Marks, wishes: list[SeamWish]) -> Marks:
    """The seams as listed, and no others; match points stay where a seam keeps its name."""
    seams = {}
    for wish in wishes:
        if not NAME.fullmatch(wish.name) or wish.name in seams:
            raise BadInput(f"Each seam needs a name of its own, in small letters, not {wish.name[:40]!r}.")
        old = marks.get("seams", {}).get(wish.name, {})
        seams[wish.name] = {**old, "a": _chain(wish.a), "b": _chain(wish.b), "ease": wish.ease}
    return {**marks, "seams": seams}


def with_levels(marks: Marks, depths: Mapping[str, float]) -> Marks:
    """Levels at other depths below the waist, mm."""
    levels = {
        name: {**level, "depth": depths[name]} if name in depths and isinstance(level, dict) else level
        for name, level in marks.get("levels", {}).items()
    }
    return {**marks, "levels": levels}


def with_corner(marks: Marks, piece: str, edge: str, place: tuple[float, float]) -> Marks:
    """The corner at which an edge begins, moved along the outline to the place (mm, in the piece's own frame)."""
    if not all(math.isfinite(c) and abs(c) < FURTHEST_MM for c in place):
        raise BadInput("That place is not on the drawing.")
    found = marks.get("pieces", {}).get(piece, {}).get("edges", {}).get(edge)
    if found is None:
        raise BadInput(f"There is no edge {edge[:40]} on a piece {piece[:40]}.")
    edges = {**marks["pieces"][piece]["edges"], edge: {**found, "from": [round(c, 4) for c in place]}}
    return {**marks, "pieces": {**marks["pieces"], piece: {**marks["pieces"][piece], "edges": edges}}}


def _require_edge(wish: EdgeWish) -> None:
    if not NAME.fullmatch(wish.name):
        raise BadInput(f"An edge is named in small letters, digits and underscores, not {wish.name[:40]!r}.")
    if wish.role not in list(Role):
        raise BadInput(f"An edge is {', '.join(role.replace('_', ' ') for role in Role)}, not {wish.role[:40]}.")


def _with_edges(name: str, piece: Mapping[str, Any], new: Mapping[tuple[str, str], EdgeWish]) -> dict[str, Any]:
    edges: dict[str, Any] = {}
    for edge, marks in piece.get("edges", {}).items():
        wish = new.get((name, edge), EdgeWish(name, edge, edge, marks.get("role", "hem"), marks.get("straight", False)))
        if wish.name in edges:
            raise BadInput(f"Two edges of {name} would be called {wish.name}: give each a name of its own.")
        edges[wish.name] = {**marks, "role": wish.role, "straight": wish.straight}
    return {**piece, "edges": edges}


def _renamed(value: Any, names: Mapping[tuple[str, str], str]) -> Any:
    """The value with every mention of a renamed edge put right."""
    if isinstance(value, dict):
        pair = (value.get("piece"), value.get("edge"))
        if all(isinstance(word, str) for word in pair) and pair in names:
            value = {**value, "edge": names[pair]}  # type: ignore[index]
        return {key: _renamed(inner, names) for key, inner in value.items()}
    if isinstance(value, list):
        if len(value) == 2 and all(isinstance(word, str) for word in value) and tuple(value) in names:
            return [value[0], names[value[0], value[1]]]
        return [_renamed(inner, names) for inner in value]
    return _renamed_word(value, names) if isinstance(value, str) else value


def _renamed_word(word: str, names: Mapping[tuple[str, str], str]) -> str:
    plain, backward = (word.removesuffix(BACKWARD), BACKWARD) if word.endswith(BACKWARD) else (word, "")
    piece, _, edge = plain.partition(".")
    return f"{piece}.{names[piece, edge]}{backward}" if (piece, edge) in names else word


def _chain(typed: str) -> list[str]:
    """Edges of one side of a seam: piece.edge, each with `backward` behind it where it runs so."""
    words = typed.replace(",", " ").split()
    chain: list[str] = []
    for word in words:
        if word == BACKWARD.strip() and chain and not chain[-1].endswith(BACKWARD):
            chain[-1] += BACKWARD
        elif word.count(".") == 1:
            chain.append(word)
        else:
            raise BadInput(f"A side of a seam is written like centre_front.panel_seam, not {word[:60]!r}.")
    if not chain:
        raise BadInput("Both sides of a seam need an edge.")
    return chain


def _toml(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(key)} = {_toml(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    return _quoted(str(value))


def _key(name: str) -> str:
    return name if NAME.fullmatch(name) else _quoted(name)


def _quoted(word: str) -> str:
    """JSON's escapes are TOML's; one character more may not stand as it is."""
    return json.dumps(word, ensure_ascii=False).replace("\x7f", "\\u007F")
