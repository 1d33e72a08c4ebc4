"""From sketches to pattern pieces: smooth curves, knots at the levels, landmarks, layers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Literal

import numpy as np

from coutil.curves import Curve
from coutil.drawing._corners import turn_between
from coutil.drawing._found import Direction, Found, Mark
from coutil.drawing._levels import WAIST
from coutil.drawing._marks import CutMarks, Marks
from coutil.drawing._names import spelt_out
from coutil.drawing._shrink import stitching_runs
from coutil.drawing._sketch import Sketch
from coutil.drawing._smooth import KINK_DEG, smooth_curve
from coutil.drawing._sure import Guesses
from coutil.drawing._values import Floats, Point
from coutil.errors import BadCurve, BadInput
from coutil.pattern import (
    USUAL_ALLOWANCES,
    CutFrom,
    Edge,
    KnotRef,
    Landmark,
    LevelMark,
    Piece,
    Role,
)

MARKED_ROLES = (Role.PANEL_SEAM, Role.SIDE_SEAM, Role.CUP_SEAM, Role.CENTRE, Role.CLOSURE)
AT_KNOT_MM = 1.0  # A level that crosses an edge this near to a knot is marked at the knot.
# A knot of the drawing that a level's own knot comes this near to is left out where the line keeps within so much: two
# knots side by side would bend sharply when the seam is altered.
BESIDE_MM = 8.0
UNCHANGED_MM = 0.045
STANDING_MM = 1e-9  # A handle shorter than this gives no direction.
SAME_PLACE_MM = 0.05  # A place stated in a marks file is a knot within this.
ON_EDGE_MM = 5.0  # A landmark drawn this near to an edge lies on it.
USUAL_CUT = (CutMarks("strength", 2, True),)


def make_pieces(sketches: Sequence[Sketch], found: Found, marks: Marks, sure: Guesses) -> list[Piece]:
    """Every sketch as a piece; raises BadInput where an edge cannot be drawn or a mark lies nowhere."""
    return [_piece(sketch, found, marks, sure) for sketch in sketches]


def _piece(sketch: Sketch, found: Found, marks: Marks, sure: Guesses) -> Piece:
    said = sketch.stated
    closed = [edge for edge in sketch.edges if edge.role is Role.CLOSURE]
    piece = Piece(
        sketch.name,
        said.title or spelt_out(sketch.name).replace("_", " ").capitalize(),
        sketch.part,
        tuple(_curved(sketch, marks, sure)),
        sketch.levels,
        grain_deg=_grain(sketch, found.grains) if said.grain is None else said.grain,
        cut=tuple(CutFrom(c.layer, c.count, c.mirrored) for c in (USUAL_CUT if said.cut is None else said.cut)),
        centre_cut=_centre_cut(sketch),
        eyelets=bool(closed) and sketch.part == "back" if said.eyelets is None else said.eyelets,
    )
    piece = _with_landmarks(piece, sketch, found.marks, sure)
    return _with_level_marks(piece, sketch)


def _curved(sketch: Sketch, marks: Marks, sure: Guesses) -> Iterator[Edge]:
    runs = [(edge.spans, edge.flat) for edge in sketch.edges]
    if _is_cut(sketch, marks):
        _tell_widths(sketch, sure)
        widths = [_allowance(edge.role, edge.allowance) for edge in sketch.edges]
        runs = stitching_runs(runs, widths, sketch.name)
    for edge, (spans, flat) in zip(sketch.edges, runs, strict=True):
        try:
            curve = smooth_curve(spans, flat)
        except BadCurve as error:
            raise BadInput(f"Edge {edge.name} of piece {sketch.name} cannot be drawn: {error}.") from error
        assert edge.role is not None
        yield Edge(edge.name, curve, edge.role, edge.straight, edge.allowance)


def _tell_widths(sketch: Sketch, sure: Guesses) -> None:
    """Allowances nobody stated are the usual ones, which is a guess worth a look."""
    unstated = {edge.role: _allowance(edge.role, None) for edge in sketch.edges if edge.allowance is None and edge.role}
    if unstated:
        told = ", ".join(f"{role.value} {width:g}" for role, width in unstated.items())
        reason = "a cut line was drawn and no allowance stated: these are the usual ones, mm"
        sure.add(f"piece {sketch.name}", f"allowances {told}", 0.4, reason)


def _is_cut(sketch: Sketch, marks: Marks) -> bool:
    """Whether the outline is the cut line: as the drawing says of this piece, else as the marks say of all."""
    if sketch.loop.word:
        return sketch.loop.word == "cut" and marks.drawn != "stitching"
    return marks.drawn == "cut"


def _allowance(role: Role | None, stated: float | None) -> float:
    return stated if stated is not None else USUAL_ALLOWANCES[role] if role is not None else 0.0


def _centre_cut(sketch: Sketch) -> Literal["open", "fold"] | None:
    said = sketch.stated.centre_cut
    if said is not None:
        return None if said == "none" else said
    return "open" if any(edge.role is Role.CENTRE for edge in sketch.edges) else None


def _grain(sketch: Sketch, grains: Sequence[Direction]) -> float:
    """Degrees from the x axis, 0 to 180, of the grain line drawn on the piece; upright where none is."""
    for grain in grains:
        middle = ((grain.a[0] + grain.b[0]) / 2, (grain.a[1] + grain.b[1]) / 2)
        if grain.piece == sketch.loop.piece or (not grain.piece and _covers(sketch, middle)):
            a, b = sketch.placed(np.array([grain.a, grain.b]))
            return float(np.degrees(np.arctan2(b[1] - a[1], b[0] - a[0])) % 180.0)
    return 90.0


def _covers(sketch: Sketch, at: Point, within: float = 0.0) -> bool:
    from shapely import Point as ShapelyPoint

    return bool(sketch.loop.polygon.distance(ShapelyPoint(at)) <= within)


# --- landmarks ---------------------------------------------------------------------------------------------


def _with_landmarks(piece: Piece, sketch: Sketch, marks: Sequence[Mark], sure: Guesses) -> Piece:
    if sketch.stated.landmarks is not None:
        for name, said in sketch.stated.landmarks.items():
            piece, at = with_knot(piece, said.edge, said.at, f"landmark {name}")
            piece = replace(piece, landmarks=(*piece.landmarks, Landmark(name, at)))
        return piece
    for mark in marks:
        if mark.piece == sketch.loop.piece or (not mark.piece and _covers(sketch, mark.at, ON_EDGE_MM)):
            piece = _with_mark(piece, sketch, mark, sure)
    return piece


def _with_mark(piece: Piece, sketch: Sketch, mark: Mark, sure: Guesses) -> Piece:
    x, y = sketch.placed(np.array([mark.at]))[0]
    at = (float(x), float(y))
    seams = [e for e in piece.edges if e.role in (Role.CUP_SEAM, Role.PANEL_SEAM)] if mark.name != "drill" else []
    near = min(seams or piece.edges, key=lambda edge: edge.curve.closest(at).distance)
    name = "bust_point" if mark.name == "drill" else mark.name
    others = min(piece.edges, key=lambda edge: edge.curve.closest(at).distance)
    edge = near if near.curve.closest(at).distance <= SAME_PLACE_MM else others
    away = edge.curve.closest(at).distance
    if away > ON_EDGE_MM or piece.landmark(name) is not None:
        sure.remarks.append(f"The mark {name} at ({at[0]:.0f}, {at[1]:.0f}) of piece {piece.name} was left out.")
        return piece
    told = "a circle of that name" if mark.name != "drill" else "a circle without a name on an edge"
    sure.add(f"piece {piece.name}", f"{name} on {edge.name}", 0.95 if mark.name != "drill" else 0.6, told)
    piece, ref = with_knot(piece, edge.name, at, f"landmark {name}", ON_EDGE_MM)
    return replace(piece, landmarks=(*piece.landmarks, Landmark(name, ref)))


def with_knot(piece: Piece, edge: str, at: Point, what: str, within: float = 2.0) -> tuple[Piece, KnotRef]:
    """The piece with a knot of that edge at a place; every mark it has keeps its own knot.

    Raises BadInput where the edge is not there or lies further off than `within` mm.
    """
    curve = next((e.curve for e in piece.edges if e.name == edge), None)
    if curve is None:
        raise BadInput(f"Piece {piece.name}: {what} names edge {edge}, which is not there.")
    away = np.hypot(*(curve.knots - np.asarray(at)).T)
    if away.min() <= SAME_PLACE_MM:
        return piece, KnotRef(edge, int(np.argmin(away)))
    found = curve.closest(at)
    if found.distance > within:
        raise BadInput(f"Piece {piece.name}: {what} lies {found.distance:.1f} mm from edge {edge}: correct its place.")
    divided, knot = curve.with_knot_at(found.along)
    if divided.n_spans == curve.n_spans:
        return piece, KnotRef(edge, knot)
    return _redrawn(piece, edge, divided, knot), KnotRef(edge, knot)


def _redrawn(piece: Piece, edge: str, curve: Curve, knot: int) -> Piece:
    """A new knot moves the numbers of those behind it."""

    def kept(at: KnotRef) -> KnotRef:
        return KnotRef(edge, at.knot + 1) if at.edge == edge and at.knot >= knot else at

    return replace(
        piece.with_curves({edge: curve}),
        landmarks=tuple(Landmark(mark.name, kept(mark.at)) for mark in piece.landmarks),
        level_marks=tuple(LevelMark(mark.level, kept(mark.at)) for mark in piece.level_marks),
    )


# --- levels ------------------------------------------------------------------------------------------------


def _with_level_marks(piece: Piece, sketch: Sketch) -> Piece:
    """A knot and a mark wherever a level crosses an edge that is sewn upright, or as the marks file states."""
    if sketch.stated.level_marks is not None:
        for said in sketch.stated.level_marks:
            piece, at = with_knot(piece, said.edge, said.at, f"the mark of level {said.level}")
            piece = replace(piece, level_marks=(*piece.level_marks, LevelMark(said.level, at)))
        return piece
    for level, height in piece.levels.items():
        for edge in [edge.name for edge in piece.edges if edge.role in MARKED_ROLES]:
            piece = _marked(piece, edge, level, height)
    return piece


def _marked(piece: Piece, edge: str, level: str, height: float) -> Piece:
    for along in _crossings(piece.edge(edge).curve, height):
        curve = piece.edge(edge).curve
        nearest = int(np.argmin(np.abs(curve.knot_lengths - along)))
        if abs(curve.knot_lengths[nearest] - along) <= AT_KNOT_MM:
            knot = nearest
        else:
            divided, knot = curve.with_knot_at(along)
            piece = _redrawn(piece, edge, divided, knot)
            piece, knot = _without_neighbour(piece, edge, knot)
        piece = replace(piece, level_marks=(*piece.level_marks, LevelMark(level, KnotRef(edge, knot))))
    return piece


def _without_neighbour(piece: Piece, edge: str, knot: int) -> tuple[Piece, int]:
    """The piece without a knot that lies close to this one and marks nothing, and this one's new number."""
    curve = piece.edge(edge).curve
    places = [*(mark.at for mark in piece.landmarks), *(mark.at for mark in piece.level_marks)]
    marked = {at.knot for at in places if at.edge == edge}
    for beside in (knot - 1, knot + 1):
        inner = 0 < beside < curve.n_spans and beside not in marked
        if inner and abs(curve.knot_lengths[beside] - curve.knot_lengths[knot]) <= BESIDE_MM:
            joined = _joined(curve, beside)
            if joined is not None:
                return _renumbered(piece, edge, joined, beside), knot - (beside < knot)
    return piece, knot


