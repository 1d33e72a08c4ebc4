"""The first page: squares to measure, how to print and join, what was rescaled or replaced, cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from coutil.measure import Unit
from coutil.pattern import Style
from coutil.sheet._flow import paragraph, set_in_box
from coutil.sheet._paper import TOLERANCE_MM, Paper
from coutil.sheet._pattern_sheet import PatternSheet
from coutil.sheet._pdf_pen import LAYERS, PdfPen
from coutil.sheet._piece_label import PrintOptions, head_words, size_words
from coutil.sheet._test_lines import INCH_MM, SQUARE_MM, TICK_MM, draw_square

GAP_MM = 7.0
# Squares stand so far inside the printable area that their whole line is printed.
INSET_MM = 1.0
HEAD_MM = 24.0

# What a print that is not true to size does: 2 per cent, and 1/64 as an inch rule shows it.
OFF_WORDS = {
    "cm": "2 mm off on 100 makes a waist of 68 cm 13.6 mm wrong.",
    "in": "1/16 in off on 4 in makes a waist of 28 in 7/16 in wrong.",
}

HEADS_PT, WORDS_PT, NOTES_PT = 11.0, 8.5, 7.0


@dataclass(frozen=True, slots=True)
class PageCount:
    """How the pages of the file are shared out: test page and map, then reports of what `told` says, then tiles."""

    reports: int
    tiles: int
    told: str = "pieces, chart, checks"

    @property
    def total(self) -> int:
        """All pages."""
        return 2 + self.reports + self.tiles

    @property
    def first_tile(self) -> int:
        """The number of the page with the first tile."""
        return 3 + self.reports


def draw_test_page(
    canvas: Any, style: Style, sheet: PatternSheet, options: PrintOptions, count: PageCount, paper: Paper
) -> None:
    """Draws everything on the canvas's current page, which is of this paper."""
    pen, left, top = PdfPen(canvas), paper.margin + INSET_MM, paper.height - paper.margin
    _draw_head(canvas, style, sheet, options, count, paper)
    upper, lower = top - HEAD_MM - SQUARE_MM, top - HEAD_MM - SQUARE_MM - GAP_MM - 4 * INCH_MM
    draw_square(pen, left, upper, SQUARE_MM, 10.0)
    draw_square(pen, left, lower, 4 * INCH_MM, INCH_MM)
    _write(canvas, _measuring(options.unit), left, upper + SQUARE_MM)
    _write(canvas, _joining(sheet.paper, options.unit), left, lower + 4 * INCH_MM)
    side = left + 4 * INCH_MM + GAP_MM
    set_in_box(canvas, _side(style, options), side, top - HEAD_MM, paper.width - paper.margin - INSET_MM - side)


def _draw_head(
    canvas: Any, style: Style, sheet: PatternSheet, options: PrintOptions, count: PageCount, paper: Paper
) -> None:
    words = [head_words(options), size_words(style.base_chart), f"{sheet.paper.name}, {count.total} pages"]
    line = " · ".join(word for word in words if word)
    story = [paragraph(style.title, 15.0), paragraph(line, 9.0), paragraph(_contents(count, sheet), 7.5)]
    set_in_box(canvas, story, paper.margin, paper.height - paper.margin, paper.printable[0])


def _contents(count: PageCount, sheet: PatternSheet) -> str:
    tiles = f"{count.tiles} tile{'s' if count.tiles > 1 else ''}"
    where = tiles if not sheet.paper.is_large else f"{tiles} of {_size(sheet.paper)}, for a plotter"
    return (
        f"Page 1: test squares.  Page 2: map.  {_span(3, 2 + count.reports)}: {count.told}.  "
        f"{_span(count.first_tile, count.total)}: the pattern at true size, {where}."
    )


def _size(paper: Paper) -> str:
    width, height = paper.width * paper.enlarged[0], paper.height * paper.enlarged[1]
    return f"{width:.0f} × {height:.0f} mm"


def _span(first: int, last: int) -> str:
    return f"Page {first}" if first == last else f"Pages {first} to {last}"


