"""Sorting a drawing's lines by the naming convention: which are outlines, levels, marks, grain and mirror."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
from shapely import Point as ShapelyPoint

from coutil.curves import Curve
from coutil.drawing._found import LOOK, Direction, Found, LevelLine, Loop, Mark
from coutil.drawing._joining import JOIN_MM, Joined, join_lines
from coutil.drawing._names import INTERNAL_LAYER, TEXT_LAYER, TURN_LAYER, Kind, Label, label_of, tidy
from coutil.drawing._values import Drawing, DrawnLine, DrawnText, Floats, Point
from coutil.errors import BadInput

MOST_PIECES = 100
MOST_OUTLINES = 500  # Before cut lines, holes and symbols are told apart from pieces.
MOST_WORDS = 500  # A pattern of 20 pieces names some hundreds of its lines.
# Lines looked at beside words: the nearest by sampled points, of which the nearest line is one.
MOST_BESIDE = 6
MOST_MARKS = 500
LEVEL_WORDS = frozenset({"bust", "underbust", "waist", "high_hip", "hip"})
NEAR_TEXT_MM = 10.0  # Words name a line that lies no further off.
LARGEST_MARK_MM = 25.0  # A circle of more is part of a pattern, not the mark of a point.
LEAST_PART = 0.1  # Of the largest piece; what is smaller is a symbol on it.
SMALLEST_LOOP_MM2 = 100.0  # A closed line round less than a square centimetre is a symbol.
LEVEL_SLOPE = 0.01  # Half a degree: a line that rises by more is no level.
_SAYS = re.compile(r"(piece|edge|level|mark)\s+(\S.*)", re.IGNORECASE)

Labelled = tuple[DrawnLine, Label]


def gather(drawing: Drawing) -> Found:
    """Everything the drawing holds by the naming convention; raises BadInput where no closed outline is left."""
    labelled = _with_words(drawing, [(line, label_of(line)) for line in drawing.lines])
    remarks = list(drawing.remarks)
    sorted_out = _by_kind(labelled)
    if len(sorted_out["mark"]) > MOST_MARKS:
        raise BadInput(f"The drawing has more than {MOST_MARKS} small circles or points: keep the pattern's alone.")
    plain, strokes = _loose(sorted_out["loose"], remarks)
    levels = [*(_level(line, label) for line, label in sorted_out["level"]), *strokes]
    loops = [*_outlines(sorted_out["outline"]), *_edge_loops(sorted_out["edge"], remarks), *plain]
    _require_large(loops)
    loops = _without_frame(_moderate(_without_small(loops)), remarks)
    loops = _named_by_words(drawing.texts, loops)
    loops = _with_turns(drawing, _without_doubles(loops, remarks))
    _require_loops(loops, remarks)
    remarks += [
        f"A gap of {loop.gap:.2f} mm in the outline of {loop.piece or loop.where} was closed."
        for loop in loops
        if loop.gap > 0.01
    ]
    return Found(
        tuple(loops),
        tuple(levels),
        tuple(_marks(sorted_out["mark"], drawing)),
        tuple(_direction(line, label) for line, label in sorted_out["grain"]),
        tuple(_direction(line, label) for line, label in sorted_out["mirror"]),
        tuple(remarks),
    )


def _by_kind(labelled: Sequence[Labelled]) -> dict[str, list[Labelled]]:
    found: dict[str, list[Labelled]] = defaultdict(list)
    for line, label in labelled:
        small = line.circle is not None and line.circle[2] <= LARGEST_MARK_MM
        kind = "mark" if small and label.kind in ("outline", "loose") else label.kind
        if kind == "mark" and label.kind != "mark":
            # A small circle is a mark whatever it is called; the piece it belongs to is the one it lies on.
            found[kind].append((line, Label("mark", "", label.piece or label.name or "drill")))
        else:
            found[kind].append((line, label))
    return found


def _moderate(loops: list[Loop]) -> list[Loop]:
    if len(loops) > MOST_OUTLINES:
        raise BadInput(f"The drawing has {len(loops)} closed outlines, and no pattern has more than {MOST_OUTLINES}.")
    return loops


def _require_large(loops: Sequence[Loop]) -> None:
    """Raises BadInput where every closed outline is too small for a piece, or crosses itself to nothing."""
    if not loops or any(abs(loop.polygon.area) >= SMALLEST_LOOP_MM2 for loop in loops):
        return
    sizes = [max(loop.bounds[2] - loop.bounds[0], loop.bounds[3] - loop.bounds[1]) for loop in loops]
    largest = loops[int(np.argmax(sizes))]
    what = f"The largest closed outline, {largest.piece or largest.where},"
    if max(sizes) < 2 * math.sqrt(SMALLEST_LOOP_MM2):
        raise BadInput(
            f"{what} is {max(sizes):.2g} mm long: the drawing is in another unit than it says; give its scale."
        )
    raise BadInput(f"{what} crosses itself or runs back on itself and has no area: draw it once round.")


def _require_loops(loops: Sequence[Loop], remarks: Sequence[str]) -> None:
    if not loops:
        open_lines = [remark.rstrip(".") for remark in remarks if "belong" in remark][:1]
        raise BadInput(
            f"No closed outline was found on the drawing{' (' + open_lines[0] + ')' if open_lines else ''}: "
            "draw each piece as one closed line, or as edges whose ends meet within 0.5 mm."
        )
    if len(loops) > MOST_PIECES:
        raise BadInput(f"The drawing has {len(loops)} closed outlines, and at most {MOST_PIECES} are read as pieces.")


# --- words beside lines ------------------------------------------------------------------------------------


def _with_words(drawing: Drawing, labelled: list[Labelled]) -> list[Labelled]:
    """Words such as `edge hem` or `level waist` written on a line name it."""
    said = [(text, found) for text in drawing.texts if (found := _spoken(text))]
    if len(said) > MOST_WORDS:
        raise BadInput(f"The drawing has more than {MOST_WORDS} words that name lines: keep the pattern's alone.")
    renamed = list(labelled)
    for kind, can_be in _NAMEABLE.items():
        spoken = [(text, name) for text, (word, name) in said if word == kind]
        places = [k for k, (line, label) in enumerate(labelled) if can_be(line, label)]
        if not spoken or not places:
            continue
        nearest = _Nearest([labelled[k][0] for k in places])
        for text, name in spoken:
            index = nearest.line(text)
            if index is not None:
                line, label = labelled[places[index]]
                renamed[places[index]] = (line, Label(kind, label.piece, tidy(name)))
    return renamed


def _spoken(text: DrawnText) -> tuple[str, str] | None:
    """What words name: an edge, a level or a mark; the name of a level alone, such as Waist, will do."""
    found = _SAYS.match(text.words)
    if found is not None:
        return found[1].lower(), found[2]
    return ("level", text.words) if tidy(text.words) in LEVEL_WORDS else None


def _can_be_edge(line: DrawnLine, label: Label) -> bool:
    return line.circle is None and label.kind in ("edge", "loose") and tidy(line.layer) != INTERNAL_LAYER


def _can_be_level(line: DrawnLine, label: Label) -> bool:
    return label.kind in ("level", "loose") and len(line.spans) == 1


def _can_be_mark(line: DrawnLine, _: Label) -> bool:
    return line.circle is not None


_NAMEABLE: Mapping[Kind, Callable[[DrawnLine, Label], bool]] = {
    "edge": _can_be_edge,
    "level": _can_be_level,
    "mark": _can_be_mark,
}


class _Nearest:
    """Finds the line nearest to words, among those of the same group or block."""

    def __init__(self, lines: Sequence[DrawnLine]) -> None:
        from scipy.spatial import cKDTree

        self.lines = lines
        points = [np.einsum("kj,njd->nkd", LOOK, line.spans).reshape(-1, 2) for line in lines]
        self.curves: dict[int, Curve] = {}
        self.owner = np.repeat(np.arange(len(lines)), [len(p) for p in points])
        self.tree = cKDTree(np.concatenate(points))

    def line(self, text: DrawnText) -> int | None:
        """Its number, or None where none is near enough."""
        away, index = self.tree.query(text.at, k=min(64, len(self.owner)), distance_upper_bound=2 * NEAR_TEXT_MM)
        near = np.atleast_1d(index)[np.isfinite(np.atleast_1d(away))]
        owners = dict.fromkeys(int(k) for k in self.owner[near])
        known = [k for k in owners if not text.layer or self.lines[k].names == text.names]
        exact = {k: self._curve(k).closest(text.at).distance for k in known[:MOST_BESIDE]}
        best = min(exact, key=lambda k: exact[k], default=None)
        return best if best is not None and exact[best] <= NEAR_TEXT_MM else None

    def _curve(self, k: int) -> Curve:
        if k not in self.curves:
            self.curves[k] = Curve.from_spans(self.lines[k].spans)
        return self.curves[k]


def _named_by_words(texts: Sequence[DrawnText], loops: list[Loop]) -> list[Loop]:
    """`piece NAME` written inside an unnamed outline names it."""
    said = [(tidy(found[2]), t.at) for t in texts if (found := _SAYS.match(t.words)) and found[1].lower() == "piece"]
    named = []
    for loop in loops:
        inside = [name for name, at in said if not loop.piece and loop.polygon.contains(ShapelyPoint(at))]
        named.append(replace(loop, piece=inside[0]) if inside else loop)
    return named


# --- outlines ----------------------------------------------------------------------------------------------


def _outlines(labelled: Sequence[Labelled]) -> Iterator[Loop]:
    """Closed lines, and open ones whose ends meet."""
    for line, label in labelled:
        joined = join_lines([line])[0]
        if not joined.closed:
            raise BadInput(
                f"The outline of piece {label.piece or line.where} is open by "
                f"{math.dist(line.start, line.end):.2f} mm: close it."
            )
        yield _loop(joined, label.piece, line.where, word=label.name)


def _loop(joined: Joined, piece: str, where: str, word: str = "") -> Loop:
    return Loop(piece, joined.spans, joined.flat, where, word=word, gap=joined.gap)


def _edge_loops(labelled: Sequence[Labelled], remarks: list[str]) -> Iterator[Loop]:
    """Edges of one piece joined to its outline."""
    by_piece: dict[str, list[Labelled]] = defaultdict(list)
    for line, label in labelled:
        by_piece[label.piece].append((line, label))
    for piece, edges in by_piece.items():
        if piece:
            yield from _loops_of_piece(piece, edges)
        else:
            yield from _loops_without_piece(edges, remarks)


def _loops_without_piece(edges: Sequence[Labelled], remarks: list[str]) -> Iterator[Loop]:
    """Named lines of no piece are edges where they close, and else no part of the pattern."""
    for joined in join_lines([line for line, _ in edges]):
        if joined.closed:
            yield _with_edges("", joined, edges)
        else:
            gap = math.dist(joined.spans[0, 0], joined.spans[-1, 3])
            name = edges[joined.members[0]][1].name
            remarks.append(f"The line {name!r:.60} belongs to no closed outline: it is open by {gap:.2f} mm.")


def _loops_of_piece(piece: str, edges: Sequence[Labelled]) -> Iterator[Loop]:
    for joined in join_lines([line for line, _ in edges]):
        if not joined.closed:
            raise BadInput(_open_sentence(piece, joined, edges))
        yield _with_edges(piece, joined, edges)


def _open_sentence(piece: str, joined: Joined, edges: Sequence[Labelled]) -> str:
    first, last = (edges[joined.members[k]][1].name or "unnamed" for k in (0, -1))
    gap = math.dist(joined.spans[0, 0], joined.spans[-1, 3])
    return (
        f"The edges of piece {piece} do not close: {gap:.2f} mm lie open between {last} and {first}, "
        f"and {JOIN_MM} mm are joined; draw their ends together or add the missing edge."
    )


def _with_edges(piece: str, joined: Joined, edges: Sequence[Labelled]) -> Loop:
    """Neighbouring lines of one name make one edge."""
    names = [edges[k][1].name for k in joined.members]
    starts = [k for k in range(len(names)) if names[k] != names[k - 1] or not names[k]] or [0]
    loop = _loop(joined, piece, edges[joined.members[0]][0].where)
    if len(names) > 1 and any(names):
        return replace(loop, begins=tuple(joined.begins[k] for k in starts), edges=tuple(names[k] for k in starts))
    return loop


def _loose(labelled: Sequence[Labelled], remarks: list[str]) -> tuple[list[Loop], list[LevelLine]]:
    """Unnamed lines: closed ones and chains are outlines, straight level strokes left over may be levels.

    Level strokes are tried as edges only where the others alone do not close.
    """
    strokes = [line for line, _ in labelled if not line.closed and _is_level(line)]
    others = [line for line, _ in labelled if line.closed or not _is_level(line)]
    loops, open_lines = _closed_and_open(others)
    more, unused = _closed_and_open([*open_lines, *strokes])
    pieces = {id(line): label.piece for line, label in labelled}
    levels = [
        LevelLine("", pieces[id(line)], _pair(line.start), _pair(line.end), line.where)
        for line in unused
        if _is_level(line)
    ]
    rest = len(unused) - len(levels)
    if rest:
        remarks.append(f"{rest} unnamed lines belong to no closed outline and were left out.")
    return [*loops, *more], levels


def _closed_and_open(lines: Sequence[DrawnLine]) -> tuple[list[Loop], list[DrawnLine]]:
    loops, left = [], []
    for joined in join_lines(lines):
        if joined.closed:
            loops.append(_loop(joined, "", lines[joined.members[0]].where))
        else:
            left += [lines[k] for k in joined.members]
    return loops, left


def _without_small(loops: Sequence[Loop]) -> list[Loop]:
    return [loop for loop in loops if abs(loop.polygon.area) >= SMALLEST_LOOP_MM2]


def _without_frame(loops: list[Loop], remarks: list[str]) -> list[Loop]:
    """Without the page's edge or background: unnamed rectangles round everything else, which is several outlines."""
    ordered = sorted(loops, key=lambda loop: -abs(loop.polygon.area))
    kept = ordered
    while len(kept) > 2 and _is_frame(kept[0], kept[1:]):
        kept = kept[1:]
    if len(kept) < len(ordered):
        remarks.append("A rectangle round all pieces was taken as the page's edge and left out.")
    left = {id(loop) for loop in kept}
    return [loop for loop in loops if id(loop) in left]


