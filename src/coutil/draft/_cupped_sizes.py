"""Every figure of the cupped overbust, worked out from the chart before a line is drawn.

x is counted on the assembled half front and back from the centre front line; the cup has its bust point at (0, 0).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from coutil.draft._order import Width, garment_widths, require
from coutil.draft._variants import Variant
from coutil.errors import CannotDraft
from coutil.measure import Chart
from coutil.pattern import Fit

NEEDED = (
    "bust_girth",
    "bust_front",
    "underbust_girth",
    "underbust_front",
    "waist_girth",
    "waist_front",
    "high_hip_girth",
    "high_hip_front",
    "hem_girth",
    "hem_front",
    "bust_point_separation",
    "bust_point_to_underbust",
    "bust_point_to_upper_corner",
    "bust_point_to_armhole",
    "underbust_to_waist",
    "side_height",
    "centre_front_height",
    "centre_back_height",
)
# Range the style is drawn for, full girth in mm (underbust, and bust less underbust).
UNDERBUST_RANGE = (620.0, 1080.0)
CUP_RANGE = (80.0, 260.0)

HIGH_HIP_DEPTH = 40.0
HEM_DEPTH = 90.0

# Shares of a level's suppression: centre front edge, side front at the panel seam, side front at the side.
FRONT_SHARES = (0.30, 0.35, 0.35)
# Side back at the side, side back at the panel seam, centre back edge.
BACK_SHARES = (0.35, 0.35, 0.30)
# The bust level has no centre edge worth moving: side back twice, centre back half as much.
BUST_SHARES = (0.40, 0.40, 0.20)
SIDE_BACK_SHARE = 0.52

# The top of the panel seam lies a little inside the bust point, and leaves the centre panel a fair width.
PANEL_TOP_SHARE = 0.80
# Peak of the centre front above the underbust, and plumb height of the bust level, by cup depth.
PEAK_SHARE = 0.60
BUST_RISE_SHARE = 0.62
# Underarm edge at least this far above the bust level.
LEAST_ABOVE_BUST = 22.0
# The centre top, by the way from bust point to upper corner: a sweetheart's point is lower, a boat's middle higher.
NECK_RISE: Mapping[str, float] = {"straight": 0.0, "sweetheart": -0.08, "boat": 0.38}
# A low back goes down by this, a dipped one between underarm and centre; both stay above the bust level, mm.
LOW_BACK, BACK_DIP = 45.0, 14.0
BACK_ABOVE_BUST = 12.0


@dataclass(frozen=True, slots=True)
class Sizes:
    """The draft's figures, mm, and the chart with the heights that are really drawn."""

    chart: Chart
    variant: Variant
    widths: Mapping[str, Width]
    separation: float
    depth: float
    upper: float
    armhole: float
    underbust: float
    bust_level: float
    side_height: float
    back_height: float
    front_height: float
    panel_top: float
    panel_back: float
    peak: float
    side_end: float
    back_dip: float

    def front_x(self, level: str) -> tuple[float, float, float]:
        """Centre front's seam, side front's panel seam and its side seam at a level."""
        lost = self.widths["underbust"].front - self.widths[level].front
        centre, panel, side = FRONT_SHARES
        return (
            self.panel_top - centre * lost,
            self.panel_top + panel * lost,
            self.widths["underbust"].front - side * lost,
        )

    def back_x(self, level: str) -> tuple[float, float, float]:
        """Side back's side seam and panel seam, and centre back's panel seam at a level."""
        front, back = self.widths["underbust"].front, self.widths["underbust"].back
        lost = back - self.widths[level].back
        shares = BUST_SHARES if level == "bust" else BACK_SHARES
        side, panel, centre = shares
        return front + side * lost, front + self.panel_back - panel * lost, front + self.panel_back + centre * lost

    @property
    def closure_x(self) -> float:
        """Where the laced edge stands."""
        return self.widths["underbust"].front + self.widths["underbust"].back


def sizes_of(chart: Chart, fit: Fit, variant: Variant) -> Sizes:
    """All figures of the draft; raises CannotDraft, naming the reading, where the style cannot be drawn."""
    require(chart, NEEDED)
    _require_range(chart)
    widths = garment_widths(chart, fit)
    half = (chart["bust_point_separation"] - fit.closure_gap) / 2
    depth, underbust = chart["bust_point_to_underbust"], chart["underbust_to_waist"]
    rise = min(BUST_RISE_SHARE * depth, chart["side_height"] - underbust - LEAST_ABOVE_BUST)
    if rise < 15.0:
        raise CannotDraft(
            f"side_height {chart['side_height']:.0f} mm leaves no room for the bust above the underbust "
            f"({underbust:.0f} mm): measure side_height again"
        )
    chart, back_dip = _drawn(chart, variant, underbust + rise)
    return Sizes(
        chart=chart,
        variant=variant,
        widths=widths,
        separation=half,
        depth=depth,
        upper=chart["bust_point_to_upper_corner"],
        armhole=chart["bust_point_to_armhole"],
        underbust=underbust,
        bust_level=underbust + rise,
        side_height=chart["side_height"],
        back_height=chart["centre_back_height"],
        front_height=chart["centre_front_height"],
        panel_top=_panel_top(half, widths["underbust"].front),
        panel_back=SIDE_BACK_SHARE * widths["underbust"].back,
        peak=PEAK_SHARE * depth,
        side_end=0.42 * rise,
        back_dip=back_dip,
    )


def _drawn(chart: Chart, variant: Variant, bust: float) -> tuple[Chart, float]:
    """The chart with the heights of the chosen neckline and back, and how far the back dips; mm.

    Example: back 167, bust level 125: a low back would be 122 and is drawn 12 above the bust, 137.
    """
    side, back = chart["side_height"], chart["centre_back_height"]
    if variant.back == "low":
        back = max(back - LOW_BACK, bust + BACK_ABOVE_BUST)
    front = chart["centre_front_height"] + NECK_RISE[variant.neckline] * chart["bust_point_to_upper_corner"]
    drawn = {"centre_back_height": back, "centre_front_height": front}
    for key, value in drawn.items():
        chart = chart if chart[key] == value else chart.with_value(key, value)
    room = max((side + back) / 2 - bust - BACK_ABOVE_BUST, 0.0)
    return chart, min(BACK_DIP, room) if variant.back == "dipped" else 0.0


def _panel_top(half: float, front: float) -> float:
    return min(max(PANEL_TOP_SHARE * half, 0.30 * front), 0.46 * front)


def _require_range(chart: Chart) -> None:
    cup = chart["bust_girth"] - chart["underbust_girth"]
    for key, value, (low, high) in (
        ("underbust_girth", chart["underbust_girth"], UNDERBUST_RANGE),
        ("bust_girth less underbust_girth", cup, CUP_RANGE),
    ):
        if not low - 0.5 <= value <= high + 0.5:
            raise CannotDraft(
                f"{key} is {value / 10:.1f} cm and the cupped overbust is drawn from {low / 10:.0f} to "
                f"{high / 10:.0f} cm: check the reading or choose another style"
            )


def meeting_angle(reach: float, along: float, chord: float) -> float | None:
    """Angle at the bust point between a line of `reach` and one of `along` whose ends are `chord` apart, radians.

    The law of cosines; None where the three cannot close a triangle.
    """
    cosine = (reach * reach + along * along - chord * chord) / (2 * reach * along)
    return math.acos(cosine) if -1.0 < cosine < 1.0 else None
