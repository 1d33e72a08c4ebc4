"""Styles as text: written from the values, read back exactly, and refused in one sentence where faulty.

Works on text alone; opening and saving files is the business of the rooms above.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import replace
from typing import Any, TypeVar

import msgspec
import numpy as np

from coutil.curves import Curve
from coutil.errors import BadCurve, BadInput, BadStyle
from coutil.pattern._faults import find_faults, find_number_faults, find_wiring_faults
from coutil.pattern._model import (
    EdgeModel,
    FileModel,
    LandmarkModel,
    LevelMarkModel,
    PieceModel,
    StyleFile,
    StyleModel,
)
from coutil.pattern._values import Edge, KnotRef, Landmark, LevelMark, Piece, Style
from coutil.texts import require_plain_json

STYLE_FORMAT = "coutil-style"
STYLE_VERSION = 1
LARGEST_FILE = 20_000_000  # Bytes; a pattern of 10,000 knots needs about 2,000,000.

# Repeated coordinates of a mark may be rounded to a tenth by hand; more means another knot.
MARK_TOLERANCE_MM = 0.1

T = TypeVar("T")


class _Header(msgspec.Struct):
    """The two fields by which a file says what it is."""

    format: Any = None
    version: Any = None


def style_to_json(style: Style) -> str:
    """The style as the text of a style file.  Raises BadStyle for a number that no file can hold."""
    model = style_to_model(style)
    fields = {name: getattr(model, name) for name in model.__struct_fields__}
    return model_to_json({"format": STYLE_FORMAT, "version": STYLE_VERSION, **fields})


def style_from_json(text: str | bytes) -> Style:
    """The style in the text of a style file; raises BadStyle for anything but a sound pattern.

    The sentence names the first fault and says how many more there are.
    """
    try:
        require_format(text, STYLE_FORMAT, STYLE_VERSION, "style")
        model = model_from_json(text, StyleFile, "style")
        return sound(style_from_model(model))
    except BadStyle:
        raise
    except BadInput as error:
        raise BadStyle(str(error)) from error


def sound(style: Style) -> Style:
    """The same style; raises BadStyle with its first fault where it has any."""
    return _without(find_faults(style), style)


def wired(style: Style) -> Style:
    """The same style; raises BadStyle where numbers or names are wrong, whatever its shape."""
    return _without(find_wiring_faults(style), style)


def style_to_model(style: Style) -> StyleModel:
    """The style as it stands in a file.  Raises BadStyle for a number that no file can hold."""
    faults = find_number_faults(style)
    if faults:
        raise BadStyle(f"The style {style.name} cannot be written: {faults[0]}.")
    fields = {name: getattr(style, name) for name in StyleModel.__struct_fields__}
    fields["pieces"] = tuple(piece_to_model(piece) for piece in style.pieces)
    return value_as(fields, StyleModel)


def style_from_model(model: StyleModel) -> Style:
    """The style a file holds, not yet looked through for faults."""
    fields = {name: getattr(model, name) for name in StyleModel.__struct_fields__}
    bare = value_as({**fields, "title": _on_one_line(model.title), "pieces": ()}, Style)
    return replace(bare, pieces=tuple(piece_from_model(piece) for piece in model.pieces))


def piece_to_model(piece: Piece) -> PieceModel:
    """The piece as it stands in a file, each mark with the coordinates of its knot where it has one."""
    fields = {name: getattr(piece, name) for name in PieceModel.__struct_fields__}
    edges = tuple(
        EdgeModel(e.name, tuple((x, y) for x, y in e.curve.points.tolist()), e.role, e.straight, e.allowance)
        for e in piece.edges
    )
    marks = tuple(
        LevelMarkModel(m.level, m.at.edge, m.at.knot, _coordinates(piece, m.at)) for m in piece.level_marks
    )
    landmarks = tuple(
        LandmarkModel(m.name, m.at.edge, m.at.knot, _coordinates(piece, m.at)) for m in piece.landmarks
    )
    return value_as({**fields, "edges": edges, "level_marks": marks, "landmarks": landmarks}, PieceModel)


def piece_from_model(model: PieceModel) -> Piece:
    """The piece a file holds; raises BadStyle for points that make no curve or a mark beside its knot."""
    fields = {name: getattr(model, name) for name in PieceModel.__struct_fields__}
    fields["title"] = _on_one_line(model.title)
    bare = value_as({**fields, "edges": (), "level_marks": (), "landmarks": ()}, Piece)
    edges = tuple(_edge(model.name, edge) for edge in model.edges)
    marks = tuple(LevelMark(m.level, KnotRef(m.edge, m.knot)) for m in model.level_marks)
    landmarks = tuple(Landmark(m.name, KnotRef(m.edge, m.knot)) for m in model.landmarks)
    piece = replace(bare, edges=edges, level_marks=marks, landmarks=landmarks)
    for mark in model.level_marks:
        _compare(piece, f"level mark {mark.level}", mark)
    for landmark in model.landmarks:
        _compare(piece, f"landmark {landmark.name}", landmark)
    return piece


def value_as(value: Any, kind: type[T]) -> T:
    """A value as the like-named value of another kind, field by field."""
    return msgspec.convert(value, kind, from_attributes=True)


def model_to_json(model: FileModel | dict[str, Any]) -> str:
    """The text of a file: indented, each pair of numbers on one line, every number to its last digit."""
    encoded = msgspec.json.encode(model)
    indented = msgspec.json.format(encoded, indent=1).decode()
    return _PAIR.sub(r"[\1, \2]", indented) + "\n"


def model_from_json(text: str | bytes, kind: type[T], what: str) -> T:
    """The file model in a text; raises BadInput in words where it is not one.  `what` names the file."""
    data = text.encode("utf-8", "surrogatepass") if isinstance(text, str) else text
    if len(data) > LARGEST_FILE:
        most = f"{LARGEST_FILE / 1e6:.0f}"
        raise BadInput(f"The {what} file has {len(data) / 1e6:.1f} MB; at most {most} MB are read.")
    require_plain_json(data, f"{what} file")
    try:
        return msgspec.json.decode(data, type=kind)
    except msgspec.ValidationError as error:
        raise BadInput(f"The {what} file does not fit its format: {fault_in_words(error)}.") from error
    except UnicodeDecodeError as error:
        raise BadInput(f"The {what} file is not UTF-8 text.") from error
    except (msgspec.DecodeError, RecursionError) as error:
        raise BadInput(f"The {what} file is not valid JSON: {_json_fault(error, data)}.") from error


def format_of(text: str | bytes) -> str | None:
    """The format a file says it has, or None; raises BadInput for what is not JSON."""
    said = model_from_json(text, _Header, "pattern").format
    return said if isinstance(said, str) else None


def require_format(text: str | bytes, name: str, version: int, what: str) -> None:
    """Raises BadInput unless the text says that it is a file of that format and version."""
    header = model_from_json(text, _Header, what)
    if header.format != name:
        found = "does not say what it is" if header.format is None else f"says {header.format!s:.40}"
        raise BadInput(f"This is not a {what} file: under format it {found}, and it should say {name}.")
    if header.version != version:
        found = f"{header.version!s:.40}"
        raise BadInput(f"The {what} file has version {found}, and this program reads version {version}.")


_PAIR = re.compile(r"\[\n\s+(-?[0-9][0-9.eE+-]*),\n\s+(-?[0-9][0-9.eE+-]*)\n\s+\]")
_PLACE = re.compile(r"^(?P<fault>.*?) - at `(?P<place>[^`]*)`$", re.DOTALL)
_BYTE = re.compile(r"\(byte (\d+)\)")


def _without(faults: tuple[str, ...], style: Style) -> Style:
    if faults:
        told = f"The style {style.name} cannot be used: {faults[0]}{_and_more(len(faults) - 1)}"
        raise BadStyle(told if told.endswith("?") else f"{told}.")
    return style


def _and_more(others: int) -> str:
    """Words for the faults that are not named."""
    return f" (and {others} more {'fault' if others == 1 else 'faults'})" if others else ""


def _on_one_line(title: str) -> str:
    """A title as sheets and tables show it: line breaks and other control characters are spaces there."""
    broken = {letter for letter in title if unicodedata.category(letter) in ("Cc", "Zl", "Zp")}
    return " ".join("".join(" " if c in broken else c for c in title).split()) if broken else title


def _coordinates(piece: Piece, at: KnotRef) -> tuple[float, float] | None:
    """The knot's coordinates, or None where the mark is faulty and names no knot."""
    curve = next((edge.curve for edge in piece.edges if edge.name == at.edge), None)
    if curve is None or not 0 <= at.knot <= curve.n_spans:
        return None
    x, y = curve.knots[at.knot].tolist()
    return x, y


