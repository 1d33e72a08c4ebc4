"""The alteration page on every kind of base: what a style lacks, its page does not ask for."""

from __future__ import annotations

import pytest
from alteration_samples import contralto

from coutil.alter import Wishes
from coutil.shipped import base_names, shipped_base
from coutil.workroom._alteration import Desk, document

KINDS = sorted({name.rstrip("0123456789").rstrip("-").rstrip("0123456789-") for name in base_names()})


def one_of(kind: str) -> str:
    """A base of that kind near the client in size."""
    wanted = {"": "80-18", "waist": "waist-72"}
    own = [name for name in base_names() if name.startswith(kind)]
    return wanted.get(kind, own[len(own) // 2])


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_base_has_its_page(kind: str) -> None:
    base = shipped_base(one_of(kind))
    desk = Desk(base)
    page = document(desk, desk.work(contralto(), Wishes(reduction=60.0), "in"), with_cut_line=True)
    assert [piece.name for piece in page.pieces] == [piece.name for piece in base.pieces]
    assert page.has_cup == (base.sharing.cup is not None)
    assert all(piece.cut for piece in page.pieces)
    assert {row.group for row in page.rows} >= {"side", "curves"}
    assert all(arrow.edge in {edge.id for edge in page.edges} for row in page.rows for arrow in row.arrows)
    listed = [row for measure in page.measures for row in measure.rows]
    assert {row.key for row in page.rows} <= set(listed), "a row without a reading would have no place in the chart"
