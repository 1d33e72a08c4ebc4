"""A small made-up style whose drawings can be checked piece by piece."""

from itertools import pairwise

import numpy as np

from coutil.curves import Curve
from coutil.measure import Chart
from coutil.pattern import (
    CentreRule,
    CutFrom,
    Edge,
    Fit,
    KnotRef,
    Landmark,
    Layer,
    LengthRule,
    Level,
    LevelMark,
    Notch,
    Piece,
    Provenance,
    Role,
    Sharing,
    SideRule,
    Style,
)

CUT = (CutFrom("outer", 2, True), CutFrom("lining", 2, True))
LAYERS = (Layer("outer", 0.5, 0.5), Layer("lining", -0.5, -2.0))


def line(*points) -> Curve:
    """Straight spans through the points, each of them a knot."""
    spans = [Curve.line(a, b).points for a, b in pairwise(points)]
    return Curve(np.concatenate([spans[0], *(span[1:] for span in spans[1:])]))


def panel(name: str, title: str, width: float = 90.0, waist: float = 70.0, **more) -> Piece:
    """A body panel from -100 to 150 about its waist, with its centre or seam on the left."""
    inset = (width - waist) / 2
    edges = (
        Edge("hem", line((0, -100), (width, -100)), Role.HEM),
        Edge("side", line((width, -100), (width - inset, 0), (width, 150)), Role.SIDE_SEAM),
        Edge("top", line((width, 150), (0, 150)), Role.TOP),
        Edge("left", line((0, 150), (0, 0), (0, -100)), Role.CENTRE),
    )
    marks = (LevelMark("waist", KnotRef("side", 1)), LevelMark("waist", KnotRef("left", 1)))
    notches = (Notch("waist", "side", 100.0, 2),)
    levels = {"waist": 0.0, "underbust": 85.0}
    return Piece(name, title, "front", edges, levels, marks, notches=notches, cut=CUT, **more)


def cup(name: str, title: str) -> Piece:
    """A cup piece with its bust point on its right edge."""
    edges = (
        Edge("cradle", line((-90, -60), (0, -70)), Role.CRADLE),
        Edge("cup_seam", line((0, -70), (10, 0), (0, 90)), Role.CUP_SEAM),
        Edge("neckline", line((0, 90), (-90, 40)), Role.NECKLINE),
        Edge("centre", line((-90, 40), (-90, -60)), Role.CENTRE),
    )
    point = (Landmark("bust_point", KnotRef("cup_seam", 1)),)
    return Piece(name, title, "front", edges, {"bust": 0.0}, landmarks=point, cut=CUT)


def style(*pieces: Piece) -> Style:
    """A style of these pieces with two layers and no rules."""
    return Style(
        name="sample",
        title="Sample",
        half=True,
        pieces=pieces,
        seams=(),
        levels=(Level("waist", 0.0, "waist"),),
        layers=LAYERS,
        construction="single",
        base_chart=Chart("base", {}),
        base_fit=Fit(),
        sharing=Sharing(LengthRule(), CentreRule(), SideRule(), {}, ()),
        provenance=Provenance("made up for tests", invented=True),
    )