def _is_frame(largest: Loop, others: Sequence[Loop]) -> bool:
    """A piece holds at most its own stitching line, and what lies in that; a page holds pieces side by side."""
    if largest.piece or not _is_rectangle(largest):
        return False
    beside = [loop for loop in others if not _lies_inside(loop, others[0])]
    alike = any(abs(loop.polygon.area) > LEAST_PART * abs(others[0].polygon.area) for loop in beside)
    return alike and all(_lies_inside(loop, largest) for loop in others)


def _is_rectangle(loop: Loop) -> bool:
    left, low, right, high = loop.bounds
    upright = 0.999 * (right - left) * (high - low)
    return bool(loop.flat.all()) and abs(loop.polygon.area) > upright


def _without_doubles(loops: list[Loop], remarks: list[str]) -> list[Loop]:
    """Of a cut line round its stitching line the stitching line is kept; holes are left out."""
    ordered = sorted(range(len(loops)), key=lambda k: -abs(loops[k].polygon.area))
    dropped: set[int] = set()
    kept: dict[int, Loop] = dict(enumerate(loops))
    for place, outer in enumerate(ordered):
        for inner in ordered[place + 1 :]:
            if {inner, outer} & dropped or not _lies_inside(kept[inner], kept[outer]):
                continue
            share = abs(kept[inner].polygon.area) / max(abs(kept[outer].polygon.area), 1e-9)
            if share > 0.4 or kept[outer].word == "cut":
                dropped.add(outer)
                name = kept[inner].piece or kept[outer].piece
                kept[inner] = replace(kept[inner], piece=name, word="stitching")
                remarks.append(f"Of two outlines of {name or 'a piece'} the inner is taken as the stitching line.")
            else:
                dropped.add(inner)
                remarks.append(f"A closed line inside {kept[outer].piece or 'a piece'} was left out.")
    return [kept[k] for k in range(len(loops)) if k not in dropped]


