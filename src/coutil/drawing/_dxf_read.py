"""DXF into a drawing: entities of the model space and its blocks, in millimetres.

Layers follow the open interchange practice (ASTM D6673, AAMA): 1 boundary, 2 turn points, 3 curve points, 4 notches,
6 mirror line, 7 grain line, 8 internal lines, 13 drill holes, 14 sew line, 15 annotation.
"""

from __future__ import annotations

import io
import logging
import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from coutil.drawing._dxf_entities import SHAPES_OF
from coutil.drawing._svg_tree import require_size
from coutil.drawing._upright import is_turned, mostly
from coutil.drawing._values import (
    LARGEST_MM,
    MOST_ELEMENTS,
    MOST_NODES,
    Drawing,
    DrawnLine,
    DrawnPoint,
    DrawnText,
    drawn_line,
)
from coutil.errors import BadInput
from coutil.texts import plain

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

MOST_LINES = 500_000  # Of the text; the library keeps each pair of them in memory.
MOST_RECORDS = 30_000  # Entities, vertices and table entries; the library makes an object of each before we see one.
DEEPEST_BLOCK = 8
# $INSUNITS to mm (DXF reference): inches, feet, mm, cm, m, and the rarer metric ones.
MM_PER_UNIT = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 10: 914.4, 13: 0.001, 14: 100.0}
_SAID_UNITS = re.compile(r"units?\s*:\s*(metric|english)", re.IGNORECASE)


def read_dxf(data: bytes, scale: float = 1.0) -> Drawing:
    """The drawing in a DXF file, every length multiplied by `scale`; raises BadInput for what cannot be read."""
    require_size(data)
    if data.count(b"\n") > MOST_LINES:
        raise BadInput(f"The drawing has more than {MOST_LINES} lines of text: keep the pattern's lines alone.")
    if sum(code.strip() == b"0" for code in data.splitlines()[::2]) > MOST_RECORDS:
        raise BadInput(f"The drawing has more than {MOST_RECORDS} entities: keep the pattern's lines alone.")
    if b"\0" in data:
        raise BadInput("The drawing is not a DXF text file: save it anew as ASCII DXF.")
    try:
        document = _document(data)
        reader = _Reader(document)
        per_unit, remark = _unit(document, reader.words())
        reader.scale = scale * per_unit
        reader.read()
    except BadInput:
        raise
    except Exception as error:
        # A broken file ends in whatever error the library met first; to the maker it is one thing.
        raise BadInput(f"The drawing is not a sound DXF file ({_in_words(error)}): save it anew as DXF.") from error
    parts = tuple(reader.lines), tuple(reader.texts), tuple(reader.points)
    return Drawing("dxf", *parts, (remark, *reader.remarks()), mostly(reader.text_turns or reader.block_turns))


def _document(data: bytes) -> Document:
    import ezdxf

    log = logging.getLogger("ezdxf")
    if not log.handlers:
        # What the library notices about a file is not for the maker's screen.
        log.addHandler(logging.NullHandler())
    text = data.decode("utf-8-sig", "surrogateescape").replace("\r\n", "\n")
    return ezdxf.read(io.StringIO(text))  # type: ignore[attr-defined]


def _unit(document: Document, words: Iterator[str]) -> tuple[float, str]:
    """Millimetres a unit, and the sentence that says so."""
    code = int(document.header.get("$INSUNITS", 0))
    if code in MM_PER_UNIT:
        return MM_PER_UNIT[code], f"One unit of the drawing is {MM_PER_UNIT[code]:g} mm."
    said = next((found[1].lower() for word in words if (found := _SAID_UNITS.search(word))), None)
    if said is not None:
        per_unit = 25.4 if said == "english" else 1.0
        return per_unit, f"One unit of the drawing is {per_unit:g} mm (its annotation says {said})."
    return 1.0, "One unit of the drawing is taken as 1 mm: the file states none, so state the scale if it differs."


