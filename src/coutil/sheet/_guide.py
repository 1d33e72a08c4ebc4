"""The alteration guide: a cover with the chart, a step for each row, what truing moved; for any printed form."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from coutil.alter import Alteration, GirthOrder, PlanRow, brought_by_others
from coutil.measure import MEASUREMENTS, Unit, fine_figure, format_figure, format_length, title
from coutil.pattern import EdgeRef, Seam, SeamLengths, Style, girth, revision_mark, seam_lengths
from coutil.sheet._bone_plan import Picture
from coutil.sheet._guide_marks import STEP_MM, PieceMoves, mark_pieces, moves_of
from coutil.sheet._guide_picture import Room, step_pictures
from coutil.sheet._guide_words import (
    Method,
    method_of,
    moved_by,
    state_words,
    usual_mistake,
    what_to_do,
)
from coutil.sheet._workroom_words import Grid, SheetHead, aligned, fine, joined, listed, plain, sentence_case, small
from coutil.speech import sentence
from coutil.tables import chart_note, chart_table, conflict_remarks, part_figure, plan_remarks, where_words, with_half

# Less than this is neither shown nor redrawn, mm.
SHOWN_MM = 0.05

UNIT_NAMES: Mapping[Unit, str] = {"mm": "millimetres", "cm": "centimetres", "in": "inches"}
SEAM_SHARES = (60.0, 20.0, 20.0, 60.0, 20.0, 20.0, 20.0)


@dataclass(frozen=True, slots=True)
class Prose:
    """A short heading and sentences below it, numbered where they are work in turn."""

    head: str
    sentences: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class StepDrawing:
    """The pictures of a step, drawn as large as the room that the page's words leave; mostly one."""

    before: Style
    after: Style
    moves: tuple[PieceMoves, ...]
    title: str
    unit: Unit

    def pictures(self, room: Room) -> tuple[Picture, ...]:
        """See step_pictures."""
        return step_pictures(self.before, self.after, self.moves, room, self.unit, self.title)


Block = Prose | Grid | StepDrawing


@dataclass(frozen=True, slots=True, eq=False)
class GuidePage:
    """One heading with what stands below it, in the order of reading.  `fresh` begins a new page."""

    title: str
    blocks: tuple[Block, ...]
    fresh: bool = True


def guide_head(alteration: Alteration) -> SheetHead:
    """Style, client, revision and date for head and foot."""
    style = alteration.style
    words = joined((style.base_chart.name, f"revision {revision_mark(style)}", style.base_chart.taken))
    return SheetHead(f"Alteration guide · {style.title}", words)


def guide_pages(alteration: Alteration, cautions: Sequence[str], unit: Unit) -> tuple[GuidePage, ...]:
    """All pages; the alteration must carry its step frames.  Raises BadInput for frames of another pattern."""
    return (
        *_cover(alteration, cautions, unit),
        *_steps(alteration, unit),
        _last_page(alteration, unit),
    )


# --- the cover ----------------------------------------------------------------------------------------------


def _cover(alteration: Alteration, cautions: Sequence[str], unit: Unit) -> Iterator[GuidePage]:
    yield GuidePage("Order", (_order(alteration, unit),), fresh=False)
    notes = _chart_notes(unit, alteration.style.sides)
    chart: tuple[Block, ...] = (notes, *_girths(alteration, unit), _chart(alteration, unit))
    yield GuidePage("Alteration chart", chart, fresh=False)
    remarks = (*plan_remarks(alteration.plan, unit), *conflict_remarks(alteration.conflicts, unit))
    if remarks:
        yield GuidePage("Look at first", (Prose("", remarks, len(remarks) > 1),), False)
    yield GuidePage("How to work", _how_to(alteration.base, unit), False)
    if alteration.plan.reduction > SHOWN_MM:
        yield GuidePage("For whoever wears it", (Prose("", ("  ".join(cautions),)),), False)


