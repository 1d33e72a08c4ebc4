"""Alterations with their steps, made once for all tests of the guide, and small readers of its pictures."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
from shapely.geometry import LineString, Polygon

from coutil.alter import Alteration, Alterer, Wishes
from coutil.curves import Curve
from coutil.job import nearest_sizes, size_name
from coutil.measure import Unit
from coutil.sheet._bone_plan import Picture
from coutil.sheet._drawing import Stroke, Writing, text_box
from coutil.sheet._guide_marks import STEP_MM, mark_pieces, moves_of
from coutil.sheet._guide_picture import Room, step_pictures
from coutil.shipped import demo_clients, shipped_base
from helpers.altering import LONG

# The rest of the nine takes half a minute.
CLIENTS = tuple(demo_clients()) if LONG else ("chorus_alto", "understudy")

ROOM = Room(190.0, 150.0, 200.0)


@cache
def demo_alteration(client: str) -> Alteration:
    """A demonstration client's alteration with the pattern after every row."""
    chart = demo_clients()[client]
    return stepped(Alterer(shipped_base(size_name(*nearest_sizes(chart)[0]))), chart, Wishes())


def stepped(alterer: Alterer, chart, wishes: Wishes) -> Alteration:
    outcome = alterer.alter(chart, wishes)
    return replace(outcome, frames=alterer.frames(outcome.plan))


def styles_of(alteration: Alteration) -> list:
    return [alteration.base, *(frame.style for frame in alteration.frames)]


def moves_in(alteration: Alteration, unit: Unit) -> list:
    styles = styles_of(alteration)
    return moves_of(mark_pieces(alteration.base, styles[1:]), styles, STEP_MM[unit])


@cache
def pictures(client: str, unit: Unit) -> tuple[Picture, ...]:
    """The picture of every step that has one."""
    alteration = demo_alteration(client)
    styles = styles_of(alteration)
    drawn = [
        step_pictures(styles[i], styles[i + 1], moves, ROOM, unit, alteration.frames[i].row)
        for i, moves in enumerate(moves_in(alteration, unit))
    ]
    return tuple(picture for step in drawn for picture in step)


def area(writing: Writing) -> Polygon:
    return Polygon(text_box(writing.position, writing.string, writing.height, writing.angle, writing.anchor))


def path(stroke: Stroke) -> LineString:
    return LineString(Curve(stroke.points).flatten(0.02) if stroke.cubic else stroke.points)


def redrawn(curve: Curve, places: np.ndarray, moves: np.ndarray, smooth) -> np.ndarray:
    """The curve by a hand that moves the marks at these places and everything between smoothly, as points (m, 2)."""
    t = np.linspace(0.0, curve.n_spans, 60 * curve.n_spans + 1)
    points = points_on(curve, t)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    return points + smooth(np.interp(places, t, along), moves)(along)


def points_on(curve: Curve, places: np.ndarray) -> np.ndarray:
    """Points by repeated halving between the control points, one after the other."""
    found = []
    for place in places:
        span = min(int(place), curve.n_spans - 1)
        rest, control = place - span, curve.points[3 * span : 3 * span + 4]
        while len(control) > 1:
            control = control[:-1] + rest * (control[1:] - control[:-1])
        found.append(control[0])
    return np.array(found)


def apart(points: np.ndarray, curve: Curve) -> float:
    """The farthest that points lie from the curve, or the curve from their line, mm."""
    drawn, wanted = LineString(points), LineString(curve.flatten(0.01))
    return float(drawn.hausdorff_distance(wanted))
