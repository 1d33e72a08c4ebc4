"""The waist corset: five panels a half from the underbust to the high hip, laced at the back.

Its upper edge and hem are its own: they lie by fixed amounts above the underbust and below the high hip, whatever
heights a client's chart gives for an overbust.
"""

from __future__ import annotations

from dataclasses import replace

from coutil.alter import trued
from coutil.draft._lines import Profile
from coutil.draft._order import at_depths, garment_widths, require, usual_fit
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

TITLE = "Waist corset"
NEEDED = (
    *(f"{stem}_{what}" for stem in ("underbust", "waist", "high_hip") for what in ("girth", "front")),
    "underbust_to_waist",
)
WAIST_RANGE = (520.0, 1040.0)
# Room above the waist without which no seam can be shaped, mm.
LEAST_RISE = 40.0

HIGH_HIP_DEPTH = 60.0
# The upper edge above the underbust level: the tape's middle is the level, its upper edge lies in the fold.
ABOVE_CENTRE_FRONT, ABOVE_FRONT, ABOVE_SIDE, ABOVE_BACK = 20.0, 8.0, 14.0, 24.0
# The hem below the waist: a soft point in front, clear of the hip bone at the side.
BELOW_FRONT, BELOW_SIDE, BELOW_BACK = 92.0, 76.0, 82.0
LOW_BACK, BACK_DIP = 12.0, 8.0
# Beyond the last level the seams keep this part of their slope.
GOES_ON = 0.8
# Slope of a sweetheart's edge at the centre front: a point between the breasts, falling to both sides.
SWEETHEART_SLOPE = -0.25
# What turns less than this where the first drawing is smooth was meant to be smooth, degrees.
POINT_DEG = 8.0

FRONT = (
    Panel("centre_front", "Centre front", "front", 0.34, 0.0, 0.6),
    Panel("front", "Front", "front", 0.33, 1.0, 1.0),
    Panel("side_front", "Side front", "front", 0.33, 1.0, 2.0),
)
BACK = (
    Panel("side_back", "Side back", "back", 0.50, 0.8, 1.1),
    Panel("centre_back", "Centre back", "back", 0.50, 1.1, 0.0),
)

SHARING = Sharing(
    length=LengthRule(above="underbust"),
    centre=CentreRule(),
    side=SideRule((("side_front", SIDE_SEAM),), (("side_back", SIDE_SEAM),), "common"),
    curves={
        "front": (
            EdgeShare("centre_front", BACK_SEAM, 0.5),
            EdgeShare("front", FRONT_SEAM, 1.0),
            EdgeShare("front", BACK_SEAM, 1.0),
            EdgeShare("side_front", FRONT_SEAM, 1.0),
            EdgeShare("side_front", SIDE_SEAM, 1.5),
        ),
        "back": (
            EdgeShare("side_back", SIDE_SEAM, 0.8),
            EdgeShare("side_back", BACK_SEAM, 1.0),
            EdgeShare("centre_back", FRONT_SEAM, 0.5),
        ),
    },
    reduction=(
        EdgeShare("side_front", SIDE_SEAM, 2.0),
        EdgeShare("side_back", SIDE_SEAM, 2.0),
        EdgeShare("side_front", FRONT_SEAM, 1.0),
        EdgeShare("side_back", BACK_SEAM, 1.0),
    ),
    heights=(),
)


def draft_waist_corset(chart: Chart, fit: Fit | None = None, variant: Variant = PLAIN) -> Style:
    """Draw the waist corset from a chart; raises CannotDraft where the chart lies outside the style's range."""
    variant.refuse_boat(TITLE)
    chart = at_depths(chart, {"high_hip": HIGH_HIP_DEPTH})
    require(chart, NEEDED)
    _require_range(chart)
    wanted = variant.fit(fit or usual_fit(chart))
    plan = _plan(chart, wanted, variant)
    pieces = draw_panels(plan)
    return with_notches(trued(_style(_drawn(chart, variant), wanted, plan, pieces), point_deg=POINT_DEG))


