"""The tape: what the pattern itself measures, under the same keys as a chart.

It reads the stitching lines as they lie and knows nothing of how they were drawn or altered, so that it can judge both.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from coutil.measure import SIDES
from coutil.pattern._sides import side_style, sides_of
from coutil.pattern._spread import Spread, spread_out
from coutil.pattern._tape_bust import (
    bust_point_separation,
    bust_point_to_armhole,
    bust_point_to_centre_top,
    bust_point_to_underbust,
    bust_point_to_upper_corner,
)
from coutil.pattern._tape_girths import girth_of_widths, widths
from coutil.pattern._tape_heights import (
    centre_back_height,
    centre_below_waist,
    centre_front_height,
    level_height,
    side_below_waist,
    side_height,
    top_edge_run,
)
from coutil.pattern._values import Style

_Reader = Callable[[Spread], float | None]


def _bust_to_waist(spread: Spread) -> float | None:
    """From the bust point down its seam to the underbust, and on down to the waist."""
    depth, rest = bust_point_to_underbust(spread), level_height(spread, "underbust")
    return None if depth is None or rest is None else depth + rest


def _depth(spread: Spread, measure: str) -> float | None:
    """Depth below the waist of the level at which that girth is measured."""
    for level in spread.style.levels:
        if level.measure == measure:
            heights = (level_height(spread, level.name, "front"), level_height(spread, level.name, "back"))
            found = next((height for height in heights if height is not None), None)
            return None if found is None else -found
    return None


READERS: Mapping[str, _Reader] = MappingProxyType(
    {
        "bust_point_separation": bust_point_separation,
        "bust_point_to_underbust": bust_point_to_underbust,
        "bust_point_to_centre_top": bust_point_to_centre_top,
        "bust_point_to_upper_corner": bust_point_to_upper_corner,
        "bust_point_to_armhole": bust_point_to_armhole,
        "bust_to_waist": _bust_to_waist,
        "underbust_to_waist": lambda spread: level_height(spread, "underbust"),
        "bust_level_to_waist": lambda spread: level_height(spread, "bust"),
        "side_height": side_height,
        "centre_front_height": centre_front_height,
        "centre_back_height": centre_back_height,
        "waist_to_high_hip": lambda spread: _depth(spread, "high_hip"),
        "waist_to_hip": lambda spread: _depth(spread, "hip"),
        "centre_front_below_waist": lambda spread: centre_below_waist(spread, "front"),
        "side_below_waist": side_below_waist,
        "centre_back_below_waist": lambda spread: centre_below_waist(spread, "back"),
        "top_edge_run": top_edge_run,
    }
)


def measure_style(style: Style | Spread) -> dict[str, float]:
    """Everything the pattern can be measured for, by measurement key, mm.

    Girths are net garment girths (`bust_girth`) and their front parts (`bust_front`), without gaps.  What the style
    does not have, such as a bust point, has no key.  A whole style has each side's own as well
    (`bust_girth_left`): of girths, fronts, separation and upper edge that side's part, of all else what it measures.
    """
    spread = spread_out(style)
    found = _read(spread)
    for side in SIDES if sides_of(spread.style) else ():
        one = spread_out(side_style(spread.style, side))
        found |= {f"{key}_{side}": value for key, value in _read(one).items()}
    return found


def _read(spread: Spread) -> dict[str, float]:
    found = _girths(spread)
    for key, read in READERS.items():
        value = read(spread)
        if value is not None:
            found[key] = value
    return found


def _girths(spread: Spread) -> dict[str, float]:
    found, taken = {}, widths(spread)
    for level in spread.style.levels:
        if level.measure is None or not any(level.name in piece.levels for piece in spread.style.pieces):
            continue
        net = girth_of_widths(spread.style, level.name, taken)
        found[f"{level.measure}_girth"] = net.full
        found[f"{level.measure}_front"] = net.front
    return found
