"""The analytic body: a cone frustum cut into panels, altered to another frustum.

A tube's half is n panels with 2 (n - 1) seam edges; a change of girth at a level is shared evenly over the edges of
front and back, so every panel's new width is known in closed form: its old one plus the amount for each of its edges.
On a frustum the girth is linear in height, so the amounts are too.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coutil.alter import Alteration, Wishes, alter
from coutil.measure import Chart
from coutil.pattern import Piece, Role, Style, girth, scan, seam_lengths, width
from helpers.altering import client_of, most_moved
from helpers.seamed_tubes import shared_tube
from helpers.tubes import HEIGHTS

SEWN = (Role.PANEL_SEAM, Role.SIDE_SEAM)
STEP = 1e-4


def frustum(at_waist: float, flare: float) -> dict[str, float]:
    """Girths of a cone frustum, mm: `flare` mm of girth for a millimetre of height."""
    return {level: at_waist + flare * height for level, height in HEIGHTS.items()}


def edges(piece: Piece) -> int:
    return sum(edge.role in SEWN for edge in piece.edges)


def edges_of(base: Style, part: str) -> int:
    return sum(edges(piece) for piece in base.pieces if piece.part == part)


def front_share(base: Style) -> float:
    """The front's part of all seam edges: 1 / 2 for an even number of panels, 3 / 4 for three."""
    return edges_of(base, "front") / (edges_of(base, "front") + edges_of(base, "back"))


def client_for(base: Style, girths: dict[str, float]) -> Chart:
    """A body with these net girths, its front changed by the front's part of the seam edges."""
    changes = {level: mm - girth(base, level).full for level, mm in girths.items()}
    share = front_share(base)
    fronts = {f"{level}_front": share * mm for level, mm in changes.items()}
    return client_of(base, **{f"{level}_girth": mm for level, mm in changes.items()}, **fronts)


def altered(base: Style, girths: dict[str, float]) -> Alteration:
    outcome = alter(base, client_for(base, girths), Wishes(reduction=base.base_fit.reduction))
    assert outcome.conflicts == ()
    assert outcome.residual <= 1e-6
    return outcome


def closed_form(base: Style, piece: Piece, level: str, mm: float) -> float:
    """Old width and, for each seam edge of the panel, its part of the half's change."""
    change = (mm - girth(base, level).full) / 2
    return width(piece, level) + edges(piece) * change / (edges_of(base, "front") + edges_of(base, "back"))


def test_a_frustum_by_hand() -> None:
    """Four panels a half, all 75 wide at the waist 600; six seam edges.

    To 624 at the waist and 12 more at the hem: half the change is 12 and 18, so each edge takes 2 at the waist and 3 at
    the hem: the centre and closure panels become 77 and 78 wide, those between 79 and 81.
    """
    base = shared_tube(4)
    style = altered(base, {"underbust": 624.0, "waist": 624.0, "high_hip": 630.0, "hem": 636.0}).style
    waist = [width(piece, "waist") for piece in style.pieces]
    hem = [width(piece, "hem") for piece in style.pieces]
    assert waist == pytest.approx([77.0, 79.0, 79.0, 77.0], abs=0.05)
    assert hem == pytest.approx([78.0, 81.0, 81.0, 78.0], abs=0.05)


@settings(max_examples=25, deadline=None)
@given(
    n=st.integers(2, 6),
    before=st.tuples(st.floats(560.0, 900.0), st.floats(-0.3, 0.3)),
    more=st.tuples(st.floats(-30.0, 30.0), st.floats(-0.15, 0.15)),
)
def test_a_frustum_to_a_frustum(n: int, before: tuple[float, float], more: tuple[float, float]) -> None:
    base = shared_tube(n, frustum(*before), step=STEP)
    girths = frustum(before[0] + more[0], before[1] + more[1])
    style = altered(base, girths).style
    for level, mm in girths.items():
        assert girth(style, level).full == pytest.approx(mm, abs=0.05), level
        for old, new in zip(base.pieces, style.pieces, strict=True):
            assert width(new, level) == pytest.approx(closed_form(base, old, level, mm), abs=0.05), (new.name, level)


