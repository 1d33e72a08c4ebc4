"""The tape of the alteration page: along edges and seams, across pieces, on result, base and mate."""

from __future__ import annotations

import numpy as np
import pytest
from alteration_samples import REDUCTION_MM, base, contralto, desk
from hypothesis import given, settings
from hypothesis import strategies as st

from coutil.alter import Alteration, Wishes
from coutil.curves import Curve
from coutil.errors import BadInput
from coutil.pattern import EdgeRef, seam_lengths
from coutil.workroom._alteration_tape import part_of, read_tape, same_place
from coutil.workroom._alteration_wire import Tape, TapePoint


def alteration() -> Alteration:
    return desk().work(contralto(), Wishes(reduction=REDUCTION_MM), "cm").job.alteration


def touch(edge: str, along: float) -> TapePoint:
    """A touch exactly on an edge of the result, that far along it."""
    piece, name = edge.split("/")
    x, y = alteration().style.curve(EdgeRef(piece, name)).point_at(along)
    return TapePoint(edge, float(x), -float(y))


def read(first: TapePoint, second: TapePoint) -> dict[str, float]:
    return {reading.name: reading.length_mm for reading in tape(first, second).readings}


def tape(first: TapePoint, second: TapePoint) -> Tape:
    return read_tape(alteration(), first, second, "cm")


def edge_length(edge: str) -> float:
    piece, name = edge.split("/")
    return alteration().style.curve(EdgeRef(piece, name)).length


def test_a_whole_seam_reads_as_the_seams_own_tape_does() -> None:
    style = alteration().style
    lengths = seam_lengths(style, next(seam for seam in style.seams if seam.name == "side")).total
    # The chain runs up the side front and on up the outer cup.
    found = read(touch("side_front/side_seam", 0.0), touch("outer_cup/side_seam", edge_length("outer_cup/side_seam")))
    assert found["result"] == pytest.approx(lengths.a, abs=0.002)
    assert found["mate"] == pytest.approx(lengths.b, abs=0.002)


def test_a_stretch_of_an_edge_reads_its_difference_along_it_either_way_round() -> None:
    first, second = touch("side_back/hem", 5.0), touch("side_back/hem", 47.5)
    assert read(first, second)["result"] == pytest.approx(42.5, abs=0.002)
    assert read(second, first) == read(first, second)
    assert set(read(first, second)) == {"result", "base"}


def test_the_base_is_read_between_the_same_places() -> None:
    whole = read(touch("side_back/hem", 0.0), touch("side_back/hem", edge_length("side_back/hem")))
    assert whole["base"] == pytest.approx(base().piece("side_back").edge("hem").curve.length, abs=0.002)


def test_the_mate_of_a_stretch_between_match_points_is_as_long() -> None:
    # Waist and underbust are match points of the front panel seam; sewn sides are equal between them.
    style = alteration().style
    curve = style.curve(EdgeRef("centre_front", "panel_seam"))
    ends = [touch("centre_front/panel_seam", float(along)) for along in curve.knot_lengths[[1, 2]]]
    found = read(*ends)
    assert found["mate"] == pytest.approx(found["result"], abs=0.01)
    assert [line.piece for line in tape(*ends).lines] == ["centre_front", "side_front"]
    assert [line.mate for line in tape(*ends).lines] == [False, True]


def test_across_a_piece_the_tape_lies_straight() -> None:
    style = alteration().style
    first, second = touch("side_back/side_seam", 10.0), touch("side_back/panel_seam", 20.0)
    ends = [style.curve(EdgeRef("side_back", e)).point_at(a) for e, a in (("side_seam", 10.0), ("panel_seam", 20.0))]
    found = tape(first, second)
    assert found.title == "Straight across the side back"
    assert found.readings[0].length_mm == pytest.approx(float(np.linalg.norm(ends[1] - ends[0])), abs=0.002)


def test_points_that_share_nothing_are_refused_in_words() -> None:
    with pytest.raises(BadInput, match="share none"):
        tape(touch("side_back/hem", 5.0), touch("inner_cup/neckline", 5.0))
    with pytest.raises(BadInput, match="one point"):
        tape(touch("side_back/hem", 5.0), touch("side_back/hem", 5.0))
    with pytest.raises(BadInput, match="no edge"):
        tape(TapePoint("side_back/nowhere", 0, 0), touch("side_back/hem", 5.0))
    with pytest.raises(BadInput, match="no piece"):
        tape(TapePoint("sleeve/hem", 0, 0), touch("side_back/hem", 5.0))


@given(st.floats(0, 1), st.floats(0, 1))
@settings(max_examples=40, deadline=None)
def test_parts_of_a_curve_are_as_long_as_asked(first: float, second: float) -> None:
    curve = base().piece("side_back").edge("side_seam").curve
    start, end = sorted((first * curve.length, second * curve.length))
    if end - start > 0.2:
        # The ends are kept to the tape's own smallest step.
        assert part_of(curve, start, end).length == pytest.approx(end - start, abs=0.11)


@given(st.floats(0, 1))
@settings(max_examples=40, deadline=None)
def test_a_curve_shares_every_place_with_itself_and_with_its_double(part: float) -> None:
    curve = base().piece("side_back").edge("side_seam").curve
    double = Curve(curve.points * 2)
    along = part * curve.length
    assert same_place(curve, curve, along) == pytest.approx(along, abs=1e-6)
    assert same_place(curve, double, along) == pytest.approx(2 * along, abs=1e-5)
