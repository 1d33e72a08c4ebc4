"""Where panel seams stand between centre and side, and where a pattern is tighter than at its levels."""

from __future__ import annotations

import numpy as np
import pytest

from coutil.alter._layout import lay_out
from coutil.alter._narrows import Bands, holding_rows
from coutil.alter._order_of_seams import seam_places
from coutil.pattern import scan, widths
from coutil.shipped import shipped_base


def test_three_front_panels_and_three_back_panels_stand_at_thirds() -> None:
    """Two seams between centre and side: a third and two thirds of the way, on both sides of each seam."""
    places = seam_places(shipped_base("panelled-85-10"))
    assert places["centre_front", "back_seam"] == places["front", "front_seam"] == pytest.approx(1 / 3)
    assert places["front", "back_seam"] == places["side_front", "front_seam"] == pytest.approx(2 / 3)
    assert places["centre_back", "front_seam"] == places["back", "back_seam"] == pytest.approx(1 / 3)
    assert len(places) == 8


def test_the_only_seam_of_a_part_stands_half_way() -> None:
    assert set(seam_places(shipped_base("90-14")).values()) == {0.5}


def test_narrow_places_are_those_that_the_tape_finds() -> None:
    """The waist corset's seams bowed in by hand between waist and underbust: the tape and the alteration agree."""
    style = shipped_base("waist-72")
    layout = lay_out(style)
    bands = Bands(layout)
    own = bands.narrows(layout.points)
    assert [(n.lower, n.upper) for n in own] == [("high_hip", "waist"), ("waist", "underbust")]
    assert all(narrow.short < 0.0 for narrow in own)
    assert holding_rows(bands, layout.points, own) == []
    pinched = layout.points.copy()
    slots = layout.slots("front", "back_seam")
    handles = layout.span_points[slots.first_span + 2][1:3]
    pinched[handles, 0] -= 40.0
    found = bands.narrows(pinched)[1]
    tape = scan(layout.style.with_pieces({"front": _bowed(layout, pinched)}), 1.0)
    above = tape[(tape[:, 0] > 0.0) & (tape[:, 0] < style.piece("front").levels["underbust"]), 1]
    net = 2 * sum(width for (_, level), width in widths(style).items() if level == "waist")
    assert 2 * found.short == pytest.approx(net - float(above.min()), abs=0.8)
    (row,) = holding_rows(bands, pinched, own)
    assert row.key == "width between waist and underbust"


def _bowed(layout, points: np.ndarray):
    from coutil.curves import Curve

    slots = layout.slots("front", "back_seam")
    count = 3 * len(slots.widths) + 1
    curve = Curve(points[slots.first_point : slots.first_point + count])
    return layout.style.piece("front").with_curves({"back_seam": curve})
