"""The workroom sheet as a PDF: sections that flow over pages of office paper."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from coutil.alter import Alteration
from coutil.check import Finding
from coutil.cut import Making
from coutil.errors import BadInput
from coutil.measure import Unit
from coutil.sheet._bone_plan import Picture
from coutil.sheet._flow import Column, Part, draw_foot, draw_pages, heading, lay_out, paragraph, table
from coutil.sheet._paper import Paper, paper_of
from coutil.sheet._pdf_pen import POINTS_PER_MM, PdfPen
from coutil.sheet._workroom import sheet_head, workroom_sections
from coutil.sheet._workroom_words import Grid, Section, SheetHead

TITLE_PT = 15.0
SUBTITLE_PT = 9.0
CAPTION_PT = 9.0
CAPTION_MM = 8.0
HEADING_MM = 10.0
NOTE_MM = 4.5
# A table this high is not parted; a higher one begins where so much of it has room.
KEPT_WHOLE_MM = 60.0
BEGUN_MM = 30.0
MOST_POINTS = 1e5
OFFICE_PAPERS = ("a4", "letter")


def workroom_pdf(
    alteration: Alteration,
    findings: Sequence[Finding],
    making: Making,
    cautions: Sequence[str],
    paper: str = "a4",
    unit: Unit = "cm",
) -> bytes:
    """The sheet as a PDF, fonts embedded; the same input gives the same bytes.

    `paper` is a4 or letter; raises BadInput for any other.
    """
    if paper.lower() not in OFFICE_PAPERS:
        raise BadInput(f"The workroom sheet is printed on a4 or letter, not on {paper[:40]!r}.")
    sheet, head = paper_of(paper), sheet_head(alteration, making)
    sections = workroom_sections(alteration, findings, making, cautions, unit)
    content = io.BytesIO()
    canvas = _canvas(content, head, sheet)
    pages = lay_out(canvas, list(_story(sections, head, sheet.printable[0])), sheet)
    draw_pages(canvas, pages, lambda: _end_page(canvas, head, sheet, len(pages)))
    canvas.save()
    return content.getvalue()


def _canvas(content: io.BytesIO, head: SheetHead, paper: Paper) -> Any:
    from reportlab.pdfgen.canvas import Canvas

    size = (paper.width * POINTS_PER_MM, paper.height * POINTS_PER_MM)
    # Invariant: without the clock and random marks the same sheet always gives the same file.
    canvas = Canvas(content, pagesize=size, pageCompression=1, invariant=1, lang="en-GB")
    canvas.setTitle(f"{head.title} · {head.words}")
    canvas.setCreator("coutil")
    return canvas


def _story(sections: Sequence[Section], head: SheetHead, width: float) -> Iterator[Part]:
    yield Part(paragraph(head.title, TITLE_PT), below=1.0)
    yield Part(paragraph(head.words, SUBTITLE_PT), below=1.0)
    for section in sections:
        yield from _section(section, width)


def _section(section: Section, width: float) -> Iterator[Part]:
    """Title, notes, tables, picture and steps; the title keeps to the beginning of what follows."""
    grids = [part for grid in section.grids for part in _grid(grid, section, width)]
    first = grids[0].room if grids else BEGUN_MM
    yield replace(heading(section.title), room=HEADING_MM + NOTE_MM * len(section.notes) + first)
    yield from (Part(paragraph(note), below=1.0) for note in section.notes)
    yield from grids
    if section.picture is not None:
        yield from _picture(section.picture)
    yield from (Part(paragraph(words), below=0.7) for words in _numbered(section))


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A picture as something to set: it keeps its size and is never parted."""

    picture: Picture

    def wrapOn(self, canvas: Any, width: float, height: float) -> tuple[float, float]:
        """Its size in points."""
        across, up = self.picture.size
        return across * POINTS_PER_MM, up * POINTS_PER_MM

    def splitOn(self, canvas: Any, width: float, height: float) -> list[Any]:
        """No parts."""
        return []

    def drawOn(self, canvas: Any, x: float, y: float) -> None:
        """Draws it with its lower left corner at (x, y) points."""
        canvas.saveState()
        canvas.translate(x, y)
        self.picture.drawing.replay(PdfPen(canvas))
        canvas.restoreState()


def _picture(picture: Picture) -> Iterator[Part]:
    room = picture.size[1] + 2 * CAPTION_MM
    yield Part(paragraph(picture.title, CAPTION_PT), above=2.0, below=0.8, room=room)
    yield Part(paragraph(picture.words), below=1.5)
    yield Part(_Drawn(picture), below=1.5)


def _grid(grid: Grid, section: Section, width: float) -> Iterator[Part]:
    columns = [Column(share, i in grid.right) for i, share in enumerate(grid.shares)]
    drawn = table([grid.heads, *grid.rows], columns, width * grid.wide, grid.marked)
    drawn.hAlign = "LEFT"
    room = _room(drawn, width)
    if grid.caption != section.title:
        yield Part(paragraph(grid.caption, CAPTION_PT), above=2.0, below=0.8, room=room + CAPTION_MM)
    yield Part(drawn, below=1.5, room=room)


def _room(drawn: Any, width: float) -> float:
    """What a table needs to be begun, mm: a short one is kept on one page, a long one begins with a few rows."""
    height = float(drawn.wrap(width * POINTS_PER_MM, MOST_POINTS)[1]) / POINTS_PER_MM
    return height if height <= KEPT_WHOLE_MM else BEGUN_MM


def _numbered(section: Section) -> list[str]:
    """Steps with their numbers; a single sentence needs none."""
    if len(section.steps) < 2:
        return list(section.steps)
    return [f"{i + 1}.  {words}" for i, words in enumerate(section.steps)]


def _end_page(canvas: Any, head: SheetHead, paper: Paper, total: int) -> None:
    """The foot inside the printable area; then the next page."""
    draw_foot(canvas, paper, f"{head.title} · {head.words}", f"page {canvas.getPageNumber()} of {total}")
    canvas.showPage()
