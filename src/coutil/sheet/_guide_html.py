"""The alteration guide as one HTML file that needs nothing beside it, for screen, screen reader and printer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

from coutil.alter import Alteration
from coutil.measure import Unit
from coutil.sheet._bone_plan import Picture
from coutil.sheet._guide import Block, GuidePage, Prose, StepDrawing, guide_head, guide_pages
from coutil.sheet._guide_picture import Room
from coutil.sheet._svg import SvgPen
from coutil.sheet._workroom_html import STYLE
from coutil.sheet._workroom_words import Grid, SheetHead

# The room of a picture on the screen, mm: it is read at any size there.
ROOM = Room(190.0, 160.0, 220.0)

# Pictures keep their scale: they are as wide as they were drawn.
MORE = """h3 { font-size: 1rem; margin: .9rem 0 .2rem; }
figure svg { width: auto; max-width: 100%; }
@media print { section { break-before: page; } }
"""


def guide_html(alteration: Alteration, cautions: Sequence[str], unit: Unit = "cm") -> str:
    """The guide as HTML: headings in order, tables with heads, pictures as SVG; no script, no other file.

    The alteration must carry its step frames; raises BadInput for frames of another pattern.
    """
    head = guide_head(alteration)
    return "\n".join(_document(head, guide_pages(alteration, cautions, unit))) + "\n"


def _document(head: SheetHead, pages: Sequence[GuidePage]) -> Iterator[str]:
    yield "<!DOCTYPE html>"
    yield '<html lang="en-GB">'
    yield f'<head><meta charset="utf-8"><title>{escape(head.title)} · {escape(head.words)}</title>'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield f"<style>{STYLE}{MORE}</style></head>"
    yield f"<body><header><h1>{escape(head.title)}</h1><p>{escape(head.words)}</p></header>"
    yield '<nav aria-label="Steps"><ul>'
    yield from (f'<li><a href="#part-{i}">{escape(page.title)}</a></li>' for i, page in enumerate(pages))
    yield "</ul></nav><main>"
    for i, page in enumerate(pages):
        yield f'<section aria-labelledby="part-{i}"><h2 id="part-{i}">{escape(page.title)}</h2>'
        for block in page.blocks:
            yield from _block(block)
        yield "</section>"
    yield "</main></body></html>"


def _block(block: Block) -> Iterator[str]:
    if isinstance(block, Prose):
        yield from _prose(block)
    elif isinstance(block, Grid):
        yield from _table(block)
    else:
        yield from _figure(block)


def _prose(prose: Prose) -> Iterator[str]:
    if prose.head:
        yield f"<h3>{escape(prose.head)}</h3>"
    if prose.numbered:
        yield "<ol>"
        yield from (f"<li>{escape(words)}</li>" for words in prose.sentences)
        yield "</ol>"
    else:
        yield from (f"<p>{escape(words)}</p>" for words in prose.sentences)


def _figure(drawing: StepDrawing) -> Iterator[str]:
    for picture in drawing.pictures(ROOM):
        yield f"<figure>{_svg(picture)}<figcaption>{escape(picture.words)}</figcaption></figure>"


def _svg(picture: Picture) -> str:
    pen = SvgPen()
    picture.drawing.replay(pen)
    whole = pen.document((0.0, 0.0, *picture.size), picture.title)
    return whole.partition("?>\n")[2].replace("<svg ", '<svg role="img" ', 1)


def _table(grid: Grid) -> Iterator[str]:
    yield f'<div class="wide" role="region" tabindex="0" aria-label="{escape(grid.caption)}"><table>'
    yield f"<caption>{escape(grid.caption)}</caption><thead><tr>"
    yield from (f'<th scope="col"{_class(grid, i, "")}>{escape(words)}</th>' for i, words in enumerate(grid.heads))
    yield "</tr></thead><tbody>"
    for row in grid.rows:
        cells = (f"<td{_class(grid, i, words)}>{escape(words)}</td>" for i, words in enumerate(row))
        yield f"<tr>{''.join(cells)}</tr>"
    yield "</tbody></table></div>"


def _class(grid: Grid, column: int, words: str) -> str:
    names = (["figure"] if column in grid.right else []) + (["look"] if words in grid.marked else [])
    return f' class="{" ".join(names)}"' if names else ""
