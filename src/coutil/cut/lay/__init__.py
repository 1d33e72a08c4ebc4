"""The lay plan: parts placed on a cloth of a given width, along their grain, as short as can be found."""

from coutil.cut.lay._check import find_lay_faults
from coutil.cut.lay._paper import PaperSpot, pack_on_paper
from coutil.cut.lay._parts import lay_parts, rectangle, small_lay_parts
from coutil.cut.lay._plan import plan_lay, plan_of
from coutil.cut.lay._search import Offer, Search, SearchFailed, SearchShape, SearchTask, Spot
from coutil.cut.lay._values import (
    GAP_MM,
    SELVEDGE_MM,
    TOUCH_MM,
    Hand,
    LayCloth,
    LayPart,
    LayPlan,
    PartSize,
    Placement,
    outline_at,
    part_of,
    part_sizes,
)

__all__ = [
    "GAP_MM",
    "SELVEDGE_MM",
    "TOUCH_MM",
    "Hand",
    "LayCloth",
    "LayPart",
    "LayPlan",
    "Offer",
    "PaperSpot",
    "PartSize",
    "Placement",
    "Search",
    "SearchFailed",
    "SearchShape",
    "SearchTask",
    "Spot",
    "find_lay_faults",
    "lay_parts",
    "outline_at",
    "pack_on_paper",
    "part_of",
    "part_sizes",
    "plan_lay",
    "plan_of",
    "rectangle",
    "small_lay_parts",
]
