"""The lay plan's page: to scale, every piece where it lies, its figures in words."""

from __future__ import annotations

import io
from xml.etree import ElementTree

import numpy as np
import pypdfium2
import pytest

from coutil.cut.lay import LayCloth, LayPart, Placement, outline_at, part_of, plan_lay, rectangle
from coutil.sheet import Heading, lay_plan_pdf, lay_plan_svg
from coutil.sheet._drawing import Bounds
from coutil.sheet._lay_plan import lay_plan_drawing

HEADING = Heading("Mezzo", "2026-02-03")
PANEL = LayPart("front", "Front", "outer", np.array([(0.0, 0), (280, 15), (290, 160), (150, 130), (0, 170)]), 2, 2)
PARTS = (PANEL, rectangle("binding", "outer", 400, 48, 2, grain_deg=45.0), rectangle("loop", "outer", 100, 6, 1))


def made(cloth: LayCloth, **more):
    return plan_lay("Overbust", PARTS, cloth, placings=0, **more)


def words(drawing) -> list[str]:
    return [writing.string for writing in drawing.writings]


def scale_of(drawing) -> int:
    line = next(word for word in words(drawing) if "scale 1 : " in word)
    return int(line.split("scale 1 : ")[1])


def test_pieces_are_drawn_to_scale_where_they_lie() -> None:
    plan = made(LayCloth(900.0))
    drawing = lay_plan_drawing(plan, PARTS, HEADING, "cm")
    scale = scale_of(drawing)
    drawn = [stroke.points for stroke in drawing.strokes_in("pieces") if stroke.closed]
    wanted = [outline_at(part_of(PARTS, one), one) / scale for one in plan.placements]
    offset = drawn[0].min(axis=0) - wanted[0].min(axis=0)
    for a, b in zip(drawn, wanted, strict=True):
        assert a.min(axis=0) - b.min(axis=0) == pytest.approx(offset, abs=0.02)
        assert np.ptp(a, axis=0) == pytest.approx(np.ptp(b, axis=0), abs=0.02)


def test_figures_stand_on_the_page_in_the_makers_unit() -> None:
    plan = made(LayCloth(900.0, price=20.0, nap=True))
    said = " ".join(words(lay_plan_drawing(plan, PARTS, HEADING, "cm")))
    for figure in ("90.0 cm wide", f"{plan.length / 10:.1f} cm", f"use {plan.use:.1f} %", f"cost {plan.cost:.2f}"):
        assert figure in said
    assert "with nap: all one way" in said
    assert "Front: 4 × outer, 2 mirrored" in said
    inches = " ".join(words(lay_plan_drawing(plan, PARTS, HEADING, "in")))
    assert "35 7/16 in wide" in inches


def test_grain_arrows_point_the_way_the_piece_is_turned() -> None:
    plan = made(LayCloth(900.0, nap=True))
    drawing = lay_plan_drawing(plan, PARTS, HEADING, "cm")
    arrows = [s.points for s in drawing.strokes_in("pieces") if not s.closed and len(s.points) == 2]
    assert arrows
    assert all(line[1, 0] > line[0, 0] and line[1, 1] == pytest.approx(line[0, 1]) for line in arrows)


def test_a_folded_cloth_shows_its_fold_and_what_is_cut_once() -> None:
    plan = made(LayCloth(1500.0, folded=True))
    said = words(lay_plan_drawing(plan, PARTS, HEADING, "cm"))
    assert "fold" in said
    assert "×1" in said


def test_fixed_pieces_are_marked() -> None:
    fixed = (Placement("front", "outer", "drawn", 50.0, 100.0, fixed=True),)
    drawing = lay_plan_drawing(made(LayCloth(900.0), fixed=fixed), PARTS, HEADING, "cm")
    assert sum(stroke.line.name == "fixed" for stroke in drawing.strokes) == 1
    assert any("fixed by hand" in word for word in words(drawing))


def test_a_part_too_narrow_for_its_number_is_told_in_the_list() -> None:
    said = words(lay_plan_drawing(made(LayCloth(900.0)), PARTS, HEADING, "cm"))
    assert any(word.startswith("too narrow to be numbered") for word in said)


@pytest.mark.parametrize("count", [1, 30])
def test_everything_stands_on_the_page(count: int) -> None:
    """Also a list of thirty parts, or a part of five metres."""
    parts = (
        *(rectangle(f"part {i}", "outer", 60 + i, 40, 1) for i in range(count)),
        rectangle("sash", "outer", 5000, 90, 1),
    )
    plan = plan_lay("Overbust", parts, LayCloth(1400.0), placings=0)
    drawing = lay_plan_drawing(plan, parts, HEADING, "cm")
    root = ElementTree.fromstring(lay_plan_svg(plan, parts, HEADING))
    width, height = (float(root.attrib[side].removesuffix("mm")) for side in ("width", "height"))
    bounds = Bounds()
    drawing.replay(bounds)
    left, low, right, top = bounds.box
    assert 0 < left < right < width
    assert 0 < low < top < height


def test_the_pdf_has_one_page_with_the_same_words_and_the_same_bytes_each_time() -> None:
    plan = made(LayCloth(900.0))
    content = lay_plan_pdf(plan, PARTS, HEADING)
    assert content == lay_plan_pdf(plan, PARTS, HEADING)
    document = pypdfium2.PdfDocument(io.BytesIO(content))
    assert len(document) == 1
    text = document[0].get_textpage().get_text_range()
    assert "Lay plan · Overbust · Mezzo" in text
    assert f"use {plan.use:.1f} %" in text
