"""Seams, cradle, marks and notches."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from check_cases import cupped, cylinder, found, plan_for, plan_row, verdicts, worst

from coutil.check import Verdict
from coutil.curves import Curve
from coutil.pattern import LevelMark, Match, PointRef, Style
from helpers.tubes import polyline, with_edge


def longer(by: float) -> Style:
    """Panel 2's forward edge `by` longer than panel 1's backward edge, between waist and underbust."""
    style = cylinder()
    x = style.piece("panel_2").edge("forward").curve.start[0]
    across = math.sqrt((100 + by) ** 2 - 100**2)
    return with_edge(style, "panel_2", "forward", polyline([(x - across, 100), (x, 0), (x, -50), (x, -80)]))


@pytest.mark.parametrize(("by", "verdict"), [(0.4, Verdict.PASS), (0.6, Verdict.FAIL), (4.2, Verdict.FAIL)])
def test_seams_within_half_a_millimetre(by, verdict):
    line = next(f for f in found(longer(by), "seam") if f.pieces == ("panel_1", "panel_2"))
    assert line.verdict is verdict
    assert line.figure == pytest.approx(by, abs=1e-6)


def test_the_longer_side_is_named():
    line = worst(longer(4.2), "seam")
    assert "the side with the panel 2 is 4.2 mm too long" in line.advice
    assert line.name == "Panel seam, panel 1 to panel 2, both sides"


def test_ease_is_allowed():
    style = longer(4.2)
    eased = tuple(replace(s, ease=4.2, matches=()) if s.name == "seam_1" else s for s in style.seams)
    assert verdicts(replace(style, seams=eased), "seam") == {Verdict.PASS}


def test_errors_that_cancel_over_the_whole_seam_are_found():
    """Waist marked 3 mm higher on one side: the total agrees, the segments do not."""
    style = cylinder()
    x = style.piece("panel_2").edge("forward").curve.start[0]
    slid = with_edge(style, "panel_2", "forward", polyline([(x, 100), (x, 3), (x, -50), (x, -80)]))
    line = worst(slid, "seam")
    assert line.verdict is Verdict.FAIL
    assert abs(line.figure) == pytest.approx(3.0)


# --- cradle ------------------------------------------------------------------------------------------------


def test_cup_and_panels_meet_in_the_cradle():
    assert verdicts(cupped(), "cradle") == {Verdict.PASS}


def _with_bow(style: Style, piece: str, edge: str, by: float) -> Style:
    """One handle of the edge moved up by `by`."""
    points = style.piece(piece).edge(edge).curve.points.copy()
    points[1, 1] -= by
    points[2, 1] -= by
    return with_edge(style, piece, edge, Curve(points))


def test_a_cradle_of_the_wrong_length_fails_at_its_own_tighter_limit():
    style = _with_bow(cupped(), "side_front", "cradle", 6.0)
    line = worst(style, "cradle")
    assert line.limit == 0.2
    assert line.verdict is Verdict.FAIL
    assert abs(line.figure) > 0.2


def test_the_foot_is_looked_at_by_itself():
    """Both cups together are as long as both panels, but the foot is matched 2 mm away."""
    style = cupped()
    cradle = next(s for s in style.seams if s.name == "cradle")
    wrong = Match("foot", PointRef("outer_cup", "cradle", 0), PointRef("side_front", "cradle", 1))
    seams = tuple(replace(s, matches=(wrong,)) if s is cradle else s for s in style.seams)
    assert verdicts(replace(style, seams=seams), "cradle") == {Verdict.FAIL}


def test_the_cradle_changes_only_by_rows_that_name_it():
    base = cupped()
    style = _with_bow(_with_bow(base, "side_front", "cradle", 6.0), "outer_cup", "cradle", 6.0)
    unnamed = plan_for(base, plan_row("curves_waist_front", "waist_front"))
    line = worst(style, "cradle_length", base=base, plan=unnamed)
    assert line.verdict is Verdict.FAIL
    assert "no row of the alteration chart names it" in line.advice
    for key, measurement in (("curves_underbust_front", "underbust_front"), ("peak", "peak"), ("fitting_1", "x")):
        named = plan_for(base, plan_row(key, measurement))
        line = worst(style, "cradle_length", base=base, plan=named)
        assert line.verdict is Verdict.PASS
        assert key.capitalize() in line.advice
    still = plan_for(base, plan_row("peak", "peak", amount=0.0))
    assert worst(style, "cradle_length", base=base, plan=still).verdict is Verdict.FAIL


def test_an_unchanged_cradle_needs_no_row():
    base = cupped()
    assert verdicts(base, "cradle_length", base=base, plan=plan_for(base)) == {Verdict.PASS}
    assert found(base, "cradle_length", base=base)[0].limit is None


# --- levels and notches ------------------------------------------------------------------------------------


def test_levels_meet_along_seams():
    assert verdicts(cylinder(), "level_match") == {Verdict.PASS}
    style = cylinder()
    x = style.piece("panel_2").edge("forward").curve.start[0]
    slid = with_edge(style, "panel_2", "forward", polyline([(x, 100), (x, 1.5), (x, -50), (x, -80)]))
    line = worst(slid, "level_match")
    assert line.verdict is Verdict.FAIL
    assert abs(line.figure) == pytest.approx(1.5)


def test_the_bust_level_of_cup_and_back_meets_along_the_side_seam():
    style = cupped()
    side = next(f for f in found(style, "level_match") if "side" in f.name.lower() and "bust level" in f.name)
    assert side.verdict is Verdict.PASS
    assert {"outer_cup", "side_back"} <= set(side.pieces)
    cup = style.piece("outer_cup")
    points = cup.edge("side_seam").curve.points.copy()
    points[2:5, 1] += 1.6
    moved = with_edge(style, "outer_cup", "side_seam", Curve(points))
    off = next(f for f in found(moved, "level_match") if f.name == side.name)
    assert off.verdict is Verdict.FAIL
    assert abs(off.figure) == pytest.approx(1.6, abs=0.1)


def test_slipped_level_marks_are_worth_a_look():
    assert verdicts(cylinder(), "level_marks") == {Verdict.PASS}
    piece = cylinder().piece("panel_2")
    raised = replace(piece, levels={**piece.levels, "waist": 1.2})
    slipped = cylinder().with_pieces({"panel_2": raised})
    assert verdicts(slipped, "level_marks") == {Verdict.WARN}
    assert verdicts(slipped, "level_marks", base=slipped) == {Verdict.PASS}


def test_the_slip_is_told_with_its_place_and_figure():
    """The waist line of panel 2 raised by 1.2, that of panel 3 by 1.1: four marks lie off, on either edge of each."""
    raised = {
        name: replace(cylinder().piece(name), levels={**cylinder().piece(name).levels, "waist": height})
        for name, height in (("panel_2", 1.2), ("panel_3", 1.1))
    }
    line = worst(cylinder().with_pieces(raised), "level_marks")
    assert line.figure == pytest.approx(1.2)
    assert (line.limit, line.pieces) == (1.0, ("panel_2",))
    assert "waist mark on the" in line.advice
    assert "has slipped by 1.2 mm, 3 more by less" in line.advice


def test_a_slip_the_base_had_already_does_not_hide_a_new_one():
    """Panel 2 lies off by 3 in the base too; only panel 3, by 1.5, is new."""

    def at(**heights: float):
        pieces = {name: cylinder().piece(name) for name in heights}
        return cylinder().with_pieces(
            {name: replace(p, levels={**p.levels, "waist": heights[name]}) for name, p in pieces.items()}
        )

    line = worst(at(panel_2=3.0, panel_3=1.5), "level_marks", base=at(panel_2=3.0))
    assert line.verdict is Verdict.WARN
    assert line.pieces == ("panel_3",)
    assert line.figure == pytest.approx(1.5)


def test_notches_pair():
    assert verdicts(cylinder(), "notches") == {Verdict.PASS}
    assert verdicts(cupped(), "notches") == {Verdict.PASS}


def test_a_notch_out_of_place_or_without_a_mate_fails():
    style = cylinder()
    piece = style.piece("panel_2")
    moved = tuple(replace(n, along=n.along + 0.7) if n.name == "waist" else n for n in piece.notches)
    line = worst(style.with_pieces({"panel_2": replace(piece, notches=moved)}), "notches")
    assert line.verdict is Verdict.FAIL
    assert abs(line.figure) == pytest.approx(0.7)
    fewer = tuple(n for n in piece.notches if n.name != "waist")
    line = worst(style.with_pieces({"panel_2": replace(piece, notches=fewer)}), "notches")
    assert line.verdict is Verdict.FAIL
    assert "no mate" in line.advice


def test_level_marks_of_one_side_alone_do_not_judge_a_seam():
    style = cylinder()
    piece = style.piece("panel_2")
    bare = tuple(m for m in piece.level_marks if m.at.edge != "forward")
    assert all(isinstance(m, LevelMark) for m in bare)
    lines = found(style.with_pieces({"panel_2": replace(piece, level_marks=bare)}), "level_match")
    assert not any(f.pieces == ("panel_1", "panel_2") for f in lines)
