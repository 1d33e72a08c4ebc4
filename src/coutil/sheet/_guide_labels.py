"""Where the amount beside an arrow goes: near its mark, over no line, over no other amount.

Millimetres on the paper.  Every label has a list of places round its mark, the best first; the first free one is
taken.  A label that stands off from its mark is joined to it by a thin leader.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from coutil.sheet._drawing import Floats, text_width

# Room between a label and any line, and between two labels, mm.
LINE_GAP_MM = 0.45
LABEL_GAP_MM = 0.6

# How far from the mark a label may begin, mm.
REACHES = (1.0, 2.0, 3.2, 4.8, 6.8, 9.0, 12.0, 15.0, 19.0, 24.0)

# Directions tried, degrees off the way outward.
TURNS = (0.0, 20.0, -20.0, 40.0, -40.0, 60.0, -60.0, 85.0, -85.0, 110.0, -110.0, 140.0, -140.0, 180.0)

# A degree off the way outward costs as much as so many mm of reach.
COST_PER_DEGREE = 0.028

# Further off than this a leader joins label and mark; it leaves the mark by so much free, mm.
LED_MM = 2.6
LEADER_FREE_MM = 0.9

# Most labels find a place among the first few, so that only these are looked at first.
TRIED_AT_ONCE = 20

# Nothing is divided by less.
SHORT = 1e-9

# A level's name is tried at these parts of its line, above it first.
LEVEL_PLACES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)

# Leaders that meet a line within this of the mark only leave the mark's own line, mm.
OWN_LINE_MM = 1.2


@dataclass(frozen=True, slots=True)
class Wanted:
    """A label to place: its words, where its mark is, and the way outward (a unit vector)."""

    words: str
    at: tuple[float, float]
    outward: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Label:
    """A placed label: its words, the middle of its baseline, its room (left, bottom, right, top) and its leader."""

    words: str
    position: tuple[float, float]
    box: tuple[float, float, float, float]
    leader: tuple[tuple[float, float], tuple[float, float]] | None


def place_labels(wanted: Sequence[Wanted], lines: Sequence[Floats], height: float, near: float) -> list[Label] | None:
    """A place for every label, clear of all lines and of each other; None where one finds none.

    No label begins farther than `near` mm from its mark.
    """
    drawn = shapely.union_all([LineString(line) for line in lines])
    shapely.prepare(drawn)
    placed: list[Label] = []
    for label in wanted:
        found = _place(label, drawn, placed, height, near)
        if found is None:
            return None
        placed.append(found)
    return placed


def place_on_lines(
    names: Iterable[tuple[str, Floats]], lines: Sequence[Floats], labels: Sequence[Label], height: float
) -> list[Label]:
    """A name above or below each line (2, 2) from left to right, clear of everything; left out where none is free."""
    drawn = shapely.union_all([LineString(line) for line in lines])
    shapely.prepare(drawn)
    placed = list(labels)
    for words, line in names:
        boxes = _boxes_on(words, line, height)
        free = _clear_of_labels(boxes, placed)
        free &= ~shapely.intersects(drawn, shapely.box(*_grown(boxes, LINE_GAP_MM / 2).T))
        if free.any():
            left, bottom, right, top = (float(side) for side in boxes[int(np.argmax(free))])
            position = ((left + right) / 2, bottom + height / 3)
            placed.append(Label(words, position, (left, bottom, right, top), None))
    return placed[len(labels) :]


def _boxes_on(words: str, line: Floats, height: float) -> Floats:
    half = np.array([text_width(words, height) / 2, height * 2 / 3])
    off = np.array([0.0, half[1] + LINE_GAP_MM])
    middles = np.array([line[0] + part * (line[1] - line[0]) + off * side for part in LEVEL_PLACES for side in (1, -1)])
    return np.concatenate([middles - half, middles + half], axis=1)


def _place(wanted: Wanted, drawn: BaseGeometry, placed: Sequence[Label], height: float, near: float) -> Label | None:
    """The first free place with a clear leader, else the first free one whose leader crosses lines alone."""
    boxes, second = _boxes(wanted, height, near), None
    for begun in range(0, len(boxes), TRIED_AT_ONCE):
        some = boxes[begun : begun + TRIED_AT_ONCE]
        free = _clear_of_labels(some, placed)
        free[free] = ~shapely.intersects(drawn, shapely.box(*_grown(some[free], LINE_GAP_MM).T))
        for i in np.flatnonzero(free):
            label = _label(wanted, some[i], height)
            if label.leader is None or not _meets_labels(label, placed):
                if label.leader is None or _leaves_lines(label, wanted, drawn):
                    return label
                second = second or label
    return second


def _boxes(wanted: Wanted, height: float, near: float) -> Floats:
    """The rooms a label may take, (k, 4), the best first: each begins so far off the mark, so far turned."""
    half = np.array([text_width(wanted.words, height) / 2, height * 2 / 3])
    reaches, turns = _tries(near)
    angles = math.atan2(wanted.outward[1], wanted.outward[0]) + np.radians(turns)
    ways = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    deep = np.min(half / np.maximum(np.abs(ways), SHORT), axis=1)
    middles = np.array(wanted.at) + ways * (reaches + deep)[:, None]
    return np.concatenate([middles - half, middles + half], axis=1)


@cache
def _tries(near: float) -> tuple[Floats, Floats]:
    """Reaches up to `near` and turns, the cheapest pair first."""
    pairs = [(reach, turn) for reach in REACHES if reach <= near for turn in TURNS]
    ordered = np.array(sorted(pairs, key=lambda pair: pair[0] + COST_PER_DEGREE * abs(pair[1])))
    return ordered[:, 0], ordered[:, 1]


def _grown(boxes: Floats, by: float) -> Floats:
    return np.asarray(boxes + np.array([-by, -by, by, by]))


def _clear_of_labels(boxes: Floats, placed: Sequence[Label]) -> np.ndarray:
    free = np.ones(len(boxes), dtype=bool)
    if not placed:
        return free
    taken = np.array([label.box for label in placed])
    grown = _grown(boxes, LABEL_GAP_MM)[:, None, :]
    apart = (
        (grown[..., 2] <= taken[:, 0])
        | (grown[..., 0] >= taken[:, 2])
        | (grown[..., 3] <= taken[:, 1])
        | (grown[..., 1] >= taken[:, 3])
    )
    leaders = [LineString(label.leader) for label in placed if label.leader is not None]
    free &= apart.all(axis=1)
    if leaders:
        free &= ~shapely.intersects(shapely.union_all(leaders), shapely.box(*_grown(boxes, LINE_GAP_MM).T))
    return free


def _label(wanted: Wanted, box: Floats, height: float) -> Label:
    """The label in that room, with a leader where it stands off."""
    left, bottom, right, top = (float(side) for side in box)
    at = np.array(wanted.at)
    near = np.clip(at, (left, bottom), (right, top))
    away = float(np.hypot(*(near - at)))
    leader = None
    if away > LED_MM:
        start = at + (near - at) / away * LEADER_FREE_MM
        end = near - (near - at) / away * LINE_GAP_MM
        leader = ((float(start[0]), float(start[1])), (float(end[0]), float(end[1])))
    return Label(wanted.words, ((left + right) / 2, bottom + height / 3), (left, bottom, right, top), leader)


def _meets_labels(label: Label, placed: Sequence[Label]) -> bool:
    """Whether the label's leader crosses another label or leader."""
    line = LineString(label.leader)
    others = [LineString(other.leader) for other in placed if other.leader is not None]
    return bool(
        np.any(shapely.intersects(line, shapely.box(*np.array([other.box for other in placed]).reshape(-1, 4).T)))
        or np.any(shapely.intersects(line, others))
    )


def _leaves_lines(label: Label, wanted: Wanted, drawn: BaseGeometry) -> bool:
    """Whether the label's leader crosses no line except the one its mark lies on."""
    beyond = LineString(label.leader).difference(shapely.Point(wanted.at).buffer(OWN_LINE_MM))
    return not shapely.intersects(drawn, beyond)
