"""The tape: the length between two touched points, on the result, on the base, and on what is sewn to it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coutil.alter import Alteration
from coutil.curves import Curve
from coutil.errors import BadInput
from coutil.measure import Unit
from coutil.pattern import EdgeRef, Seam, Style, pairs_along, spread_out
from coutil.pattern import mate as mate_along
from coutil.workroom._alteration_looks import edge_title, finest, seam_title
from coutil.workroom._alteration_shapes import edge_path
from coutil.workroom._alteration_wire import Tape, TapeLine, TapePoint, TapeReading

# Two touches nearer than this along an edge are one point.
SAME_POINT_MM = 0.05

Chain = tuple[EdgeRef, ...]


@dataclass(frozen=True, slots=True)
class Touch:
    """A touched point brought onto its edge: `along` on the result, `base_along` at the same place of the base."""

    ref: EdgeRef
    along: float
    base_along: float
    point: NDArray[np.float64]
    base_point: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Run:
    """Both touches on one side of a seam: that side, the other, and the seam."""

    seam: Seam
    own: Chain
    other: Chain
    is_a: bool


def read_tape(alteration: Alteration, first: TapePoint, second: TapePoint, unit: Unit) -> Tape:
    """What the tape reads between two touched points; raises BadInput where no tape can be laid.

    Along the edge, or along the seam where both lie on one side of it, with the mate's length between the same
    match points; otherwise straight across one piece.
    """
    touches = (_touch(alteration, first), _touch(alteration, second))
    run = _run(alteration.style, touches)
    if run is not None:
        return _along_seam(alteration, run, touches, unit)
    if touches[0].ref == touches[1].ref:
        return _along_edge(alteration, touches, unit)
    if touches[0].ref.piece == touches[1].ref.piece:
        return _across(alteration, touches, unit)
    raise BadInput("Lay the tape along one edge, along one seam, or across one piece: these two points share none.")


def _touch(alteration: Alteration, at: TapePoint) -> Touch:
    piece, _, edge = at.edge.partition("/")
    ref = EdgeRef(piece, edge)
    result, base = alteration.style.curve(ref), alteration.base.curve(ref)
    along = result.closest((at.x, -at.y)).along
    before = same_place(result, base, along)
    return Touch(ref, along, before, result.point_at(along), base.point_at(before))


def same_place(result: Curve, base: Curve, along: float) -> float:
    """Where on the base the same part of the same span lies; both curves have the same knots."""
    k = int(np.clip(np.searchsorted(result.knot_lengths, along, side="right") - 1, 0, result.n_spans - 1))
    part = (along - float(result.knot_lengths[k])) / float(result.span_lengths[k])
    return float(base.knot_lengths[k] + min(max(part, 0.0), 1.0) * base.span_lengths[k])


def _run(style: Style, touches: tuple[Touch, Touch]) -> Run | None:
    for seam in style.seams:
        for own, other, is_a in ((seam.a, seam.b, True), (seam.b, seam.a, False)):
            if all(_position(own, touch.ref) is not None for touch in touches):
                return Run(seam, own, other, is_a)
    return None


def _position(chain: Chain, ref: EdgeRef) -> int | None:
    return next((i for i, r in enumerate(chain) if (r.piece, r.edge) == (ref.piece, ref.edge)), None)


def _along_seam(alteration: Alteration, run: Run, touches: tuple[Touch, Touch], unit: Unit) -> Tape:
    style = alteration.style
    now = sorted(_along_chain(style, run.own, touch, touch.along) for touch in touches)
    before = sorted(_along_chain(alteration.base, run.own, touch, touch.base_along) for touch in touches)
    _require_apart(now)
    there = [_mate(style, run, distance) for distance in now]
    readings = (
        _reading("result", now[1] - now[0], unit),
        _reading("base", before[1] - before[0], unit),
        _reading("mate", abs(there[1] - there[0]), unit),
    )
    own = _lines(style, run.own, now, mate=False)
    return Tape(seam_title(style, run.seam), readings, (*own, *_lines(style, run.other, sorted(there), mate=True)))


def _along_chain(style: Style, chain: Chain, touch: Touch, along: float) -> float:
    at = _position(chain, touch.ref)
    assert at is not None
    length = style.curve(touch.ref).length
    before = sum(style.curve(ref).length for ref in chain[:at])
    return before + (length - along if chain[at].backward else along)


def _mate(style: Style, run: Run, distance: float) -> float:
    spread = spread_out(style)
    ends = (spread.chain_length(run.own), spread.chain_length(run.other))
    pairs = [(name, a, b) if run.is_a else (name, b, a) for name, a, b in pairs_along(spread, run.seam)]
    return mate_along(pairs, ends, distance)


def _lines(style: Style, chain: Chain, stretch: list[float], mate: bool) -> Iterator[TapeLine]:
    """The parts of a chain between two distances along it, edge by edge."""
    before = 0.0
    for ref in chain:
        curve = style.curve(ref)
        start, end = max(stretch[0] - before, 0.0), min(stretch[1] - before, curve.length)
        before += curve.length
        if end - start > SAME_POINT_MM:
            ends = (curve.length - end, curve.length - start) if ref.backward else (start, end)
            yield TapeLine(ref.piece, edge_path(part_of(curve, *ends)), mate)


def part_of(curve: Curve, start: float, end: float) -> Curve:
    """The curve between two arc lengths, start before end."""
    rest = curve.split(start)[1] if start > SAME_POINT_MM else curve
    kept = end - (curve.length - rest.length)
    return rest.split(kept)[0] if rest.length - kept > SAME_POINT_MM else rest


def _along_edge(alteration: Alteration, touches: tuple[Touch, Touch], unit: Unit) -> Tape:
    ref = touches[0].ref
    now = sorted(touch.along for touch in touches)
    before = sorted(touch.base_along for touch in touches)
    _require_apart(now)
    readings = (_reading("result", now[1] - now[0], unit), _reading("base", before[1] - before[0], unit))
    piece = alteration.style.piece(ref.piece)
    return Tape(edge_title(piece, ref.edge), readings, tuple(_lines(alteration.style, (ref,), now, mate=False)))


def _across(alteration: Alteration, touches: tuple[Touch, Touch], unit: Unit) -> Tape:
    now = [touch.point for touch in touches]
    before = [touch.base_point for touch in touches]
    spans = [float(np.linalg.norm(pair[1] - pair[0])) for pair in (now, before)]
    _require_apart([0.0, spans[0]])
    piece = alteration.style.piece(touches[0].ref.piece)
    line = TapeLine(piece.name, edge_path(Curve.line(now[0], now[1])), mate=False)
    readings = (_reading("result", spans[0], unit), _reading("base", spans[1], unit))
    return Tape(f"Straight across the {piece.title.lower()}", readings, (line,))


def _require_apart(ends: list[float]) -> None:
    if ends[1] - ends[0] <= SAME_POINT_MM:
        raise BadInput("Both ends of the tape lie on one point: touch a second one.")


def _reading(name: str, mm: float, unit: Unit) -> TapeReading:
    return TapeReading(name, round(mm, 3), finest(mm, unit))
