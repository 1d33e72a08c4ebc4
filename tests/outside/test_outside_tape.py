"""The tape and the checks against another geometry library and against figures from outside."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from coutil.check import Verdict, check_style
from coutil.curves import Curve
from coutil.draft import base_chart, draft_cupped
from coutil.pattern import Piece, scan, width
from helpers.tubes import polyline, tube_style, with_edge


def _polygon(piece: Piece) -> shapely.Polygon:
    return shapely.Polygon(np.concatenate([edge.curve.flatten(1e-4)[:-1] for edge in piece.edges]))


def _chord(polygon: shapely.Polygon, y: float) -> float:
    return float(polygon.intersection(shapely.LineString([(-1e4, y), (1e4, y)])).length)


def test_widths_against_shapely():
    """Oracle: the length of a horizontal inside a polygon, by shapely; polygons within 0.0001 mm of the curves."""
    style = draft_cupped(base_chart(80, 14))
    for piece in style.pieces:
        for level in ("waist", "high_hip", "bust"):
            if level in piece.levels:
                found = _chord(_polygon(piece), piece.levels[level])
                assert width(piece, level) == pytest.approx(found, abs=0.01), (piece.name, level)


def test_the_scan_against_shapely():
    style = draft_cupped(base_chart(90, 18))
    body = [_polygon(piece) for piece in style.pieces if "waist" in piece.levels]
    for y, full in scan(style, step=9.0):
        assert full == pytest.approx(2 * sum(_chord(polygon, y) for polygon in body), abs=0.01)


@pytest.mark.parametrize(("one", "other", "verdict"), [(84.0, 96.0, Verdict.PASS), (84.0, 90.0, Verdict.FAIL)])
def test_joined_corners_complement_each_other(one, other, verdict):
    """The two angles at a seam's end add up to 180 degrees, two allowed (common practice, no source)."""
    style = tube_style(4)
    for piece, edge, angle, corner, rest in (
        ("panel_1", "top", one, (75.0, 100.0), (0.0, 100.0)),
        ("panel_2", "top", other, (-37.5, 100.0), (37.5, 100.0)),
    ):
        style = with_edge(style, piece, edge, _top(corner, rest, angle, starts=piece == "panel_1"))
    joins = (f for f in check_style(style) if f.code == "join" and "panel_1" in f.pieces)
    line = next(f for f in joins if f.name.startswith("top"))
    assert line.verdict is verdict
    assert line.figure == pytest.approx(one + other - 180.0, abs=1e-6)


def _top(corner: tuple[float, float], rest: tuple[float, float], angle: float, starts: bool) -> Curve:
    """A top that makes `angle` inside the cloth with the upright seam at its corner and is level at its other end."""
    away = math.copysign(20.0, rest[0] - corner[0])
    handle = (corner[0] + away, corner[1] - 20.0 / math.tan(math.radians(angle)))
    points = np.array([corner, handle, (rest[0] - away, rest[1]), rest])
    return Curve(points if starts else points[::-1])


def test_a_pair_of_250_and_250_8_is_not_within_half_a_millimetre():
    """A maker keeps pairs true to 1/16 in = 1.6 mm at most (a sewing magazine's article on patternwork, 2020); a
    corset's seam between notches is held to 0.5 mm (common practice, no source).
    """
    heights = {"underbust": 100.0, "waist": 0.0, "high_hip": -50.0, "hem": -150.0}
    style = tube_style(2, heights=heights)
    assert style.piece("panel_1").edge("backward").curve.length == pytest.approx(250.0)
    across = math.sqrt(100.8**2 - 100.0**2)
    longer = polyline([(-150 - across, 100), (-150, 0), (-150, -50), (-150, -150)])
    line = next(f for f in check_style(with_edge(style, "panel_2", "forward", longer)) if f.code == "seam")
    assert line.figure == pytest.approx(0.8)
    assert line.figure <= 25.4 / 16
    assert line.verdict is Verdict.FAIL
