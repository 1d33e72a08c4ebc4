"""Words on the sheets: over no line, over no other word, and not across the joint between two tiles."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import shapely
from sheet_samples import cup, panel, style

from coutil.draft import base_chart, draft_cupped
from coutil.pattern import Style
from coutil.sheet import PrintOptions, print_pdf
from coutil.sheet._copies import flat, text_shape
from coutil.sheet._drawing import Recorder
from coutil.sheet._paper import paper_of
from coutil.sheet._pattern_sheet import PatternSheet, pattern_sheet
from coutil.sheet._tile_pages import draw_joining
from helpers.pdf_reading import darkness, pages, texts, with_layers_off

OPTIONS = PrintOptions("Client 7, the second lady", "2026-11-25", "3")
LONG = "Corsage à baleines cousu main, devant · Μπροστινό μέρος κορσέ · Передняя деталь"
DRAFT = draft_cupped(base_chart(75, 18))
NAMED = style(
    replace(panel("front", "front"), title=LONG), panel("narrow", "Narrow", width=42, waist=30), cup("inner", "Cup")
)


def sheet_of(drawn: Style, paper: str) -> PatternSheet:
    return pattern_sheet(drawn, paper_of(paper), OPTIONS)


CASES = [(DRAFT, "a4"), (DRAFT, "letter"), (NAMED, "a4"), (NAMED, "roll:900")]


@pytest.fixture(scope="module", params=CASES, ids=["draft-a4", "draft-letter", "named-a4", "named-roll"])
def sheet(request) -> PatternSheet:
    return sheet_of(*request.param)


def test_a_name_of_80_letters_in_three_scripts_is_one() -> None:
    assert len(LONG) >= 79


def test_no_word_lies_over_a_line_or_another_word(sheet: PatternSheet) -> None:
    texts = [text_shape(writing) for part in sheet.parts for writing in part.drawing.writings]
    lines = shapely.union_all([shapely.LineString(flat(s)) for part in sheet.parts for s in part.drawing.strokes])
    assert len(texts) > 20
    assert not any(text.intersects(lines) for text in texts)
    assert all(a.intersection(b).area < 1e-6 for a, b in combinations(texts, 2))


def test_no_word_of_a_piece_crosses_a_joint(sheet: PatternSheet) -> None:
    half = sheet.paper.overlap / 2
    cells = [shapely.box(*tile.box).buffer(-half, join_style="mitre") for tile in sheet.tiles]
    crossed = shapely.union_all([cell.boundary for cell in cells] if len(cells) > 1 else [])
    texts = [text_shape(writing) for part in sheet.parts for writing in part.drawing.writings]
    assert not any(text.intersects(crossed) for text in texts)


def test_every_word_is_whole_on_a_printed_tile(sheet: PatternSheet) -> None:
    boxes = [shapely.box(*tile.box) for tile in sheet.printed]
    for part in sheet.parts:
        for writing in part.drawing.writings:
            text = text_shape(writing)
            assert any(box.buffer(1e-6).contains(text) for box in boxes), writing.string


def test_names_of_tiles_lie_over_nothing(sheet: PatternSheet) -> None:
    for tile in sheet.printed:
        marks = Recorder()
        draw_joining(marks, sheet, tile, ("Sample", "Client 7", "page 5 of 9"))
        left, bottom = tile.box[:2]
        drawn = shapely.union_all([part.shape for part in sheet.parts_on(tile)])
        drawn = shapely.transform(drawn, lambda p, by=(sheet.paper.margin - left, sheet.paper.margin - bottom): p + by)
        words = [text_shape(writing) for writing in marks.writings]
        assert any(writing.string == tile.label for writing in marks.writings)
        assert not any(word.intersects(drawn) for word in words)
        assert all(a.intersection(b).area < 1e-6 for a, b in combinations(words, 2))


def test_every_fact_is_on_every_piece(sheet: PatternSheet) -> None:
    for part in sheet.parts:
        if part.copy is not None:
            words = "".join(w.string for w in part.drawing.writings if "label" in w.groups)
            for fact in part.copy.options.label:
                assert fact.replace(" · ", "").replace(" ", "") in words.replace(" · ", "").replace(" ", "")


def test_by_raster_no_letter_touches_a_stitching_line() -> None:
    """The text alone and the stitching lines alone, rendered apart, have no dark pixel in common."""
    content = print_pdf(DRAFT, None, (), "a4", OPTIONS)
    count = sum("trim, lay on" in words or "under" in words for words in texts(content))
    others = ("Cut line", "Marks", "Base pattern", "Joining marks")
    words_alone = pages(with_layers_off(content, *others, "Stitching line"))[-count:]
    lines_alone = pages(with_layers_off(content, *others, "Text"))[-count:]
    assert count >= 4
    for text, line in zip(words_alone, lines_alone, strict=True):
        words, strokes = darkness(text, 127)[0] > 0.3, darkness(line, 127)[0] > 0.3
        assert not np.any(words & strokes)
