"""The cupped overbust as a style: pieces, seams, levels, layers and sharing rules, drafted and trued."""

from __future__ import annotations

from dataclasses import replace

from coutil.alter import trued
from coutil.draft._cupped_pieces import (
    CENTRE,
    centre_back,
    centre_front,
    front_edge,
    inner_cup,
    outer_cup,
    side_back,
    side_front,
)
from coutil.draft._cupped_sizes import HEM_DEPTH, HIGH_HIP_DEPTH, Sizes, sizes_of
from coutil.draft._order import at_depths, usual_fit
from coutil.draft._variants import PLAIN, Variant
from coutil.measure import Chart
from coutil.pattern import (
    CentreRule,
    CupRule,
    EdgeRef,
    EdgeShare,
    Fit,
    Layer,
    LengthRule,
    Level,
    Match,
    Piece,
    PointRef,
    Provenance,
    Seam,
    Sharing,
    SideRule,
    Style,
    with_notches,
)

TITLE = "Cupped overbust"
LAYERS = (
    Layer("outer", turn=0.5, turn_at_edges=0.5),
    Layer("strength"),
    Layer("lining", turn=-0.5, turn_at_edges=-2.0),
    Layer("cup foam", allowance=False),
)


def draft_cupped(chart: Chart, fit: Fit | None = None, variant: Variant = PLAIN) -> Style:
    """Draw the cupped overbust from a chart; raises CannotDraft where the chart lies outside the style's range."""
    chart = at_depths(chart, {"high_hip": HIGH_HIP_DEPTH, "hem": HEM_DEPTH})
    wanted = variant.fit(fit or usual_fit(chart))
    sizes = sizes_of(chart, wanted, variant)
    style = _style(sizes.chart, wanted, _pieces(sizes), variant)
    return with_notches(trued(style, depth=sizes.depth, upper=sizes.upper))


def _pieces(sizes: Sizes) -> tuple[Piece, ...]:
    centre, side = centre_front(sizes), side_front(sizes)
    inner = inner_cup(sizes, centre.edge("cradle").curve.length)
    outer = outer_cup(sizes, side.edge("cradle").curve.length)
    return centre, side, side_back(sizes), centre_back(sizes), inner, outer


def _style(chart: Chart, fit: Fit, pieces: tuple[Piece, ...], variant: Variant) -> Style:
    under, cup = chart["underbust_girth"] / 10, (chart["bust_girth"] - chart["underbust_girth"]) / 10
    return Style(
        name=f"cupped_overbust_{under:.0f}_{cup:.0f}",
        title=TITLE,
        half=True,
        pieces=pieces,
        seams=SEAMS,
        levels=(
            Level("bust", None, "bust"),
            Level("underbust", -chart["underbust_to_waist"], "underbust"),
            Level("waist", 0.0, "waist"),
            Level("high_hip", HIGH_HIP_DEPTH, "high_hip"),
            Level("hem", HEM_DEPTH, "hem"),
        ),
        layers=LAYERS,
        construction="mounted",
        base_chart=chart,
        base_fit=fit,
        sharing=_sharing(front_edge(variant)[0]),
        provenance=Provenance("Drafted by coutil from its base chart", "1", invented=chart.invented),
    )


def _panel_matches(
    front: str, back: str, upward: tuple[str, int], downward: tuple[str, int], levels: int
) -> tuple[Match, ...]:
    """Matches at every level of a seam whose A edge runs up and whose B edge runs down."""
    names = ("high_hip", "waist", "underbust", "bust")[:levels]
    edge_a, edge_b = upward[0], downward[0]
    return tuple(
        Match(name, PointRef(front, edge_a, k), PointRef(back, edge_b, downward[1] - k))
        for k, name in enumerate(names, start=1)
    )


SEAMS = (
    Seam(
        "front_panel",
        (EdgeRef("centre_front", "panel_seam"),),
        (EdgeRef("side_front", "panel_seam", backward=True),),
        _panel_matches("centre_front", "side_front", ("panel_seam", 3), ("panel_seam", 3), 2),
    ),
    Seam(
        "side",
        (EdgeRef("side_front", "side_seam"), EdgeRef("outer_cup", "side_seam")),
        (EdgeRef("side_back", "side_seam", backward=True),),
        (
            *_panel_matches("side_front", "side_back", ("side_seam", 4), ("side_seam", 5), 3),
            Match("cradle end", PointRef("outer_cup", "side_seam", 0), None),
            Match("bust", PointRef("outer_cup", "side_seam", 1), PointRef("side_back", "side_seam", 1)),
        ),
    ),
    Seam(
        "back_panel",
        (EdgeRef("side_back", "panel_seam"),),
        (EdgeRef("centre_back", "panel_seam", backward=True),),
        _panel_matches("side_back", "centre_back", ("panel_seam", 5), ("panel_seam", 5), 4),
    ),
    Seam(
        "cup",
        (EdgeRef("inner_cup", "cup_seam"),),
        (EdgeRef("outer_cup", "cup_seam", backward=True),),
        (Match("bust point", PointRef("inner_cup", "cup_seam", 1), PointRef("outer_cup", "cup_seam", 1)),),
    ),
    Seam(
        "cradle",
        (EdgeRef("inner_cup", "cradle"), EdgeRef("outer_cup", "cradle")),
        (EdgeRef("centre_front", "cradle", backward=True), EdgeRef("side_front", "cradle", backward=True)),
        (Match("foot", PointRef("outer_cup", "cradle", 0), PointRef("side_front", "cradle", 2)),),
    ),
)

SHARING = Sharing(
    length=LengthRule(above="underbust"),
    centre=CentreRule((("centre_front", CENTRE), ("inner_cup", CENTRE))),
    side=SideRule(
        front=(("side_front", "side_seam"), ("outer_cup", "side_seam")),
        back=(("side_back", "side_seam"),),
        basis="underbust",
    ),
    curves={
        "front": (
            EdgeShare("centre_front", "panel_seam", 0.5),
            EdgeShare("side_front", "panel_seam", 1.0),
            EdgeShare("side_front", "side_seam", 1.0),
        ),
        "back": (
            EdgeShare("side_back", "side_seam", 1.0),
            EdgeShare("side_back", "panel_seam", 1.0),
            EdgeShare("centre_back", "panel_seam", 0.5),
        ),
    },
    reduction=(
        EdgeShare("side_front", "side_seam", 2.0),
        EdgeShare("side_back", "side_seam", 2.0),
        EdgeShare("side_front", "panel_seam", 1.0),
        EdgeShare("side_back", "panel_seam", 1.0),
    ),
    surplus=(EdgeShare("outer_cup", "cup_seam", 1.0),),
    cup=CupRule(
        inner="inner_cup",
        outer="outer_cup",
        cup_seam="cup_seam",
        cradle_seam="cradle",
        centre_edge=CENTRE,
        neckline="neckline",
        armhole="armhole",
    ),
)


def _sharing(centre: str) -> Sharing:
    """The rules with the name of the edge on the centre line: a front with a busk ends in a closure."""
    if SHARING.cup is None or centre == CENTRE:
        return SHARING
    edges = tuple((piece, centre) for piece, _ in SHARING.centre.edges)
    return replace(SHARING, centre=CentreRule(edges), cup=replace(SHARING.cup, centre_edge=centre))
