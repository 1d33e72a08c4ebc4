"""How short our lays are: published strip-packing instances, and our own garments after 5 s and after longer.

    python benchmarks/nesting.py                       every instance for 60 s, two garments 5 s beside 600 s
    python benchmarks/nesting.py --instances albano dagli --garments 1 --long 120

The instances are the academic ones published as JSON with the solver's paper (arXiv 2509.13329); their folder is
`nesting` in the folder named by COUTIL_DATA (default ../shared/data).  Without them that part is left out, and
said to be.  Published means are of runs of 20 minutes on 16 cores, records the best ever found by that solver.
Every layout is checked on its outlines before its figure is printed.
"""

from __future__ import annotations

import argparse
import json
import os
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from coutil.cut import LayCloth, LayPart, LayPlan, lay_parts, plan_lay
from coutil.lay_search import ProcessSearch
from coutil.shipped import shipped_base

DATA = Path(os.environ.get("COUTIL_DATA", Path(__file__).parents[1] / ".." / "shared" / "data")) / "nesting"

# Density in per cent: mean of the published runs, record (arXiv 2509.13329, table 3, and its repository's logs).
PUBLISHED = {
    "swim": (78.30, 79.826), "shirts": (89.72, 90.920), "trousers": (91.79, 92.615), "albano": (89.46, 89.821),
    "marques": (90.91, 92.015), "dagli": (89.23, 90.172), "fu": (92.25, 92.396), "jakobs1": (89.08, 89.247),
    "mao": (86.09, 86.867),
}  # fmt: skip

# Instances come in all units; brought to a strip this wide they are as large as garments.
STRIP_MM = 1500.0

GARMENTS = (("90-14", ("outer", "strength"), 1400.0), ("105-22", ("strength",), 900.0))
SHORT_S, GOAL_PER_CENT = 5, 0.5


def read_instance(path: Path) -> tuple[tuple[LayPart, ...], LayCloth]:
    """Parts and cloth of a published instance, scaled to a strip of STRIP_MM."""
    data = json.loads(path.read_text(encoding="utf-8"))
    scale = STRIP_MM / data["strip_height"]
    parts = tuple(_part(item, scale) for item in data["items"])
    turns = {turn for item in data["items"] for turn in item["allowed_orientations"]}
    cloth = LayCloth(STRIP_MM, selvedge=0.0, gap=0.0, nap=turns == {0.0}, grain=90.0 not in turns)
    return parts, cloth


def _part(item: dict[str, Any], scale: float) -> LayPart:
    points = np.array(item["shape"]["data"], dtype=float) * scale
    closed = np.array_equal(points[0], points[-1])
    name = str(item["id"])
    return LayPart(name, name, "cloth", points[:-1] if closed else points, item["demand"])


def density(plan: LayPlan) -> float:
    """Per cent of the strip that is covered."""
    return plan.use


def main() -> None:
    """Print what the options ask for."""
    parser = argparse.ArgumentParser(description="Density of lay plans.")
    parser.add_argument("--instances", nargs="*", default=list(PUBLISHED), choices=list(PUBLISHED))
    parser.add_argument("--seconds", type=int, default=60, help="time for each instance (60)")
    parser.add_argument("--garments", type=int, default=len(GARMENTS), help="how many garments to lay (2)")
    parser.add_argument("--long", type=int, default=600, help="time of the long run of a garment (600)")
    options = parser.parse_args()
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start; figures depend on what else runs")
    _print_instances(options.instances, options.seconds)
    _print_garments(options.garments, options.long)


def _print_instances(names: Sequence[str], seconds: int) -> None:
    if not names:
        return
    if not DATA.is_dir():
        print(f"SKIPPED: the published instances are not in {DATA}; name their folder's parent with COUTIL_DATA.")
        return
    print(f"\nPublished instances, density in per cent, {seconds} s each")
    print(f"{'':<10}{'parts':>6}{'ours alone':>12}{'searched':>10}{'mean':>8}{'record':>8}{'to mean':>9}{'time s':>8}")
    for name in names:
        _print_instance(name, seconds)


def _print_instance(name: str, seconds: int) -> None:
    parts, cloth = read_instance(DATA / f"{name}.json")
    begun = time.monotonic()
    alone = plan_lay(name, parts, cloth, placings=0)
    plan = plan_lay(name, parts, cloth, search=ProcessSearch(seconds))
    mean, record = PUBLISHED[name]
    print(
        f"{name:<10}{sum(part.count for part in parts):>6}{density(alone):>12.2f}{density(plan):>10.2f}"
        f"{mean:>8.2f}{record:>8.2f}{density(plan) - mean:>9.2f}{time.monotonic() - begun:>8.0f}  "
        f"{'; '.join(plan.remarks)}",
        flush=True,
    )


def _print_garments(count: int, long: int) -> None:
    for base, layers, width in GARMENTS[:count]:
        cloth = LayCloth(width)
        parts = lay_parts(shipped_base(base), layers, cloth)
        lengths = [plan_lay(base, parts, cloth, search=ProcessSearch(seconds)).length for seconds in (SHORT_S, long)]
        more = 100 * (lengths[0] / lengths[1] - 1)
        print(
            f"\nGarment {base}, {' and '.join(layers)}, {sum(part.count for part in parts)} pieces on {width:.0f} mm: "
            f"{lengths[0]:.1f} mm after {SHORT_S} s, {lengths[1]:.1f} mm after {long} s: {more:+.2f} % "
            f"(goal {GOAL_PER_CENT} %)",
            flush=True,
        )


if __name__ == "__main__":
    main()
