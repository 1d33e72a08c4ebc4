"""Marks files: what they state is taken, the rest is proposed; the documented example is what the page says."""

from __future__ import annotations

import re

import numpy as np
import pytest
from drawing_samples import CINCHER, DOCS, cincher, svg

from coutil.drawing import Imported, fitted, import_drawing, own_chart, usual_gap
from coutil.drawing._toml import marks_from_toml, marks_to_toml
from coutil.measure import Chart, Reading
from coutil.pattern import EdgeShare, Fit, Role, girth

PAGE = (DOCS / "own-patterns.md").read_text(encoding="utf-8")
(EXAMPLE,) = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)
BASE = cincher()


def test_the_documented_marks_file_fits_the_documented_drawing() -> None:
    style = cincher(marks_text=EXAMPLE).style
    front = style.piece("centre_front")
    assert front.centre_cut == "fold"
    assert front.edge("hem").allowance == 10
    assert front.edge("centre").straight
    assert [seam.name for seam in style.seams] == ["front", "side", "back"]
    assert [level.depth for level in style.levels] == [-75, 0, 50]
    assert (style.base_fit.reduction, style.base_fit.lacing_gap) == (40, 50)
    assert style.title == "Waist cincher"


def test_every_name_on_the_page_is_understood() -> None:
    for role in Role:
        assert f"`{role.value}`" in PAGE
    for word in ("level waist", "bust point", "grain", "mirror"):
        assert f"`{word}`" in PAGE


def test_a_single_correction_leaves_the_rest_proposed() -> None:
    found = cincher(marks_text="[pieces.side_back]\ngrain = 80\n[pieces.side_back.edges]\nhem = { allowance = 12 }")
    assert found.style.piece("side_back").grain_deg == 80
    assert found.style.piece("side_back").edge("hem").allowance == 12
    assert len(found.style.seams) == 3
    assert found.certainties


def test_a_seam_without_a_mate_is_told() -> None:
    found = cincher(marks_text="[pieces.side_back]\npart = 'front'")
    assert len(found.style.seams) == 2
    assert any("No mate was found for side_front.side_seam" in remark for remark in found.remarks)


def test_marks_are_read_back_as_they_were_written() -> None:
    marks = marks_from_toml(BASE.marks_text)
    assert marks_from_toml(marks_to_toml(marks, ["a note\nof two lines", "ünï"])) == marks
    assert BASE.marks_text.startswith("# Marks of a drawing")


def test_doubtful_proposals_stand_at_the_head_of_the_marks_file() -> None:
    head = BASE.marks_text.split("\nstyle =")[0]
    doubtful = [c for c in BASE.certainties if c.sure < 0.9]
    assert doubtful
    for certainty in doubtful:
        assert f"{certainty.sure * 100:.0f} % sure: {certainty.about}" in head


def test_a_corner_may_be_stated_anywhere_on_the_outline() -> None:
    rect = '<path id="front" d="M20,30 V200 H116 V30 Z"/><line id="level_waist" x1="10" x2="390" y1="120" y2="120"/>'
    edges = ["hem = { from = [0, -80] }", "side_seam = { from = [96, -80] }", "top = { from = [96, 90] }"]
    more = ["top_2 = { from = [40, 90] }", "centre = { from = [0, 90] }"]
    marks = "[pieces.front.edges]\n" + "\n".join(edges + more)
    piece = import_drawing(svg(rect), ".svg", "x", marks).style.piece("front")
    assert [edge.name for edge in piece.edges] == ["centre", "hem", "side_seam", "top", "top_2"]
    assert [edge.curve.length for edge in piece.edges] == pytest.approx([170, 96, 170, 56, 40])
    assert piece.edge("top_2").role is Role.TOP


def test_an_outline_is_left_out_or_named_by_a_point_inside() -> None:
    two = '<rect x="20" y="30" width="90" height="170"/><rect x="150" y="30" width="90" height="170"/>'
    waist = '<line id="level_waist" x1="10" x2="390" y1="120" y2="120"/>'
    marks = "[pieces.piece_2]\nuse = false\n[pieces.bodice]\ninside = [60, 150]"
    assert [p.name for p in import_drawing(svg(two + waist), ".svg", "x", marks).style.pieces] == ["bodice"]


