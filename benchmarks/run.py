"""Time of one alteration and its checks, and of the same solve by two general optimisers, in one run.

    python benchmarks/run.py [--repeats N] [--compare CLIENT ...] [--profile]

Everything is measured on this machine in this run; nothing is read from an earlier one.
"""

from __future__ import annotations

import argparse
import cProfile
import platform
import pstats
import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, TypeVar

import numpy as np
import scipy

from coutil.alter import Alteration, Alterer, Wishes
from coutil.alter._differences import find_differences
from coutil.alter._planning import make_plan
from coutil.alter._stages import Staged
from coutil.alter._threads import one_thread
from coutil.alter._truing import solve_surely
from coutil.check import check_style
from coutil.draft import base_chart, draft_cupped
from coutil.measure import Chart
from coutil.shipped import demo_clients
from general_solvers import Outcome, Problem, Reduced, Scaled, slsqp, trust_constr

Result = TypeVar("Result")

BASE = (85, 14)
# The two general optimisers take seconds a client, so they get few clients and a limit of steps.
COMPARED = ("first_soprano", "mezzo", "chorus_alto")
MOST_STEPS = 300
# A solver has arrived when no hard row is off by more, and its cost is no more than this share above ours.
ARRIVED_MM = 1e-6
ARRIVED_COST = 1e-6
MOST_FUNCTIONS = 10


@dataclass(frozen=True, slots=True)
class Times:
    """Medians of one client, in seconds."""

    plan: float
    stages: float
    alter: float
    checks: float


def main() -> None:
    """Print the machine, our times client by client, the comparison and, on request, the profile."""
    options = _options()
    print(_machine())
    started = time.perf_counter()
    base = draft_cupped(base_chart(*BASE))
    drafted = time.perf_counter() - started
    ready, alterer = _timed(lambda: Alterer(base))
    print(f"base {base.name}: drafted in {drafted:.2f} s, made ready once for all clients in {ready * 1e3:.0f} ms")
    clients = demo_clients()
    _print_times(alterer, clients, options.repeats)
    for name in options.compare:
        _compare(alterer, name, clients[name], options.repeats)
    if options.profile:
        _print_profiles(alterer, clients[options.compare[0]], options.repeats)
    print(f"\nwhole run: {time.perf_counter() - started:.0f} s")


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Time one alteration, its checks and two general optimisers.")
    parser.add_argument("--repeats", type=int, default=7, help="runs a median is taken over (7)")
    parser.add_argument(
        "--compare", nargs="*", default=COMPARED, choices=sorted(demo_clients()), help="clients for the comparison"
    )
    parser.add_argument("--profile", action="store_true", help="also print the most expensive functions")
    options = parser.parse_args()
    if options.repeats < 1:
        parser.error("repeats must be at least 1")
    if options.profile and not options.compare:
        parser.error("a profile needs a client: name one with --compare")
    return options


def _machine() -> str:
    return (
        f"Python {platform.python_version()}, numpy {np.__version__}, scipy {scipy.__version__}, "
        f"{platform.machine()}; one matrix thread for every solver"
    )


def _timed(work: Callable[[], Result]) -> tuple[float, Result]:
    """Seconds of processor time: on a machine that is shared, the clock on the wall would count other people's work."""
    start = time.process_time()
    result = work()
    return time.process_time() - start, result


def _median(work: Callable[[], Any], repeats: int) -> float:
    """Median seconds of `repeats` runs after one that is not counted."""
    work()
    return statistics.median(_timed(work)[0] for _ in range(repeats))


def _print_times(alterer: Alterer, clients: dict[str, Chart], repeats: int) -> None:
    print(f"\nOne client, ms of processor time, medians of {repeats}")
    print("(alter = plan + stages + conflicts, new pieces, notes)")
    print(f"{'client':<16}{'plan':>8}{'stages':>9}{'alter':>9}{'checks':>9}{'in all':>9}{'conflicts':>11}")
    for name, client in clients.items():
        times = _times(alterer, client, repeats)
        conflicts = len(alterer.alter(client, Wishes()).conflicts)
        spans = (times.plan, times.stages, times.alter, times.checks, times.alter + times.checks)
        widths = (8, 9, 9, 9, 9)
        cells = (f"{span * 1e3:>{width}.1f}" for span, width in zip(spans, widths, strict=True))
        print(f"{name:<16}{''.join(cells)}{conflicts:>11}")


def _times(alterer: Alterer, client: Chart, repeats: int) -> Times:
    base, wishes = alterer.layout.style, Wishes()
    with one_thread():
        plan = make_plan(find_differences(base, client, wishes), wishes)
        planning = _median(lambda: make_plan(find_differences(base, client, wishes), wishes), repeats)
        stages = _median(lambda: alterer.stages.run(plan.rows), repeats)
    return Times(
        planning,
        stages,
        _median(lambda: alterer.alter(client, wishes), repeats),
        _check_time(alterer, client, repeats),
    )