def _require_range(chart: Chart) -> None:
    waist, rise = chart["waist_girth"], chart["underbust_to_waist"]
    low, high = WAIST_RANGE
    if not low - 0.5 <= waist <= high + 0.5:
        raise CannotDraft(
            f"waist_girth is {waist / 10:.1f} cm and the waist corset is drawn from {low / 10:.0f} to "
            f"{high / 10:.0f} cm: check the reading or choose another style"
        )
    if rise < LEAST_RISE:
        raise CannotDraft(
            f"underbust_to_waist is {rise:.0f} mm and a waist corset needs {LEAST_RISE:.0f} mm: measure it again"
        )


def _drawn(chart: Chart, variant: Variant) -> Chart:
    """The chart with the heights and depths that are really drawn."""
    under = chart["underbust_to_waist"]
    drawn = {
        "centre_front_height": under + ABOVE_CENTRE_FRONT,
        "side_height": under + ABOVE_SIDE,
        "centre_back_height": under + _above_back(variant),
        "waist_to_high_hip": HIGH_HIP_DEPTH,
        "centre_front_below_waist": BELOW_FRONT,
        "side_below_waist": BELOW_SIDE,
        "centre_back_below_waist": BELOW_BACK,
    }
    for key, value in drawn.items():
        chart = chart if chart.get(key) == value else chart.with_value(key, value)
    return chart


def _above_back(variant: Variant) -> float:
    return ABOVE_BACK - (LOW_BACK if variant.back == "low" else 0.0)


def _plan(chart: Chart, fit: Fit, variant: Variant) -> Plan:
    widths, under = garment_widths(chart, fit), chart["underbust_to_waist"]
    groups = tuple(
        Group(panels, _carried_on({level: getattr(width, part) for level, width in widths.items()}, under))
        for panels, part in ((FRONT, "front"), (BACK, "back"))
    )
    levels = {"high_hip": -HIGH_HIP_DEPTH, WAIST: 0.0, "underbust": under}
    top, hem = places_round(groups, TOP), places_round(groups, HEM)
    return Plan(groups, levels, _hem_profile(hem), _top_profile(top, under, variant), False, variant.front == "busk")


def _carried_on(widths: dict[str, float], under: float) -> dict[str, float]:
    """Hem and top a little beyond the last level, where each seam goes on as it came."""
    below = (widths["high_hip"] - widths[WAIST]) * (BELOW_SIDE / HIGH_HIP_DEPTH - 1.0)
    above = (widths["underbust"] - widths[WAIST]) * ABOVE_SIDE / under
    return {WAIST: widths[WAIST], "high_hip": widths["high_hip"], "underbust": widths["underbust"]} | {
        HEM: widths["high_hip"] + GOES_ON * below,
        TOP: widths["underbust"] + GOES_ON * above,
    }


def _hem_profile(places: tuple[float, ...]) -> Profile:
    side = places[len(FRONT)]
    return Profile(((0.0, -BELOW_FRONT), (side, -BELOW_SIDE), (places[-1], -BELOW_BACK)))


def _top_profile(places: tuple[float, ...], under: float, variant: Variant) -> Profile:
    below_breast, side = (places[1] + places[2]) / 2, places[len(FRONT)]
    points = [(0.0, under + ABOVE_CENTRE_FRONT), (below_breast, under + ABOVE_FRONT), (side, under + ABOVE_SIDE)]
    back = under + _above_back(variant)
    if variant.back == "dipped":
        points.append((places[-2], (under + ABOVE_SIDE + back) / 2 - BACK_DIP))
    slope = SWEETHEART_SLOPE if variant.neckline == "sweetheart" else 0.0
    return Profile((*points, (places[-1], back)), slope)


def _style(chart: Chart, fit: Fit, plan: Plan, pieces: tuple[Piece, ...]) -> Style:
    return Style(
        name=f"waist_corset_{chart['waist_girth'] / 10:.0f}",
        title=TITLE,
        half=True,
        pieces=pieces,
        seams=panel_seams(plan),
        levels=(
            Level("underbust", -plan.levels["underbust"], "underbust"),
            Level(WAIST, 0.0, "waist"),
            Level("high_hip", HIGH_HIP_DEPTH, "high_hip"),
        ),
        layers=LAYERS,
        construction="mounted",
        base_chart=chart,
        base_fit=replace(fit, ease={level: mm for level, mm in fit.ease.items() if level in plan.levels}),
        sharing=SHARING,
        provenance=Provenance("Drafted by coutil from its base chart", "1", invented=chart.invented),
    )
