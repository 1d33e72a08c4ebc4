"""Figures of making against published sources and the trade's worked examples.

Each check names where its figure comes from.  Where a figure is common practice, or was written down from
memory, that is said; such a check holds the code to the practice, not to a publication.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from coutil.cut import BUSK_LENGTHS, BoneKind, OrderOptions, eyelet_lines, finished_girths, lace_length, spaced
from helpers.making_samples import tube

USUAL = OrderOptions()


def test_hand_sewn_eyelets_not_more_than_30_apart():
    """A manual of historical garments, on lacing and eyelets: eyelets not more than 3 cm apart."""
    for length in range(150, 420, 7):
        places = spaced(USUAL.eyelet_inset, length - USUAL.eyelet_inset, 0.4 * length, USUAL)
        assert max(b - a for a, b in pairwise(places)) <= 30


def test_eyelets_lie_20_to_25_apart_and_12_to_15_at_the_waist():
    """Usual spacing over the back and for the pairs around the waist (common practice, no source)."""
    (line,) = eyelet_lines(tube(high=220.0), USUAL)

    at_waist = line.pitches[line.waist]
    others = [pitch for i, pitch in enumerate(line.pitches) if i != line.waist]
    assert 12 <= at_waist <= 15
    assert all(19.5 <= pitch <= 25 for pitch in others)


def test_pitch_of_14_pairs_over_320():
    """Arithmetic on the trade's formula p = (H - 2m)/(N - 1): 320 with 15 at each end and 14 pairs is 22.31."""
    places = spaced(15, 305, None, replace(USUAL, eyelet_inset=15, eyelet_spacing=22))

    assert len(places) == 14
    assert places[1] - places[0] == pytest.approx(22.31, abs=0.01)


@pytest.mark.parametrize(
    ("pairs", "pitch", "gap", "to_edge", "expected"),
    [(14, 25, 200, 12, 7284), (12, 25, 150, 10, 5150)],
)
def test_lace_lengths_worked_by_geometry(pairs, pitch, gap, to_edge, expected):
    """Two worked cases of a criss-cross lace with two loops and two tails of 300 (plane geometry, to 1 mm).

    No published lace length was found; the trade sells 5 to 8 m (common practice).
    """
    assert lace_length([pitch] * (pairs - 1), gap, to_edge) == pytest.approx(expected, abs=1)


def test_channel_of_a_7_mm_bone():
    """Channel = bone + 2 mm, 7 in 9 (common practice, no source)."""
    assert BoneKind("spiral steel", width=7).channel == 9


def test_a_casing_for_a_three_eighths_channel_is_nine_eighths_wide():
    """A bias strip of 1 1/8 in for a 3/8 in channel (common practice, no source)."""
    from coutil.cut._small_parts import CASING_TURN_MM

    assert pytest.approx(9 / 8 * 25.4, abs=0.1) == 3 / 8 * 25.4 + 2 * CASING_TURN_MM


def test_bones_are_about_30_shorter_than_their_channel():
    """Bone = channel less 1 1/4 in in all (common practice): 330 gives 300; ours keeps 24 free and rounds down."""
    from coutil.curves import Curve
    from coutil.cut import Channel, bone_for
    from coutil.pattern import Role

    channel = Channel("seam", "seam", "panel", Curve.line((0, 0), (0, 330)), Role.HEM, Role.TOP, 2)
    assert bone_for(channel, USUAL).length == pytest.approx(300, abs=5)


def test_a_bone_of_347_with_8_clear_at_each_end_is_cut_330():
    """Worked case on the 5 mm grid: 347 less 2 x 8 is 331, sold 330 (common practice, no source)."""
    assert BoneKind("spiral steel").next_below(347 - 2 * 8) == 330


def test_busks_are_sold_in_these_lengths():
    """200, 230, 250, 280, 300, 330, 350, 380: 8 to 15 in, within 5 mm (supplier lists, from memory)."""
    assert all(abs(mm - 25.4 * inches) <= 6 for mm, inches in zip(BUSK_LENGTHS, range(8, 16), strict=True))


def test_an_outside_girth_of_24_in_with_three_sixteenths_of_cloth():
    """Printed example: 24 in inside and 3/16 to 0.19 in of cloth is 25 in outside; geometry gives 25.19."""
    from coutil.cut import Cloth

    inch = 25.4
    style = tube(high=150.0, width=24 * inch / 4, gap=0.0)
    cloths = (Cloth("outer", thickness=0.1 * inch), Cloth("strength", thickness=0.09 * inch))
    waist = next(row for row in finished_girths(style, OrderOptions(cloths=cloths)) if row.level == "waist")

    assert waist.laced == pytest.approx(24 * inch)
    assert waist.outside / inch == pytest.approx(25.19, abs=0.01)
    assert waist.outside / inch == pytest.approx(25, abs=0.2)


@pytest.mark.parametrize(("thickness", "more"), [(3.0, 18.85), (5.0, 31.42)])
def test_two_pi_of_girth_for_each_millimetre(thickness, more):
    """dC = 2 pi t: 3 mm of cloth is 18.85, 5 mm 31.42 (plane geometry)."""
    from coutil.cut import Cloth

    options = OrderOptions(cloths=(Cloth("outer", thickness=thickness), Cloth("strength", thickness=0.0)))
    waist = next(row for row in finished_girths(tube(high=150.0), options) if row.level == "waist")
    assert waist.outside - waist.laced == pytest.approx(more, abs=0.01)
    assert more == pytest.approx(2 * math.pi * thickness, abs=0.01)


def test_waist_tape_of_half_widths_330():
    """Half widths of 330 make a tape of 660 and turnings, less up to 3 mm a half (common practice, no source)."""
    from coutil.cut import waist_tapes

    (tape,) = waist_tapes(tube(high=150.0, width=165.0), USUAL)
    assert 660 - 2 * 3 <= tape <= 660


def test_a_modesty_panel_covers_a_gap_of_2_in():
    """Gap + 2 x 40 to 50 (common practice); the old shops' 3 to 4 in leaves less than an inch under each edge."""
    from coutil.cut import small_parts

    panel = next(part for part in small_parts(tube(high=150.0, gap=51.0), (), USUAL) if part.name == "modesty panel")
    assert 51 + 2 * 40 <= panel.width - 2 * 10 <= 51 + 2 * 50
    assert panel.width - 2 * 10 > 102


def test_binding_strip_for_a_25_mm_folding_tool():
    """The strip is cut 48 to 50 for about 12 finished (common practice, no source)."""
    from coutil.cut import small_parts

    strips = [part for part in small_parts(tube(high=150.0), (), USUAL) if part.name.startswith("binding")]
    assert {part.width for part in strips} == {48}


def test_the_busk_stands_19_below_the_upper_edge():
    """Top of the busk about 3/4 in below the edge (common practice, no source)."""
    assert pytest.approx(0.75 * 25.4, abs=0.1) == USUAL.busk_top