def _order(alteration: Alteration, unit: Unit) -> Grid:
    style, base, plan = alteration.style, alteration.base, alteration.plan
    chart = style.base_chart
    rows = (
        ("Client", chart.name + (" (invented)" if chart.invented else "")),
        ("Measured", joined((chart.taken, f"worn: {chart.worn}" if chart.worn else ""))),
        ("Base pattern", joined((base.title, plain(base.name), base.base_chart.name))),
        ("Waist reduction", format_length(plan.reduction, unit)),
        ("Lacing gap", format_length(plan.lacing_gap, unit)),
        ("The pattern is", "the wearer's left half" if style.half else "whole, left and right apart"),
    )
    return Grid("The order", ("what", "ordered"), tuple(row for row in rows if row[1]), (28, 120))


def _chart_notes(unit: Unit, sides: int) -> Prose:
    return Prose(
        "",
        (
            f"Figures are in {UNIT_NAMES[unit]}.  Fit is what the garment is wider than the body: ease less "
            "reduction and gaps.  Differences are taken between garments.",
            chart_note(unit, sides),
        ),
    )


def _girths(alteration: Alteration, unit: Unit) -> Iterator[Grid]:
    plan = alteration.plan
    if not plan.girths:
        return
    heads = ("level", "base: body", "fit", "garment", "client: body", "fit", "garment", "difference")
    rows = tuple(_girth_row(order, alteration.base, unit) for order in plan.girths)
    shares = (24.0, 22.0, 16.0, 28.0, 22.0, 16.0, 28.0, 26.0)
    yield Grid("Body, fit and garment at each level", heads, rows, shares, frozenset(range(1, 8)))


def _girth_row(order: GirthOrder, base: Style, unit: Unit) -> tuple[str, ...]:
    garment = girth(base, order.level).full
    stem = base.level(order.level).measure
    body = base.base_chart.get(f"{stem}_girth") if stem else None
    known = ("", "") if body is None else (format_figure(body, unit), format_figure(garment - body, unit))
    return (
        plain(order.level),
        *known,
        _both(garment, unit),
        format_figure(order.body, unit),
        format_figure(order.garment - order.body, unit),
        _both(order.garment, unit),
        _both(order.garment - garment, unit),
    )


def _both(mm: float, unit: Unit) -> str:
    return f"{format_figure(mm, unit)} ({fine_figure(mm / 2, unit)})"


def _chart(alteration: Alteration, unit: Unit) -> Grid:
    heads, *rows = chart_table(alteration.plan, unit, alteration.style.sides)
    numbered = tuple((str(i + 1), *row[1:]) for i, row in enumerate(rows))
    shares = (9.0, 28.0, 28.0, 28.0, 27.0, 13.0, 16.0, 41.0)
    return Grid("The rows, in the order of work", ("step", *heads[1:]), numbered, shares, frozenset({0, *range(2, 7)}))


def _how_to(base: Style, unit: Unit) -> tuple[Prose, ...]:
    exact = (
        "Amounts are in sixteenths of an inch; a + behind a figure is a full one, a third of a sixteenth more, a − a "
        "scant one, a third of a sixteenth less."
        if unit == "in"
        else "Amounts are in millimetres, to half a millimetre."
    )
    need = (
        "The base pattern on paper, without allowances, with grain, level lines and bust point; fresh paper, thin "
        "paper for tracing, a sharp pencil, a ruler, a set square, a curved ruler, a tape, scissors and sticky tape."
    )
    sides = ", the centre left on the front, right on the back" if base.half else ""
    read = (
        f"Dashed is the pattern before the step, solid after it.  The grain is upright{sides}; pieces not shown stay "
        "as they are.",
        f"Every arrow points to a mark on the new line and says how far it is from the old one: → ← square to the "
        f"grain, ↑ ↓ along it.  A ring with 0 stays where it is.  {exact}  What is rounded off in one step is made "
        "up in a later one, so keep to the figures.",
    )
    work = (
        "Trace the pieces of the picture as they stand, with grain and level lines, and set a mark on the old line "
        "at both ends, at each level, half-way between, and wherever the picture has one more.",
        "Do what the step says; then bring every mark to the point of its arrow with ruler and set square.",
        "Join the marks: straight edges with the ruler, all others in one smooth line that keeps the character of the "
        "old one between the marks.  Carry the levels and the other marks along.",
        "Measure the seams of the list, both edges, before going on.  The new lines are the pattern for the next step.",
    )
    figures = (
        "The difference of a row is taken between the garments as they were before any step.  What is to be moved is "
        f"its part on {'this half' if base.half else 'the pattern'}, less what others, the earlier steps, have done."
    )
    return (
        Prose("What you need", (need,)),
        Prose("What the figures of a row say", (figures,)),
        Prose("How to read the pictures", read),
        Prose("The same in every step", work, True),
    )