# Seams that lean by this much or not at all: hem and top meet at the seams in a clear point or in a straight line.
LEANS = st.sampled_from([0.0]) | st.floats(0.02, 0.05) | st.floats(-0.05, -0.02)


@settings(max_examples=10, deadline=None)
@given(n=st.integers(2, 6), at_waist=st.floats(560.0, 900.0), lean=LEANS, more=st.floats(-30.0, 30.0))
def test_the_same_flare_is_met_at_every_height(n: int, at_waist: float, lean: float, more: float) -> None:
    """All seams move parallel: the girth is linear between the levels too, and no seam changes its length."""
    flare = 4 * (n - 1) * lean
    base = shared_tube(n, frustum(at_waist, flare), step=STEP)
    style = altered(base, frustum(at_waist + more, flare)).style
    for height, full in scan(style, 5.0, "underbust", "hem"):
        assert full == pytest.approx(at_waist + more + flare * height, abs=0.05), height
    for old, new in zip(base.seams, style.seams, strict=True):
        before, after = seam_lengths(base, old).total, seam_lengths(style, new).total
        assert (after.a, after.b) == pytest.approx((before.a, before.b), abs=0.01), old.name


@pytest.mark.parametrize("lean", [0.0, 0.02, -0.05])
def test_a_tube_to_its_own_body_changes_nothing(lean: float) -> None:
    base = shared_tube(4, frustum(700.0, 12 * lean))
    outcome = alter(base, base.base_chart)
    assert outcome.plan.rows == ()
    assert most_moved(base, outcome.style) <= 1e-6


@pytest.mark.parametrize("lean", [0.01, 0.0156, -0.005])
def test_a_slightly_flared_tube_to_its_own_body_changes_nothing(lean: float) -> None:
    """A maker's own base keeps its points at hem and top, however small, when nothing is to change."""
    base = shared_tube(4, frustum(700.0, 12 * lean))
    outcome = alter(base, base.base_chart)
    assert outcome.plan.rows == ()
    assert most_moved(base, outcome.style) <= 1e-6


@settings(max_examples=10, deadline=None)
@given(n=st.integers(2, 6), flare=st.floats(-0.15, 0.15))
def test_a_cylinder_to_a_frustum_sews_together(n: int, flare: float) -> None:
    """Both edges of a seam take the same, so both stay equally long.

    By hand: a seam edge between waist and hem, 80 high, that leans by t is sqrt(80^2 + t^2) long.  Upright at the
    waist it is bowed, so a little longer.  Its ends settle so that hem and top leave the centre squarely and cross
    the seam smoothly: over a panel w wide, by no more than w times the slope of the seam's end, twice t / 80.
    """
    base = shared_tube(n, step=STEP)
    style = altered(base, frustum(600.0, flare)).style
    lean = abs(flare) * HEIGHTS["hem"] / (4 * (n - 1))
    for seam in style.seams:
        found = seam_lengths(style, seam)
        assert found.total.a == pytest.approx(found.total.b, abs=1e-4), seam.name
        for segment in found.segments:
            assert segment.a == pytest.approx(segment.b, abs=1e-4), seam.name
        settled = 2 * 300.0 / n * 2 * lean / HEIGHTS["hem"]
        assert found.total.a >= 100.0 + math.hypot(80.0, lean) - 0.3 - abs(settled), seam.name


@settings(max_examples=10, deadline=None)
@given(n=st.integers(2, 6), taken=st.floats(0.0, 60.0))
def test_centre_and_closure_stay_where_they_are(n: int, taken: float) -> None:
    base = shared_tube(n, step=STEP)
    style = altered(base, {"underbust": 600.0, "waist": 600.0 - taken, "high_hip": 600.0, "hem": 600.0}).style
    for piece, edge in (("panel_1", "centre"), (f"panel_{n}", "closure")):
        old, new = (s.piece(piece).edge(edge).curve.points for s in (base, style))
        assert new == pytest.approx(old, abs=1e-6)