class _Reader:
    """Gathers lines, texts and points on a walk through the model space and the blocks inserted there."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.scale = 1.0
        self.lines: list[DrawnLine] = []
        self.texts: list[DrawnText] = []
        self.points: list[DrawnPoint] = []
        self.seen = self.nodes = 0
        self.left_out: dict[str, int] = {}
        self.text_turns: list[bool] = []
        self.block_turns: list[bool] = []

    def words(self) -> Iterator[str]:
        """The texts of the whole file, for what they say of its unit."""
        for entity in self.document.entitydb.values():
            if entity.dxftype() == "TEXT":
                yield str(entity.dxf.get("text", ""))[:200]

    def read(self) -> None:
        """Reads the model space; where it is empty, the blocks themselves, as pieces are often stored so."""
        space = list(self.document.modelspace())
        for entity in space:
            self._take(entity, (), 0)
        if not self.lines:
            for block in self.document.blocks:
                if not block.name.startswith("*"):
                    for entity in block:
                        self._take(entity, (block.name,), 1)

    def remarks(self) -> tuple[str, ...]:
        """What was not read."""
        told = ", ".join(f"{count} {kind}" for kind, count in sorted(self.left_out.items()))
        return (f"Left out, as no pattern line: {told[:200]}.",) if told else ()

    def _take(self, entity: Any, names: tuple[str, ...], depth: int) -> None:
        self.seen += 1
        if self.seen > MOST_ELEMENTS:
            raise BadInput(f"With its blocks the drawing has more than {MOST_ELEMENTS} entities: leave some out.")
        kind = entity.dxftype()
        if kind == "INSERT":
            self._insert(entity, names, depth)
        elif kind in ("TEXT", "MTEXT"):
            self._text(entity, names)
        elif kind == "POINT":
            x, y = self._at(entity.dxf.location)
            if not (abs(x) <= LARGEST_MM and abs(y) <= LARGEST_MM):
                raise BadInput("A point stands at no place a drawing has: move or delete it.")
            self.points.append(DrawnPoint((x, y), names, entity.dxf.layer))
        elif kind in SHAPES_OF:
            self._line(entity, names)
        else:
            self.left_out[kind] = self.left_out.get(kind, 0) + 1

    def _insert(self, entity: Any, names: tuple[str, ...], depth: int) -> None:
        if depth >= DEEPEST_BLOCK:
            raise BadInput(f"Block {entity.dxf.name} is inserted {DEEPEST_BLOCK} deep or in a circle: explode it.")
        if entity.mcount > 1:
            raise BadInput(f"Block {entity.dxf.name} is inserted as an array: explode it, a piece is drawn once.")
        self.block_turns.append(is_turned(float(entity.dxf.get("rotation", 0.0))))
        for inner in entity.virtual_entities():
            self._take(inner, (*names, entity.dxf.name), depth + 1)

    def _text(self, entity: Any, names: tuple[str, ...]) -> None:
        words = entity.plain_text() if entity.dxftype() == "MTEXT" else entity.dxf.text
        turn = entity.get_rotation() if entity.dxftype() == "MTEXT" else entity.dxf.get("rotation", 0.0)
        self.text_turns.append(is_turned(float(turn)))
        # Text that is centred or fitted stands at its second point.
        aligned = entity.dxftype() == "TEXT" and (entity.dxf.get("halign", 0) or entity.dxf.get("valign", 0))
        at = entity.dxf.get("align_point", None) if aligned else None
        place = self._at(at if at is not None else entity.dxf.insert)
        if not all(abs(mm) <= LARGEST_MM for mm in place):
            raise BadInput(f"The text {plain(str(words), 30)!r} stands at no place a drawing has: move or delete it.")
        self.texts.append(DrawnText(" ".join(str(words).split())[:200], place, names, entity.dxf.layer))

    def _line(self, entity: Any, names: tuple[str, ...]) -> None:
        kind, layer = entity.dxftype(), str(entity.dxf.layer)
        where = f"{kind} on layer {layer}" + (f" of block {names[-1]}" if names else "")
        for run in SHAPES_OF[kind](entity, 0.001 / self.scale):
            self.nodes += len(run.spans)
            if self.nodes > MOST_NODES:
                raise BadInput(f"The drawing has more than {MOST_NODES} nodes: keep the pattern's lines alone.")
            circle = None
            if run.circle is not None:
                x, y, r = run.circle
                circle = (x * self.scale, y * self.scale, r * self.scale)
            spans = [[point * self.scale for point in span] for span in run.spans]
            line = drawn_line(spans, run.flat, names, where, closed=run.closed, layer=layer, circle=circle)
            if line is not None:
                self.lines.append(line)

    def _at(self, point: Any) -> tuple[float, float]:
        return float(point[0]) * self.scale, float(point[1]) * self.scale


def _in_words(error: Exception) -> str:
    text = " ".join(str(error).split())[:100].rstrip(".:")
    return text or type(error).__name__
