"""The alteration chart and the check list as tables of words, for the terminal and for a spreadsheet."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Iterator, Sequence

from coutil.alter import Conflict, GirthOrder, Move, Plan, PlanRow, State, brought_by_others
from coutil.check import Finding
from coutil.measure import Unit, fine_figure, format_figure, format_length
from coutil.speech import MM_PER_INCH, SMALLEST_FRACTION_MM, figure_in, limit_in, sentence

Table = tuple[tuple[str, ...], ...]
Edge = tuple[str, str]

MOVES = {
    "sideways": ("let out", "taken in"),
    "upwards": ("raised", "lowered"),
    "along": ("lengthened", "shortened"),
    "apart": ("let in", "taken out"),
}
STATE_WORDS = {
    State.COMPUTED: "",
    State.OVERRULED: "overruled",
    State.LEFT: "left as in the base",
    State.LOCKED: "locked",
}
SMALLEST_MM = 0.05  # Half of what the figures show.
# A ruler shows half a millimetre; what is written as 0.5 mm is no less than this.
SMALLEST_DRAWN_MM = 0.45

HALF_NOTE = (
    "Full girth first, the half in brackets.  The difference on this half is what other rows bring of it and what this "
    "row moves, both in {words}; what is left or still missing stands with its row."
)
WHOLE_NOTE = (
    "Full girth first, the half in brackets.  The full difference is what other rows bring of it and what this row "
    "moves, both in {words}; what is left or still missing stands with its row."
)


def chart_table(plan: Plan, unit: Unit, sides: int) -> Table:
    """The alteration chart: measurement, base, client, difference, where each part goes.  First row: heads.

    Girths are given full, with the half in brackets.  What other rows bring and what this one moves add up to the
    difference as the pattern has it; `sides` is 2 where that is half a body.  See `chart_note`.
    """
    drawn = drawing_unit(unit)
    figures = (f"base, {unit}", f"client, {unit}", f"difference, {unit}", f"others, {drawn}", f"this row, {drawn}")
    return (("row", "measurement", *figures, "where it goes"), *(_chart_line(row, unit, sides) for row in plan.rows))


def chart_note(unit: Unit, sides: int) -> str:
    """How the figures of the alteration chart add up."""
    return (HALF_NOTE if sides == 2 else WHOLE_NOTE).format(words="inches" if unit == "in" else "millimetres")


def drawing_unit(unit: Unit) -> Unit:
    """The unit of what is drawn: on paper a maker who speaks in centimetres draws in millimetres."""
    return "mm" if unit == "cm" else unit


def girth_table(plan: Plan, unit: Unit) -> Table:
    """The ordered girths: body, ease, reduction, gap and the garment they lead to, full (half)."""
    heads = ("level", "body", "ease", "reduction", "gap", f"garment, {unit}")
    return (heads, *(_girth_line(order, unit) for order in plan.girths))


def check_table(findings: Iterable[Finding], unit: Unit = "cm") -> Table:
    """The check list: name, figure, limit, verdict, pieces, advice.  First row: heads.

    Figures are millimetres, as fine as their limits; inches for who works in inches.
    """
    heads = ("check", "figure", "limit", "verdict", "pieces", "advice")
    return (heads, *(_check_line(finding, unit) for finding in findings))


def chart_csv(plan: Plan, unit: Unit, sides: int) -> str:
    """The alteration chart for a spreadsheet: one line a row, figures alone in their cells."""
    figures = ("base", "client", "difference", "other rows", "wanted", "applied", "still missing")
    heads = (
        "row", "measurement", *(f"{figure} ({unit})" for figure in figures),
        "state", "estimated", "where it goes", "reason", "remarks",
    )  # fmt: skip
    return _csv((heads, *(_csv_line(row, unit, sides) for row in plan.rows)))


def checks_csv(findings: Iterable[Finding], unit: Unit = "cm") -> str:
    """The check list for a spreadsheet, figures in the unit named beside them."""
    heads = ("check", "code", "figure", "limit", "unit", "verdict", "pieces", "advice")
    return _csv((heads, *(_check_csv_line(finding, unit) for finding in findings)))


def where_words(row: PlanRow, unit: Unit) -> str:
    """Where a row's parts go, in words; what is left, open or still missing is said too."""
    parts = [*_move_words(row.moves, unit)]
    parts += [STATE_WORDS[row.state]] if STATE_WORDS[row.state] else []
    parts += ["yours to decide"] if row.decision else []
    if abs(row.remainder) >= SMALLEST_MM:
        parts.append(f"still missing {format_length(row.remainder, unit)}")
    return "; ".join(parts) or sentence(row.reason, unit)


