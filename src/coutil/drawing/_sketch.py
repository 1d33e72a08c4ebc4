"""A piece on its way from an outline to a pattern piece: set upright, with its own origin, divided into edges."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from coutil.curves import Curve
from coutil.drawing._corners import CORNER_DEG, Turn, certainty_of, find_turns, with_nodes_at
from coutil.drawing._found import Found, LevelLine, Loop
from coutil.drawing._levels import WAIST, guessed_waist, lean_of, levels_on, named_levels
from coutil.drawing._marks import Marks, PieceMarks
from coutil.drawing._names import place_of_name, role_of_name
from coutil.drawing._sure import Guesses
from coutil.drawing._values import Bools, Floats, Point
from coutil.errors import BadInput
from coutil.pattern import Part, Role

_NUMBER = re.compile(r"\d{1,6}")
LEAN_DEG = 0.05  # A level drawn by hand may rise by this; what rises more was laid at an angle.
SMALLEST_MM, TALLEST_MM = 30.0, 2000.0  # Pieces of other heights are in another unit.


@dataclass(slots=True)
class SketchedEdge:
    """An edge in the making: its drawn run in the piece's own frame."""

    name: str
    spans: Floats
    flat: Bools
    role: Role | None = None
    straight: bool = False
    allowance: float | None = None


@dataclass(slots=True)
class Sketch:
    """A piece in the making; `origin` and `inside` are places on the drawing, all else in the piece's own frame."""

    name: str
    loop: Loop
    stated: PieceMarks
    origin: Point
    turn: float
    levels: dict[str, float]
    edges: list[SketchedEdge] = field(default_factory=list)
    part: Part = "front"

    def placed(self, points: Floats) -> Floats:
        """Places on the drawing in the piece's own frame."""
        return np.asarray((np.asarray(points) - np.asarray(self.origin)) @ _rotation(self.turn).T)


def sketch_pieces(found: Found, marks: Marks, sure: Guesses) -> list[Sketch]:
    """Every piece of the drawing, left to right, set upright and divided into edges."""
    loops = _named_loops(found.loops, marks)
    _require_size([loop for _, loop in loops])
    known = [name for name, _ in loops]
    lines = named_levels(found.levels, [loop for _, loop in loops], sure)
    lines = _with_waist(lines, loops, marks, found, sure)
    sketches = []
    for name, loop in loops:
        stated = marks.pieces.get(name, PieceMarks())
        sketch = _upright(name, loop, stated, levels_on(lines, loop, known), found)
        sketch.edges = _edges(sketch, sure)
        sketches.append(sketch)
    return sketches


def _named_loops(loops: Sequence[Loop], marks: Marks) -> list[tuple[str, Loop]]:
    """Each outline with its piece's name: as the marks place it, as drawn, or numbered from the left."""
    left = in_order(loops)
    named: list[tuple[str, Loop]] = []
    placed = {name: piece.inside for name, piece in marks.pieces.items() if piece.inside is not None}
    for number, loop in enumerate(left, start=1):
        name = _stated_name(loop, placed) or loop.piece or f"piece_{number}"
        if marks.pieces.get(name, PieceMarks()).use:
            named.append((name, _renamed(loop, name)))
    _require_distinct([name for name, _ in named])
    missing = [n for n, p in marks.pieces.items() if p.use and n not in {name for name, _ in named}]
    if missing:
        raise BadInput(
            f"The marks file has piece {missing[0]}, but no outline of that name or round its place is on the drawing."
        )
    return named


def in_order(loops: Sequence[Loop]) -> list[Loop]:
    """The outlines from the centre front on: by their names where they all tell, else row by row from the left.

    Names tell by their numbers, or by being centre front, side front, side back or centre back.
    """
    places = [place_of_name(loop.piece) for loop in loops]
    if None not in places and len(set(places)) == len(places):
        return [loop for _, loop in sorted(zip(places, loops, strict=True), key=lambda pair: pair[0] or 0)]
    numbers = [int(found[0]) if (found := _NUMBER.search(loop.piece)) else None for loop in loops]
    if None not in numbers and len(set(numbers)) == len(numbers):
        return [loop for _, loop in sorted(zip(numbers, loops, strict=True), key=lambda pair: pair[0] or 0)]
    if any(loop.piece for loop in loops):
        return sorted(loops, key=lambda loop: loop.bounds[0])
    return [loop for row in _rows(loops) for loop in sorted(row, key=lambda loop: loop.bounds[0])]


