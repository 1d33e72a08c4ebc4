"""What a step asks the hand to do, and how it goes wrong: sentences made from the row's moves and the style's roles."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from enum import StrEnum

from coutil.alter import Move, PlanRow, State
from coutil.measure import Unit
from coutil.pattern import Edge, Piece, Role, Style
from coutil.sheet._workroom_words import listed, plain, sentence_case, small

# Less than this is no move, mm.
NOTHING_MM = 1e-6

# A larger band is let in or taken out in two places (design rule of the length row).
ONE_BAND_MM = 25.0

FOOT, HEM = "foot", "hem_line"


class Method(StrEnum):
    """How a row is drawn."""

    BAND = "band"
    RULED = "ruled"
    PARALLEL = "parallel"
    CURVE = "curve"
    ALONG = "along"
    TURN = "turn"
    APART = "apart"
    SLIDE = "slide"
    HEM = "hem"
    TRUE = "true"


def method_of(row: PlanRow, base: Style) -> Method:
    """How the row is drawn, from its kind of move, the place it names and the role of the edge."""
    moves = moved_by(row)
    if not moves:
        return Method.TRUE
    first = moves[0]
    if first.kind == "apart":
        return Method.APART
    if first.kind == "along":
        return Method.TURN if first.level == FOOT else Method.ALONG
    if first.kind == "sideways":
        return _sideways(moves, base)
    if row.group == "length":
        return Method.BAND
    return Method.HEM if first.level == HEM else Method.SLIDE


def _sideways(moves: Sequence[Move], base: Style) -> Method:
    if moves[0].level is not None:
        return Method.CURVE
    upright = all(base.piece(move.piece).edge(move.edge).role.is_vertical for move in moves)
    return Method.RULED if upright else Method.PARALLEL


def moved_by(row: PlanRow) -> tuple[Move, ...]:
    """The row's moves that are not nothing."""
    return tuple(move for move in row.moves if abs(move.amount) > NOTHING_MM)


def what_to_do(row: PlanRow, base: Style, unit: Unit) -> tuple[str, ...]:
    """The row's own work in the order of the hand, one sentence or two a line."""
    return tuple(sentence_case(words) for words in _HANDS[method_of(row, base)](row, base, unit))


def usual_mistake(method: Method) -> tuple[str, str]:
    """What goes wrong most often, and how it is noticed."""
    return _MISTAKES[method]


def state_words(row: PlanRow, unit: Unit) -> str:
    """Who decided the row, where it was not the rule, and why."""
    why = f": {row.why.rstrip('.')}." if row.why else "."
    if row.state is State.OVERRULED:
        return f"Overruled: {small(row.amount, unit)} instead of the rule's {small(row.wanted, unit)}{why}"
    if row.state is State.LOCKED:
        return f"Locked at {small(row.amount, unit)}{why}"
    if row.state is State.LEFT:
        return f"Left as in the base{why}"
    return ""


def piece_names(moves: Iterable[Move], base: Style) -> str:
    """`centre front and side front`, each piece once in the order of the moves."""
    return listed([_called(base.piece(name)) for name in dict.fromkeys(move.piece for move in moves)])


def _called(piece: Piece) -> str:
    """A title inside a sentence: its first letter small, unless it is a name or an abbreviation."""
    first, *rest = piece.title.split(" ")
    return piece.title if not first[1:].islower() else " ".join([first.lower(), *rest])


def _edge_names(moves: Iterable[Move], base: Style) -> str:
    """`side seam of the side front and the outer cup`."""
    by_edge: dict[str, list[str]] = {}
    for move in moves:
        names = by_edge.setdefault(_edge_called(base.piece(move.piece), move.edge), [])
        if _called(base.piece(move.piece)) not in names:
            names.append(_called(base.piece(move.piece)))
    return listed([f"{edge} of the {listed([*names])}" for edge, names in by_edge.items()])


def _edge_called(piece: Piece, name: str) -> str:
    """A centre or closure line is called an edge, lest it be taken for a place."""
    return f"{plain(name)} edge" if piece.edge(name).role.is_vertical else plain(name)


Ends = Callable[[Piece, Edge, Move], tuple[bool, bool]]


def _beside(moves: Iterable[Move], base: Style, ends: Ends) -> str:
    """The edges that meet the moved ones at the ends in question, by name."""
    found: dict[str, None] = {}
    for move in moves:
        piece = base.piece(move.piece)
        names = [edge.name for edge in piece.edges]
        i = names.index(move.edge)
        at_start, at_end = ends(piece, piece.edges[i], move)
        found |= {_edge_called(piece, names[i - 1]): None} if at_start else {}
        found |= {_edge_called(piece, names[(i + 1) % len(names)]): None} if at_end else {}
    return listed(sorted(found))


def _both_ends(piece: Piece, edge: Edge, move: Move) -> tuple[bool, bool]:
    return True, True


