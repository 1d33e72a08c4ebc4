"""Eyelets, the opening needed to get in, and the lace.  Millimetres."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType

from coutil.cut._channels import WAIST, laced_edges, line_beside
from coutil.cut._order import OrderOptions, PutOn
from coutil.cut._ordered import opens_in_front
from coutil.cut._ribbons import Floats
from coutil.errors import BadStyle
from coutil.measure import Chart
from coutil.pattern import Edge, Piece, Spread, Style, girth, scan, spread_out

# More than a lacing opens with ease (common practice).
BUSK_ADVISED_MM = 350.0

# The two loops at the waist and the two tails, each as long as a hand needs to pull (common practice).
LOOP_MM = 300.0
TAIL_MM = 300.0
LACE_STEP_MM = 100.0

# Which girth must pass through the opening, the best first.
GIRTHS: Mapping[PutOn, tuple[str, ...]] = MappingProxyType(
    {"stepped_into": ("hip_girth", "high_hip_girth"), "over_the_head": ("shoulder_girth",)}
)

NET_STEP_MM = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class EyeletLine:
    """The eyelets beside one closure: points (n, 2) in the piece's frame from the lowest up.

    `along` is how far each lies above the hem's finished edge on the eyelet line; `length` is that line's;
    `sides` how often the line is on the garment; `waist` the eyelet just below the waist, None without one.
    """

    piece: str
    title: str
    points: Floats
    along: tuple[float, ...]
    length: float
    sides: int
    waist: int | None

    @property
    def count(self) -> int:
        """Eyelets on one edge."""
        return len(self.along)

    @property
    def pitches(self) -> tuple[float, ...]:
        """From each eyelet to the next one up, mm."""
        return tuple(b - a for a, b in pairwise(self.along))


@dataclass(frozen=True, slots=True)
class Opening:
    """What must pass: `through` names the girth, `body` is it, `narrowest` the narrowest net girth.

    `needed` is how far the lacing must open, 0 where the front opens; `gap` is what the lace is made for.
    """

    through: str
    body: float
    narrowest: float
    height: float
    front_opens: bool
    needed: float
    gap: float

    @property
    def busk_advised(self) -> bool:
        """Whether the lacing would have to open further than it does with ease."""
        return self.needed > BUSK_ADVISED_MM


@dataclass(frozen=True, slots=True)
class Lace:
    """One lace, criss-cross: `exact` by the formula, `length` rounded up to 10 cm."""

    pairs: int
    gap: float
    exact: float
    length: float


def eyelet_lines(style: Style, options: OrderOptions) -> tuple[EyeletLine, ...]:
    """The eyelets of every laced closure.

    First and last `eyelet_inset` inside the finished edge, two pairs astride the waist, and between these and
    the ends even spacing as near as whole numbers come to `eyelet_spacing`.
    """
    return tuple(
        line
        for piece in style.pieces
        for edge in laced_edges(piece)
        if (line := _eyelet_line(style, piece, edge, options)) is not None
    )


def find_opening(style: Style, chart: Chart, options: OrderOptions) -> Opening | None:
    """Hip or, over the head, shoulder girth less the narrowest net girth; None where that girth is not known.

    Example: hip 960 less net waist 596 is 364: more than 350, so a busk is advised; over the head with shoulders
    of 1040 it is 444.
    """
    known = next((key for key in GIRTHS[options.put_on] if chart.get(key) is not None), None)
    if known is None:
        return None
    height, net = narrowest_net(style)
    front = opens_in_front(style)
    needed = 0.0 if front else max(0.0, chart[known] - net)
    gap = options.donning_gap if front else max(needed, options.donning_gap)
    return Opening(known, chart[known], net, height, front, needed, gap)


def narrowest_net(style: Style | Spread) -> tuple[float, float]:
    """Height above the waist and net girth of the narrowest place, looked for every 2 mm, mm."""
    spread = spread_out(style)
    found = [*_scanned(spread), *_at_levels(spread)]
    if not found:
        raise BadStyle(f"style {spread.style.name} has no level that goes all the way round")
    return min(found, key=lambda place: place[1])


def find_lace(lines: Sequence[EyeletLine], gap: float, options: OrderOptions) -> Lace | None:
    """The lace for the longest eyelet line opened to `gap`; None without eyelets.

    Each crossing spans gap + 2 x (eyelet to edge) and one pitch: length = 2 x sum of crossings + one bar
    straight across + two loops of 300 at the waist + two tails of 300.
    """
    longest = max(lines, key=lambda line: line.count, default=None)
    if longest is None or longest.count < 2:
        return None
    exact = lace_length(longest.pitches, gap, options.eyelet_line)
    return Lace(longest.count, gap, exact, math.ceil(exact / LACE_STEP_MM - 1e-9) * LACE_STEP_MM)


def lace_length(pitches: Sequence[float], gap: float, to_edge: float) -> float:
    """Length of one criss-cross lace with loops and tails, mm; `to_edge` from eyelet middle to edge.

    Example: 14 pairs 25 apart, gap 200, 12 from the edge: 13 x 2 crossings of sqrt(224² + 25²) = 225.39, one
    bar of 224 and 1200 make 7284.
    """
    across = gap + 2 * to_edge
    crossings = sum(2 * math.hypot(across, pitch) for pitch in pitches)
    return crossings + across + 2 * LOOP_MM + 2 * TAIL_MM


def spaced(low: float, high: float, waist: float | None, options: OrderOptions) -> tuple[float, ...]:
    """Places from low to high, both used; two astride `waist` where that lies well inside.

    Example: 13 to 264 with the waist at 90, 13 apart there and 22 elsewhere: 83.5 and 96.5 at the waist,
    below it 3 steps of 23.5, above it 8 steps of 20.94; 13 places.
    """
    half = options.eyelet_waist / 2
    if waist is None or not low + half < waist - half < waist + half < high - half:
        return tuple(_even(low, high, options.eyelet_spacing))
    below = _even(low, waist - half, options.eyelet_spacing)
    return (*below, *_even(waist + half, high, options.eyelet_spacing))


def _even(low: float, high: float, wanted: float) -> Iterator[float]:
    steps = max(1, round((high - low) / wanted))
    yield from (low + (high - low) * i / steps for i in range(steps + 1))


def _eyelet_line(style: Style, piece: Piece, edge: Edge, options: OrderOptions) -> EyeletLine | None:
    line = line_beside(piece, edge, options.eyelet_line)
    if line is None or line.length <= 2 * options.eyelet_inset:
        return None
    crossed = line.crossings(piece.levels[WAIST]) if WAIST in piece.levels else ()
    waist = crossed[0].along if crossed else None
    along = spaced(options.eyelet_inset, line.length - options.eyelet_inset, waist, options)
    astride = None if waist is None else next((i for i, (a, b) in enumerate(pairwise(along)) if a < waist < b), None)
    return EyeletLine(piece.name, piece.title, line.points_at(along), along, line.length, style.sides, astride)


def _scanned(spread: Spread) -> Iterator[tuple[float, float]]:
    """Height and girth between the highest and the lowest level that a girth is measured at."""
    depths = {level.name: level.depth for level in spread.style.levels if level.depth is not None}
    ends = sorted(depths, key=lambda name: depths[name] or 0.0)
    if len(ends) < 2:
        return
    try:
        found = scan(spread, NET_STEP_MM, ends[0], ends[-1])
    except BadStyle:
        # No piece reaches from end to end: the levels alone say how narrow it is.
        return
    yield from ((float(height), float(full)) for height, full in found)


def _at_levels(spread: Spread) -> Iterator[tuple[float, float]]:
    for level in spread.style.levels:
        if _goes_round(spread.style, level.name):
            yield -(level.depth or 0.0), girth(spread, level.name).full


def _goes_round(style: Style, level: str) -> bool:
    """Whether front and back carry the level."""
    return {"front", "back"} <= {piece.part for piece in style.pieces if level in piece.levels}
