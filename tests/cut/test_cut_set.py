"""The cut set: every piece from every layer."""

from dataclasses import replace

import pytest
from cut_samples import SQUARE, make_piece

from coutil.cut import cut_set
from coutil.errors import BadStyle
from coutil.pattern import CutFrom, Layer, Role


class FewPieces:
    """The part of a style that a cut set reads."""

    def __init__(self, pieces, layers):
        self.pieces, self.layers = pieces, layers


CUP = replace(
    make_piece(SQUARE, [Role.CRADLE, Role.CUP_SEAM, Role.NECKLINE, Role.CENTRE]),
    name="inner_cup",
    cut=(CutFrom("outer", 2, True), CutFrom("cup_foam", 2, True)),
)
PANEL = replace(make_piece(SQUARE, [Role.HEM] * 4), cut=(CutFrom("outer", 1, False),))
LAYERS = (Layer("outer", 0.5, 0.5), Layer("cup_foam", allowance=False))


def test_layer_by_layer_with_counts():
    items = cut_set(FewPieces((CUP, PANEL), LAYERS))

    found = [(item.cut.piece, item.cut.layer, item.count, item.mirrored) for item in items]
    assert found == [
        ("inner_cup", "outer", 2, True),
        ("panel", "outer", 1, False),
        ("inner_cup", "cup_foam", 2, True),
    ]


def test_only_the_foam_is_without_allowance():
    assert [item.cut.no_allowance for item in cut_set(FewPieces((CUP, PANEL), LAYERS))] == [
        False,
        False,
        True,
    ]


def test_an_unknown_layer_is_named():
    with pytest.raises(BadStyle, match="inner_cup is cut from cup_foam"):
        cut_set(FewPieces((CUP,), LAYERS[:1]))
