"""The picture of a step: the pieces it redraws, before dashed and after solid, arrows with amounts, at a scale.

Millimetres on the paper unless said otherwise.  The arrow's point lies on the new line, at the mark; it is never
drawn shorter than can be seen.  Amounts say how far across and up, as a ruler laid to the grain measures them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from coutil.errors import CoutilError
from coutil.measure import Unit
from coutil.pattern import Piece, Style
from coutil.sheet._bone_plan import Picture
from coutil.sheet._drawing import (
    BLACK,
    GREY,
    RUST,
    TEAL,
    Bounds,
    Floats,
    Line,
    Moved,
    Recorder,
    arrow_head,
    group,
    text_width,
)
from coutil.sheet._guide_labels import Label, Wanted, place_labels, place_on_lines
from coutil.sheet._guide_marks import STEP_MM, PieceMoves, way_on
from coutil.sheet._marks import level_lines, net_outline

BEFORE = Line("before", 0.25, (1.8, 1.1), RUST)
AFTER = Line("after", 0.4)
LEVEL = Line("level", 0.12, (3.0, 0.8, 0.6, 0.8), TEAL)
ARROW = Line("arrow", 0.28, (), TEAL)
STAYS = Line("mark", 0.25, (), TEAL)
LEADER = Line("leader", 0.1, (), GREY)
BAR = Line("scale bar", 0.3)

# A picture is drawn at the largest of these that fits: 1 mm on paper stands for so many on the pattern.
SCALES = (2.0, 2.5, 3.0, 4.0, 5.0, 6.0)

AMOUNT_MM = 1.75
LEVEL_TEXT_MM = 1.6
# Arrows and amounts take at least so much beside a piece, its title included.
LABELS_WIDE_MM, LABELS_HIGH_MM = 8.0, 7.0
# At another scale they take at least this part of what they took before.
LABELS_KEPT = 0.85
TITLE_MM = 2.3
SCALE_TEXT_MM = 2.0
GAP_MM = 5.0
# An amount stands so near its mark; where that cannot be, so far from it at most.
NEAR_MM, FAR_MM = 7.0, 24.0
# No arrow is drawn shorter than this; its head is so long.
SHORTEST_ARROW_MM = 4.0
HEAD_MM = 1.3
# An arrow that would lie along its line is drawn this far beside it, where it turns from the line by less than this.
BESIDE_MM = 1.4
ALONG_DEGREES = 25.0
STAYS_RADIUS_MM = 0.55
LOOK_MM = 0.2
FOOT_MM = 8.5
TICK_MM = 1.6
BAR_UP_MM = 1.5

# What the scale bar stands for, mm on the pattern, and its words.
BARS: Mapping[Unit, tuple[float, str]] = {"mm": (50.0, "5 cm"), "cm": (50.0, "5 cm"), "in": (50.8, "2 in")}


@dataclass(frozen=True, slots=True, eq=False)
class _Drawn:
    """A piece drawn in its own frame at the picture's scale, and the room it takes."""

    drawing: Recorder
    box: tuple[float, float, float, float]

    @property
    def width(self) -> float:
        """From its leftmost to its rightmost stroke or letter."""
        return self.box[2] - self.box[0]

    @property
    def height(self) -> float:
        """From its lowest to its highest stroke or letter."""
        return self.box[3] - self.box[1]


@dataclass(frozen=True, slots=True)
class Room:
    """What a picture may take, mm: its width, the height it should keep to, and the height it may take at most."""

    width: float
    height: float
    tallest: float


def step_pictures(
    before: Style, after: Style, moves: Iterable[PieceMoves], room: Room, unit: Unit, title: str
) -> tuple[Picture, ...]:
    """The pieces that move, as large as fits the room; () where nothing is to be drawn.

    Where no scale keeps to the height, it is drawn taller, so that every amount still stands near its mark; where it
    would be taller than a page, as on whole patterns, the pieces go on several pictures.  Raises CoutilError where
    even so some amount finds no place.
    """
    moved = [_Step.of(before.piece(m.piece.name), after.piece(m.piece.name), m) for m in moves if m.has_moved]
    return tuple(_pictures(moved, room, unit, title)) if moved else ()