def _edge(piece: str, model: EdgeModel) -> Edge:
    try:
        curve = Curve(np.array(model.points, dtype=float))
    except BadCurve as error:
        raise BadStyle(f"Edge {model.name} of piece {piece} cannot be drawn: {error}.") from error
    return Edge(model.name, curve, model.role, model.straight, model.allowance)


def _compare(piece: Piece, what: str, mark: LevelMarkModel | LandmarkModel) -> None:
    found = _coordinates(piece, KnotRef(mark.edge, mark.knot))
    if found is None or mark.point is None:
        return
    distance = float(np.hypot(found[0] - mark.point[0], found[1] - mark.point[1]))
    if distance > MARK_TOLERANCE_MM:
        raise BadStyle(
            f"Piece {piece.name}: the {what} says it lies at ({mark.point[0]:g}, {mark.point[1]:g}), "
            f"but knot {mark.knot} of edge {mark.edge} lies {distance:.1f} mm from there; correct one."
        )


def fault_in_words(error: Exception) -> str:
    """The decoder's remark with the place as a maker would read it: `pieces 0, edges 2, points`."""
    found = _PLACE.match(str(error))
    if found is None:
        return str(error).replace("`", "")
    steps = found["place"].removeprefix("$").replace("[...]", ".entry").replace("[", ".").replace("]", "")
    words = [step for step in steps.split(".") if step]
    place = " ".join(f"no. {int(w) + 1}" if w.isdigit() else w for w in words)
    fault = found["fault"].replace("`", "")
    return f"{fault} (in {place})" if place else fault


def _json_fault(error: Exception, data: bytes) -> str:
    found = _BYTE.search(str(error))
    if isinstance(error, RecursionError) or found is None:
        return "it ends too early" if "truncated" in str(error) else "it is nested too deeply"
    at = int(found[1])
    line = data.count(b"\n", 0, at) + 1
    if re.match(rb"-?(NaN|Inf)", data[max(at - 1, 0) : at + 4].lstrip(b" :,[")):
        return f"line {line} holds NaN or Infinity where a number belongs"
    return f"line {line} cannot be read"