def _lies_inside(inner: Loop, outer: Loop) -> bool:
    i, o = inner.bounds, outer.bounds
    # Edges without an allowance lie on each other, to within a rounding.
    if max(o[0] - i[0], o[1] - i[1], i[2] - o[2], i[3] - o[3]) > JOIN_MM:
        return False
    return bool(outer.polygon.contains(ShapelyPoint(inner.inside)))


def _with_turns(drawing: Drawing, loops: list[Loop]) -> list[Loop]:
    """Turn points of DXF layer 2 that lie on an outline."""
    turns = np.array([p.at for p in drawing.points if tidy(p.layer) == TURN_LAYER]).reshape(-1, 2)
    if not len(turns):
        return loops
    return [replace(loop, turns=tuple(_turns_on(loop, turns))) for loop in loops]


def _turns_on(loop: Loop, turns: Floats) -> Iterator[Point]:
    nodes = loop.spans[:, 0]
    for turn in turns:
        if np.hypot(*(nodes - turn).T).min() <= JOIN_MM:
            yield float(turn[0]), float(turn[1])


# --- levels, marks, directions -----------------------------------------------------------------------------


def _level(line: DrawnLine, label: Label) -> LevelLine:
    return LevelLine(label.name, label.piece, _pair(line.start), _pair(line.end), line.where)