def _joined(curve: Curve, knot: int) -> Curve | None:
    """The curve with both spans at a knot drawn as one, or None where one cannot be near enough to them.

    The longer span is drawn on to the end of the other: into its direction if it can be, else in its own, so that a
    turn too small to see stays where it was.
    """
    before, after = curve.spans[knot - 1], curve.spans[knot]
    looked = Curve.from_spans(np.stack((before, after))).flatten(UNCHANGED_MM / 10)
    backward = curve.span_lengths[knot - 1] < curve.span_lengths[knot]
    longer, end = (after[::-1], before[0]) if backward else (before, after[3])
    own = _drawn_on(longer, end)
    other = (before[0] - before[1]) if backward else (after[3] - after[2])
    for one in (_turned(own, other), own):
        span = one[::-1] if backward else one
        spans = np.concatenate((curve.spans[: knot - 1], span[None], curve.spans[knot + 1 :]))
        near = max(Curve.from_spans(span[None]).closest(point).distance for point in looked) <= UNCHANGED_MM
        if near and max((turn_between(a, b) for a, b in pairwise(spans)), default=0.0) <= KINK_DEG:
            return Curve.from_spans(spans)
    return None


def _drawn_on(span: Floats, end: Floats) -> Floats:
    """The cubic span (4, 2) drawn on beyond its end to a place close by."""
    handle = 3.0 * float(np.hypot(*(span[3] - span[2])))
    longer = _up_to(span, 1.0 + float(np.hypot(*(end - span[3]))) / max(handle, STANDING_MM))
    return np.stack((longer[0], longer[1], longer[2] + end - longer[3], end))