def plan_remarks(plan: Plan, unit: Unit) -> tuple[str, ...]:
    """What the alteration chart asks the maker to look at: of the whole, and of each row with its title."""
    rows = (f"{row.title}: {warning}" for row in plan.rows for warning in row.warnings)
    return tuple(sentence(remark, unit) for remark in (*plan.warnings, *rows))


def conflict_remarks(conflicts: Iterable[Conflict], unit: Unit) -> tuple[str, ...]:
    """Wishes that cannot both be kept, by how much, and what would heal it."""
    return tuple(sentence(f"{c.sentence.rstrip('.')}: {c.heal[:1].lower()}{c.heal[1:]}", unit) for c in conflicts)


def _chart_line(row: PlanRow, unit: Unit, sides: int) -> tuple[str, ...]:
    figures = (with_half(mm, row.measurement, unit) for mm in (row.base, row.client))
    difference = with_half(row.difference, row.measurement, unit, sign="+")
    parts = (brought_by_others(row, sides), row.amount)
    title = f"{row.title} (estimated)" if row.estimated else row.title
    return (row.key, title, *figures, difference, *(part_figure(mm, unit) for mm in parts), where_words(row, unit))


def part_figure(mm: float, unit: Unit) -> str:
    """A part of a difference, signed, in the unit it is drawn in."""
    figure = fine_figure(mm, drawing_unit(unit))
    return figure if mm < 0 or figure == "0" else f"+{figure}"


def with_half(mm: float, measurement: str, unit: Unit, sign: str = "") -> str:
    """The figure; of a girth or a front the half in brackets as well."""
    if not _is_around(measurement):
        return _signed(mm, unit, sign)
    # The half is told to the half of what the full figure shows.
    half = fine_figure(mm / 2, unit) if sign or unit == "in" else format_figure(mm / 2, unit)
    return f"{_signed(mm, unit, sign)} ({sign if mm / 2 >= SMALLEST_MM else ''}{half})"


def _is_around(measurement: str) -> bool:
    """Whether the tape runs round the body, so that the stored half shows half of it."""
    return measurement.endswith(("_girth", "_front", "_back", "_reduction", "_separation"))


def _signed(mm: float, unit: Unit, sign: str) -> str:
    figure = format_figure(mm, unit)
    return sign + figure if mm >= SMALLEST_MM else figure


def _move_words(moves: Iterable[Move], unit: Unit) -> Iterator[str]:
    """Edges that do the same are named together: side front and side back side seam let out 3 mm."""
    changes: dict[Edge, list[str]] = {}
    for move in _drawn(tuple(moves), unit):
        changes.setdefault((move.piece, move.edge), []).append(_amount_words(move, unit))
    alike: dict[str, list[Edge]] = {}
    for edge, words in changes.items():
        alike.setdefault(", ".join(words), []).append(edge)
    yield from (f"{_edge_words(edges)} {words}" for words, edges in alike.items())


def _drawn(moves: Sequence[Move], unit: Unit) -> Sequence[Move]:
    """The moves a ruler shows; of a row that has none, those there are."""
    smallest = SMALLEST_FRACTION_MM if unit == "in" else SMALLEST_DRAWN_MM
    shown = [move for move in moves if abs(move.amount) >= smallest]
    return shown or [move for move in moves if abs(move.amount) >= SMALLEST_MM]


