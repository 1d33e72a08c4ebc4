"""What stands on printed pieces, and which copies are printed."""

from dataclasses import replace

import pytest
from sheet_samples import cup, panel, style

from coutil.errors import BadInput, BadStyle
from coutil.measure import Chart, Reading
from coutil.pattern import CutFrom, Layer
from coutil.sheet import PrintOptions
from coutil.sheet._copies import copies_to_print
from coutil.sheet._piece_label import allowance_words, head_words, label_words, size_words

OUTER, FOAM = Layer("outer"), Layer("cup_foam", allowance=False)
FRONT = panel("front", "Centre front")
CUP = replace(cup("inner", "Inner cup"), cut=(CutFrom("outer", 2, True), CutFrom("cup_foam", 2, True)))
STYLE = replace(style(FRONT, CUP), layers=(OUTER, Layer("lining"), FOAM))


def printed(*layers: str) -> list[tuple[str, str | None]]:
    copies = copies_to_print(STYLE, PrintOptions(layers=layers))
    return [(copy.piece.name, copy.layer and copy.layer.name) for copy in copies]


def test_the_label_says_all_a_cutter_needs() -> None:
    options = PrintOptions("C-17", "2026-11-25", "4")
    assert label_words(STYLE, FRONT, OUTER, {"lining"}, options) == (
        "Centre front",
        "Sample",
        "C-17",
        "revision 4 · 2026-11-25",
        "cut 2 × outer, mirrored",
        "and 2 × lining, mirrored",
        "grain along the arrow",
        "allowance included 15 mm",
        "hem none, top none, centre 10 mm",
    )


def test_what_is_not_given_is_left_out() -> None:
    lines = label_words(STYLE, FRONT, OUTER, (), PrintOptions())
    assert lines[:3] == ("Centre front", "Sample", "cut 2 × outer, mirrored")
    assert head_words(PrintOptions(date="2026-11-25")) == "2026-11-25"


def test_the_size_is_band_and_cup() -> None:
    chart = Chart("c", {"underbust_girth": Reading(870.0), "bust_girth": Reading(1070.0)})
    assert size_words(chart) == "size EN 85D"
    assert size_words(Chart("c", {"underbust_girth": Reading(720.0)})) == "size EN 70"
    assert size_words(Chart("c", {})) == ""


@pytest.mark.parametrize(
    ("allowances", "unit", "words"),
    [
        ((0.0, 15.0, 0.0, 15.0), "cm", ["allowance included 15 mm", "hem none, top none"]),
        ((15.0, 15.0, 15.0, 15.0), "cm", ["allowance included 15 mm"]),
        ((12.7, 12.7, 12.7, 25.4), "in", ["allowance included 1/2 in (12.7 mm)", "centre 1 in (25.4 mm)"]),
        ((0.0, 0.0, 0.0, 0.0), "cm", ["no allowance"]),
        # Of widths that occur once each the sewn long edge's leads.
        ((0.0, 15.0, 10.0, 45.0), "cm", ["allowance included 15 mm", "hem none, top 10 mm, centre 45 mm"]),
    ],
)
def test_allowances_in_words(allowances, unit, words) -> None:
    edges = tuple(replace(e, allowance=a) for e, a in zip(FRONT.edges, allowances, strict=True))
    assert allowance_words(replace(FRONT, edges=edges), OUTER, unit) == words


@pytest.mark.parametrize(
    ("layer", "words"),
    [
        (Layer("outer", turn=0.5, turn_at_edges=0.5), "turn of cloth +0.5 mm"),
        (Layer("lining", -0.25, -2.0), "turn of cloth −0.25 mm at seams, −2 mm at the garment's edges"),
        (Layer("strength", turn=0.25), "turn of cloth +0.25 mm at seams"),
    ],
)
def test_a_layer_that_is_cut_beside_the_allowance_says_by_how_much(layer: Layer, words: str) -> None:
    """The cut line of an edge that is bound runs where the label says, not on the stitching line."""
    assert allowance_words(FRONT, layer, "cm")[2:] == [words]


def test_a_cover_over_foam_says_so() -> None:
    # 3 mm of foam: 1.1 * 3 = 3.3 mm all round but at the cup seam.
    told = allowance_words(CUP, Layer("outer", over_foam=3.3), "cm")[-1]
    assert told == "+3.3 mm over the foam, but at the cup seam"


def test_a_layer_without_allowance_says_so() -> None:
    assert allowance_words(CUP, FOAM, "cm") == ["no allowance"]


def test_by_default_the_copy_without_allowance_is_never_forgotten() -> None:
    assert printed() == [("front", "outer"), ("inner", "outer"), ("inner", "cup_foam")]


def test_every_layer_or_one() -> None:
    assert printed("all") == [
        ("front", "outer"), ("inner", "outer"), ("front", "lining"), ("inner", "cup_foam"),
    ]  # fmt: skip
    assert printed("lining") == [("front", "lining")]
    assert printed("lining", "cup foam") == [("front", "lining"), ("inner", "cup_foam")]


def test_layers_that_share_a_copy_are_named_on_it_alone() -> None:
    front, outer_cup, foam_cup = copies_to_print(STYLE, PrintOptions())
    assert front.cut == "cut 2 × outer, mirrored and 2 × lining, mirrored"
    assert outer_cup.cut == "cut 2 × outer, mirrored"
    assert foam_cup.cut == "cut 2 × cup foam, mirrored"


def test_layers_that_cannot_be_printed_are_named() -> None:
    with pytest.raises(BadInput, match="has no layer 'silk': name one of outer, lining, cup_foam, or all"):
        copies_to_print(STYLE, PrintOptions(layers=("silk",)))
    with pytest.raises(BadStyle, match="no piece of sample is cut from cup_foam"):
        copies_to_print(replace(STYLE, pieces=(FRONT,)), PrintOptions(layers=("cup_foam",)))


def test_a_piece_that_is_cut_from_nothing_is_printed_all_the_same() -> None:
    (copy,) = copies_to_print(replace(STYLE, pieces=(replace(FRONT, cut=()),)), PrintOptions())
    assert copy.layer is None
    assert "no allowance" in [writing.string for writing in copy.drawing.writings]


def test_the_grain_stands_upright() -> None:
    (copy,) = copies_to_print(replace(STYLE, pieces=(replace(FRONT, grain_deg=0.0),)), PrintOptions())
    arrow = copy.drawing.strokes_in("grain")[0].points
    assert abs(arrow[1, 0] - arrow[0, 0]) < 1e-9
    xmin, ymin, xmax, ymax = copy.shape.bounds
    assert xmax - xmin > ymax - ymin
