"""The panelled overbust: six panels a half, the bust shaped in the seams, laced at the back.

The seam between centre front and front runs over the bust point.  The front bridges the hollow below the breast, so the
bust level stands at its plumb height and no cup depth is drawn.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from coutil.alter import trued
from coutil.draft._lines import Profile
from coutil.draft._order import Width, at_depths, garment_widths, require, usual_fit
from coutil.draft._panels import (
    BACK_SEAM,
    FRONT_SEAM,
    HEM,
    LAYERS,
    SIDE_SEAM,
    TOP,
    WAIST,
    Group,
    Panel,
    Plan,
    draw_panels,
    panel_seams,
    places_round,
    with_bust_point,
)
from coutil.draft._variants import PLAIN, Variant
from coutil.errors import CannotDraft
from coutil.measure import Chart
from coutil.pattern import (
    CentreRule,
    EdgeShare,
    Fit,
    LengthRule,
    Level,
    Piece,
    Provenance,
    Sharing,
    SideRule,
    Style,
    with_notches,
)

TITLE = "Panelled overbust"
NEEDED = (
    *(f"{stem}_{what}" for stem in ("bust", "underbust", "waist", "high_hip", "hem") for what in ("girth", "front")),
    "bust_point_separation",
    "underbust_to_waist",
    "bust_level_to_waist",
    "side_height",
    "centre_front_height",
    "centre_back_height",
)
# Range the style is drawn for, full girth in mm (underbust, and bust less underbust).
UNDERBUST_RANGE = (620.0, 1080.0)
CUP_RANGE = (0.0, 200.0)

HIGH_HIP_DEPTH, HEM_DEPTH = 40.0, 90.0
# The underarm edge at least this far above the bust level, and the bust at least that far above the underbust.
LEAST_ABOVE_BUST, LEAST_RISE = 20.0, 20.0

INNER = (Panel("centre_front", "Centre front", "front", 1.0, 0.0, 1.0),)
OUTER = (
    Panel("front", "Front", "front", 0.50, 1.0, 1.0),
    Panel("side_front", "Side front", "front", 0.50, 1.0, 0.65),
)
# The panel with the eyelets is the widest of the three.
BACK = (
    Panel("side_back", "Side back", "back", 0.31, 1.0, 1.0),
    Panel("back", "Back", "back", 0.30, 1.0, 1.0),
    Panel("centre_back", "Centre back", "back", 0.39, 0.8, 0.0),
)
# Part of the half waist in front that lies between the centre and the seam over the bust.
INNER_RANGE = (0.34, 0.46)
# Part of the front's growth that the centre panel takes where nothing else says so.
INNER_GROWTH = 0.2
# Above the bust the front turns in again by this part of what the bust stands out from the underbust.
TURN_IN = 0.45
BACK_TURN_IN = 0.25
INNER_GROWTH_RANGE = (0.1, 0.4)
# A front that is hardly wider at the bust than at the waist has nothing to take a proportion of, mm.
STANDS_OUT = 15.0

# The upper edge rises over the bust by this much above the straight way from centre front to underarm, mm.
CROWN, SWEETHEART_CROWN = 8.0, 20.0
# Slope of a sweetheart's edge at the centre front: a point, not a right angle.
SWEETHEART_SLOPE = 0.35
# A low back goes down by this, a dipped one between underarm and centre; both stay above the bust level.
LOW_BACK, BACK_DIP = 45.0, 12.0
ABOVE_BUST = 12.0
# What turns less than this where the first drawing is smooth was meant to be smooth, degrees.
POINT_DEG = 8.0

# The panels beside the seam over the bust point give way where that seam is shifted.
GIVING = (("front", FRONT_SEAM), ("side_front", FRONT_SEAM))

SHARING = Sharing(
    length=LengthRule(above="underbust"),
    centre=CentreRule((("centre_front", "centre"),), GIVING),
    side=SideRule((("side_front", SIDE_SEAM),), (("side_back", SIDE_SEAM),), "common"),
    curves={
        "front": (
            EdgeShare("centre_front", BACK_SEAM, 0.5),
            EdgeShare("front", FRONT_SEAM, 1.0),
            EdgeShare("front", BACK_SEAM, 1.0),
            EdgeShare("side_front", FRONT_SEAM, 1.0),
            EdgeShare("side_front", SIDE_SEAM, 1.0),
        ),
        "back": (
            EdgeShare("side_back", SIDE_SEAM, 1.0),
            EdgeShare("side_back", BACK_SEAM, 1.0),
            EdgeShare("back", FRONT_SEAM, 1.0),
            EdgeShare("back", BACK_SEAM, 1.0),
            EdgeShare("centre_back", FRONT_SEAM, 0.5),
        ),
    },
    reduction=(
        EdgeShare("side_front", SIDE_SEAM, 2.0),
        EdgeShare("side_back", SIDE_SEAM, 2.0),
        EdgeShare("side_front", FRONT_SEAM, 1.0),
        EdgeShare("side_back", BACK_SEAM, 1.0),
    ),
    # The seam over the bust point first, on its outer side alone: its other side is half the bust point separation.
    # One edge by itself would lean too far, so the next seam takes as much.
    surplus=(
        EdgeShare("front", FRONT_SEAM, 2.0),
        EdgeShare("front", BACK_SEAM, 1.0),
        EdgeShare("side_front", FRONT_SEAM, 1.0),
    ),
    bands=(LengthRule(above="bust", measure="bust_level_to_waist"),),
)


def draft_panelled(chart: Chart, fit: Fit | None = None, variant: Variant = PLAIN) -> Style:
    """Draw the panelled overbust from a chart; raises CannotDraft where the chart lies outside the style's range."""
    variant.refuse_boat(TITLE)
    chart = at_depths(chart, {"high_hip": HIGH_HIP_DEPTH, "hem": HEM_DEPTH})
    wanted = variant.fit(fit or usual_fit(chart))
    sizes = _sizes(chart, wanted, variant)
    plan = _plan(sizes, variant)
    pieces = tuple(_with_bust_point(piece) for piece in draw_panels(plan))
    return with_notches(trued(_style(sizes.chart, wanted, plan, pieces, variant), point_deg=POINT_DEG))


