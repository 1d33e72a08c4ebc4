"""The pictures of the alteration guide: true to their scale, every amount at its mark, nothing over anything else."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from guide_samples import CLIENTS, ROOM, area, demo_alteration, moves_in, path, pictures, styles_of
from shapely.geometry import box
from sheet_samples import line, panel, style

from coutil.measure import Unit
from coutil.sheet._bone_plan import Picture
from coutil.sheet._guide_labels import Wanted, place_labels
from coutil.sheet._guide_marks import mark_pieces, moves_of
from coutil.sheet._guide_picture import SCALES, Room, step_pictures

UNITS: tuple[Unit, ...] = ("cm", "in")


def wider() -> tuple:
    """A panel, and the same with its side let out 4 mm at the waist."""
    before = style(panel("front", "Front"))
    side = line((90, -100), (84, 0), (90, 150))
    return before, before.with_pieces({"front": before.pieces[0].with_curves({"side": side})})


def drawn(room: Room = ROOM, unit: Unit = "cm") -> Picture | None:
    before, after = wider()
    ((moves),) = moves_of(mark_pieces(before, [after]), [before, after], 0.5)
    (picture,) = step_pictures(before, after, moves, room, unit, "A step")
    return picture


def scale_of(picture: Picture) -> float:
    return float(picture.words.partition("1:")[2].partition(".  ")[0])


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("client", CLIENTS)
def test_no_text_lies_on_another(client: str, unit: Unit) -> None:
    for picture in pictures(client, unit):
        areas = [area(writing) for writing in picture.drawing.writings]
        for i, j in zip(*shapely.STRtree(areas).query(areas, predicate="intersects"), strict=True):
            if i < j:
                words = [picture.drawing.writings[k].string for k in (i, j)]
                assert areas[i].intersection(areas[j]).area < 1e-6, f"{picture.title}: {words}"


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("client", CLIENTS)
def test_no_amount_lies_on_a_line_or_an_arrow(client: str, unit: Unit) -> None:
    for picture in pictures(client, unit):
        lines = [path(stroke) for stroke in picture.drawing.strokes if stroke.line.name != "leader"]
        tree = shapely.STRtree(lines)
        for writing in picture.drawing.writings:
            met = tree.query(area(writing), predicate="intersects")
            assert not len(met), f"{picture.title}: {writing.string} at {writing.position}"


@pytest.mark.parametrize("client", CLIENTS)
def test_no_leader_runs_through_a_text(client: str) -> None:
    for picture in pictures(client, "cm"):
        leaders = [path(stroke) for stroke in picture.drawing.strokes if stroke.line.name == "leader"]
        for writing in picture.drawing.writings:
            assert not any(leader.intersects(area(writing)) for leader in leaders), f"{picture.title}: {writing.string}"


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("client", CLIENTS)
def test_everything_stays_on_the_picture(client: str, unit: Unit) -> None:
    for picture in pictures(client, unit):
        sheet = box(0, 0, *picture.size).buffer(1e-6)
        assert picture.size[0] == ROOM.width
        assert all(sheet.contains(area(writing)) for writing in picture.drawing.writings), picture.title
        assert all(sheet.contains(path(stroke)) for stroke in picture.drawing.strokes), picture.title


@pytest.mark.parametrize("client", CLIENTS)
def test_every_mark_of_a_moved_edge_has_its_amount(client: str) -> None:
    steps = [step for step in moves_in(demo_alteration(client), "cm") if any(m.has_moved for m in step)]
    for picture, step in zip(pictures(client, "cm"), steps, strict=True):
        amounts = [w for w in picture.drawing.writings if "amounts" in w.groups]
        assert len(amounts) == sum(len(moves.shown()) for moves in step), picture.title


@pytest.mark.parametrize("client", CLIENTS)
def test_levels_half_ways_and_ends_of_moved_edges_are_shown(client: str) -> None:
    """Design: arrows at each level, half-way between levels and at both ends of each moved edge."""
    alteration = demo_alteration(client)
    for step in moves_in(alteration, "cm"):
        for moves in step:
            for edge in moves.moved_edges():
                run, piece = moves.piece.runs[edge], alteration.base.piece(moves.piece.name)
                shown, spans = set(moves.shown()), piece.edge(edge).curve.n_spans
                assert set(run) <= shown
                places = [moves.piece.marks[i].place for i in run[:-1]] + [float(spans)]
                knots = sorted({0, spans, *(m.at.knot for m in piece.level_marks if m.at.edge == edge)})
                assert set(knots) <= set(places)
                lengths = piece.edge(edge).curve.knot_lengths
                for low, high in pairwise(knots):
                    if lengths[high] - lengths[low] >= 24.0:
                        assert any(low < place < high for place in places), f"{piece.name} {edge} {low}"


def test_pieces_are_drawn_at_the_stated_scale() -> None:
    picture = drawn()
    assert picture is not None
    scale = scale_of(picture)
    after = np.concatenate([s.points for s in picture.drawing.strokes_in("after")])
    assert np.allclose(np.ptp(after, axis=0) * scale, (90.0, 250.0))
    bar = picture.drawing.strokes_in("scale")[0].points
    assert np.ptp(bar[:, 0]) * scale == pytest.approx(50.0)


def test_the_bar_is_two_inches_for_who_measures_in_inches() -> None:
    picture = drawn(unit="in")
    assert picture is not None
    bar = picture.drawing.strokes_in("scale")[0].points
    assert np.ptp(bar[:, 0]) * scale_of(picture) == pytest.approx(2 * 25.4)
    assert any("2 in" in writing.string for writing in picture.drawing.writings)


def test_the_largest_scale_that_fits_is_taken() -> None:
    scales = [scale_of(picture) for height in (160.0, 110.0, 80.0) if (picture := drawn(replace(ROOM, height=height)))]
    assert scales == sorted(scales)
    assert scales[-1] > scales[0] == SCALES[0]


def test_before_is_dashed_and_after_solid() -> None:
    picture = drawn()
    assert picture is not None
    assert all(stroke.line.dash for stroke in picture.drawing.strokes_in("before"))
    assert not any(stroke.line.dash for stroke in picture.drawing.strokes_in("after"))


def test_arrows_point_to_the_new_line() -> None:
    """The side is let out: at the waist the arrow's point lies at 84 mm, right of its tail, by 4 mm."""
    picture = drawn()
    assert picture is not None
    scale = scale_of(picture)
    left = min(stroke.points[:, 0].min() for stroke in picture.drawing.strokes_in("after"))
    shafts = [s.points for s in picture.drawing.strokes_in("arrows") if s.line.name == "arrow" and len(s.points) == 2]
    tips = sorted((shaft[1][0] - left) * scale for shaft in shafts)
    assert all(shaft[1][0] > shaft[0][0] for shaft in shafts)
    assert any(abs(tip - 84.0) < 1e-6 for tip in tips)