# --- the steps ----------------------------------------------------------------------------------------------


def _steps(alteration: Alteration, unit: Unit) -> Iterator[GuidePage]:
    styles = [alteration.base, *(frame.style for frame in alteration.frames), alteration.style]
    moves = moves_of(mark_pieces(alteration.base, styles[1:]), styles, STEP_MM[unit])
    at = {frame.row: i for i, frame in enumerate(alteration.frames)}
    for number, row in enumerate(alteration.plan.rows, start=1):
        heading = f"Step {number} · {row.title}"
        i = at.get(row.key)
        if i is None:
            yield GuidePage(heading, tuple(_idle(row, alteration.base.sides, unit)), fresh=False)
        else:
            drawing = StepDrawing(styles[i], styles[i + 1], moves[i], heading, unit)
            yield _step(row, alteration.base, drawing)
    if any(move.has_moved for move in moves[-1]):
        last = StepDrawing(styles[-2], styles[-1], moves[-1], "Last truing", unit)
        yield GuidePage("Last truing", tuple(_last_truing(last)))


def _step(row: PlanRow, base: Style, drawing: StepDrawing) -> GuidePage:
    blocks = tuple(_step_blocks(row, base, drawing))
    drawn = any(move.has_moved for move in drawing.moves)
    return GuidePage(drawing.title, blocks, fresh=drawn)


def _step_blocks(row: PlanRow, base: Style, drawing: StepDrawing) -> Iterator[Block]:
    unit = drawing.unit
    yield _figures(row, base.sides, unit)
    yield from _notes(row, unit)
    moved = [move for move in drawing.moves if move.has_moved]
    if not moved:
        yield Prose("", ("Too little to draw by hand: no mark moves by half a drawing step.  Go on to the next step.",))
        return
    yield drawing
    method = method_of(row, base)
    yield Prose("What to do", (*what_to_do(row, base, unit), *_also(row, moved, drawing.after)), True)
    yield Prose("Why", (sentence(row.reason, unit),))
    mistake, notice = usual_mistake(method)
    yield Prose("The usual mistake", (f"{mistake}  How to notice it: {notice[0].lower()}{notice[1:]}",))
    yield from _seam_block(drawing)


def _also(row: PlanRow, moved: Sequence[PieceMoves], style: Style) -> Iterator[str]:
    """Pieces that move though the row does not name them: truing keeps sewn edges equal."""
    named = {move.piece for move in moved_by(row)}
    others = [style.piece(m.piece.name).title for m in moved if m.piece.name not in named]
    if others:
        yield (
            f"{sentence_case(listed(others).lower())}: the row does not name "
            f"{'it' if len(others) == 1 else 'them'}, but sewn edges must stay equal and lines smooth.  Redraw "
            f"{'its' if len(others) == 1 else 'their'} edges through the marks too."
        )


