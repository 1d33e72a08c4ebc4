"""coutil demo: the whole job for the invented clients of a touring opera."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from coutil.commands._options import ScreenUnit, out_option, unit_option
from coutil.commands._screen import progress, show_table, verdict_line

if TYPE_CHECKING:
    from coutil.job import Job
    from coutil.measure import Chart


@click.command(name="demo")
@out_option("out/demo")
@click.option("--guides", is_flag=True, help="Write each client's alteration guide too.")
@unit_option
def command(out: Path, guides: bool, unit: ScreenUnit) -> int:
    """Alter, check and print a pattern for every invented client of a touring opera.

    Each client gets a folder: result.json, chart.csv, checks.csv, overview.svg and pattern-a4.pdf.  Open an
    overview.svg in a browser to begin with; --guides adds the alteration guides.  Ends with 1 where a check fails.
    """
    from coutil import job
    from coutil.shipped import demo_clients

    clients = demo_clients()
    jobs = {}
    with progress("Making", len(clients)) as begin:
        for name, chart in clients.items():
            begin(chart.name)
            jobs[name] = _make(chart, unit)
            _write(jobs[name], out / name, guides)
    heads = ("client", "base", "rows", "checks", "folder")
    lines = tuple(_line(done, out / name) for name, done in jobs.items())
    show_table("The wardrobe of a touring opera", (heads, *lines), right=(2,), wide=3)
    return int(any(job.has_failed(done.findings) for done in jobs.values()))


def _make(chart: Chart, unit: ScreenUnit) -> Job:
    from coutil import job
    from coutil.alter import Wishes
    from coutil.commands.alter import base_for

    return job.run(job.Order(base_for("nearest", chart), chart, Wishes(), unit))


def _write(done: Job, folder: Path, guides: bool) -> None:
    from coutil.commands.alter import write_job
    from coutil.commands.guide import write_guide
    from coutil.commands.printing import write_pdf

    write_job(done, folder)
    write_pdf(done.alteration, done.findings, "a4", done.order.unit, folder / "pattern-a4.pdf")
    if guides:
        write_guide(done.alteration, "a4", done.order.unit, folder)


def _line(done: Job, folder: Path) -> tuple[str, ...]:
    alteration = done.alteration
    return (
        done.order.client.name,
        alteration.base.name,
        str(len(alteration.plan.rows)),
        verdict_line(done.findings),
        str(folder),
    )