def test_nothing_moved_is_no_picture() -> None:
    before, _ = wider()
    ((moves),) = moves_of(mark_pieces(before, [before]), [before, before], 0.5)
    assert step_pictures(before, before, moves, ROOM, "cm", "none") == ()


def test_what_is_too_much_for_a_page_goes_on_several_pictures() -> None:
    """A whole pattern moves twelve pieces at once: every one is drawn, once, on pictures no taller than the page."""
    names = [f"front_{i}" for i in range(9)]
    before = style(*(panel(name, name) for name in names))
    side = line((90, -100), (84, 0), (90, 150))
    after = before.with_pieces({piece.name: piece.with_curves({"side": side}) for piece in before.pieces})
    ((moves),) = moves_of(mark_pieces(before, [after]), [before, after], 0.5)
    shown = step_pictures(before, after, moves, Room(190.0, 60.0, 90.0), "cm", "A step")
    assert len(shown) > 1
    assert all(picture.size[1] <= 90.0 for picture in shown)
    titles = [w.string for picture in shown for w in picture.drawing.writings if w.string.startswith("front_")]
    assert titles == names
    assert all(picture.words.startswith("Drawn 1:") for picture in shown)


def test_pieces_that_stay_are_not_drawn() -> None:
    alteration = demo_alteration("understudy")
    styles = styles_of(alteration)
    for i, step in enumerate(moves_in(alteration, "cm")):
        shown = step_pictures(styles[i], styles[i + 1], step, ROOM, "cm", "step")
        still = [styles[0].piece(m.piece.name).title for m in step if not m.has_moved]
        titles = [writing.string for picture in shown for writing in picture.drawing.writings]
        assert still
        assert not set(still) & set(titles)


def test_labels_find_other_places_when_crowded() -> None:
    marks = [Wanted("→12.5 ↑3", (0.0, float(y)), (1.0, 0.0)) for y in range(8)]
    labels = place_labels(marks, [np.array([(0.0, -5.0), (0.0, 12.0)])], 1.75, 24.0)
    assert labels is not None
    boxes = [box(*label.box) for label in labels]
    assert all(not boxes[i].intersects(boxes[j]) for i in range(8) for j in range(i))
    assert any(label.leader for label in labels)


def test_labels_without_any_room_are_told() -> None:
    wall = [np.array([(x, -60.0), (x, 60.0)]) for x in np.arange(-60.0, 60.0, 1.0)]
    assert place_labels([Wanted("→12.5", (0.0, 0.0), (1.0, 0.0))], wall, 1.75, 24.0) is None
