"""Front or back, and what each edge is on the garment: from names where they tell, else from place and direction."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from coutil.curves import Curve
from coutil.drawing._marks import Marks
from coutil.drawing._names import part_of_name
from coutil.drawing._sketch import Sketch, SketchedEdge
from coutil.drawing._sure import Guesses
from coutil.drawing._values import Floats
from coutil.errors import BadInput
from coutil.pattern import Role

UPRIGHT_MM = 0.5  # A centre or closure line drawn by hand may lean by this; it is then set upright.
STEEP = 1.0  # An edge is upright where it rises by more than it goes sideways.
BENT_MM = 0.5


def settle_parts(sketches: Sequence[Sketch], sure: Guesses) -> None:
    """Front or back for every piece: stated, named, a cup, or the panels from the left counted off in halves."""
    counted = [sketch for sketch in sketches if not _is_cup(sketch)]
    for sketch in sketches:
        named = part_of_name(sketch.name)
        if sketch.stated.part is not None:
            sketch.part = sketch.stated.part
        elif named is not None:
            sketch.part = named
            sure.add(f"piece {sketch.name}", named, 0.95, "its name says so")
        elif _is_cup(sketch):
            sketch.part = "front"
            sure.add(f"piece {sketch.name}", "front", 0.9, "it is a cup")
        else:
            place = counted.index(sketch)
            sketch.part = "front" if place + 0.5 <= len(counted) / 2 else "back"
            told = f"it is no. {place + 1} of {len(counted)} from the left, and fronts are taken to come first"
            sure.add(f"piece {sketch.name}", sketch.part, 0.5, told)


def _is_cup(sketch: Sketch) -> bool:
    return "cup" in sketch.name.split("_") or any(edge.role is Role.CUP_SEAM for edge in sketch.edges)


def settle_roles(sketches: Sequence[Sketch], marks: Marks, sure: Guesses) -> None:
    """A role and a name for every edge that has none."""
    panels = [sketch for sketch in sketches if "waist" in sketch.levels] or list(sketches)
    for sketch in sketches:
        for edge in sketch.edges:
            if edge.role is None:
                edge.role, certain, reason = _role(sketch, edge, panels)
                sure.add(f"piece {sketch.name}", f"{edge.name or _place(edge)} is {edge.role}", certain, reason)
            elif edge.name not in (sketch.stated.edges or {}):
                sure.add(f"piece {sketch.name}", f"{edge.name} is {edge.role}", 0.95, "its name says so")
            if edge.role.is_vertical:
                edge.straight = True
        _name_edges(sketch)
        _apply_stated(sketch)
    for sketch in sketches:
        _set_upright(sketch)


def _place(edge: SketchedEdge) -> str:
    x, y = Curve.from_spans(edge.spans).point_at(Curve.from_spans(edge.spans).length / 2)
    return f"the edge by ({x:.0f}, {y:.0f})"


def _role(sketch: Sketch, edge: SketchedEdge, panels: Sequence[Sketch]) -> tuple[Role, float, str]:
    """The outline runs anticlockwise: hems to the right, right sides up, tops to the left, left sides down."""
    dx, dy = edge.spans[-1, 3] - edge.spans[0, 0]
    if abs(dy) <= STEEP * abs(dx):
        return (Role.HEM, 0.8, "it closes the piece below") if dx > 0 else (Role.TOP, 0.8, "it closes the piece above")
    first, last = sketch is panels[0], sketch is panels[-1]
    if _stands_upright(edge) and ((first and dy < 0) or (last and dy > 0)):
        if sketch.part == "back":
            return Role.CLOSURE, 0.75, "it is straight and upright at the outer end of the back"
        return Role.CENTRE, 0.75, "it is straight and upright at the outer end of the front"
    if sketch in panels and _beside(sketch, panels, dy):
        return Role.SIDE_SEAM, 0.7, "it lies between front and back"
    return Role.PANEL_SEAM, 0.7, "it lies between two pieces of the same part"


def _beside(sketch: Sketch, panels: Sequence[Sketch], dy: float) -> bool:
    place = panels.index(sketch) + (1 if dy > 0 else -1)
    return 0 <= place < len(panels) and panels[place].part != sketch.part


def _stands_upright(edge: SketchedEdge) -> bool:
    points = edge.spans.reshape(-1, 2)
    return float(np.ptp(points[:, 0])) <= UPRIGHT_MM and Curve.from_spans(edge.spans).is_straight(BENT_MM)


def _name_edges(sketch: Sketch) -> None:
    """Unnamed edges are called by their role, numbered where a piece has several of one."""
    roles = Counter(edge.role for edge in sketch.edges)
    taken = {edge.name for edge in sketch.edges if edge.name}
    numbers: Counter[Role] = Counter()
    for edge in sorted((e for e in sketch.edges if not e.name), key=_middle_x):
        assert edge.role is not None
        numbers[edge.role] += 1
        name = edge.role.value if roles[edge.role] == 1 else f"{edge.role.value}_{numbers[edge.role]}"
        while name in taken:
            numbers[edge.role] += 1
            name = f"{edge.role.value}_{numbers[edge.role]}"
        edge.name = name
        taken.add(name)


def _apply_stated(sketch: Sketch) -> None:
    """What a marks file says of edges whose names were only now given; raises BadInput for names that are none."""
    known = {edge.name: edge for edge in sketch.edges}
    for name, said in (sketch.stated.edges or {}).items():
        if name not in known:
            raise BadInput(
                f"The marks file names edge {name} of piece {sketch.name}, which is not there: "
                f"name one of {', '.join(known)}, or state where each edge begins."
            )
        edge = known[name]
        edge.role = said.role or edge.role
        edge.allowance = said.allowance
        edge.straight = said.straight or (edge.role is not None and edge.role.is_vertical)


def _middle_x(edge: SketchedEdge) -> float:
    return float(edge.spans[:, :, 0].mean())


def _set_upright(sketch: Sketch) -> None:
    """A centre or closure line that leans by a hair is set upright, and its neighbours' ends go along."""
    count = len(sketch.edges)
    for k, edge in enumerate(sketch.edges):
        lean = float(np.ptp(edge.spans.reshape(-1, 2)[:, 0]))
        if edge.role is None or not edge.role.is_vertical or not 1e-6 < lean <= UPRIGHT_MM:
            continue
        x = float((edge.spans[0, 0, 0] + edge.spans[-1, 3, 0]) / 2)
        edge.spans = edge.spans.copy()
        edge.spans[..., 0] = x
        _end_at(sketch.edges[k - 1], edge.spans[0, 0], at_end=True)
        _end_at(sketch.edges[(k + 1) % count], edge.spans[-1, 3], at_end=False)


def _end_at(edge: SketchedEdge, point: Floats, *, at_end: bool) -> None:
    edge.spans = edge.spans.copy()
    knot, handle = ((-1, 3), (-1, 2)) if at_end else ((0, 0), (0, 1))
    shift = point - edge.spans[knot]
    edge.spans[handle] += shift
    edge.spans[knot] = point