def _idle(row: PlanRow, sides: int, unit: Unit) -> Iterator[Block]:
    """A row without a drawing: left, to be decided, or nothing to move."""
    yield _figures(row, sides, unit)
    yield from _notes(row, unit)
    yield Prose("Why", (sentence(row.reason, unit),))
    yield Prose("What to do", (_idle_words(row, unit),))


def _idle_words(row: PlanRow, unit: Unit) -> str:
    if row.decision:
        asked = f"{small(abs(row.wanted), unit)} {'up' if row.wanted > 0 else 'down'}"
        return f"Nothing is drawn until you decide.  It would move {asked}; if you take it, print this guide anew."
    return "Nothing: go on to the next step."


def _figures(row: PlanRow, sides: int, unit: Unit) -> Grid:
    heads = (
        "measurement", f"base, {unit}", f"client, {unit}", f"difference, {unit}",
        f"others, {fine(unit)}", f"to move, {fine(unit)}", f"moved, {fine(unit)}", "still missing",
    )  # fmt: skip
    missing = small(row.remainder, unit) if abs(row.remainder) >= SHOWN_MM else "nothing"
    if row.decision and abs(row.wanted - row.amount) >= SHOWN_MM:
        missing = "to decide"
    cells = (
        _measured(row),
        *(with_half(mm, row.measurement, unit) for mm in (row.base, row.client)),
        with_half(row.difference, row.measurement, unit, sign="+"),
        *(part_figure(mm, unit) for mm in (brought_by_others(row, sides), row.wanted, row.amount)),
        missing,
    )
    marked = frozenset({missing} - {"nothing"})
    return Grid("The row", heads, (cells,), (40, 28, 28, 28, 17, 20, 18, 22), frozenset(range(1, 7)), marked)


def _measured(row: PlanRow) -> str:
    """What was measured, by its name; what is only reckoned (a back's arc, a reduction) by its own words."""
    stem = row.measurement.removesuffix("_left").removesuffix("_right")
    known = title(row.measurement) if stem in MEASUREMENTS else _reckoned(row.measurement)
    return sentence_case(f"{known} (estimated)" if row.estimated else known)


def _reckoned(measurement: str) -> str:
    """A back's arc as its front is called, `lower edge, back`; a reduction by its own words."""
    front = measurement.replace("_back", "_front")
    stem = front.removesuffix("_left").removesuffix("_right")
    return title(front).replace("front", "back") if stem in MEASUREMENTS else plain(measurement)


def _notes(row: PlanRow, unit: Unit) -> Iterator[Prose]:
    state = state_words(row, unit)
    where = sentence(where_words(row, unit), unit) if moved_by(row) else ""
    notes = tuple(words for words in (state, where, *(sentence(w, unit) for w in row.warnings)) if words)
    if notes:
        yield Prose("", notes)


def _last_truing(drawing: StepDrawing) -> Iterator[Block]:
    yield Prose("", ("All rows are drawn; this makes sewn edges equal once more.",))
    yield drawing
    mistake, notice = usual_mistake(Method.TRUE)
    yield Prose("What to do", ("Set the marks of the picture and redraw each edge through its own in one line.",))
    yield Prose("The usual mistake", (f"{mistake}  How to notice it: {notice[0].lower()}{notice[1:]}",))
    yield from _seam_block(drawing)


# --- seams --------------------------------------------------------------------------------------------------


def _seam_block(drawing: StepDrawing) -> Iterator[Grid]:
    """Both edges of every seam that the step redraws, before and after."""
    moved = {(move.piece.name, edge) for move in drawing.moves for edge in move.moved_edges()}
    seams = [seam for seam in drawing.after.seams if any((r.piece, r.edge) in moved for r in (*seam.a, *seam.b))]
    if not seams:
        return
    unit = fine(drawing.unit)
    heads = (f"edge, {unit}", "before", "after", f"sewn to, {unit}", "before", "after", "difference")
    rows = tuple(
        _seam_row(seam, seam_lengths(drawing.before, seam), seam_lengths(drawing.after, seam), drawing)
        for seam in seams
    )
    yield Grid("Mates: sewn edges that change together", heads, rows, SEAM_SHARES, frozenset({1, 2, 4, 5, 6}))


