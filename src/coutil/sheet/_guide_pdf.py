"""The alteration guide as a PDF: a page for each step on office paper."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from coutil.alter import Alteration
from coutil.errors import BadInput
from coutil.measure import Unit
from coutil.sheet._bone_plan import Picture
from coutil.sheet._flow import FOOT_MM, Column, Part, draw_foot, draw_pages, heading, lay_out, paragraph, table
from coutil.sheet._guide import Block, GuidePage, Prose, StepDrawing, guide_head, guide_pages
from coutil.sheet._guide_picture import Room
from coutil.sheet._paper import Paper, paper_of
from coutil.sheet._pdf_pen import POINTS_PER_MM, PdfPen
from coutil.sheet._workroom_words import Grid, SheetHead

TITLE_PT = 15.0
SUBTITLE_PT = 9.0
HEAD_PT = 8.5
NOTE_MM = 4.0
HEAD_ROOM_MM = 12.0
MOST_POINTS = 1e5
OFFICE_PAPERS = ("a4", "letter")
# A picture gets at least this room; where the words leave less, they go on overleaf.
LEAST_PICTURE_MM = 105.0
# A page's heading and the air between its parts, mm.
HEADING_MM, AIR_MM = 8.0, 3.0
# A table this high is not parted; a higher one begins where so much of it has room.
KEPT_WHOLE_MM, BEGUN_MM = 60.0, 30.0


def guide_pdf(alteration: Alteration, cautions: Sequence[str], paper: str = "a4", unit: Unit = "cm") -> bytes:
    """The guide as a PDF, fonts embedded; the same input gives the same bytes.

    The alteration must carry its step frames; `cautions` are printed where a reduction is ordered.  `paper` is a4
    or letter; raises BadInput for any other, and for frames of another pattern.
    """
    if paper.lower() not in OFFICE_PAPERS:
        raise BadInput(f"The alteration guide is printed on a4 or letter, not on {paper[:40]!r}.")
    sheet, head = paper_of(paper), guide_head(alteration)
    content = io.BytesIO()
    canvas = _canvas(content, head, sheet)
    pages = lay_out(canvas, list(_story(guide_pages(alteration, cautions, unit), head, sheet)), sheet)
    draw_pages(canvas, pages, lambda: _end_page(canvas, head, sheet, len(pages)))
    canvas.save()
    return content.getvalue()


def _canvas(content: io.BytesIO, head: SheetHead, paper: Paper) -> Any:
    from reportlab.pdfgen.canvas import Canvas

    size = (paper.width * POINTS_PER_MM, paper.height * POINTS_PER_MM)
    # Invariant: without the clock and random marks the same guide always gives the same file.
    canvas = Canvas(content, pagesize=size, pageCompression=1, invariant=1, lang="en-GB")
    canvas.setTitle(f"{head.title} · {head.words}")
    canvas.setCreator("coutil")
    return canvas


def _story(pages: Sequence[GuidePage], head: SheetHead, paper: Paper) -> Iterator[Part]:
    yield Part(paragraph(head.title, TITLE_PT), below=1.0)
    yield Part(paragraph(head.words, SUBTITLE_PT), below=1.0)
    was_fresh = False
    for page in pages:
        # What follows a step's own page, a row that is only told, does not squeeze in below it.
        yield from _page(page, paper, fresh=page.fresh or was_fresh)
        was_fresh = page.fresh


def _page(page: GuidePage, paper: Paper, fresh: bool) -> Iterator[Part]:
    yield replace(heading(page.title), room=paper.height if fresh else HEAD_ROOM_MM + BEGUN_MM)
    for block in page.blocks:
        if isinstance(block, StepDrawing):
            yield from _drawing(block, _room(page, block, paper))
        else:
            yield from _block(block, paper.printable[0])


def _room(page: GuidePage, drawing: StepDrawing, paper: Paper) -> Room:
    """What the page's words leave to its picture, and what those before it leave where the others go overleaf."""
    width, height = paper.printable
    height -= FOOT_MM + HEADING_MM + AIR_MM + 2 * NOTE_MM
    at = page.blocks.index(drawing)
    before, after = (_words_height(blocks, width) for blocks in (page.blocks[:at], page.blocks[at + 1 :]))
    return Room(width, max(height - before - after, LEAST_PICTURE_MM), height - before)


def _words_height(blocks: Sequence[Block], width: float) -> float:
    return sum(_height(part, width) for block in blocks for part in _block(block, width))


def _height(part: Part, width: float) -> float:
    """What a part takes on the page with the air round it, mm."""
    size = part.flowable.wrap(width * POINTS_PER_MM, MOST_POINTS)
    return float(size[1]) / POINTS_PER_MM + part.above + part.below


def _block(block: Block, width: float) -> Iterator[Part]:
    if isinstance(block, Prose):
        yield from _prose(block)
    elif isinstance(block, Grid):
        yield from _grid(block, width)


def _prose(prose: Prose) -> Iterator[Part]:
    if prose.head:
        yield Part(paragraph(prose.head, HEAD_PT), above=1.6, below=0.4, room=HEAD_ROOM_MM)
    for i, words in enumerate(prose.sentences, start=1):
        yield Part(paragraph(f"{i}.  {words}" if prose.numbered else words), below=0.7)


def _grid(grid: Grid, width: float) -> Iterator[Part]:
    columns = [Column(share, i in grid.right) for i, share in enumerate(grid.shares)]
    drawn = table([grid.heads, *grid.rows], columns, width * grid.wide, grid.marked)
    drawn.hAlign = "LEFT"
    height = float(drawn.wrap(width * POINTS_PER_MM, MOST_POINTS)[1]) / POINTS_PER_MM
    room = height if height <= KEPT_WHOLE_MM else BEGUN_MM
    yield Part(paragraph(grid.caption, HEAD_PT), above=1.6, below=0.6, room=room + HEAD_ROOM_MM / 2)
    yield Part(drawn, below=1.2, room=room)


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


def _drawing(drawing: StepDrawing, room: Room) -> Iterator[Part]:
    for picture in drawing.pictures(room):
        yield Part(_Drawn(picture), above=2.0, below=1.0)
        yield Part(paragraph(picture.words), below=0.5)


def _end_page(canvas: Any, head: SheetHead, paper: Paper, total: int) -> None:
    """The foot inside the printable area; then the next page."""
    draw_foot(canvas, paper, f"{head.title} · {head.words}", f"page {canvas.getPageNumber()} of {total}")
    canvas.showPage()