def _rows(loops: Sequence[Loop]) -> list[list[Loop]]:
    """The outlines in rows from above: a row ends where the next outline begins under all of it."""
    rows: list[list[Loop]] = []
    for loop in sorted(loops, key=lambda loop: -loop.bounds[3]):
        if rows and loop.bounds[3] > min(other.bounds[1] for other in rows[-1]):
            rows[-1].append(loop)
        else:
            rows.append([loop])
    return rows


def _renamed(loop: Loop, name: str) -> Loop:
    return (
        loop
        if loop.piece
        else Loop(name, loop.spans, loop.flat, loop.where, loop.begins, loop.edges, loop.word, loop.gap, loop.turns)
    )


def _stated_name(loop: Loop, placed: Mapping[str, Point]) -> str | None:
    from shapely import Point as ShapelyPoint

    names = [name for name, at in placed.items() if loop.polygon.contains(ShapelyPoint(at))]
    return names[0] if names else None


def _require_distinct(names: Sequence[str]) -> None:
    for name in names:
        if names.count(name) > 1:
            raise BadInput(f"{names.count(name)} outlines are called {name}: give each piece its own name.")


def _require_size(loops: Sequence[Loop]) -> None:
    if not loops:
        raise BadInput("The marks file leaves out every piece of the drawing: leave in the pieces to import.")
    tallest = max(max(loop.bounds[3] - loop.bounds[1], loop.bounds[2] - loop.bounds[0]) for loop in loops)
    if not SMALLEST_MM <= tallest <= TALLEST_MM:
        raise BadInput(
            f"The largest piece is {tallest:.4g} mm long, which no corset piece is: the drawing is in another unit "
            "than it says; give its scale, such as --scale 10 for a drawing in centimetres."
        )


def _with_waist(
    lines: list[LevelLine], loops: Sequence[tuple[str, Loop]], marks: Marks, found: Found, sure: Guesses
) -> list[LevelLine]:
    """A waist line over all pieces where nobody drew or stated one."""
    stated = any(WAIST in (marks.pieces.get(name, PieceMarks()).levels or {}) for name, _ in loops)
    if stated or any(line.name == WAIST for line in lines):
        return lines
    at = {mark.piece for mark in found.marks if mark.name == "bust_point"}
    panels = [loop for name, loop in loops if name not in at and "cup" not in name]
    height = guessed_waist(panels or [loop for _, loop in loops], sure)
    left = min(loop.bounds[0] for loop in panels)
    right = max(loop.bounds[2] for loop in panels)
    return [*lines, LevelLine(WAIST, "", (left - 1.0, height), (right + 1.0, height), "the narrowest place")]


# --- upright, with an origin -------------------------------------------------------------------------------


def _upright(name: str, loop: Loop, stated: PieceMarks, lines: Sequence[LevelLine], found: Found) -> Sketch:
    turn = stated.turn if stated.turn is not None else _turn_of(lines)
    rotation = _rotation(turn)
    heights = {line.name: float((rotation @ _middle(line))[1]) for line in lines}
    if stated.origin is not None:
        x0, y0 = rotation @ np.asarray(stated.origin)
    else:
        x0, y0 = _own_origin(name, loop, heights, rotation, found)
    levels = {level: float(height - y0) for level, height in heights.items()}
    if stated.levels is not None:
        levels = dict(stated.levels)
    origin = rotation.T @ np.array([x0, y0])
    return Sketch(name, loop, stated, (float(origin[0]), float(origin[1])), turn, _ordered(levels))


def _ordered(levels: Mapping[str, float]) -> dict[str, float]:
    return dict(sorted(levels.items(), key=lambda item: item[1]))


def _turn_of(lines: Sequence[LevelLine]) -> float:
    leans = [lean_of(line) for line in lines]
    lean = float(np.median(leans)) if leans else 0.0
    return -lean if abs(lean) > LEAN_DEG else 0.0


def _middle(line: LevelLine) -> Floats:
    return np.array([(line.a[0] + line.b[0]) / 2, (line.a[1] + line.b[1]) / 2])


