"""What the cloth's own thickness asks for at the cut line: seam take-up, and room over foam.

Amounts: common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from cut_samples import SQUARE, make_piece

from coutil.cut import USUAL, OrderOptions, cut_outline, edge_width, layer_stitching, ordered_style
from coutil.draft import base_chart, draft_cupped
from coutil.pattern import Layer, Piece, Role

CUP = make_piece(SQUARE, [Role.CRADLE, Role.CUP_SEAM, Role.NECKLINE, Role.CENTRE], [10.0, 8.0, 0.0, 12.0])
PANEL = make_piece(SQUARE, [Role.HEM, Role.SIDE_SEAM, Role.TOP, Role.PANEL_SEAM], [0.0, 15.0, 0.0, 15.0])
# Foam of 3 mm: the cover is 1.1 x 3 = 3.3 mm larger.
COVER = Layer("outer", 0.5, 0.5, over_foam=3.3)


def widths(piece: Piece, layer: Layer) -> list[float]:
    return [edge_width(piece, edge, layer, USUAL) for edge in piece.edges]


def test_a_cover_over_foam_is_let_out_all_round_but_at_the_cup_seam() -> None:
    """Allowance + turn 0.5 + 3.3; the cup seam runs through the bust point and stays."""
    assert widths(CUP, COVER) == pytest.approx([13.8, 8.5, 3.8, 15.8])
    assert widths(CUP, replace(COVER, over_foam=0.0)) == pytest.approx([10.5, 8.5, 0.5, 12.5])


def test_panels_and_foam_itself_are_not_enlarged() -> None:
    assert widths(PANEL, COVER) == pytest.approx([0.5, 15.5, 0.5, 15.5])
    foam = Layer("cup foam", allowance=False, over_foam=3.3)
    assert widths(CUP, foam) == pytest.approx([-2.5, 0.0, -2.5, 0.0])


def test_the_stitching_line_of_the_cover_moves_with_it() -> None:
    """The square of 100 on its foam: 103.8 and 3.8 beyond its corners, by turn and room, without any allowance."""
    line = layer_stitching(CUP, COVER)
    assert line[:, 0].min() == pytest.approx(-3.8, abs=0.01)
    assert line[:, 0].max() == pytest.approx(100.5, abs=0.01)
    assert line[:, 1].min() == pytest.approx(-3.8, abs=0.01)
    assert line[:, 1].max() == pytest.approx(103.8, abs=0.01)
    assert cut_outline(CUP, COVER).outline[:, 1].min() == pytest.approx(-13.8, abs=0.02)


@pytest.mark.parametrize(
    ("construction", "layer", "turn", "take_up"),
    [
        ("single", "strength", 0.0, 0.0),
        ("mounted", "strength", 0.0, 0.5),
        ("floating_lining", "strength", 0.0, 0.5),
        ("sandwich", "strength", 0.0, 1.0),
        ("sandwich", "outer", 0.5, 1.0),
    ],
)
def test_what_a_seam_takes_up_is_added_back_half_at_each_edge(
    construction: str, layer: str, turn: float, take_up: float
) -> None:
    """Of two sewn edges each gives half: together the cloth between their cut lines grows by the whole take-up."""
    style = draft_cupped(base_chart(80, 14))
    made = ordered_style(style, OrderOptions(construction=construction))  # type: ignore[arg-type]
    (cloth,) = (found for found in made.layers if found.name == layer)
    piece = made.piece("side_front")
    sewn = [edge for edge in piece.edges if edge.role in (Role.PANEL_SEAM, Role.SIDE_SEAM)]
    for edge in sewn:
        plain = edge_width(piece, edge, Layer(layer), USUAL)
        assert edge_width(piece, edge, cloth, USUAL) == pytest.approx(plain + turn + take_up / 2)
