"""The pages of the alteration guide: every row told in order, its state, its rest, its mates; PDF and HTML."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import pypdfium2
import pytest
from guide_samples import demo_alteration, stepped

from coutil.alter import Alteration, Override, State, TruingNote, Wishes
from coutil.check import CAUTIONS
from coutil.errors import BadInput
from coutil.measure import Unit
from coutil.pattern import seam_lengths
from coutil.sheet import guide_html, guide_pdf
from coutil.sheet._guide import GuidePage, Prose, StepDrawing, guide_pages
from coutil.sheet._guide_words import Method, method_of, usual_mistake, what_to_do
from coutil.sheet._workroom_words import Grid
from helpers.altering import alterer_of, base_of, client_of
from helpers.pdf_reading import pages, texts

WISHES = Wishes(
    overrides=(
        Override("side_back", State.OVERRULED, "the back is flat", 2.0),
        Override("curves_waist_front", State.LEFT, "the waist is kept"),
        Override("centre", State.LOCKED, "as fitted"),
    )
)


@cache
def overruled() -> Alteration:
    """An alteration with a row overruled, one left and one locked; the cup deeper than it can be."""
    base = base_of()
    wider = {"bust_girth": 20.0, "underbust_girth": 12.0, "waist_girth": 24.0, "waist_front": 24.0}
    chart = client_of(base, **wider, bust_point_separation=6.0, underbust_to_waist=30.0)
    return stepped(alterer_of(), replace(chart, name="Žofie Ελένη Мария"), WISHES)


@cache
def told(unit: Unit = "cm") -> tuple[GuidePage, ...]:
    return guide_pages(overruled(), CAUTIONS, unit)


@cache
def printed(unit: Unit = "cm", paper: str = "a4") -> bytes:
    return guide_pdf(overruled(), CAUTIONS, paper, unit)


def words_of(page: GuidePage) -> str:
    found: list[str] = [page.title]
    for block in page.blocks:
        if isinstance(block, Prose):
            found += [block.head, *block.sentences]
        elif isinstance(block, Grid):
            found += [block.caption, *block.heads, *(cell for row in block.rows for cell in row)]
    return " ".join(found)


def step_of(title: str) -> GuidePage:
    return next(page for page in told() if page.title.endswith(f"· {title}"))


def plain(text: str) -> str:
    return " ".join(text.split())


def test_every_row_is_a_step_in_the_order_of_work() -> None:
    steps = [page.title for page in told() if page.title.startswith("Step ")]
    assert steps == [f"Step {i} · {row.title}" for i, row in enumerate(overruled().plan.rows, start=1)]


def test_the_chart_names_every_step_with_body_fit_and_garment() -> None:
    chart = next(page for page in told() if page.title == "Alteration chart")
    girths, rows = (block for block in chart.blocks if isinstance(block, Grid))
    assert [row[0] for row in rows.rows] == [str(i + 1) for i in range(len(overruled().plan.rows))]
    waist = next(row for row in girths.rows if row[0] == "waist")
    order = next(order for order in overruled().plan.girths if order.level == "waist")
    # Garment = body + fit, for the base and for the client.
    for body, fit, garment in (waist[1:4], waist[4:7]):
        assert float(body) + float(fit) == pytest.approx(float(garment.split(" ")[0]), abs=0.11)
    assert float(waist[4]) == pytest.approx(order.body / 10, abs=0.05)


def test_what_the_maker_decided_stands_with_its_reason() -> None:
    assert "Overruled: 2 mm instead of the rule's" in words_of(step_of("Side seam, back"))
    assert "the back is flat" in words_of(step_of("Side seam, back"))
    assert "Left as in the base: the waist is kept." in words_of(step_of("Waist, front"))
    assert "Locked at 3 mm: as fitted." in words_of(step_of("Bust point separation"))


def test_what_is_still_missing_is_told_and_marked() -> None:
    (row,) = [row for row in overruled().plan.rows if row.key == "curves_waist_front"]
    assert abs(row.remainder) > 0.05
    grid = next(block for block in step_of("Waist, front").blocks if isinstance(block, Grid))
    assert grid.rows[0][-1] == f"{row.remainder:.1f} mm".replace(".0 mm", " mm")
    assert grid.rows[0][-1] in grid.marked


def test_a_step_tells_work_reason_mistake_and_mates() -> None:
    for page in told():
        if any(isinstance(block, StepDrawing) for block in page.blocks):
            heads = [block.head for block in page.blocks if isinstance(block, Prose) and block.head]
            assert heads[:3] == ["What to do", "Why", "The usual mistake"], page.title
            assert any(isinstance(b, Grid) and b.caption.startswith("Mates") for b in page.blocks), page.title


def test_a_large_band_is_let_in_at_two_lines() -> None:
    # 30 mm is over 25: half above and half below, 15 mm each (design rule of the length row).
    words = words_of(step_of("Underbust to waist"))
    assert "Draw two lines square to the grain" in words
    assert "spread the parts: 15 mm at each line" in words


def test_a_band_taken_out_is_folded() -> None:
    alteration = demo_alteration("chorus_alto")
    row = next(row for row in alteration.plan.rows if row.key == "length")
    words = " ".join(what_to_do(row, alteration.base, "cm"))
    assert row.amount < 0
    assert "take out" in words
    assert "Fold the paper" in words


def test_every_row_of_a_cupped_pattern_has_its_own_way_of_drawing() -> None:
    alteration = demo_alteration("chorus_alto")
    found = {row.key: method_of(row, alteration.base) for row in alteration.plan.rows}
    assert found["length"] is Method.BAND
    assert found["centre"] is Method.RULED
    assert found["side_front"] is found["side_back"] is Method.PARALLEL
    assert found["bust_surplus"] is found["reduction"] is found["curves_waist_back"] is Method.CURVE
    assert found["upper_corner"] is Method.ALONG
    assert found["centre_top"] is Method.SLIDE
    assert found["cup_depth"] is Method.TURN


@pytest.mark.parametrize("method", Method)
def test_every_way_has_its_mistake_and_how_to_notice_it(method: Method) -> None:
    mistake, notice = usual_mistake(method)
    assert mistake.endswith(".")
    assert notice.endswith(".")
    assert mistake != notice


def test_mates_have_the_lengths_of_before_and_after() -> None:
    page = step_of("Underbust to waist")
    drawing = next(block for block in page.blocks if isinstance(block, StepDrawing))
    mates = next(block for block in page.blocks if isinstance(block, Grid) and block.caption.startswith("Mates"))
    rows = {row[0]: row for row in mates.rows}
    seam = next(seam for seam in drawing.after.seams if seam.name == "front_panel")
    before, after = (seam_lengths(style, seam).total for style in (drawing.before, drawing.after))
    figures = [f"{mm:.1f}" for mm in (before.a, after.a, before.b, after.b)]
    row = rows["Centre front panel seam"]
    assert [row[1], row[2], row[4], row[5]] == figures
    # The band of 30 mm lies on that seam and makes it about as much longer: levels slip a little, lines lean.
    assert after.a - before.a == pytest.approx(30.0, abs=2.0)


def test_the_last_page_tells_what_truing_moved_and_how_to_walk() -> None:
    page = told()[-1]
    words = words_of(page)
    assert "Hold both with a pin" in words
    truing = next(block for block in page.blocks if isinstance(block, Grid) and block.caption.startswith("Largest"))
    assert len(truing.rows) == len(overruled().truing)
    lengths = next(block for block in page.blocks if isinstance(block, Grid) and block.caption.startswith("Finished"))
    assert sum(row[1] == "whole seam" for row in lengths.rows) == len(overruled().style.seams)


def test_truing_that_moved_nothing_is_told() -> None:
    calm = replace(overruled(), truing=())
    assert "moved no edge" in words_of(guide_pages(calm, (), "cm")[-1])
    one = replace(overruled(), truing=(TruingNote("side_back", "top", 1.25, ""),))
    assert "Side back top 1.2" in words_of(guide_pages(one, (), "cm")[-1])


def test_cautions_are_printed_where_a_reduction_is_ordered() -> None:
    assert overruled().plan.reduction > 0
    text = plain(" ".join(texts(printed())))
    assert all(plain(caution) in text for caution in CAUTIONS)
    loose = replace(overruled(), plan=replace(overruled().plan, reduction=0.0))
    assert "Take it off at once" not in " ".join(words_of(page) for page in guide_pages(loose, CAUTIONS, "cm"))


def test_nobody_is_called_he_or_she() -> None:
    text = " ".join(words_of(page) for page in told()).lower()
    assert not re.search(r"\b(her|hers|she|his|him|he)\b", text)


def test_a_pattern_that_moved_after_the_last_row_has_one_more_step() -> None:
    stopped = replace(overruled(), frames=overruled().frames[:3])
    titles = [page.title for page in guide_pages(stopped, (), "cm")]
    assert titles[-2] == "Last truing"
    assert "Last truing" not in [page.title for page in told()]


def test_no_text_leaves_the_printable_area() -> None:
    for unit, paper in (("cm", "a4"), ("in", "letter")):
        for number, page in enumerate(pages(printed(unit, paper)), start=1):
            width, height = page.get_size()
            text = page.get_textpage()
            edge = 10.0 * 72 / 25.4 - 0.5
            for i in range(text.count_rects()):
                left, bottom, right, top = text.get_rect(i)
                inside = left >= edge and bottom >= edge and right <= width - edge and top <= height - edge
                assert inside, f"{paper} page {number}: {text.get_text_bounded(left, bottom, right, top)}"


def test_papers_have_their_size() -> None:
    assert pages(printed())[0].get_size() == pytest.approx((595.28, 841.89), abs=0.1)
    assert pages(printed("in", "letter"))[0].get_size() == pytest.approx((612.0, 792.0), abs=0.1)


def test_a_step_begins_its_own_page_and_pages_are_counted() -> None:
    found = texts(printed())
    steps = [plain(text) for text in found if plain(text).startswith("Step ")]
    drawn = [page for page in told() if any(isinstance(block, StepDrawing) for block in page.blocks)]
    assert len(steps) >= len(drawn)
    assert all(f"page {i} of {len(found)}" in plain(text) for i, text in enumerate(found, start=1))


def test_a_name_in_three_scripts_is_printed_with_an_embedded_face() -> None:
    assert "Žofie Ελένη Мария" in texts(printed())[0]
    assert b"FontFile2" in printed()


def test_the_same_guide_is_the_same_file() -> None:
    assert printed() == guide_pdf(overruled(), CAUTIONS, "a4", "cm")


def test_inches_are_fractions_and_explained() -> None:
    text = plain(" ".join(texts(printed("in", "letter"))))
    assert "sixteenths of an inch" in text
    assert "1 3/16" in text  # The band of 30 mm: 18.9 sixteenths.
    assert " mm" not in re.sub(r"Drawn 1:\S+", "", text)


def test_the_page_for_the_screen_holds_every_step_and_picture() -> None:
    page = guide_html(overruled(), CAUTIONS, "cm")
    assert all(f"{row.title}</h2>" in page for row in overruled().plan.rows)
    drawn = [p for p in told() if any(isinstance(block, StepDrawing) for block in p.blocks)]
    assert page.count("<svg ") == len(drawn)
    assert "<script" not in page
    assert "http" not in page.replace("http://www.w3.org/2000/svg", "")


def test_names_are_shown_and_not_obeyed() -> None:
    chart = replace(overruled().style.base_chart, name="<b>A & B</b>")
    sly = replace(overruled(), style=replace(overruled().style, base_chart=chart))
    assert "&lt;b&gt;A &amp; B&lt;/b&gt;" in guide_html(sly, (), "cm")
    assert "<b>A & B</b>" in pypdfium2.PdfDocument(guide_pdf(sly, ()))[0].get_textpage().get_text_range()


def test_other_papers_are_refused() -> None:
    with pytest.raises(BadInput, match="on a4 or letter"):
        guide_pdf(overruled(), CAUTIONS, "a0")


def test_a_backs_arc_is_called_as_its_front_is() -> None:
    grids = [block for page in told() for block in page.blocks if isinstance(block, Grid)]
    rows = [grid.rows[0][0] for grid in grids if grid.caption == "The row"]
    assert any(name.startswith("Waist, back") for name in rows)
    assert not any(name.startswith(("Waist back", "Hem back", "Bust back")) for name in rows)
    assert "Figures are in inches." in str(told("in"))
