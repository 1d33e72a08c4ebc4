"""Cut lines against the GEOS library's buffer, for one width all round.

Outside source: GEOS (the C++ geometry engine) through shapely.buffer with mitred joins.  It knows one width
only, so every edge has the same and none is pressed open.  Both limit a tip to twice the width.
"""

import math

import numpy as np
import pytest
import shapely

from coutil.curves import Curve
from coutil.cut import cut_outline
from coutil.pattern import Edge, Layer, Piece, Role


def panel(seed: int, width: float) -> Piece:
    """A four-sided panel with bowed edges whose corners lie between 60 and 120 degrees or so."""
    random = np.random.default_rng(seed)
    corners = np.array([(0, 0), (110, 0), (115, 260), (5, 250)]) + random.uniform(-15, 15, (4, 2))
    edges = tuple(
        Edge(f"e{i}", _bowed(a, b, bow), Role.HEM, allowance=width)
        for i, (a, b, bow) in enumerate(
            zip(corners, np.roll(corners, -1, axis=0), random.uniform(-0.08, 0.08, 4), strict=True)
        )
    )
    return Piece("panel", "Panel", "front", edges, {})


def _bowed(a, b, bow):
    along = b - a
    right = bow * np.array([along[1], -along[0]])
    return Curve(np.array([a, a + along / 3 + right, b - along / 3 + right, b]))


@pytest.mark.parametrize("width", [6.0, 15.0])
@pytest.mark.parametrize("seed", range(12))
def test_equal_widths_agree_with_a_mitred_buffer(seed, width):
    piece = panel(seed, width)
    net = shapely.Polygon(np.concatenate([edge.curve.flatten(1e-5)[:-1] for edge in piece.edges]))

    expected = net.buffer(width, join_style="mitre", mitre_limit=2.0)
    cut = shapely.Polygon(cut_outline(piece, Layer("strength")).outline)
    assert cut.hausdorff_distance(expected) < 0.01


def test_a_tip_of_20_degrees_is_cut_off_where_the_buffer_cuts_it():
    half = 200 * math.tan(math.radians(10))
    corners = [(0.0, 0.0), (200.0, -half), (200.0, half)]
    edges = tuple(
        Edge(f"e{i}", Curve.line(corners[i], corners[(i + 1) % 3]), Role.HEM, allowance=15.0)
        for i in range(3)
    )

    cut = shapely.Polygon(
        cut_outline(Piece("gusset", "Gusset", "front", edges, {}), Layer("strength")).outline
    )
    expected = shapely.Polygon(corners).buffer(15, join_style="mitre", mitre_limit=2.0)
    assert cut.hausdorff_distance(expected) < 0.01