def _pictures(moved: Sequence[_Step], room: Room, unit: Unit, title: str) -> Iterator[Picture]:
    """All in one picture, else each half of the pieces by itself."""
    heights = ((room.height, NEAR_MM), (room.tallest, NEAR_MM), (room.tallest, FAR_MM), (math.inf, FAR_MM))
    for height, near in heights if len(moved) == 1 else heights[:-1]:
        found = _largest(moved, (room.width, height), near, unit)
        if found is not None:
            yield _composed(found[1], found[0], room.width, unit, title)
            return
    if len(moved) == 1:
        raise CoutilError(f"The amounts of the step {title} find no place beside their marks.")
    middle = (len(moved) + 1) // 2
    for part in (moved[:middle], moved[middle:]):
        yield from _pictures(part, Room(room.width, room.tallest, room.tallest), unit, title)


def _largest(
    moved: Sequence[_Step], room: tuple[float, float], near: float, unit: Unit
) -> tuple[float, list[list[_Drawn]]] | None:
    """The largest scale that fits, with its rows; None where none does with every amount so near its mark."""
    beside = np.tile([LABELS_WIDE_MM, LABELS_HIGH_MM], (len(moved), 1))
    for scale in SCALES:
        if _least_height(moved, scale, room[0], beside) > room[1]:
            continue
        drawn = _drawn_pieces(moved, scale, near, unit)
        rows = drawn and _rows(drawn, room[0])
        if rows and _height(rows) <= room[1]:
            return scale, rows
        if drawn:
            beside = LABELS_KEPT * _room_beside(moved, drawn, scale)
    return None


@dataclass(frozen=True, slots=True, eq=False)
class _Step:
    """One piece before and after the step, with its moves, its outlines and levels, all on the pattern, mm.

    `ways` gives for each shown mark the way out of the piece and the way its moved line runs.
    """

    before: Piece
    after: Piece
    moves: PieceMoves
    old: Floats
    new: Floats
    levels: Mapping[str, Floats]
    ways: Mapping[int, tuple[Floats, Floats]]

    @classmethod
    def of(cls, before: Piece, after: Piece, moves: PieceMoves) -> _Step:
        """What is the same at every scale."""
        old, new = (np.vstack([line, line[:1]]) for line in (net_outline(before), net_outline(after)))
        ways = {mark: _ways(moves, after, mark) for mark in moves.shown()}
        return cls(before, after, moves, old, new, level_lines(after), ways)

    def bare_size(self) -> Floats:
        """Width and height on the pattern, mm, without any letter."""
        return np.asarray(np.ptp(np.concatenate([self.old, self.new]), axis=0))


def _least_height(moved: Sequence[_Step], scale: float, width: float, beside: Floats) -> float:
    """How high the picture is at least: rows of pieces with so much room beside each (m, 2) for their amounts."""
    rows, used, tall = 0.0, 0.0, 0.0
    for step, more in zip(moved, beside, strict=True):
        across, up = step.bare_size() / scale + more
        if used and used + across > width:
            rows, used, tall = rows + tall + GAP_MM, 0.0, 0.0
        used, tall = used + across + GAP_MM, max(tall, up)
    return rows + tall + FOOT_MM


def _room_beside(moved: Sequence[_Step], drawn: Sequence[_Drawn], scale: float) -> Floats:
    """What arrows and amounts took beside each piece across and up, (m, 2): much the same at every scale."""
    sizes = np.array([(piece.width, piece.height) for piece in drawn])
    return np.asarray(sizes - np.array([step.bare_size() for step in moved]) / scale)


def amount_words(across: float, up: float, unit: Unit) -> str:
    """How far a mark moves, as `→3 ↑2.5`; `0` where it stays.  The unit is mm, or sixteenths of an inch.

    A + behind an inch figure is a third of a sixteenth more, a − so much less.
    """
    parts = [
        f"{arrows[0 if moved > 0 else 1]}{_figure(abs(moved), unit)}"
        for moved, arrows in ((across, "→←"), (up, "↑↓"))
        if abs(moved) > STEP_MM[unit] / 2
    ]
    return " ".join(parts) or "0"


def _figure(mm: float, unit: Unit) -> str:
    if unit != "in":
        return f"{mm:g}"
    thirds = round(mm / STEP_MM["in"])
    sixteenths = (thirds + 1) // 3
    whole, rest = divmod(sixteenths, 16)
    fraction = str(Fraction(rest, 16)) if rest else ""
    plain = " ".join(part for part in (str(whole) if whole else "", fraction) if part)
    return (plain or "0") + ("−", "", "+")[thirds - 3 * sixteenths + 1]


