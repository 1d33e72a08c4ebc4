"""The workroom sheet as one HTML file that needs nothing beside it, for screen, screen reader and printer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

from coutil.alter import Alteration
from coutil.check import Finding
from coutil.cut import Making
from coutil.measure import Unit
from coutil.sheet._bone_plan import Picture
from coutil.sheet._svg import SvgPen
from coutil.sheet._workroom import sheet_head, workroom_sections
from coutil.sheet._workroom_words import Grid, Section, SheetHead

STYLE = """
:root { color-scheme: light; --ink: #2a2622; --rule: #d9cfbb; --tint: #efe8d8; --accent: #96382a; --paper: #f6f1e6; }
* { box-sizing: border-box; }
body { font: 15px/1.45 "DejaVu Sans", "Segoe UI", Roboto, "Helvetica Neue", Arial, sans-serif; color: var(--ink);
  background: var(--paper); max-width: 62rem; margin: 0 auto; padding: 1.5rem; }
h1 { font-size: 1.6rem; margin: 0; }
h2 { font-size: 1.2rem; margin: 2rem 0 .5rem; border-bottom: 2px solid var(--ink); padding-bottom: .15rem; }
header p { margin: .2rem 0 0; }
nav ul { columns: 3 14rem; padding-left: 1.2rem; margin: .8rem 0; }
nav li { margin: 0; padding: .12rem 0; break-inside: avoid; }
p { margin: .3rem 0 .6rem; max-width: 48rem; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; margin: .6rem 0 1rem; font-size: .9em; }
caption { text-align: left; font-weight: 600; padding: .3rem 0; }
th, td { text-align: left; vertical-align: top; padding: .25rem .5rem; border-bottom: 1px solid var(--rule); }
thead th { background: var(--tint); font-weight: 600; }
tbody th { font-weight: 500; }
.figure { text-align: right; font-variant-numeric: tabular-nums; }
td.figure { white-space: nowrap; }
.look { color: var(--accent); font-weight: 600; }
figure { margin: 1rem 0; break-inside: avoid; }
figure svg { width: 100%; height: auto; max-width: 48rem; }
figcaption { font-size: .9em; max-width: 48rem; }
ol { max-width: 50rem; padding-left: 1.8rem; }
li { margin: .25rem 0; }
a { color: #96382a; }
@media print {
  @page { margin: 14mm 12mm; }
  :root { --ink: #000; --accent: #000; }
  a { color: inherit; }
  body { font-size: 9pt; max-width: none; padding: 0; background: none; }
  nav { display: none; }
  h2 { break-after: avoid; margin-top: 1rem; }
  .wide { overflow: visible; }
  caption { break-after: avoid; }
  thead { display: table-header-group; }
  tr, li { break-inside: avoid; }
  thead th { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
"""


def workroom_html(
    alteration: Alteration,
    findings: Sequence[Finding],
    making: Making,
    cautions: Sequence[str],
    unit: Unit = "cm",
) -> str:
    """The sheet as HTML: headings in order, every table with caption and heads, no script, no other file."""
    head = sheet_head(alteration, making)
    sections = workroom_sections(alteration, findings, making, cautions, unit)
    return "\n".join(_page(head, sections)) + "\n"


def _page(head: SheetHead, sections: Sequence[Section]) -> Iterator[str]:
    yield "<!DOCTYPE html>"
    yield '<html lang="en-GB">'
    yield f'<head><meta charset="utf-8"><title>{escape(head.title)} · {escape(head.words)}</title>'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield f"<style>{STYLE}</style></head>"
    yield f"<body><header><h1>{escape(head.title)}</h1><p>{escape(head.words)}</p></header>"
    yield '<nav aria-label="Sections"><ul>'
    yield from (f'<li><a href="#{_anchor(s.title)}">{escape(s.title)}</a></li>' for s in sections)
    yield "</ul></nav><main>"
    for section in sections:
        yield from _section(section)
    yield "</main></body></html>"


def _section(section: Section) -> Iterator[str]:
    anchor = _anchor(section.title)
    yield f'<section aria-labelledby="{anchor}"><h2 id="{anchor}">{escape(section.title)}</h2>'
    yield from (f"<p>{escape(note)}</p>" for note in section.notes)
    for grid in section.grids:
        yield from _table(grid)
    if section.picture is not None:
        yield from _figure(section.picture)
    if section.steps:
        yield "<ol>"
        yield from (f"<li>{escape(step)}</li>" for step in section.steps)
        yield "</ol>"
    yield "</section>"


def _figure(picture: Picture) -> Iterator[str]:
    """The picture as SVG inside the page, with its title and what it shows in words."""
    pen = SvgPen()
    picture.drawing.replay(pen)
    whole = pen.document((0.0, 0.0, *picture.size), picture.title)
    drawn = whole.partition("?>\n")[2].replace("<svg ", '<svg role="img" ', 1)
    caption = f"<strong>{escape(picture.title)}.</strong> {escape(picture.words)}"
    yield f"<figure>{drawn}<figcaption>{caption}</figcaption></figure>"


def _table(grid: Grid) -> Iterator[str]:
    yield f'<div class="wide" role="region" tabindex="0" aria-label="{escape(grid.caption)}"><table>'
    yield f"<caption>{escape(grid.caption)}</caption><thead><tr>"
    yield from (f'<th scope="col"{_class(grid, i, "")}>{escape(words)}</th>' for i, words in enumerate(grid.heads))
    yield "</tr></thead><tbody>"
    for row in grid.rows:
        cells = "".join(_cell(grid, i, words) for i, words in enumerate(row))
        yield f"<tr>{cells}</tr>"
    yield "</tbody></table></div>"


def _cell(grid: Grid, column: int, words: str) -> str:
    if column == 0 and words:
        return f'<th scope="row"{_class(grid, column, words)}>{escape(words)}</th>'
    return f"<td{_class(grid, column, words)}>{escape(words)}</td>"


def _class(grid: Grid, column: int, words: str) -> str:
    names = (["figure"] if column in grid.right else []) + (["look"] if words in grid.marked else [])
    return f' class="{" ".join(names)}"' if names else ""


def _anchor(title: str) -> str:
    return "".join(letter if letter.isalnum() else "-" for letter in title.lower())
