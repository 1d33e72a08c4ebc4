"""SVG text into elements, with nothing trusted: no entities, no document type of its own, no network, bounded size."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from typing import Any

from lxml import etree

from coutil.drawing._values import DEEPEST, LARGEST_DRAWING, MOST_ELEMENTS
from coutil.errors import BadInput

Element = Any  # The library has no types of its own.

# Encodings in which the bytes of "<!ENTITY" are what they seem; others could hide it from the look below.
PLAIN_ENCODINGS = frozenset({"utf-8", "utf8", "us-ascii", "ascii", "iso-8859-1", "iso-8859-15", "windows-1252"})
_ENCODING = re.compile(rb"encoding\s*=\s*[\"']([^\"'<>]*)[\"']")
_HEAD = 1000  # Bytes within which the XML declaration stands.


def read_tree(data: bytes) -> Element:
    """The root element of an SVG file; raises BadInput for what is not a plain, moderate SVG."""
    require_size(data)
    _require_plain(data)
    root: Element | None = None
    try:
        for count, (depth, element) in enumerate(_elements(data)):
            root = element if root is None else root
            _require_bounds(count, depth)
    except etree.XMLSyntaxError as error:
        raise BadInput(f"The drawing is not valid XML: {_in_words(error)}.") from error
    if root is None or tag_of(root) != "svg":
        raise BadInput("The drawing is no SVG: its outermost element is not svg; save it anew as SVG.")
    return root


def require_size(data: bytes) -> None:
    """Raises BadInput for a file larger than any pattern needs."""
    if len(data) > LARGEST_DRAWING:
        most = f"{LARGEST_DRAWING / 1e6:.0f}"
        raise BadInput(
            f"The drawing has {len(data) / 1e6:.0f} MB, and at most {most} MB are read: leave out its pictures."
        )


def tag_of(element: Element) -> str:
    """The element's name without its namespace; empty for comments and the like."""
    tag = element.tag
    return tag.rpartition("}")[2] if isinstance(tag, str) else ""


def _elements(data: bytes) -> Iterator[tuple[int, Element]]:
    """Each element as it begins, with its depth; stops being read as soon as nobody asks on."""
    depth = 0
    events = etree.iterparse(
        io.BytesIO(data),
        events=("start", "end"),
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
    )
    for event, element in events:
        depth += 1 if event == "start" else -1
        if event == "start":
            yield depth, element


def _require_bounds(count: int, depth: int) -> None:
    if depth > DEEPEST:
        raise BadInput(f"The drawing has groups within groups {depth} deep, and {DEEPEST} are read: ungroup it.")
    if count >= MOST_ELEMENTS:
        raise BadInput(f"The drawing has more than {MOST_ELEMENTS} elements: keep the pattern's lines alone.")


def _require_plain(data: bytes) -> None:
    said = _ENCODING.search(data[:_HEAD])
    encoding = said[1].decode("ascii", "replace").lower() if said else "utf-8"
    if encoding not in PLAIN_ENCODINGS or b"\0" in data:
        name = " ".join(encoding.split())[:20]
        raise BadInput(f"The drawing is not UTF-8 text (it says {name!r}): save it as UTF-8.")
    if b"<!ENTITY" in data:
        raise BadInput("The drawing declares entities, which no pattern needs: save it anew as plain SVG.")


def _in_words(error: etree.XMLSyntaxError) -> str:
    text = " ".join(str(error.msg or error).split(", line")[0].split()).rstrip(".")
    if "limit" in text or "too long" in text:
        text = "a text or a list in it is too long for a pattern"
    return f"line {error.lineno or 1}, {text[:100]}"