def _upper_end(piece: Piece, edge: Edge, move: Move) -> tuple[bool, bool]:
    start_is_up = bool(edge.curve.start[1] > edge.curve.end[1])
    return start_is_up, not start_is_up


def _marked_end(piece: Piece, edge: Edge, move: Move) -> tuple[bool, bool]:
    """The end that carries the move's landmark; both where it lies at none."""
    at = piece.landmark(move.level or "")
    if at is None or at.edge != edge.name or at.knot not in (0, edge.curve.n_spans):
        return True, True
    return at.knot == 0, at.knot > 0


def _sizes(moves: Sequence[Move], unit: Unit) -> str:
    """The amount where all moves have the same, else a hint at the list."""
    sizes = {round(abs(move.amount), 3) for move in moves}
    return small(abs(moves[0].amount), unit) if len(sizes) == 1 else "by the amount of each edge named above"


def _way(moves: Sequence[Move], positive: str, negative: str) -> str:
    signs = {move.amount > 0 for move in moves}
    return "each its own way" if len(signs) == 2 else positive if signs == {True} else negative


def _band(row: PlanRow, base: Style, unit: Unit) -> list[str]:
    rule, moves = base.sharing.length, moved_by(row)
    two, half = abs(row.amount) > ONE_BAND_MM, small(abs(row.amount) / 2, unit)
    middle = "the waist line" if rule.place == "waist" else f"the middle between waist and {plain(rule.above)}"
    place = f"one a little below, one a little above {middle}" if two else f"at {middle}"
    each = f"{half} at each line" if two else small(abs(row.amount), unit)
    lines = "two lines" if two else "a line"
    work = (
        f"Cut along {'both lines' if two else 'the line'}, lay a strip of paper under the cut and spread the parts: "
        f"{each}.  Keep the grain line straight through all parts and stick them down."
        if row.amount > 0
        else f"Mark the band to take out with a second line: {each}.  Fold the paper until the two lines meet; the "
        "grain line must run straight through."
    )
    uneven = len({round(move.amount, 3) for move in moves}) > 1
    wedge = ["The band is a wedge: give each edge its own amount of the list above."] if uneven else []
    return [
        f"Take the {piece_names(moves, base)}: the band goes through all of them.  Draw {lines} square to the grain "
        f"right across, {place}.",
        work,
        *wedge,
        "Straight edges: rule them through again.  Shaped edges now have a step: redraw them in one line through the "
        "points of the arrows.",
    ]


def _ruled(row: PlanRow, base: Style, unit: Unit) -> list[str]:
    moves = moved_by(row)
    side = _way(moves, "outside", "inside")
    return [
        f"Rule a line parallel to the {_edge_names(moves, base)}, {_sizes(moves, unit)} {side} the old one, from end "
        "to end: the same at every level.",
        "Move both of its corners level, square to the grain: each keeps its height.  Never run a sloping line on to "
        "the new line.",
        f"Redraw what ends there ({_beside(moves, base, _both_ends)}) from the new corner into its old "
        "course, smoothly, through the marks.",
    ]


def _parallel(row: PlanRow, base: Style, unit: Unit) -> list[str]:
    moves = moved_by(row)
    return [
        f"Trace the {_edge_names(moves, base)} on thin paper, with the level marks.",
        f"Slide the tracing level, square to the grain, {_sizes(moves, unit)} {_way(moves, 'outwards', 'inwards')}, "
        "and draw the edge again.  The whole edge moves and both of its corners; shape and length stay.",
        f"Draw what ends there ({_beside(moves, base, _both_ends)}) to the new corners, smoothly, through the marks.",
    ]


def _curve(row: PlanRow, base: Style, unit: Unit) -> list[str]:
    moves = moved_by(row)
    levels = listed([plain(level) for level in dict.fromkeys(move.level for move in moves) if level])
    at = "that level" if " and " not in levels else "those levels"
    return [
        f"At the {levels} measure the amounts named above from the old line, square to the grain: let out is outwards "
        "from the piece, taken in is inwards.",
        f"Set the other marks of the picture.  Away from {at} the amounts run out, or on into what is fixed there.",
        "Draw each edge anew through its marks in one smooth line, with a curved ruler, without a corner at the "
        "level.  Both edges of a seam are drawn in the same step.",
    ]


def _along(row: PlanRow, base: Style, unit: Unit) -> list[str]:
    moves = moved_by(row)
    longer = _way(moves, "lengthened", "shortened")
    mark = plain(moves[0].level or "end")
    return [
        f"The {_edge_names(moves, base)}: {longer} by {_sizes(moves, unit)} at the {mark}, measured along the edge.  "
        f"Set the new {mark} where the arrow points, the same amount on every piece.",
        f"Lay the pieces together along that edge and redraw what meets there ({_beside(moves, base, _marked_end)}) "
        "as one smooth line across the seam.",
    ]