@dataclass(frozen=True, slots=True)
class _Sizes:
    """The draft's figures, mm, and the chart with the heights that are really drawn."""

    chart: Chart
    widths: Mapping[str, Width]
    half_separation: float
    underbust: float
    bust: float


def _sizes(chart: Chart, fit: Fit, variant: Variant) -> _Sizes:
    require(chart, NEEDED)
    _require_range(chart)
    side, underbust = chart["side_height"], chart["underbust_to_waist"]
    bust = min(chart["bust_level_to_waist"], side - LEAST_ABOVE_BUST)
    if chart["centre_back_height"] < bust + ABOVE_BUST:
        raise CannotDraft(
            f"centre_back_height {chart['centre_back_height']:.0f} mm lies below the bust level ({bust:.0f} mm), which "
            "the back carries: give a higher one"
        )
    if bust < underbust + LEAST_RISE:
        raise CannotDraft(
            f"side_height {side:.0f} mm and bust_level_to_waist {chart['bust_level_to_waist']:.0f} mm leave no room "
            f"for the bust above the underbust ({underbust:.0f} mm): measure them again"
        )
    back = chart["centre_back_height"]
    if variant.back == "low":
        back = max(back - LOW_BACK, bust + ABOVE_BUST)
    drawn = {
        "bust_level_to_waist": bust,
        "centre_back_height": back,
        **dict.fromkeys(("centre_front_below_waist", "side_below_waist", "centre_back_below_waist"), HEM_DEPTH),
    }
    for key, value in drawn.items():
        chart = chart if chart.get(key) == value else chart.with_value(key, value)
    half = (chart["bust_point_separation"] - fit.closure_gap) / 2
    return _Sizes(chart, garment_widths(chart, fit), half, underbust, bust)


def _require_range(chart: Chart) -> None:
    cup = chart["bust_girth"] - chart["underbust_girth"]
    for key, value, (low, high) in (
        ("underbust_girth", chart["underbust_girth"], UNDERBUST_RANGE),
        ("bust_girth less underbust_girth", cup, CUP_RANGE),
    ):
        if not low - 0.5 <= value <= high + 0.5:
            raise CannotDraft(
                f"{key} is {value / 10:.1f} cm and the panelled overbust is drawn from {low / 10:.0f} to "
                f"{high / 10:.0f} cm: check the reading or choose another style"
            )


