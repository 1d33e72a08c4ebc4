"""The drawing protocol: recorder, bounds and the moving filter."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coutil.sheet._drawing import (
    BASE,
    CUT,
    STITCHING,
    Bounds,
    Moved,
    Recorder,
    arrow_head,
    group,
    text_box,
    text_width,
)

ARC = np.array([(0.0, 0.0), (0.0, 40.0), (30.0, 40.0), (30.0, 0.0)])


def draw_sample(pen):
    """One of everything."""
    with group(pen, "piece:front"):
        pen.curve(ARC, STITCHING)
        with group(pen, "cut"):
            pen.polyline(np.array([(0.0, 0.0), (30.0, -5.0)]), CUT, closed=True)
    pen.text((3.0, 4.0), "Front", 3.0, angle=90.0, anchor="middle")


def test_the_recorder_knows_the_groups_of_every_stroke():
    recorder = Recorder()
    draw_sample(recorder)

    assert [stroke.groups for stroke in recorder.strokes] == [("piece:front",), ("piece:front", "cut")]
    assert len(recorder.strokes_in("cut")) == 1
    assert recorder.writings[0].groups == ()


def test_replaying_makes_the_same_calls():
    first, second = Recorder(), Recorder()
    draw_sample(first)
    first.replay(second)

    assert [s.groups for s in second.strokes] == [s.groups for s in first.strokes]
    assert all(np.array_equal(a.points, b.points) for a, b in zip(first.strokes, second.strokes, strict=True))
    assert second.writings == first.writings


def test_a_group_is_closed_even_where_drawing_fails():
    recorder = Recorder()
    with pytest.raises(ZeroDivisionError), group(recorder, "broken"):
        raise ZeroDivisionError
    recorder.polyline(np.zeros((2, 2)), BASE)

    assert recorder.strokes[0].groups == ()


def test_bounds_are_those_of_the_curve_not_of_its_handles():
    """By hand: the arc's height is 3/4 of its handles' height, 30 of 40."""
    bounds = Bounds()
    bounds.curve(ARC, STITCHING)

    assert bounds.box == pytest.approx((0, 0, 30, 30))


def test_bounds_of_nothing():
    assert Bounds().is_empty
    assert Bounds().box == (0, 0, 0, 0)


def test_moved_mirrors_turns_and_shifts_in_that_order():
    """By hand: (10, 2) mirrored (-10, 2), turned a quarter left (-2, -10), shifted by (100, 50): (98, 40)."""
    recorder = Recorder()
    Moved(recorder, 100, 50, turned=90, mirrored=True).polyline(np.array([(10.0, 2.0), (0.0, 0.0)]), CUT)

    assert recorder.strokes[0].points == pytest.approx(np.array([(98, 40), (100, 50)]))


def test_a_mirrored_text_stays_readable_and_keeps_its_place():
    recorder = Recorder()
    Moved(recorder, mirrored=True).text((10.0, 2.0), "Front", 3.0, angle=30.0, anchor="start")

    writing = recorder.writings[0]
    assert writing.position == pytest.approx((-10, 2))
    assert (writing.string, writing.angle, writing.anchor) == ("Front", -30.0, "end")


@given(st.floats(-180, 180), st.booleans(), st.floats(-500, 500), st.floats(-500, 500))
def test_moving_keeps_lengths(turned, mirrored, dx, dy):
    placed = Moved(Bounds(), dx, dy, turned, mirrored).place(ARC)

    assert np.linalg.norm(np.diff(placed, axis=0), axis=1) == pytest.approx(
        np.linalg.norm(np.diff(ARC, axis=0), axis=1)
    )


def test_the_room_of_a_text_follows_its_anchor_and_angle():
    wide = text_width("waist", 3.0)

    assert np.ptp(text_box((0, 0), "waist", 3.0), axis=0) == pytest.approx([wide, 4.0])
    assert np.ptp(text_box((0, 0), "waist", 3.0, angle=90), axis=0) == pytest.approx([4.0, wide])
    assert text_box((0, 0), "waist", 3.0, anchor="end")[:, 0].max() == pytest.approx(0)


def test_wider_letters_need_more_room():
    assert text_width("WWWW", 3.0) > text_width("aaaa", 3.0) > text_width("iiii", 3.0)


def test_an_arrow_head_points_at_its_tip():
    back, tip, other = arrow_head((5, 5), (0, 2), size=3)

    assert tip == pytest.approx((5, 5))
    assert back[1] == other[1] == pytest.approx(2)
