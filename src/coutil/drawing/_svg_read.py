"""SVG into a drawing: groups, copies, shapes and paths, placed and scaled to millimetres with y up."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from coutil.drawing._path_data import parse_path
from coutil.drawing._shapes import SHAPES, Shape, shape_of
from coutil.drawing._svg_tree import Element, read_tree, tag_of
from coutil.drawing._svg_units import MM_PER_PX, fit_view, numbers_of, parse_transform, then, units_of
from coutil.drawing._upright import mostly
from coutil.drawing._values import (
    MOST_ELEMENTS,
    MOST_NODES,
    Drawing,
    DrawnLine,
    DrawnText,
    Floats,
    drawn_line,
)
from coutil.errors import BadInput

DEEPEST_COPY = 16  # Copies of copies.
MOST_COPIES = 2000  # A pattern has some tens.
GROUPS = frozenset({"svg", "g", "a", "switch"})
ROUND_SHARE = 1e-6  # A circle whose axes differ by less than this part stays a circle.
_HREF = "{http://www.w3.org/1999/xlink}href"
_HIDDEN = re.compile(r"(?:^|;)\s*(?:display\s*:\s*none|visibility\s*:\s*(?:hidden|collapse))\s*(?:;|$)")


@dataclass(frozen=True, slots=True)
class _Place:
    """Where an element lies: its transform to mm, the names around it, and how many copies deep it is."""

    matrix: Floats
    names: tuple[str, ...] = ()
    copies: int = 0

    @property
    def scale(self) -> float:
        """A bound of the transform's largest stretch, mm a unit."""
        return float(np.sqrt((self.matrix[:, :2] ** 2).sum()))


def read_svg(data: bytes, scale: float = 1.0) -> Drawing:
    """The drawing in an SVG file, every length multiplied by `scale`.

    Raises BadInput in one sentence for anything that is not a plain SVG within the limits.
    """
    root = read_tree(data)
    reader = _Reader({key: e for e in root.iter() if (key := e.get("id"))})
    matrix, remark = _page(root)
    reader.walk_inside(root, _Place(matrix * scale))
    remarks = [remark] + ([f"{reader.hidden} hidden parts were left out."] if reader.hidden else [])
    upside_down = mostly(reader.text_turns)
    return Drawing("svg", tuple(reader.lines), tuple(reader.texts), (), tuple(remarks), upside_down)


def _page(root: Element) -> tuple[Floats, str]:
    """The transform from user units to mm with y up, and a sentence on the scale."""
    box = numbers_of(root.get("viewBox", ""), "The drawing's viewBox")
    if box and (len(box) != 4 or min(box[2:]) <= 0):
        raise BadInput("The drawing's viewBox needs four numbers, the last two above 0: correct it.")
    default = box[2:] if box else [0.0, 0.0]
    width, height = (_side(root, key, fallback) for key, fallback in zip(("width", "height"), default, strict=True))
    view = np.eye(2, 3)
    if box and width > 0 and height > 0:
        view = fit_view(box, width, height, root.get("preserveAspectRatio", ""))
    flip = MM_PER_PX * np.array([[1.0, 0.0, 0.0], [0.0, -1.0, height]])
    matrix = then(flip, view)
    said = "" if _has_size(root) else " (the drawing states no size, so a unit counts as 1/96 in)"
    return matrix, f"One unit of the drawing is {np.abs(matrix[0, 0]):.6g} mm{said}."


def _has_size(root: Element) -> bool:
    return not any(root.get(key, "100%").strip().endswith("%") for key in ("width", "height"))


def _side(root: Element, key: str, fallback: float) -> float:
    """Width or height in px; what is given in per cent or not at all falls back to the view box."""
    said = root.get(key, "100%").strip()
    return fallback if said.endswith("%") or said == "auto" else units_of(said, f"The drawing's {key}")


