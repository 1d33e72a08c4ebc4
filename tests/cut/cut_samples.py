"""Small pieces whose cut lines can be worked out by hand."""

from collections.abc import Sequence

import numpy as np
from hypothesis import strategies as st

from coutil.curves import Curve
from coutil.pattern import CutFrom, Edge, Piece, Role

OUTER = (CutFrom("outer", 2, True),)


def bowed(a: Sequence[float], b: Sequence[float], bow: float = 0.0) -> Curve:
    """A cubic from a to b whose handles lie `bow` times the chord to the right of it."""
    start, end = np.array(a, dtype=float), np.array(b, dtype=float)
    along = end - start
    right = bow * np.array([along[1], -along[0]])
    return Curve(np.array([start, start + along / 3 + right, end - along / 3 + right, end]))


def make_piece(
    corners: Sequence[Sequence[float]],
    roles: Sequence[Role],
    allowances: Sequence[float | None] | None = None,
    bows: Sequence[float] | None = None,
    **more,
) -> Piece:
    """An anticlockwise piece with edges e0, e1, ... from corner to corner."""
    n = len(corners)
    widths, bends = allowances or [None] * n, bows or [0.0] * n
    edges = tuple(
        Edge(f"e{i}", bowed(corners[i], corners[(i + 1) % n], bends[i]), roles[i], allowance=widths[i])
        for i in range(n)
    )
    return Piece("panel", "Panel", "front", edges, {}, cut=OUTER, **more)


SQUARE = ((0, 0), (100, 0), (100, 100), (0, 100))


@st.composite
def gentle_pieces(draw, roles=(Role.HEM, Role.SIDE_SEAM, Role.TOP, Role.PANEL_SEAM)):
    """Four-sided panels with leaning, gently curved edges: no radius is tighter than an allowance."""
    shift = st.floats(-20, 20)
    base = np.array([(0, 0), (110, 0), (115, 260), (5, 250)], dtype=float)
    corners = [tuple(corner + np.array([draw(shift), draw(shift)])) for corner in base]
    bows = [draw(st.floats(-0.1, 0.1)) for _ in base]
    widths = [draw(st.floats(0, 20)) for _ in base]
    return make_piece(corners, roles, widths, bows)