def _turned(span: Floats, direction: Floats) -> Floats:
    """The span with its last handle in that direction."""
    handle, size = float(np.hypot(*(span[3] - span[2]))), float(np.hypot(*direction))
    if size <= STANDING_MM:
        return span
    return np.stack((*span[:2], span[3] - direction * (handle / size), span[3]))


def _up_to(span: Floats, t: float) -> Floats:
    """The part of a cubic from 0 to t, which may lie beyond 1 (de Casteljau's construction)."""
    rows = [span]
    for _ in range(3):
        rows.append(rows[-1][:-1] * (1.0 - t) + rows[-1][1:] * t)
    return np.stack([row[0] for row in rows])


def _renumbered(piece: Piece, edge: str, curve: Curve, gone: int) -> Piece:
    """A knot left out moves the numbers of those behind it."""

    def kept(at: KnotRef) -> KnotRef:
        return KnotRef(edge, at.knot - 1) if at.edge == edge and at.knot > gone else at

    return replace(
        piece.with_curves({edge: curve}),
        landmarks=tuple(Landmark(mark.name, kept(mark.at)) for mark in piece.landmarks),
        level_marks=tuple(LevelMark(mark.level, kept(mark.at)) for mark in piece.level_marks),
    )


def _crossings(curve: Curve, height: float) -> list[float]:
    """Where the level crosses; an end that misses it by a hair counts, and an edge along it does not."""
    found = [crossing.along for crossing in curve.crossings(height)]
    if found:
        return found[:1] if len(found) == 1 else []
    ends = [(abs(float(point[1]) - height), along) for point, along in ((curve.start, 0.0), (curve.end, curve.length))]
    return [along for away, along in ends if away <= AT_KNOT_MM][:1]


def level_names(pieces: Sequence[Piece]) -> list[str]:
    """All levels the pieces carry, from the highest; those of pieces without a waist first."""
    heights: dict[str, float] = {}
    for piece in pieces:
        for level, height in piece.levels.items():
            if WAIST in piece.levels:
                heights[level] = height - piece.levels[WAIST]
    cups = [level for piece in pieces for level in piece.levels if level not in heights]
    return [*dict.fromkeys(cups), *sorted(heights, key=lambda level: -heights[level])]


def waist_heights(pieces: Sequence[Piece]) -> Mapping[str, float]:
    """Height above the waist of every level that a piece with a waist carries; the first such piece tells."""
    heights: dict[str, float] = {}
    for piece in pieces:
        if WAIST in piece.levels:
            for level, height in piece.levels.items():
                heights.setdefault(level, height - piece.levels[WAIST])
    return heights
