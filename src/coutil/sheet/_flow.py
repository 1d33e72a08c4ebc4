"""Words and tables that flow over pages: wrapped, heads repeated, nothing cut off."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import escape

from coutil.sheet._drawing import GREY, RUST, Colour, fitted, text_width
from coutil.sheet._fonts import face, shown
from coutil.sheet._paper import Paper
from coutil.sheet._pdf_pen import POINTS_PER_MM, PdfPen

# Kept free at the foot of a page for its number, and at its head, mm.
FOOT_MM = 8.0
FOOT_TEXT_MM, SMALLEST_FOOT_MM = 1.9, 1.5
# Between the words of a foot and the page's number.
FOOT_GAP_MM = 4.0

# Between paragraphs in a box.
BETWEEN_MM = 1.3

BODY_PT = 7.5
HEAD_PT = 12.0
# The tint of a table's head: light enough to read on, dark enough to show in a grey print.
TINT = (0.90, 0.92, 0.92)
RULE: Colour = (170, 170, 170)


@dataclass(frozen=True, slots=True)
class Column:
    """A table's column: its part of the width, and whether figures stand at its right edge."""

    share: float
    right: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """One flowable of a story, mm kept free above and below it, and the room it needs to be begun."""

    flowable: Any
    above: float = 0.0
    below: float = 0.0
    room: float = 0.0


def paragraph(words: str, size: float = BODY_PT, *, right: bool = False, colour: Colour | None = None) -> Any:
    """Plain words as one paragraph; markup in them is shown, not obeyed, a letter the face has not as a box."""
    from reportlab.lib.enums import TA_LEFT, TA_RIGHT
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    style = ParagraphStyle(
        "words",
        fontName=face(),
        fontSize=size,
        leading=size * 1.3,
        alignment=TA_RIGHT if right else TA_LEFT,
        textColor=_colour(colour or (0, 0, 0)),
        splitLongWords=1,
    )
    return Paragraph(escape(shown(words)), style)


def heading(words: str) -> Part:
    """A section's heading: it starts only where some of what follows has room too."""
    return Part(paragraph(words, HEAD_PT), above=3.0, below=1.5, room=30.0)


def table(rows: Sequence[Sequence[str]], columns: Sequence[Column], width: float, marked: Collection[str] = ()) -> Any:
    """A table of words, the first row its head, repeated on every page; `width` in mm.

    Cells whose whole text is in `marked` are set in the accent colour.
    """
    from reportlab.platypus import LongTable

    shares = sum(column.share for column in columns)
    widths = [width * POINTS_PER_MM * column.share / shares for column in columns]
    cells = [[_cell(words, column, marked) for words, column in zip(row, columns, strict=True)] for row in rows]
    return LongTable(cells, colWidths=widths, repeatRows=1, style=_table_style())


def _cell(words: str, column: Column, marked: Collection[str]) -> Any:
    return paragraph(words, right=column.right, colour=RUST if words in marked else None)


def _table_style() -> Any:
    from reportlab.platypus import TableStyle

    return TableStyle(
        [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("BACKGROUND", (0, 0), (-1, 0), TINT),
            ("LINEBELOW", (0, 0), (-1, -1), 0.2, _colour(RULE), "butt"),
            ("LEFTPADDING", (0, 0), (-1, -1), 3),
            ("RIGHTPADDING", (0, 0), (-1, -1), 5),
            ("TOPPADDING", (0, 0), (-1, -1), 1.5),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
        ]
    )


def _colour(colour: Colour) -> Any:
    from reportlab.lib.colors import Color

    return Color(*(part / 255 for part in colour))


@dataclass(frozen=True, slots=True)
class Setting:
    """A flowable that knows its size, and where its lower left corner goes on the page, in points."""

    flowable: Any
    left: float
    bottom: float


def flow(
    canvas: Any,
    story: Sequence[Part],
    paper: Paper,
    end_page: Callable[[], None],
    begin_page: Callable[[], None] | None = None,
) -> int:
    """Sets the story on as many pages as it needs and says how many; the two calls begin and end each."""
    pages = lay_out(canvas, story, paper)
    draw_pages(canvas, pages, end_page, begin_page)
    return len(pages)


