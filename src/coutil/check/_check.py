"""All checks in the order of the check list."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from coutil.alter import Conflict, Plan
from coutil.check._bends import check_bends
from coutil.check._caps import check_moves, check_slopes, check_widths
from coutil.check._case import Case, open_case
from coutil.check._cloth import check_cloth
from coutil.check._cup import check_panel_top
from coutil.check._distances import check_dart, check_distances, check_heights
from coutil.check._findings import Finding, Verdict
from coutil.check._girth import check_girths, check_scan
from coutil.check._joins import check_joins
from coutil.check._marks import check_level_marks, check_levels_meet, check_notches
from coutil.check._outline import check_cusps, check_cut_lines, check_hollows, check_outlines, check_straight
from coutil.check._seams import check_cradle, check_seams
from coutil.check._sense import (
    check_all_sewn,
    check_halves,
    check_human,
    check_levels_agree,
    check_levels_in_order,
)
from coutil.check._wear import (
    check_depths,
    check_lower_edge,
    check_opening,
    check_reduction,
    check_top_edge,
    check_underarm,
)
from coutil.measure import Chart
from coutil.pattern import Style

Check = Callable[[Case], tuple[Finding, ...]]
# Where one of these fails, a drawing was read wrongly.
SENSE: tuple[Check, ...] = (
    check_all_sewn,
    check_levels_in_order,
    check_levels_agree,
    check_human,
    check_halves,
)
CHECKS: tuple[Check, ...] = (
    *SENSE,
    check_girths,
    check_scan,
    check_seams,
    check_cradle,
    check_distances,
    check_dart,
    check_panel_top,
    check_levels_meet,
    check_level_marks,
    check_joins,
    check_straight,
    check_outlines,
    check_cusps,
    check_hollows,
    check_bends,
    check_top_edge,
    check_lower_edge,
    check_underarm,
    check_depths,
    check_cut_lines,
    check_cloth,
    check_notches,
    check_widths,
    check_slopes,
    check_moves,
    check_opening,
    check_heights,
    check_reduction,
)


def check_style(
    style: Style,
    *,
    base: Style | None = None,
    plan: Plan | None = None,
    conflicts: Sequence[Conflict] = (),
    chart: Chart | None = None,
) -> tuple[Finding, ...]:
    """Every check of a style, with figure, limit and verdict, in the order of the check list.

    Against its plan, base and the client's chart where they are given; else against the chart and fit it was drafted
    for.  A check that has nothing to look at, such as the cradle of a style without cups, gives no line.
    """
    case = open_case(style, base, plan, conflicts, chart)
    return tuple(finding for check in CHECKS for finding in check(case))


def what_makes_no_sense(style: Style) -> tuple[Finding, ...]:
    """The failed checks that tell of a drawing read wrongly, before anybody judges its seams."""
    case = open_case(style)
    return tuple(f for check in SENSE for f in check(case) if f.verdict is Verdict.FAIL)