def _write(canvas: Any, story: Sequence[Any], left: float, top: float) -> None:
    """Words inside a square, clear of its ticks."""
    inset = TICK_MM + 4.0
    set_in_box(canvas, story, left + inset, top - inset, SQUARE_MM - 2 * inset)


def _measuring(unit: Unit) -> list[Any]:
    words = (
        "Print this page first, at 100 per cent (actual size), never fitted to the page.",
        "Measure the square both ways with a steel rule.  The ticks stand 10 mm apart, in the square below 1 in.",
        f"More than {TOLERANCE_MM:g} mm off on 100 mm: switch off every scaling in the printer's window and "
        "print again, or have the pattern rescaled by what you measured.",
        "Measured: across ________ mm, down ________ mm",
        f"Cut nothing before the square is right: {OFF_WORDS['in' if unit == 'in' else 'cm']}",
    )
    return [paragraph("This square: 100 mm", HEADS_PT), *(paragraph(line, WORDS_PT) for line in words)]


def _joining(paper: Paper, unit: Unit) -> list[Any]:
    across, down = paper.step
    words = (
        "Joining: each tile bears its row as a letter, from the top, and its column as a number, from the "
        "left.  Trim a tile at its solid grey lines (left and upper side), lay it upon its neighbour's "
        "dashed line until the crosses meet, and glue.",
        "Check: on joined tiles the crosses at the corners stand "
        f"{_with_inches(across, unit)} apart across and {_with_inches(down, unit)} down; a long test line is "
        f"{_with_inches(400, unit)}.",
        "Thick line: stitching line.  Thin line: cut line.  Dash and dot: level.  Double arrow: grain.  "
        "Crossed circle: bust point.  Short strokes across the edge: notches.  Short dashes: bone channel.  "
        "Long brown dashes: base pattern.",
    )
    return [paragraph("This square: 4 in", HEADS_PT), *(paragraph(line, WORDS_PT) for line in words)]


def _with_inches(mm: float, unit: Unit) -> str:
    return f"{mm:g} mm ({mm / 25.4:.2f} in)" if unit == "in" else f"{mm:g} mm"


def _side(style: Style, options: PrintOptions) -> list[Any]:
    """The column right of the squares; only what there is something to say about."""
    layers = (
        f"A viewer that knows layers can switch these off one by one: {', '.join(_small(LAYERS.values()))}.  "
        "Printed as it is, the file shows all."
    )
    chapters = (
        ("Rescaled", _rescaled_words(options)),
        ("Letters", _letters_words(style, options)),
        ("Layers of the file", (layers,)),
        ("Cautions", options.cautions),
    )
    story: list[Any] = []
    for title, words in chapters:
        if words:
            story += [paragraph(title, HEADS_PT), *(paragraph(line, NOTES_PT) for line in words)]
    return story


def _small(titles: Sequence[str] | Any) -> list[str]:
    return [title.lower() for title in titles]


def _rescaled_words(options: PrintOptions) -> tuple[str, ...]:
    if options.measured == (100.0, 100.0):
        return ()
    across, down = options.measured
    return (
        f"The test square came out {across:g} mm across and {down:g} mm down.  All pages are drawn "
        f"{10000 / across:.2f} per cent wide and {10000 / down:.2f} per cent high for that printer, with the same "
        "settings; the squares of this page must now measure 100 mm and 4 in.",
    )


def _letters_words(style: Style, options: PrintOptions) -> tuple[str, ...]:
    missing = missing_in(style, options)
    if not missing:
        return ()
    codes = ", ".join(f"U+{ord(letter):04X}" for letter in missing)
    return (f"The face of these sheets has no letter for {codes}: an empty box stands in its place.",)


def missing_in(style: Style, options: PrintOptions) -> str:
    """The letters of titles, reference, revision and date that the face of printed sheets has not."""
    from coutil.sheet._fonts import missing_letters

    titles = (piece.title for piece in style.pieces)
    layers = (layer.name for layer in style.layers)
    return missing_letters(style.title, options.reference, options.revision, options.date, *titles, *layers)