def _is_level(line: DrawnLine) -> bool:
    """One straight stroke, level enough and long enough."""
    dx, dy = line.end - line.start
    return len(line.spans) == 1 and bool(line.flat[0]) and abs(dy) <= LEVEL_SLOPE * abs(dx) and abs(dx) > 20.0


def _marks(labelled: Sequence[Labelled], drawing: Drawing) -> Iterator[Mark]:
    for line, label in labelled:
        x, y = line.circle[:2] if line.circle else line.spans.reshape(-1, 2).mean(axis=0)
        yield Mark(label.name, label.piece, (float(x), float(y)))
    said = [(found, t) for t in drawing.texts if (found := _SAYS.match(t.words)) and found[1].lower() == "mark"]
    for point in drawing.points:
        if tidy(point.layer) in (TURN_LAYER, "3", TEXT_LAYER, "4"):
            continue
        names = [tidy(found[2]) for found, text in said if math.dist(text.at, point.at) <= NEAR_TEXT_MM]
        piece = tidy(point.names[-1]) if point.names else ""
        yield Mark(names[0] if names else "drill", piece, point.at)


def _direction(line: DrawnLine, label: Label) -> Direction:
    return Direction(label.piece, _pair(line.start), _pair(line.end))


def _pair(point: Floats) -> Point:
    return float(point[0]), float(point[1])