def lay_out(canvas: Any, story: Sequence[Part], paper: Paper) -> list[list[Setting]]:
    """What stands where on each page; nothing is drawn yet, so that pages can be counted before."""
    pages: list[list[Setting]] = []
    rest = list(story)
    while rest:
        page, rest = _fill(canvas, rest, paper)
        pages.append(page)
    return pages


def draw_pages(
    canvas: Any,
    pages: Sequence[Sequence[Setting]],
    end_page: Callable[[], None],
    begin_page: Callable[[], None] | None = None,
) -> None:
    """Draws pages that are laid out, on this canvas or another of the same paper."""
    for page in pages:
        if begin_page is not None:
            begin_page()
        for setting in page:
            setting.flowable.drawOn(canvas, setting.left, setting.bottom)
        end_page()


def _fill(canvas: Any, story: list[Part], paper: Paper) -> tuple[list[Setting], list[Part]]:
    """What fits on this page, and what is left over."""
    left, width = paper.margin * POINTS_PER_MM, paper.printable[0] * POINTS_PER_MM
    foot = (paper.margin + FOOT_MM) * POINTS_PER_MM
    top = y = (paper.height - paper.margin) * POINTS_PER_MM
    page: list[Setting] = []
    for i, part in enumerate(story):
        y -= part.above * POINTS_PER_MM if y < top else 0.0
        if y < top and y - foot < part.room * POINTS_PER_MM:
            return page, story[i:]
        now, later = _split(canvas, part.flowable, width, y - foot, must=y == top)
        if now is None:
            return page, story[i:]
        y -= float(now.wrapOn(canvas, width, y)[1])
        page.append(Setting(now, left, y))
        y -= part.below * POINTS_PER_MM
        if later:
            return page, [*(Part(piece) for piece in later), *story[i + 1 :]]
    return page, []


def _split(canvas: Any, flowable: Any, width: float, room: float, must: bool) -> tuple[Any, list[Any]]:
    """What of the flowable is set in this room (None: nothing), and what comes later.

    `must` breaks even inside a table's row, which is otherwise kept whole.
    """
    if flowable.wrapOn(canvas, width, room)[1] <= room:
        return flowable, []
    parts = flowable.splitOn(canvas, width, room)
    if not parts and must:
        flowable.splitInRow = 1
        parts = flowable.splitOn(canvas, width, room) or [flowable]
    return (parts[0], list(parts[1:])) if parts else (None, [])


def _set(canvas: Any, flowable: Any, left: float, top: float, width: float) -> float:
    """Draws the flowable downwards from `top` and says how high it is, all in points."""
    height = float(flowable.wrapOn(canvas, width, top)[1])
    flowable.drawOn(canvas, left, top - height)
    return height


def set_in_box(canvas: Any, story: Sequence[Any], left: float, top: float, width: float) -> float:
    """Sets flowables one below the other from (left, top) in mm; says where they end."""
    y = top * POINTS_PER_MM
    for flowable in story:
        y -= _set(canvas, flowable, left * POINTS_PER_MM, y, width * POINTS_PER_MM)
        y -= BETWEEN_MM * POINTS_PER_MM
    return y / POINTS_PER_MM


def draw_foot(canvas: Any, paper: Paper, words: str, pages: str) -> None:
    """The foot inside the printable area: words from the left, never as far as the page's number at the right."""
    pen, y = PdfPen(canvas), paper.margin + 1.0
    room = paper.printable[0] - text_width(pages, FOOT_TEXT_MM) - FOOT_GAP_MM
    shown_words, height = fitted(words, FOOT_TEXT_MM, room, SMALLEST_FOOT_MM)
    pen.text((paper.margin, y), shown_words, height, colour=GREY)
    pen.text((paper.width - paper.margin, y), pages, FOOT_TEXT_MM, anchor="end", colour=GREY)