def _check_time(alterer: Alterer, client: Chart, repeats: int) -> float:
    """Every run checks a fresh alteration: a style that was measured before remembers its lengths."""
    fresh = [_checks(alterer.alter(client, Wishes()), client) for _ in range(repeats + 1)]
    fresh.pop()()
    return statistics.median(_timed(check)[0] for check in fresh)


def _checks(done: Alteration, client: Chart) -> Callable[[], Any]:
    return partial(check_style, done.style, base=done.base, plan=done.plan, conflicts=done.conflicts, chart=client)


def _staged(alterer: Alterer, client: Chart) -> Staged:
    found = find_differences(alterer.layout.style, client, Wishes())
    return alterer.stages.run(make_plan(found, Wishes()).rows)


def _compare(alterer: Alterer, name: str, client: Chart, repeats: int) -> None:
    """The last stage of that client by our solve and by the general optimisers, all from the base."""
    with one_thread():
        rows = _staged(alterer, client).rows
        problems = (Scaled(alterer.layout, rows), Reduced(alterer.layout, rows))
        ours = _ours(alterer, problems[0], rows, repeats)
        others = [solver(problem, MOST_STEPS) for problem in problems for solver in (slsqp, trust_constr)]
    print(f"\nLast stage of {name}: {2 * problems[0].system.n} unknowns, {len(rows)} rows; for the others")
    for problem in problems:
        print(
            f"  {problem.words}: {problem.size} unknowns, {len(problem.kept)} equalities, "
            f"{problem.repeated} rows that repeat others taken out"
        )
    print(
        f"{'':<36}{'time ms':>10}{'steps':>7}{'residual mm':>13}{'energy':>14}{'time x':>9}{'energy x':>12}"
        f"{'away from ours mm':>19}"
    )
    for outcome in (ours, *others):
        _print_outcome(outcome, ours, _away(alterer, outcome, ours))


def _ours(alterer: Alterer, problem: Problem, rows: Sequence[Any], repeats: int) -> Outcome:
    solution = solve_surely(alterer.layout, rows)
    seconds = _median(lambda: solve_surely(alterer.layout, rows), repeats)
    said = f"share of the gradient that the rows leave unbalanced: {problem.unbalanced(solution.z):.1e}"
    return problem.outcome("coutil", seconds, solution.z, solution.steps, said)


def _away(alterer: Alterer, one: Outcome, other: Outcome) -> float:
    """The largest distance between control points of two answers along an axis, mm."""
    apart = (one.z - other.z).reshape(2, -1)
    return float(np.abs(alterer.layout.to_points @ apart.T).max())


def _print_outcome(one: Outcome, ours: Outcome, away: float) -> None:
    print(
        f"{one.solver:<36}{one.seconds * 1e3:>10.1f}{one.steps:>7}{one.residual:>13.1e}{one.cost:>14.6f}"
        f"{one.seconds / ours.seconds:>9.1f}{one.cost / ours.cost:>12.8f}{away:>19.1e}"
    )
    print(f"    {'arrived' if _has_arrived(one, ours) else 'NOT ARRIVED, its time is a lower bound'}; {one.said}")


def _has_arrived(one: Outcome, ours: Outcome) -> bool:
    return one.residual <= ARRIVED_MM and one.cost <= ours.cost * (1 + ARRIVED_COST)


def _print_profiles(alterer: Alterer, client: Chart, repeats: int) -> None:
    """Both over `repeats` runs; the first run of all, which loads things, is left out."""
    alterer.alter(client, Wishes())
    altering, checking = cProfile.Profile(), cProfile.Profile()
    for _ in range(repeats):
        done = altering.runcall(alterer.alter, client, Wishes())
        checking.runcall(_checks(done, client))
    _print_profile(f"{repeats} alterations", pstats.Stats(altering))
    _print_profile(f"{repeats} checks of a style", pstats.Stats(checking))


def _print_profile(title: str, stats: pstats.Stats) -> None:
    """Own time and time with everything called, as shares of the whole (profiled, so slower than the medians)."""
    table: dict[Any, Any] = stats.stats  # type: ignore[attr-defined]
    whole = stats.total_tt  # type: ignore[attr-defined]
    for heading, column in (("own time", 2), ("with what it calls", 3)):
        print(f"\nProfile of {title}, {heading} ({whole * 1e3:.0f} ms under the profiler)")
        for place, entry in sorted(table.items(), key=lambda item: -item[1][column])[:MOST_FUNCTIONS]:
            file, _, function = place
            share, calls = 100 * entry[column] / whole, entry[1]
            print(f"{share:6.1f} %{calls:>9} calls  {'/'.join(file.split('/')[-2:])} {function}")


if __name__ == "__main__":
    main()