def _own_origin(
    name: str, loop: Loop, heights: Mapping[str, float], rotation: Floats, found: Found
) -> tuple[float, float]:
    """The waist at y = 0 and the left end at x = 0; a piece without a waist has its bust point at (0, 0)."""
    left = Curve.from_spans(loop.spans @ rotation.T).bounds()[0]
    if WAIST in heights:
        return left, heights[WAIST]
    bust = [mark.at for mark in found.marks if mark.name == "bust_point" and mark.piece in ("", loop.piece)]
    near = [at for at in bust if loop.polygon.distance(_shapely(at)) < 5.0]
    if near:
        x, y = rotation @ np.asarray(near[0])
        return float(x), float(heights.get("bust", y))
    if not heights:
        raise BadInput(
            f"Piece {name} meets no level: let a line named `level waist` run over it, or over a cup `level bust`."
        )
    return left, next(iter(heights.values()))


def _shapely(at: Point) -> object:
    from shapely import Point as ShapelyPoint

    return ShapelyPoint(at)


def _rotation(degrees: float) -> Floats:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.array([[c, -s], [s, c]])


# --- edges -------------------------------------------------------------------------------------------------


def _edges(sketch: Sketch, sure: Guesses) -> list[SketchedEdge]:
    """The outline divided: at stated corners, at named edges, or where it turns sharply."""
    spans, flat = sketch.placed(sketch.loop.spans), sketch.loop.flat
    stated = sketch.stated.edges
    if stated and all(edge.begins is not None for edge in stated.values()):
        points = [edge.begins for edge in stated.values() if edge.begins is not None]
        what = [f"Edge {name} of piece {sketch.name}" for name in stated]
        spans, flat, nodes = with_nodes_at(spans, flat, points, what)
        _require_nodes(sketch.name, list(stated), nodes)
        return _with_stated(_divided(spans, flat, nodes, list(stated)), sketch)
    if sketch.loop.edges:
        edges = _divided(spans, flat, list(sketch.loop.begins), list(sketch.loop.edges))
        return _with_stated(edges, sketch)
    turns = _corners(sketch, spans, sure)
    return _with_stated(_divided(spans, flat, [turn.node for turn in turns], [""] * len(turns)), sketch)


def _require_nodes(piece: str, names: Sequence[str], nodes: Sequence[int]) -> None:
    for k, node in enumerate(nodes):
        if nodes.count(node) > 1:
            other = names[nodes.index(node)]
            raise BadInput(f"Edges {other} and {names[k]} of piece {piece} begin at the same corner: correct one.")


def _divided(spans: Floats, flat: Bools, nodes: Sequence[int], names: Sequence[str]) -> list[SketchedEdge]:
    ordered = sorted(zip(nodes, names, strict=True))
    edges = []
    for k, (node, name) in enumerate(ordered):
        stop = ordered[(k + 1) % len(ordered)][0]
        index = np.arange(node, stop if stop > node else stop + len(spans)) % len(spans)
        edges.append(SketchedEdge(name, spans[index], flat[index], role_of_name(name)))
    return edges


def _with_stated(edges: list[SketchedEdge], sketch: Sketch) -> list[SketchedEdge]:
    for edge in edges:
        said = (sketch.stated.edges or {}).get(edge.name)
        if said is not None:
            edge.role = said.role or edge.role
            edge.straight, edge.allowance = said.straight, said.allowance
    return edges


def _corners(sketch: Sketch, spans: Floats, sure: Guesses) -> list[Turn]:
    turns = find_turns(spans)
    if sketch.loop.turns:
        given = sketch.placed(np.array(sketch.loop.turns))
        nodes = {int(np.argmin(np.hypot(*(spans[:, 0] - at).T))) for at in given}
        corners = [turn for turn in turns if turn.node in nodes or abs(turn.degrees) >= CORNER_DEG]
    else:
        corners = [turn for turn in turns if abs(turn.degrees) >= CORNER_DEG]
    if len(corners) < 3:
        raise BadInput(
            f"Piece {sketch.name} has {len(corners)} corners, and a piece has three or more: "
            "draw its edges as lines of their own, or say in a marks file where each begins."
        )
    for turn in corners:
        x, y = spans[turn.node, 0]
        told = f"it turns by {abs(turn.degrees):.0f} degrees"
        sure.add(f"piece {sketch.name}", f"a corner at ({x:.0f}, {y:.0f})", certainty_of(turn.degrees), told)
    for turn in turns:
        if turn not in corners:
            x, y = spans[turn.node, 0]
            sure.remarks.append(
                f"Piece {sketch.name} turns by {abs(turn.degrees):.0f} degrees at ({x:.0f}, {y:.0f}), "
                "which was taken as a curve, not as a corner."
            )
    return corners