def _plan(sizes: _Sizes, variant: Variant) -> Plan:
    inner = _inner_widths(sizes)
    front = {level: width.front for level, width in sizes.widths.items()}
    outer = {level: front[level] - inner[level] for level in front}
    back = {level: width.back for level, width in sizes.widths.items()}
    groups = (
        Group(INNER, _with_top(inner, TURN_IN)),
        Group(OUTER, _with_top(outer, TURN_IN)),
        Group(BACK, _with_top(back, BACK_TURN_IN)),
    )
    levels = {"high_hip": -HIGH_HIP_DEPTH, WAIST: 0.0, "underbust": sizes.underbust, "bust": sizes.bust}
    round_hem = places_round(groups, HEM)
    hem = Profile(((0.0, -HEM_DEPTH), (round_hem[-1], -HEM_DEPTH)))
    top = _top(sizes, places_round(groups, TOP), variant)
    return Plan(groups, levels, hem, top, True, variant.front == "busk")


def _inner_widths(sizes: _Sizes) -> dict[str, float]:
    """From the centre to the seam over the bust at every level: half the separation at the bust."""
    front = {level: width.front for level, width in sizes.widths.items()}
    half, waist = sizes.half_separation, front[WAIST]
    growth = front["bust"] - waist
    wished = half - INNER_GROWTH * growth
    at_waist = min(max(wished, INNER_RANGE[0] * waist), INNER_RANGE[1] * waist)
    share = (half - at_waist) / growth if growth > STANDS_OUT else INNER_GROWTH
    shares = dict.fromkeys(("high_hip", HEM), INNER_GROWTH) | {
        "underbust": min(max(share, INNER_GROWTH_RANGE[0]), INNER_GROWTH_RANGE[1])
    }
    grown = {level: at_waist + part * (front[level] - waist) for level, part in shares.items()}
    return {**grown, WAIST: at_waist, "bust": half}


def _with_top(widths: Mapping[str, float], turn_in: float) -> dict[str, float]:
    out = max(widths["bust"] - widths["underbust"], 0.0)
    return {**widths, TOP: widths["bust"] - turn_in * out}


def _top(sizes: _Sizes, places: tuple[float, ...], variant: Variant) -> Profile:
    """The upper edge through centre front, bust, underarm and centre back."""
    chart, over_bust, side = sizes.chart, places[1], places[3]
    centre, underarm, back = (chart[key] for key in ("centre_front_height", "side_height", "centre_back_height"))
    crown = SWEETHEART_CROWN if variant.neckline == "sweetheart" else CROWN
    straight = centre + (underarm - centre) * over_bust / side
    points = [(0.0, centre), (over_bust, straight + crown), (side, underarm)]
    if variant.back == "dipped":
        place = (places[4] + places[5]) / 2
        points.append((place, max((underarm + back) / 2 - BACK_DIP, sizes.bust + ABOVE_BUST)))
    slope = SWEETHEART_SLOPE if variant.neckline == "sweetheart" else 0.0
    return Profile((*points, (places[-1], back)), slope)


def _with_bust_point(piece: Piece) -> Piece:
    edge = {"centre_front": BACK_SEAM, "front": FRONT_SEAM}.get(piece.name)
    return piece if edge is None else with_bust_point(piece, edge)


def _style(chart: Chart, fit: Fit, plan: Plan, pieces: tuple[Piece, ...], variant: Variant) -> Style:
    under, cup = chart["underbust_girth"] / 10, (chart["bust_girth"] - chart["underbust_girth"]) / 10
    sharing = SHARING
    if variant.front == "busk":
        sharing = replace(sharing, centre=CentreRule((("centre_front", "closure"),), GIVING))
    return Style(
        name=f"panelled_overbust_{under:.0f}_{cup:.0f}",
        title=TITLE,
        half=True,
        pieces=pieces,
        seams=panel_seams(plan),
        levels=(
            Level("bust", -plan.levels["bust"], "bust"),
            Level("underbust", -plan.levels["underbust"], "underbust"),
            Level(WAIST, 0.0, "waist"),
            Level("high_hip", HIGH_HIP_DEPTH, "high_hip"),
            Level(HEM, HEM_DEPTH, "hem"),
        ),
        layers=LAYERS,
        construction="mounted",
        base_chart=chart,
        base_fit=fit,
        sharing=sharing,
        provenance=Provenance("Drafted by coutil from its base chart", "1", invented=chart.invented),
    )
