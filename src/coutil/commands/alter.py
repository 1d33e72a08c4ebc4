"""coutil alter: a base altered to a client's chart, checked, and written down."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from coutil.commands._options import ScreenUnit, out_option, read_chart, unit_option, wish_options, wishes_of
from coutil.commands._screen import progress, show_checks, show_line, show_remarks, show_table

if TYPE_CHECKING:
    from coutil.job import Job
    from coutil.measure import Chart
    from coutil.pattern import Style
    from coutil.tables import Table


@click.command(name="alter")
@click.argument("base")
@click.argument("client", type=click.Path(path_type=Path))
@out_option("out")
@wish_options
@click.option(
    "--order",
    "order_file",
    type=click.Path(path_type=Path),
    metavar="ORDER.toml",
    help="How the garment is made: with a busk, the pattern leaves its closure gap.",
)
@unit_option
def command(
    base: str, client: Path, out: Path, unit: ScreenUnit, order_file: Path | None, **wishes: Any
) -> int:
    """Alter BASE to the chart in CLIENT and check the outcome.

    BASE is a style file (.json), the size of a shipped base (91-14: underbust 91 cm, bust 14 cm more; panelled-85-10;
    waist-72), `nearest`, or the nearest of another style: `nearest-panelled`, `nearest-waist`.  CLIENT is a chart as
    .csv, .toml or .json; `coutil measures` explains what it may hold.

    Writes result.json (everything), style.json (the altered pattern, ready to be a base), chart.csv (the
    alteration chart), checks.csv and overview.svg.  Ends with 1 where a check fails; the files are written
    all the same.
    """
    from coutil import job

    chart = read_chart(client)
    wanted = wishes_of(unit=unit, **wishes)
    if order_file is not None:
        from coutil.commands.papers import order_of

        wanted = job.as_ordered(wanted, order_of(order_file, unit))
    order = job.Order(base_for(base, chart), chart, wanted, unit)
    with progress("Altering", None) as begin:
        done = job.run(order, begin)
    write_job(done, out)
    show_job(done)
    click.echo(f"Written to {out}.")
    return int(job.has_failed(done.findings))


def base_for(base: str, chart: Chart) -> Style:
    """The style a maker means by BASE; raises BadInput where there is none."""
    from coutil.files import read_bytes
    from coutil.job import nearest_base
    from coutil.pattern import style_from_json
    from coutil.shipped import shipped_base

    if base == "nearest" or base.startswith("nearest-"):
        return shipped_base(nearest_base(chart, base.removeprefix("nearest").removeprefix("-") or "cupped"))
    if base.lower().endswith(".json") or Path(base).is_file():
        return style_from_json(read_bytes(base))
    return shipped_base(base)


def write_job(done: Job, folder: Path) -> None:
    """The files of a finished job."""
    from coutil import job
    from coutil.files import write_files
    from coutil.pattern import style_to_json
    from coutil.tables import chart_csv, checks_csv

    unit = done.order.unit
    texts = {
        "result.json": job.result_text(done),
        "style.json": style_to_json(done.alteration.style),
        "chart.csv": chart_csv(done.alteration.plan, unit, done.alteration.style.sides),
        "checks.csv": checks_csv(done.findings, unit),
        "overview.svg": job.overview_text(done.alteration),
    }
    write_files(folder, texts)


def show_job(done: Job) -> None:
    """The remarks, the alteration chart and the checks on the screen."""
    from coutil.tables import chart_note, chart_table, conflict_remarks, girth_table, plan_remarks

    plan, unit = done.alteration.plan, done.order.unit
    click.echo(f"{done.alteration.base.title} {done.alteration.base.name}, altered to {done.order.client.name}")
    show_remarks(done.remarks)
    show_table("Girths, full (half)", girth_table(plan, unit), right=(1, 2, 3, 4, 5))
    sides = done.alteration.style.sides
    chart = _with_keys(chart_table(plan, unit, sides))
    show_table("Alteration chart, full girth (half)", chart, right=(1, 2, 3, 4, 5), wide=6)
    show_line(chart_note(unit, sides))
    for remark in (*plan_remarks(plan, unit), *conflict_remarks(done.alteration.conflicts, unit)):
        show_line(remark)
    show_checks(done.findings, unit)


def _with_keys(chart: Table) -> Table:
    """Each row's key, by which a wishes file overrules it, below what was measured."""
    heads, *rows = chart
    return (("measurement, row", *heads[2:]), *((f"{row[1]}\n{row[0]}", *row[2:]) for row in rows))