def _drawn_pieces(moved: Sequence[_Step], scale: float, near: float, unit: Unit) -> list[_Drawn] | None:
    """Every piece with its arrows; None where an amount finds no place."""
    drawn = []
    for step in moved:
        piece = _piece(step, scale, near, unit)
        if piece is None:
            return None
        drawn.append(piece)
    return drawn


def _rows(drawn: Sequence[_Drawn], width: float) -> list[list[_Drawn]] | None:
    """The pieces in rows no wider than the paper; None where one is wider alone."""
    rows: list[list[_Drawn]] = [[]]
    used = 0.0
    for piece in drawn:
        if piece.width > width:
            return None
        if rows[-1] and used + GAP_MM + piece.width > width:
            rows.append([])
            used = 0.0
        used += piece.width + (GAP_MM if rows[-1] else 0.0)
        rows[-1].append(piece)
    return rows


def _height(rows: Sequence[Sequence[_Drawn]]) -> float:
    return sum(max(drawn.height for drawn in row) for row in rows) + GAP_MM * (len(rows) - 1) + FOOT_MM


def _composed(rows: Sequence[Sequence[_Drawn]], scale: float, width: float, unit: Unit, title: str) -> Picture:
    """Rows one below the other, each spread over the width, the scale bar at the foot."""
    sheet, height = Recorder(), _height(rows)
    top = height
    for row in rows:
        tall = max(drawn.height for drawn in row)
        space = (width - sum(drawn.width for drawn in row)) / (len(row) + 1)
        left = space
        for drawn in row:
            drawn.drawing.replay(Moved(sheet, left - drawn.box[0], top - tall - drawn.box[1]))
            left += drawn.width + space
        top -= tall + GAP_MM
    _draw_scale(sheet, scale, unit)
    return Picture(sheet, (width, height), title, scale_words(scale))


def scale_words(scale: float) -> str:
    """What stands below every picture."""
    return (
        f"Drawn 1:{scale:g}.  Dashed: before this step.  Solid: after it.  An arrow's point shows the new line; one "
        "that stands beside its line is level with its mark."
    )


def _draw_scale(sheet: Recorder, scale: float, unit: Unit) -> None:
    long, words = BARS[unit]
    end = long / scale
    with group(sheet, "scale"):
        bar = np.array([(0, BAR_UP_MM + TICK_MM), (0, BAR_UP_MM), (end, BAR_UP_MM), (end, BAR_UP_MM + TICK_MM)])
        sheet.polyline(bar, BAR)
        sheet.text((end + 2.0, BAR_UP_MM), f"{words} on the pattern", SCALE_TEXT_MM)


def _piece(step: _Step, scale: float, near: float, unit: Unit) -> _Drawn | None:
    """One piece with its arrows; None where an amount finds no place."""
    old, new = step.old / scale, step.new / scale
    arrows = [_Arrow.of(step, mark, scale) for mark in step.ways]
    levels = {name: line / scale for name, line in step.levels.items()}
    lines = [old, new, *levels.values(), *(stroke for arrow in arrows for stroke in arrow.strokes())]
    wanted = [arrow.wanted(amount_words(*arrow.amount, unit)) for arrow in arrows]
    labels = place_labels(wanted, lines, AMOUNT_MM, near)
    if labels is None:
        return None
    drawing = Recorder()
    with group(drawing, f"piece: {step.after.title}"):
        _draw_lines(drawing, step.before, step.after, levels, scale)
        _draw_arrows(drawing, arrows, labels)
        _draw_level_names(drawing, levels, lines, labels)
        _draw_title(drawing, step.after.title, new)
    return _Drawn(drawing, _box_of(drawing))


def _box_of(drawing: Recorder) -> tuple[float, float, float, float]:
    bounds = Bounds()
    drawing.replay(bounds)
    return bounds.box