def _seam_row(seam: Seam, before: SeamLengths, after: SeamLengths, drawing: StepDrawing) -> tuple[str, ...]:
    unit = drawing.unit
    return (
        chain_words(seam.a, drawing.after),
        aligned(before.total.a, unit),
        aligned(after.total.a, unit),
        chain_words(seam.b, drawing.after),
        aligned(before.total.b, unit),
        aligned(after.total.b, unit),
        aligned(after.total.b - after.total.a, unit),
    )


def chain_words(chain: Iterable[EdgeRef], style: Style) -> str:
    """`Side front side seam + outer cup side seam`."""
    return sentence_case(" + ".join(f"{style.piece(ref.piece).title.lower()} {plain(ref.edge)}" for ref in chain))


# --- the last page ------------------------------------------------------------------------------------------


def _last_page(alteration: Alteration, unit: Unit) -> GuidePage:
    blocks: list[Block] = [*_truing(alteration, unit), _walking(), *_final_seams(alteration.style, unit)]
    return GuidePage("What truing moved, and walking the seams", tuple(blocks))


def _truing(alteration: Alteration, unit: Unit) -> Iterator[Block]:
    if not alteration.truing:
        yield Prose("", ("Truing moved no edge by more than can be drawn.",))
        return
    yield Prose(
        "",
        (
            "Truing makes sewn edges equal and lines smooth across the seams.  The list names, for each edge, how far "
            "some point of it lies from where the rows alone would put it; an edge that no row names follows the "
            "corners at its ends.  The arrows of the steps contain all of it.",
        ),
    )
    rows = tuple(
        (alteration.style.piece(note.piece).title, plain(note.edge), aligned(note.moved, unit))
        for note in alteration.truing
    )
    heads = ("piece", "edge", f"up to, {fine(unit)}")
    yield Grid("Largest moves beyond the rows", heads, rows, (40, 40, 22), frozenset({2}), wide=0.6)


def _walking() -> Prose:
    return Prose(
        "How to walk the seams",
        (
            "Lay one piece on its mate so that the two lines cover each other where the seam begins, right sides as "
            "they will be sewn.",
            "Hold both with a pin point on the line, turn the upper piece until the lines meet a little further on, "
            "move the pin there; go on so to the end.  Where the line is much bent, take short steps.",
            "At every level and every notch both pieces must show the mark at the same place; at the end both edges "
            "stop together, except for the ease of the list.",
            "At the ends look across the seam: top edge, neckline, armhole and lower edge run over it without a step "
            "or a corner.",
            "If an edge is too long or too short by more than a millimetre, look for the step in which it was redrawn "
            "and measure its marks again.  Never even it out at one end.",
        ),
        True,
    )


def _final_seams(style: Style, unit: Unit) -> Iterator[Grid]:
    rows = tuple(row for seam in style.seams for row in _final_rows(seam, style, unit))
    if rows:
        heads = ("seam", "stretch", f"first, {fine(unit)}", f"second, {fine(unit)}", f"ease, {fine(unit)}")
        yield Grid("Finished lengths, from match to match", heads, rows, (92, 50, 20, 20, 18), frozenset({2, 3, 4}))


def _final_rows(seam: Seam, style: Style, unit: Unit) -> Iterator[tuple[str, ...]]:
    lengths = seam_lengths(style, seam)
    name = f"{chain_words(seam.a, style)} to {chain_words(seam.b, style).lower()}"
    parts = lengths.segments if len(lengths.segments) > 1 else ()
    for i, part in enumerate((lengths.total, *parts)):
        figures = (aligned(mm, unit) for mm in (part.a, part.b, part.ease))
        yield ("" if i else name, plain(part.name), *figures)
