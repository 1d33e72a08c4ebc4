"""Girths inside: 2 pi for every millimetre of cloth.

Source: geometry of concentric circles; the trade says the same, to compare patterns and bodies on the inside
(common practice, no source).
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from coutil.check import Verdict, check_style
from coutil.errors import BadInput
from coutil.pattern import Layer, girth, laced_inside, measured_fit, style_from_json, style_to_json, thickness_loss
from helpers.tubes import tube_style

# Two cloths of 0.8 and 0.7 mm: 1.5 mm, which takes 2 pi x 1.5 = 9.42 mm.
LAYERS = (Layer("outer", thickness=0.8), Layer("strength", thickness=0.7))
FOAM = Layer("cup foam", allowance=False, thickness=3.0)
TAKEN = 9.4248


def test_worked_example_of_the_girth_inside() -> None:
    """600 of pieces and a gap of 50 hold 650 round the outside, 640.6 of body inside."""
    style = replace(tube_style(4), layers=(*LAYERS, FOAM))
    assert thickness_loss(style) == pytest.approx(TAKEN, abs=1e-4)
    assert girth(style, "waist").full == pytest.approx(600.0)
    assert laced_inside(style, "waist", 50.0) == pytest.approx(650.0 - TAKEN, abs=1e-4)


def test_a_pattern_drafted_for_the_inside_loses_nothing() -> None:
    style = tube_style(4)
    assert thickness_loss(style) == 0.0
    assert laced_inside(style, "waist", 50.0) == pytest.approx(650.0)


def test_the_check_judges_inside() -> None:
    """The tube fits a body of 650 as drawn; of 1.5 mm of cloth it is 9.4 mm too tight, and its measured ease is so."""
    thick = replace(tube_style(4), layers=LAYERS)
    tight = [f for f in check_style(thick) if f.code == "laced_girth"]
    assert {f.verdict for f in tight} == {Verdict.FAIL}
    assert all(f.figure == pytest.approx(-TAKEN, abs=1e-4) for f in tight)
    fit = measured_fit(thick, 50.0)
    assert fit.ease["waist"] == pytest.approx(-TAKEN, abs=1e-4)
    ordered = [f for f in check_style(replace(thick, base_fit=fit)) if f.code in ("laced_girth", "girth_scan")]
    assert {f.verdict for f in ordered} == {Verdict.PASS}


def test_thickness_and_room_over_foam_are_kept_in_the_file_and_never_negative() -> None:
    style = replace(tube_style(4), layers=(Layer("outer", thickness=0.8, over_foam=3.3), FOAM))
    text = style_to_json(style)
    assert style_from_json(text).layers == style.layers
    with pytest.raises(BadInput, match="thickness"):
        style_from_json(text.replace('"thickness": 0.8', '"thickness": -0.8'))