@dataclass(frozen=True, slots=True, eq=False)
class _Arrow:
    """One mark's arrow: its point at the new line, its tail, the way out of the piece, and the amount in mm."""

    tip: Floats
    tail: Floats
    outward: Floats
    amount: tuple[float, float]

    @classmethod
    def of(cls, step: _Step, mark: int, scale: float) -> _Arrow:
        """The arrow of that mark, from where it was to where it comes to lie, long enough to be seen."""
        tip, amount = step.moves.after[mark] / scale, step.moves.amounts[mark]
        outward, ahead = step.ways[mark]
        far = float(np.hypot(*amount))
        if not far:
            return cls(tip, tip, outward, (0.0, 0.0))
        way = amount / far
        tail = tip - way * max(far / scale, SHORTEST_ARROW_MM)
        turned = math.degrees(math.acos(min(1.0, abs(float(way @ ahead)))))
        beside = outward * BESIDE_MM if turned < ALONG_DEGREES else np.zeros(2)
        return cls(tip + beside, tail + beside, outward, (float(amount[0]), float(amount[1])))

    @property
    def stays(self) -> bool:
        """Whether the mark does not move."""
        return self.amount == (0.0, 0.0)

    def strokes(self) -> list[Floats]:
        """Shaft and head, or the ring of a mark that stays."""
        if self.stays:
            turns = np.linspace(0.0, 2 * np.pi, 13)
            return [self.tip + STAYS_RADIUS_MM * np.stack([np.cos(turns), np.sin(turns)], axis=1)]
        way = self.tip - self.tail
        return [np.stack([self.tail, self.tip]), arrow_head(tuple(self.tip), tuple(way), HEAD_MM)]

    def wanted(self, words: str) -> Wanted:
        """The label: outside the piece, beyond the arrow's outer end."""
        ends = (self.tip, self.tail)
        at = max(ends, key=lambda end: float(end @ self.outward))
        return Wanted(words, (float(at[0]), float(at[1])), (float(self.outward[0]), float(self.outward[1])))


def _ways(moves: PieceMoves, after: Piece, mark: int) -> tuple[Floats, Floats]:
    """The way out of the piece at a mark, between its two edges at a corner, and the way its moved line runs."""
    edge, place = moves.piece.marks[mark].edge, moves.piece.marks[mark].place
    here = way_on(after.edge(edge).curve, place)
    if place > 0:
        return _right_of(here), here
    names = [e.name for e in after.edges]
    last = after.edges[names.index(edge) - 1].curve
    before = way_on(last, float(last.n_spans))
    both = _right_of(here) + _right_of(before)
    size = float(np.hypot(*both))
    # The arrow may lie along either of the two lines: the one it follows more closely counts.
    ahead = max((here, before), key=lambda way: abs(float(way @ moves.amounts[mark])))
    return (both / size if size > 1e-6 else _right_of(here)), ahead


def _right_of(ahead: Floats) -> Floats:
    """Out of the piece: to the right of an outline that runs anticlockwise."""
    return np.array([ahead[1], -ahead[0]])


def _draw_lines(drawing: Recorder, before: Piece, after: Piece, levels: Mapping[str, Floats], scale: float) -> None:
    with group(drawing, "levels"):
        for line in levels.values():
            drawing.polyline(line, LEVEL)
    with group(drawing, "before"):
        for edge in before.edges:
            drawing.curve(edge.curve.points / scale, BEFORE)
    with group(drawing, "after"):
        for edge in after.edges:
            drawing.curve(edge.curve.points / scale, AFTER)


def _draw_arrows(drawing: Recorder, arrows: Sequence[_Arrow], labels: Sequence[Label]) -> None:
    with group(drawing, "arrows"):
        for arrow in arrows:
            for stroke in arrow.strokes():
                drawing.polyline(stroke, STAYS if arrow.stays else ARROW)
    with group(drawing, "amounts"):
        for label in labels:
            if label.leader is not None:
                drawing.polyline(np.array(label.leader), LEADER)
            drawing.text(label.position, label.words, AMOUNT_MM, anchor="middle", colour=BLACK)


def _draw_level_names(
    drawing: Recorder, levels: Mapping[str, Floats], lines: Sequence[Floats], labels: Sequence[Label]
) -> None:
    names = [(name.replace("_", " "), line) for name, line in levels.items()]
    with group(drawing, "level names"):
        for name in place_on_lines(names, lines, labels, LEVEL_TEXT_MM):
            drawing.text(name.position, name.words, LEVEL_TEXT_MM, anchor="middle", colour=TEAL)


def _draw_title(drawing: Recorder, title: str, outline: Floats) -> None:
    """The piece's name below everything that is drawn of it."""
    left, bottom, right, _ = _box_of(drawing)
    middle = float(outline[:, 0].min() + outline[:, 0].max()) / 2
    half = text_width(title, TITLE_MM) / 2
    middle = min(max(middle, left + half), right - half) if right - left > 2 * half else middle
    drawing.text((middle, bottom - TITLE_MM * 1.6), title, TITLE_MM, anchor="middle")
