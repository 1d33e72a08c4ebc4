"""A small sound style to read, write and spoil: front and back panel with a yoke sewn to both."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from coutil.curves import Curve
from coutil.measure import Chart, Reading
from coutil.pattern import (
    Caps,
    CentreRule,
    CutFrom,
    Edge,
    EdgeRef,
    EdgeShare,
    Fit,
    KnotRef,
    Landmark,
    Layer,
    LengthRule,
    Level,
    LevelMark,
    Match,
    Notch,
    Part,
    Piece,
    PointRef,
    Provenance,
    Role,
    Seam,
    Sharing,
    SideRule,
    Style,
)


def line(a: tuple[float, float], b: tuple[float, float], *fractions: float) -> Curve:
    return Curve.line(a, b, fractions)


def panel(name: str, part: Part, left: Edge, right: Edge) -> Piece:
    """A panel 100 wide from y = -60 to 100 with the waist marked on both sides; left runs down, right up."""
    edges = (
        Edge("hem", line((0, -60), (100, -60)), Role.HEM),
        right,
        Edge("top", line((100, 100), (0, 100)), Role.TOP),
        left,
    )
    marks = tuple(LevelMark("waist", KnotRef(edge.name, 1)) for edge in (left, right))
    cut = (CutFrom("outer", 1, True), CutFrom("lining", 1, True))
    return Piece(name, name.title(), part, edges, {"waist": 0.0}, marks, cut=cut)


def down(name: str, role: Role) -> Edge:
    return Edge(name, line((0, 100), (0, -60), 100 / 160), role)


def up(name: str, role: Role) -> Edge:
    return Edge(name, line((100, -60), (100, 100), 60 / 160), role)


def bowed() -> Curve:
    """A curve of two spans whose direction runs through at its inner knot."""
    return Curve([(200, 40), (150, 52.5), (120, 55), (100, 55), (80, 55), (50, 52.5), (0, 40)])


def yoke() -> Piece:
    edges = (
        Edge("seam", line((0, 0), (200, 0), 0.5), Role.PANEL_SEAM),
        Edge("end", line((200, 0), (200, 40)), Role.SIDE_SEAM, allowance=20.0),
        Edge("neckline", bowed(), Role.NECKLINE),
        Edge("centre", line((0, 40), (0, 0)), Role.CENTRE, straight=True),
    )
    return Piece(
        "yoke",
        "Yoke",
        "front",
        edges,
        {},
        landmarks=(Landmark("middle", KnotRef("neckline", 1)),),
        notches=(Notch("half", "seam", 100.0, 2),),
        centre_cut="fold",
    )


def sample_style() -> Style:
    side = Seam(
        "side",
        (EdgeRef("front", "side"),),
        (EdgeRef("back", "side", backward=True),),
        (Match("waist", PointRef("front", "side", 1), PointRef("back", "side", 1)),),
    )
    above = Seam(
        "yoke seam",
        (EdgeRef("yoke", "seam"),),
        (EdgeRef("front", "top", backward=True), EdgeRef("back", "top", backward=True)),
        (Match("side", PointRef("yoke", "seam", 1), PointRef("front", "top", 0)),),
        ease=0.25,
    )
    readings = {"waist_girth": Reading(720.0), "hip_girth": Reading(950.125, "estimated", "2026-03-01")}
    return Style(
        name="sample",
        title="A sample",
        half=True,
        pieces=(
            panel("front", "front", down("centre", Role.CENTRE), up("side", Role.SIDE_SEAM)),
            panel("back", "back", down("side", Role.SIDE_SEAM), up("closure", Role.CLOSURE)),
            yoke(),
        ),
        seams=(side, above),
        levels=(
            Level("waist", 0.0, "waist"),
            Level("underbust", -0.1 - 0.2, "underbust"),
            Level("bust", None, "bust"),
        ),
        layers=(Layer("outer", 0.5, 0.5), Layer("lining", -0.5, -2.0)),
        construction="floating_lining",
        base_chart=Chart("sample body", readings, worn="a shirt", taken="2026-02-01", invented=True),
        base_fit=Fit({"waist": 12.5}, reduction=80.0, lacing_gap=50.0),
        sharing=Sharing(
            LengthRule(),
            CentreRule((("front", "centre"),)),
            SideRule((("front", "side"),), (("back", "side"),), "common"),
            {"front": (EdgeShare("front", "side", 1.0),), "back": (EdgeShare("back", "side", 0.5),)},
            (EdgeShare("front", "side", 2.0),),
            caps=Caps(edge=10.0),
        ),
        provenance=Provenance("Made for a test.", "A", invented=True),
        workroom_step=0.5,
    )


def with_piece(name: str, change: Callable[[Piece], Piece]) -> Style:
    style = sample_style()
    return style.with_pieces({name: change(style.piece(name))})


def with_edge(piece: str, edge: str, **changes: Any) -> Style:
    def change(old: Piece) -> Piece:
        return replace(old, edges=tuple(replace(e, **changes) if e.name == edge else e for e in old.edges))

    return with_piece(piece, change)


def with_seam(seam_name: str, **changes: Any) -> Style:
    style = sample_style()
    seams = tuple(replace(s, **changes) if s.name == seam_name else s for s in style.seams)
    return replace(style, seams=seams)