def _edge_words(edges: Iterable[Edge]) -> str:
    """Pieces with the edge they share: `side front and outer cup side seam, side back panel seam`."""
    pieces: dict[str, list[str]] = {}
    for piece, edge in edges:
        pieces.setdefault(edge.replace("_", " "), []).append(piece.replace("_", " "))
    return ", ".join(f"{_listed(names)} {edge}" for edge, names in pieces.items())


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _amount_words(move: Move, unit: Unit) -> str:
    word = MOVES[move.kind][0 if move.amount >= 0 else 1]
    at = f" at {move.level.replace('_', ' ')}" if move.level else ""
    if unit == "in" and abs(move.amount) < SMALLEST_FRACTION_MM:
        return f"{word} less than 1/32 in{at}"
    return f"{word} {fine_figure(abs(move.amount), drawing_unit(unit))} {drawing_unit(unit)}{at}"


def _girth_line(order: GirthOrder, unit: Unit) -> tuple[str, ...]:
    figures = (order.body, order.ease, -order.reduction, -order.gap)
    garment = f"{format_figure(order.garment, unit)} ({fine_figure(order.garment / 2, unit)})"
    return (order.level.replace("_", " "), *(format_figure(mm, unit) for mm in figures), garment)


def _check_line(finding: Finding, unit: Unit) -> tuple[str, ...]:
    pieces = ", ".join(piece.replace("_", " ") for piece in finding.pieces)
    figure, limit = _figure_words(finding, unit), _limit_words(finding, unit)
    return (_name(finding), figure, limit, finding.verdict.value, pieces, sentence(finding.advice, unit))


def _name(finding: Finding) -> str:
    return finding.name[:1].upper() + finding.name[1:]


def _figure_words(finding: Finding, unit: Unit) -> str:
    if not math.isfinite(finding.figure):
        return "none"
    if finding.unit == "mm":
        return figure_in(finding.figure, unit, finding.limit)
    return f"{finding.figure:g}" if finding.unit == "count" else f"{finding.figure:z.2f} {finding.unit}"


def _limit_words(finding: Finding, unit: Unit) -> str:
    if finding.limit is None:
        return ""
    if finding.unit == "mm":
        return limit_in(finding.limit, unit, finding.figure)
    return f"{finding.limit:g}" if finding.unit == "count" else f"{finding.limit:g} {finding.unit}"


def _csv_line(row: PlanRow, unit: Unit, sides: int) -> tuple[str, ...]:
    figures = (row.base, row.client, row.difference)
    parts = (brought_by_others(row, sides), row.wanted, row.amount, row.remainder)
    state = STATE_WORDS[row.state] + (f": {row.why}" if row.why else "")
    cells = (*(format_figure(mm, unit) for mm in figures), *(fine_figure(mm, unit) for mm in parts))
    return (
        row.key, row.title, *cells, state,
        "yes" if row.estimated else "", where_words(row, unit), sentence(row.reason, unit),
        " ".join(sentence(warning, unit) for warning in row.warnings),
    )  # fmt: skip


def _check_csv_line(finding: Finding, unit: Unit) -> tuple[str, ...]:
    inches = unit == "in" and finding.unit == "mm"
    per = MM_PER_INCH if inches else 1.0
    figure = f"{round(finding.figure / per, 6) + 0.0:.4g}" if math.isfinite(finding.figure) else ""
    limit = "" if finding.limit is None else f"{finding.limit / per:.4g}"
    return (
        _name(finding), finding.code, figure, limit, "in" if inches else finding.unit,
        finding.verdict.value, " ".join(finding.pieces), sentence(finding.advice, unit),
    )  # fmt: skip


def _csv(rows: Iterable[Sequence[str]]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()