def test_named_marks_on_seams_become_landmarks_with_a_match() -> None:
    circle = '<circle id="bust_point{0}" cx="{1}" cy="80" r="2"/>'
    at = [BASE.style.piece(name).edge("panel_seam").curve for name in ("centre_front", "side_front")]
    # y = 80 on the page is 40 above the waist; the seams lie 20 and 146 into the drawing at their pieces' left ends.
    xs = [float(curve.point_at(curve.crossings(40.0)[0].along)[0]) for curve in at]
    starts = (20.0, 146.0)
    body = "".join(circle.format(k, x + start) for k, (x, start) in enumerate(zip(xs, starts, strict=True)))
    found = import_drawing(CINCHER.replace(b"</svg>", body.encode() + b"</svg>"), ".svg", "x")
    for name in ("centre_front", "side_front"):
        piece = found.style.piece(name)
        landmark = piece.landmark("bust_point")
        assert landmark is not None
        assert piece.point(landmark)[1] == pytest.approx(40, abs=1e-6)
        assert landmark.edge == "panel_seam"
    (seam,) = (s for s in found.style.seams if "centre_front" in {ref.piece for ref in s.a})
    assert "bust point" in {match.name for match in seam.matches}
    # Its inner side is half the bust point separation: what the bust grows by is given to its outer side.
    assert found.style.sharing.surplus == (EdgeShare("side_front", "panel_seam", 2.0),)
    assert found.style.sharing.centre.giving == (("side_front", "panel_seam"),)


# --- charts and fit ----------------------------------------------------------------------------------------


def test_the_own_chart_is_garment_plus_gaps_plus_reduction() -> None:
    # The drawing's half waist is 82 + 70 + 72 + 80 = 304: garment 608, gap 50, reduction 62, body 720.
    fit = Fit({}, 62.0, 50.0, 0.0)
    chart = own_chart(BASE.style, fit, "own")
    assert girth(BASE.style, "waist").full == pytest.approx(608)
    assert chart["waist_girth"] == pytest.approx(720)
    # The front takes half the reduction: 2 (82 + 70) + 31.
    assert chart["waist_front"] == pytest.approx(335)
    assert chart.estimated("waist_girth")
    assert usual_gap(BASE.style) == 50.0


def test_a_given_chart_makes_the_fit_as_the_tape_finds_it() -> None:
    chart = Chart("own", {"waist_girth": Reading(720.0), "underbust_girth": Reading(800.0)})
    found = cincher(chart=chart)
    fit = found.style.base_fit
    assert (fit.reduction, fit.lacing_gap) == (pytest.approx(62), 50)
    assert fit.ease["waist"] == pytest.approx(0, abs=1e-9)
    assert fit.ease["underbust"] == pytest.approx(girth(found.style, "underbust").full + 50 - 800)
    # Front arcs in the pattern's own proportion: 304 of 608 garment, but the gap lies at the back.
    assert found.style.base_chart["waist_front"] == pytest.approx(720 * 304 / 658, abs=0.01)
    assert any("waist_front" in remark for remark in found.remarks)
    assert fitted(found.style, 50.0, 0.0, 20.0).ease["waist"] == pytest.approx(658 + 20 - 720)


def test_proposals_say_how_sure_they_are_and_why() -> None:
    bare = re.sub(rb'id="[a-z_]*\.[a-z_]*"', b"", CINCHER)
    found: Imported = import_drawing(bare, ".svg", "x")
    assert [len(piece.edges) for piece in found.style.pieces] == [4, 4, 4, 4]
    for certainty in found.certainties:
        assert 0.0 < certainty.sure < 1.0 or certainty.proposal.startswith("a corner")
        assert certainty.reason
    by_kind = {c.proposal.split()[0]: c.sure for c in found.certainties}
    assert by_kind["front"] == by_kind["back"] == 0.5
    assert np.mean([c.sure for c in found.certainties if c.about.startswith("seam")]) > 0.9
