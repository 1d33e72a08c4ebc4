"""Top edges raised and lowered on the surveyed bodies: what is lost of the allowances, and which checks fail.

    python benchmarks/heights.py [--every N] [--steps 10 20 30]

Every body of tests/data/bodies.csv that a style is drafted for is altered from its nearest base, once for every change
of the heights: the side alone, the centre back alone, and all together.  The waist corset has no heights of its own;
its lower edge is moved instead.  One line a style and change; the first line of a style takes no height.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from coutil.alter import Alteration, Alterer, Override, State, Wishes
from coutil.check import Verdict, check_style
from coutil.errors import CoutilError
from coutil.job import nearest_base
from coutil.measure import Chart, chart_from_survey_row
from coutil.pattern import measure_style
from coutil.shipped import shipped_base

BODIES = Path(__file__).parents[1] / "tests" / "data" / "bodies.csv"
TOPS = {
    "side": ("side_height",),
    "centre back": ("centre_back_height",),
    "all": ("side_height", "centre_back_height", "centre_front_height"),
}
HEMS = {
    "side": ("side_below_waist",),
    "centre front": ("centre_front_below_waist",),
    "all": ("side_below_waist", "centre_front_below_waist", "centre_back_below_waist"),
}
EDGES = {"cupped": TOPS, "panelled": TOPS, "waist": HEMS}


@dataclass(frozen=True, slots=True)
class Outcome:
    """One altered body: the most allowance lost (mm), the change of curvature (per m), checks and rests."""

    lost: float
    bend: float
    new_runs: float
    failed: tuple[str, ...]
    rests: int
    conflicts: int


def main() -> None:
    """Print one table for each style."""
    options = _options()
    charts = _charts()[:: options.every]
    head = "style      change                 bodies  lost  most mm  curvature  new runs  failed  missing  torn  which"
    print(head)
    for style in options.styles:
        usable = [chart for chart in charts if _base_name(chart, style)]
        for name, keys, step in _changes(style, options.steps):
            outcomes = [_altered(chart, style, keys, step) for chart in usable]
            print(_line(style, name, step, outcomes), flush=True)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--every", type=int, default=1, help="only every so manieth body")
    parser.add_argument("--steps", type=float, nargs="+", default=[-30, -20, -10, 10, 20, 30], help="mm")
    parser.add_argument("--styles", nargs="+", default=list(EDGES))
    return parser.parse_args()


def _charts() -> list[Chart]:
    with BODIES.open(newline="", encoding="utf-8") as rows:
        return [chart_from_survey_row(row) for row in csv.DictReader(rows)]


def _changes(style: str, steps: Sequence[float]) -> Iterator[tuple[str, tuple[str, ...], float]]:
    yield "none", (), 0.0
    for name, keys in EDGES[style].items():
        yield from ((name, keys, step) for step in steps)


def _base_name(chart: Chart, style: str) -> str:
    """The nearest base, or nothing for a body that the style is not drafted for."""
    try:
        name = nearest_base(chart, style)
        _alterer(name)
    except CoutilError:
        return ""
    return name if _is_in_range(chart, style) else ""


def _is_in_range(chart: Chart, style: str) -> bool:
    under, cup, waist = chart["underbust_girth"], chart["bust_girth"] - chart["underbust_girth"], chart["waist_girth"]
    if style == "waist":
        return 520.0 <= waist <= 1040.0
    low, high = {"cupped": (80.0, 260.0), "panelled": (0.0, 200.0)}[style]
    return 620.0 <= under <= 1080.0 and low <= cup <= high


@cache
def _alterer(name: str) -> Alterer:
    return Alterer(shipped_base(name))


def _altered(chart: Chart, style: str, keys: Sequence[str], step: float) -> Outcome:
    alterer = _alterer(_base_name(chart, style))
    without = {key for rule in EDGES.values() for group in rule.values() for key in group}
    plain = Chart(chart.name, {key: r for key, r in chart.readings.items() if key not in without}, invented=True)
    before = alterer.alter(plain)
    if not keys:
        return _looked_at(before)
    own = measure_style(before.style)
    wanted = plain
    for key in keys:
        wanted = wanted.with_value(key, own[key] + step)
    kept = tuple(Override(key, State.LEFT, "not asked for here") for key in sorted(_others(before, keys)))
    return _looked_at(alterer.alter(wanted, Wishes(take_heights=True, overrides=kept)))


def _others(before: Alteration, keys: Sequence[str]) -> set[str]:
    """Rows of heights that the change does not ask for: estimated, and not to be taken."""
    return {row.key for row in before.plan.rows if row.decision and row.measurement not in keys}


def _looked_at(outcome: Alteration) -> Outcome:
    found = check_style(
        outcome.style,
        base=outcome.base,
        plan=outcome.plan,
        conflicts=outcome.conflicts,
        chart=outcome.style.base_chart,
    )
    figures = {finding.code: finding.figure for finding in found}
    failed = tuple(finding.code for finding in found if finding.verdict is Verdict.FAIL)
    rests = sum(abs(row.remainder) > 0.5 for row in outcome.plan.rows)
    bend, runs = figures.get("curvature", 0.0), figures.get("new_hollows", 0.0)
    lost = figures["allowance"] if "allowance" in failed else 0.0
    return Outcome(lost, bend, runs, failed, rests, len(outcome.conflicts))


def _line(style: str, name: str, step: float, outcomes: Sequence[Outcome]) -> str:
    lost = [outcome.lost for outcome in outcomes]
    failed = [outcome for outcome in outcomes if outcome.failed]
    which = ", ".join(sorted({code for outcome in failed for code in outcome.failed}))
    return (
        f"{style:10} {name:12} {step:+5.0f} mm   {len(outcomes):6d} {sum(mm > 0 for mm in lost):5d} {max(lost):8.1f} "
        f"{sum(outcome.bend > 20 for outcome in outcomes):10d} {sum(outcome.new_runs > 0 for outcome in outcomes):9d} "
        f"{len(failed):7d} {sum(outcome.rests > 0 for outcome in outcomes):8d} "
        f"{sum(outcome.conflicts > 0 for outcome in outcomes):5d}  {which}"
    )


if __name__ == "__main__":
    main()
