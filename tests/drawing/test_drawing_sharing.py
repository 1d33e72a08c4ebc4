"""Sharing rules proposed for a panelled pattern of the maker's own: which side of the bust seam takes the growth."""

from __future__ import annotations

from dataclasses import replace

from coutil.drawing._rules import usual_sharing
from coutil.measure import Side
from coutil.pattern import Style
from coutil.shipped import shipped_base


def panelled() -> Style:
    return shipped_base("panelled-85-10")


def takers(style: Style, sides: dict[str, Side]) -> list[tuple[str, str, float]]:
    sharing = usual_sharing(style.pieces, style.seams, sides)
    return [(share.piece, share.edge, share.weight) for share in sharing.surplus]


def test_the_outer_side_of_the_bust_seam_takes_the_growth_and_the_next_seam_as_much() -> None:
    found = takers(panelled(), {})
    assert found[0][0] == "front"
    assert [weight for _, _, weight in found] == [2.0, 1.0, 1.0]


def test_a_name_that_holds_a_side_s_word_changes_nothing() -> None:
    """An upright front is no right front: the side is told by the pattern, not by letters."""
    style = panelled()
    renamed = tuple(replace(piece, name=f"upright_{piece.name}") for piece in style.pieces)
    found = usual_sharing(renamed, (), {}).surplus
    assert found[0].piece == "upright_front"