def _turn(row: PlanRow, base: Style, unit: Unit) -> list[str]:
    moves = moved_by(row)
    longer, opens = (_way(moves, *words) for words in (("longer", "shorter"), ("opens", "closes")))
    lower = _lower_edges(moves, base)
    return [
        f"The {_edge_names(moves, base)} becomes {_sizes(moves, unit)} {longer} between bust point and foot.  Move "
        "the foot of each piece to the point of its arrow.",
        f"The {lower} keeps its length: lay thread or tape along the old line, hold its other end and turn it until "
        "it meets the new foot; redraw it through the marks.",
        f"Redraw the edge from the bust point down to the new foot.  The lower dart between the pieces {opens}.",
    ]


def _lower_edges(moves: Iterable[Move], base: Style) -> str:
    """The edges that meet the moved ones at the foot."""
    names: dict[str, None] = {}
    for move in moves:
        piece = base.piece(move.piece)
        names |= {plain(edge.name): None for edge in piece.edges if edge.role is Role.CRADLE}
    return listed([*names]) if names else "lower edge"


def _apart(row: PlanRow, base: Style, unit: Unit) -> list[str]:
    moves = moved_by(row)
    mark = plain(moves[0].level or "mark")
    return [
        f"Rule a line from the bust point to the {mark}.  Move the mark on this line {_sizes(moves, unit)} "
        f"{_way(moves, 'away from the bust point', 'towards the bust point')}.",
        f"Redraw the {_edge_names(moves, base)} through it in one smooth line between its ends.",
    ]


def _slide(row: PlanRow, base: Style, unit: Unit) -> list[str]:
    moves = moved_by(row)
    return [
        f"Slide the upper end of the {_edge_names(moves, base)} {_way(moves, 'up', 'down')} on the edge's own line, "
        f"{_sizes(moves, unit)}.  Run the line on, or cut it off there; do not move it aside.",
        f"Redraw what ends there ({_beside(moves, base, _upper_end)}) from the new corner through the "
        "marks, in one smooth line across the seams.",
    ]


def _hem(row: PlanRow, base: Style, unit: Unit) -> list[str]:
    moves = moved_by(row)
    return [
        f"Move the lower end of the {_edge_names(moves, base)} {_way(moves, 'up', 'down')}, {_sizes(moves, unit)}.",
        "Lay the pieces together at their seams and redraw the lower edge through the marks as one smooth line.",
    ]


def _true(row: PlanRow, base: Style, unit: Unit) -> list[str]:
    return ["Set the marks of the picture and redraw each edge through its own in one smooth line."]


Hand = Callable[[PlanRow, Style, Unit], list[str]]
_HANDS: Mapping[Method, Hand] = {
    Method.BAND: _band,
    Method.RULED: _ruled,
    Method.PARALLEL: _parallel,
    Method.CURVE: _curve,
    Method.ALONG: _along,
    Method.TURN: _turn,
    Method.APART: _apart,
    Method.SLIDE: _slide,
    Method.HEM: _hem,
    Method.TRUE: _true,
}

_MISTAKES: Mapping[Method, tuple[str, str]] = {
    Method.BAND: (
        "The band is forgotten on one piece, or the parts are put together askew.",
        "Lay the pieces side by side on one waist line: every level above must run straight across all of them, and "
        "each grain line must be one straight line.",
    ),
    Method.RULED: (
        "The sloping line beside it is run on to the new line, so that the corner climbs or sinks.",
        "Measure both corners from the waist line: their heights are those of before.",
    ),
    Method.PARALLEL: (
        "The edge is moved along the slope of its neighbours, or only between the levels, so that it no longer "
        "matches its mate.",
        "Measure the edge: unless the list of seams says otherwise it is as long as before, and the old and the new "
        "line stand equally far apart everywhere.",
    ),
    Method.CURVE: (
        "The change is made on one edge and forgotten on its mate, or drawn with a corner at the level.",
        "Lay the old piece over the new one: the two lines part and meet again gently.  Walk both edges of each seam "
        "in the list: they end together.",
    ),
    Method.ALONG: (
        "Only one of the two pieces is changed, or the line beside it gets a peak at the seam.",
        "Lay both pieces together along the seam: they end together, and the edge runs across it without a corner.",
    ),
    Method.TURN: (
        "The seam is made longer straight down, so that the edge below it changes its length and no longer fits what "
        "it is sewn into.",
        "Measure that edge before and after: it has the same length.",
    ),
    Method.APART: (
        "The whole edge is moved instead of its middle, and its ends no longer meet their neighbours.",
        "Its ends are where the picture has them; lay the neighbours against them.",
    ),
    Method.SLIDE: (
        "The corner is moved square to the line that ends there, off the edge it should slide on.",
        "The edge is still one line, as it was; only its length has changed.",
    ),
    Method.HEM: (
        "The lower edge is changed on one piece and jumps at the seam.",
        "Lay the pieces together at each seam: the lower edge runs across without a step or a corner.",
    ),
    Method.TRUE: (
        "Small marks are left out because they look like nothing.",
        "Walk the seams of the list: they end together.",
    ),
}
