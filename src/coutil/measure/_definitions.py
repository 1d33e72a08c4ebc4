"""The measurements a chart may hold: what each one is, and how the tape is laid.

Clause numbers of ISO 8559-1:2017 are quoted from memory of secondary listings and say so.  A key may carry
`_left` or `_right`; the definitions hold for either side.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Kind = Literal["girth", "front_arc", "length", "height"]
Group = Literal[
    "girths", "front arcs", "bust", "lengths above the waist", "lengths below the waist", "whole body"
]


@dataclass(frozen=True, slots=True)
class Measurement:
    """One measurement.

    `iso` is the term of ISO 8559-1 where there is one.  `across` where the two sides of the body lie end to
    end along the tape, so that left and right add up; otherwise the whole is their mean.
    """

    key: str
    title: str
    definition: str
    how: str
    iso: str | None
    kind: Kind
    group: Group
    across: bool


def _girth(key: str, title: str, definition: str, how: str, iso: str | None = None) -> Measurement:
    return Measurement(key, title, definition, how, iso, "girth", "girths", across=True)


def _front(key: str, title: str, level: str) -> Measurement:
    definition = f"Front part of the {level}, from side seam line to side seam line."
    how = (
        "Mark the side line plumb down from the middle of the armpit on both sides, then measure across "
        "the front. The back is the girth less this."
    )
    return Measurement(key, title, definition, how, None, "front_arc", "front arcs", across=True)


def _bust(key: str, title: str, definition: str, how: str, *, across: bool = False) -> Measurement:
    return Measurement(key, title, definition, how, None, "length", "bust", across)


def _above(key: str, title: str, definition: str, how: str, kind: Kind = "length") -> Measurement:
    return Measurement(key, title, definition, how, None, kind, "lengths above the waist", across=False)


def _below(key: str, title: str, definition: str, how: str) -> Measurement:
    return Measurement(key, title, definition, how, None, "length", "lengths below the waist", across=False)


_GIRTHS = (
    _girth(
        "bust_girth",
        "bust girth",
        "Level girth through both bust points, breathing quietly.",
        "Lay the tape level under the arms and over the bust points, smooth and not tight. "
        "Wear the bra the corset replaces, or none.",
        "bust girth, 5.3.4 (number from memory)",
    ),
    _girth(
        "underbust_girth",
        "underbust girth",
        "Level girth in the fold under the bust.",
        "Lay the tape into the fold, level and firm, and read it at the end of a quiet breath out.",
        "under-bust girth, 5.3.8 (number from memory; another listing has 5.3.6)",
    ),
    _girth(
        "waist_girth",
        "waist girth",
        "Girth at the waist tape: the narrowest level, or the level chosen for the corset's waist.",
        "Tie a narrow tape first and let it settle level; measure along it, snug. "
        "All heights and depths are taken from the lower edge of this tape.",
    ),
    _girth(
        "waist_girth_compressed",
        "waist girth, pulled in",
        "Girth at the waist tape with the tape pulled as firmly as the wearer bears well.",
        "Pull the tape slowly and stop when the wearer says so; release at once.",
    ),
    _girth(
        "high_hip_girth",
        "high hip girth",
        "Level girth at the hip bones, or over the largest of the belly; its depth belongs to it.",
        "Measure level, not tight, and note how far below the waist tape it lies.",
        "top hip girth, 5.3.12 (number from memory; midway between waist and hip there)",
    ),
    _girth(
        "hip_girth",
        "hip girth",
        "Level girth at the fullest of the seat; its depth below the waist belongs to it.",
        "Pin the level all round, measure over the pins, and note the depth below the waist tape.",
        "hip girth, 5.3.13 (number from memory)",
    ),
    _girth(
        "hem_girth",
        "girth at the lower edge",
        "Body girth where the garment's lower edge will lie; the style states that depth.",
        "Mark the depth of the planned lower edge below the waist tape and measure level there, not tight.",
    ),
    _girth(
        "upper_bust_girth",
        "upper bust girth",
        "Girth close up under the arms, above the fullness of the bust.",
        "Lay the tape high into the armpits; it may rise in front and slope down towards the back.",
        "upper chest girth (number not established)",
    ),
    _girth(
        "shoulder_girth",
        "shoulder girth",
        "Girth around both shoulders and upper arms, the arms hanging: what must pass through a garment put on "
        "over the head.",
        "With the arms hanging, lay the tape level around the widest part of the shoulders, over both arms.",
    ),
)

_FRONTS = (
    _front("bust_front", "bust, front", "bust girth"),
    _front("underbust_front", "underbust, front", "underbust girth"),
    _front("waist_front", "waist, front", "waist girth"),
    _front("high_hip_front", "high hip, front", "high hip girth"),
    _front("hip_front", "hip, front", "hip girth"),
    _front("hem_front", "lower edge, front", "girth at the garment's lower edge"),
)

_BUST = (
    _bust(
        "bust_point_separation",
        "bust point separation",
        "From bust point to bust point, the tape taut across the hollow.",
        "Hold the tape straight between the two bust points. Per side it is taken to the centre line.",
        across=True,
    ),
    _bust(
        "bust_point_to_underbust",
        "cup depth",
        "From the bust point down over the breast to the fold under it.",
        "Let the tape lie on the body from the bust point straight down into the fold.",
    ),
    _bust(
        "bust_point_to_centre_top",
        "bust point to centre top",
        "From the bust point to the planned top of the centre front.",
        "Mark the planned top on the centre line and measure to it, the tape on the body.",
    ),
    _bust(
        "bust_point_to_upper_corner",
        "bust point to upper corner",
        "From the bust point up the line of the cup seam to the planned upper corner of the cup.",
        "Measure upwards along the line the cup seam will take, the tape on the body.",
    ),
    _bust(
        "bust_point_to_armhole",
        "bust point to armhole",
        "From the bust point towards the front armpit fold, as far as the planned armhole edge.",
        "Measure towards the armpit fold and stop where the edge is to lie.",
    ),
)

_ABOVE = (
    _above(
        "bust_to_waist",
        "bust point to waist",
        "From the bust point to the waist tape, along the body.",
        "Measure from the bust point through the fold and on to the lower edge of the waist tape.",
    ),
    _above(
        "underbust_to_waist",
        "underbust to waist",
        "From the fold under the bust to the waist tape, below the bust point.",
        "Measure straight down from the fold to the lower edge of the waist tape.",
    ),
    _above(
        "bust_level_to_waist",
        "bust level to waist",
        "Plumb height of the bust points above the waist tape.",
        "Hold a ruler upright at the side and read the height of the bust level.",
    ),
    _above(
        "side_height",
        "side height",
        "From the waist tape up the side line to the planned underarm edge, 25 to 40 mm below the armpit.",
        "Measure up the side line from the tape; keep the edge at least 25 mm clear of the armpit.",
        "height",
    ),
    _above(
        "centre_front_height",
        "centre front height",
        "From the waist tape up the centre front to the planned top.",
        "Measure along the body on the centre line.",
        "height",
    ),
    _above(
        "centre_back_height",
        "centre back height",
        "From the waist tape up the centre back to the planned top.",
        "Measure along the body on the centre line.",
        "height",
    ),
)

_BELOW = (
    _below(
        "waist_to_high_hip",
        "waist to high hip",
        "Depth of the high hip girth below the waist tape.",
        "Measure down the side line from the waist tape to the level of the high hip tape.",
    ),
    _below(
        "waist_to_hip",
        "waist to hip",
        "Depth of the hip girth below the waist tape.",
        "Measure plumb down from the waist tape to the level of the hip tape.",
    ),
    _below(
        "waist_to_hip_bone",
        "waist to hip bone",
        "From the waist tape down to the edge of the hip bone at the side.",
        "Feel for the edge of the bone on the side line and measure down to it.",
    ),
    _below(
        "centre_front_below_waist",
        "centre front below waist",
        "From the waist tape down the centre front to the planned lower edge.",
        "Measure along the body on the centre line.",
    ),
    _below(
        "side_below_waist",
        "side below waist",
        "From the waist tape down the side line to the planned lower edge.",
        "Measure along the body on the side line.",
    ),
    _below(
        "centre_back_below_waist",
        "centre back below waist",
        "From the waist tape down the centre back to the planned lower edge.",
        "Measure along the body on the centre line.",
    ),
    _below(
        "waist_to_lap",
        "waist to lap, seated",
        "Seated upright, from the waist tape to the top of the thigh, below the bust point.",
        "Sit on a flat chair, thighs level, and measure down from the waist tape to the thigh.",
    ),
)

_WHOLE = (
    Measurement(
        "top_edge_run",
        "top edge",
        "Once round the body along the planned top edge.",
        "Lay the tape along the line the top edge will take, front and back, snug.",
        None,
        "length",
        "whole body",
        across=True,
    ),
    Measurement(
        "height",
        "height",
        "Standing height without shoes.",
        "Stand against a wall, heels together, and mark the crown of the head.",
        "stature, 5.1.1 (number from memory)",
        "height",
        "whole body",
        across=False,
    ),
)

MEASUREMENTS: Mapping[str, Measurement] = MappingProxyType(
    {m.key: m for m in (*_GIRTHS, *_FRONTS, *_BUST, *_ABOVE, *_BELOW, *_WHOLE)}
)
