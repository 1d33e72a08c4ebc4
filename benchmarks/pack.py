"""How long the full print pack of one client takes: tiled PDF with the base beneath, SVG and DXF; a roll apart.

Run it with `python benchmarks/pack.py`; the bound for the pack is 5 seconds on two cores that do nothing else.
"""

from __future__ import annotations

import os
import platform
import sys
import time
from collections.abc import Callable

from coutil import job
from coutil.alter import Alteration, Wishes
from coutil.commands.alter import base_for
from coutil.shipped import demo_clients

BOUND_S = 5.0
CLIENT = "contralto"
PACK = ("PDF tiled on A4, overlay", "SVG", "DXF R2000")


def main() -> int:
    """Times every part twice: the first run also loads the libraries.  1 where the pack worked longer than the bound.

    The processor's time is judged, since the clock also counts what other programs do meanwhile.
    """
    chart = demo_clients()[CLIENT]
    done = job.run(job.Order(base_for("nearest", chart), chart, Wishes(), "cm"))
    first = {name: _timed(part) for name, part in _parts(done.alteration, done.findings).items()}
    again = {name: _timed(part) for name, part in _parts(done.alteration, done.findings).items()}
    load = os.getloadavg()[0]
    print(f"{platform.machine()}, {os.cpu_count()} cores, load {load:.1f} (a quiet machine is below 1)")
    print(f"{'part':<28}{'first, s':>10}{'processor, s':>14}{'again, s':>10}{'processor, s':>14}")
    for name in first:
        print(f"{name:<28}{first[name][0]:>10.2f}{first[name][1]:>14.2f}{again[name][0]:>10.2f}{again[name][1]:>14.2f}")
    total = sum(first[name][0] for name in PACK)
    worked = sum(first[name][1] for name in PACK)
    print(f"pack ({', '.join(PACK)}), first run: {total:.2f} s, processor {worked:.2f} s, bound {BOUND_S:g} s")
    return int(worked > BOUND_S)


def _parts(alteration: Alteration, findings: tuple) -> dict[str, Callable[[], object]]:  # type: ignore[type-arg]
    options = job.print_options(alteration, "cm")
    return {
        "PDF tiled on A4, overlay": lambda: job.pattern_pdf(alteration, findings, "a4", "cm", options, True),
        "PDF for a roll of 900 mm": lambda: job.pattern_pdf(alteration, findings, "roll:900", "cm", options),
        "SVG": lambda: job.pattern_svg(alteration, options),
        "DXF R2000": lambda: job.pattern_dxf(alteration, options, "r2000"),
    }


def _timed(part: Callable[[], object]) -> tuple[float, float]:
    wall, processor = time.perf_counter(), time.process_time()
    part()
    return time.perf_counter() - wall, time.process_time() - processor


if __name__ == "__main__":
    sys.exit(main())