class _Reader:
    """Gathers lines and texts on a walk through the tree."""

    def __init__(self, by_id: Mapping[str, Element]) -> None:
        self.by_id = by_id
        self.lines: list[DrawnLine] = []
        self.texts: list[DrawnText] = []
        self.text_turns: list[bool] = []
        self.hidden = self.seen = self.copied = self.nodes = 0

    def walk(self, element: Element, place: _Place) -> None:
        """Reads an element and all within it."""
        tag = tag_of(element)
        if tag not in GROUPS and tag not in _LEAVES:
            return
        self.seen += 1
        if self.seen > MOST_ELEMENTS:
            raise BadInput(f"With its copies the drawing has more than {MOST_ELEMENTS} elements: leave some out.")
        if _is_hidden(element):
            self.hidden += 1
            return
        inner = _within(element, place)
        if tag == "use":
            self._copy(element, inner)
        elif tag in GROUPS:
            self.walk_inside(element, _nested(element, inner) if tag == "svg" else inner)
        elif tag == "text":
            self._text(element, inner)
        else:
            self._shape(element, inner)

    def walk_inside(self, element: Element, place: _Place) -> None:
        """Reads all within an element."""
        for child in element:
            self.walk(child, place)

    def _copy(self, element: Element, place: _Place) -> None:
        target = element.get("href") or element.get(_HREF) or ""
        original = self.by_id.get(target[1:]) if target.startswith("#") else None
        where = _where(element, "use")
        self.copied += 1
        if self.copied > MOST_COPIES:
            raise BadInput(f"The drawing has more than {MOST_COPIES} copies (use): keep the pattern's lines alone.")
        if original is None:
            raise BadInput(f"{_begun(where)} refers to {target[:40]!r}, which is not in the drawing: put it there.")
        if place.copies >= DEEPEST_COPY:
            raise BadInput(f"{_begun(where)} is a copy of a copy, {DEEPEST_COPY} deep or in a circle: unlink it.")
        x, y = (units_of(element.get(key), where) for key in ("x", "y"))
        matrix = then(place.matrix, np.array([[1.0, 0.0, x], [0.0, 1.0, y]]))
        moved = replace(place, matrix=matrix, copies=place.copies + 1)
        if tag_of(original) == "symbol":
            self.walk_inside(original, moved)
        else:
            self.walk(original, moved)

    def _text(self, element: Element, place: _Place) -> None:
        words = " ".join("".join(str(part) for part in element.itertext()).split())
        x, y = (numbers_of(element.get(key, "0") or "0", "A text") or [0.0] for key in ("x", "y"))
        at = place.matrix @ np.array([x[0], y[0], 1.0])
        if words and np.isfinite(at).all():
            self.text_turns.append(bool(place.matrix[0, 0] < 0))
            self.texts.append(DrawnText(words[:200], (float(at[0]), float(at[1])), place.names))

    def _shape(self, element: Element, place: _Place) -> None:
        where = _where(element, tag_of(element))
        tolerance = 0.001 / max(place.scale, 1e-12)
        if tag_of(element) == "path":
            runs = [Shape(p.spans, p.flat, p.closed) for p in parse_path(element.get("d", ""), where, tolerance)]
        else:
            runs = [shape for shape in [shape_of(element, where, tolerance)] if shape is not None]
        for run in runs:
            self.nodes += len(run.spans)
            if self.nodes > MOST_NODES:
                raise BadInput(f"The drawing has more than {MOST_NODES} nodes: keep the pattern's lines alone.")
            self._keep(run, place, where)

    def _keep(self, run: Shape, place: _Place, where: str) -> None:
        spans = np.array(run.spans)
        points = np.stack((spans.real, spans.imag), axis=-1) @ place.matrix[:, :2].T + place.matrix[:, 2]
        line = drawn_line(points, run.flat, place.names, where, closed=run.closed, circle=_circle(run, place.matrix))
        if line is not None:
            self.lines.append(line)


_LEAVES = frozenset({"path", "text", "use", *SHAPES})


def _circle(run: Shape, matrix: Floats) -> tuple[float, float, float] | None:
    if run.circle is None:
        return None
    stretches = np.linalg.svd(matrix[:, :2], compute_uv=False)
    if stretches[0] - stretches[1] > ROUND_SHARE * stretches[0]:
        return None
    x, y, radius = run.circle
    centre = matrix @ np.array([x, y, 1.0])
    return float(centre[0]), float(centre[1]), float(radius * stretches[0])


def _within(element: Element, place: _Place) -> _Place:
    name, said = name_of(element), element.get("transform")
    names = (*place.names, name) if name else place.names
    if said is None:
        return replace(place, names=names)
    matrix = then(place.matrix, parse_transform(said, _where(element, tag_of(element))))
    return replace(place, matrix=matrix, names=names)


def _nested(element: Element, place: _Place) -> _Place:
    """A drawing within the drawing, with its own place and view box."""
    where = _where(element, "svg")
    x, y, width, height = (units_of(element.get(key), where) for key in ("x", "y", "width", "height"))
    matrix = then(place.matrix, np.array([[1.0, 0.0, x], [0.0, 1.0, y]]))
    box = numbers_of(element.get("viewBox", ""), where)
    if len(box) == 4 and min(*box[2:], width, height) > 0:
        matrix = then(matrix, fit_view(box, width, height, element.get("preserveAspectRatio", "")))
    return replace(place, matrix=matrix)


def name_of(element: Element) -> str:
    """The name a maker gave: a label (in whatever namespace), a title inside, or the id."""
    for key, value in element.attrib.items():
        if str(key).rpartition("}")[2] in ("label", "aria-label", "data-name") and str(value).strip():
            return " ".join(str(value).split())[:80]
    title = next((child.text for child in element if tag_of(child) == "title" and child.text), "")
    return " ".join((title or element.get("id") or "").split())[:80]


def _is_hidden(element: Element) -> bool:
    if element.get("display") == "none" or element.get("visibility") in ("hidden", "collapse"):
        return True
    return bool(_HIDDEN.search(element.get("style", "")))


def _where(element: Element, tag: str) -> str:
    name = name_of(element)
    line = f" in line {element.sourceline}" if element.sourceline else ""
    return f"{tag} {name!r}{line}" if name else f"the {tag}{line}"


def _begun(where: str) -> str:
    return where[:1].upper() + where[1:]
