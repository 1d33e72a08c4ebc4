"""coutil draft: a base drafted from a chart, or all of the project's own."""

from __future__ import annotations

from pathlib import Path

import click

from coutil.commands._names import file_stem
from coutil.commands._options import ScreenUnit, out_option, read_chart, unit_option
from coutil.commands._screen import progress, show_checks


@click.command(name="draft")
@click.argument("chart", required=False, type=click.Path(path_type=Path))
@click.option("--all", "every", is_flag=True, help="Draft the project's own bases, every size.")
@out_option("out/bases")
@unit_option
def command(chart: Path | None, every: bool, out: Path, unit: ScreenUnit) -> int:
    """Draft a cupped overbust from CHART and check it against that chart.

    CHART is a chart as .csv, .toml or .json, underbust 62 to 108 cm, bust 8 to 26 cm more.  With --all the
    shipped bases are drafted instead: underbust 65 to 105 cm by 5, bust 10, 14, 18 and 22 cm more.  Ends with
    1 where a check fails; the files are written all the same.
    """
    if every == (chart is not None):
        raise click.UsageError("Name one chart, or give --all.")
    return _draft_all(out) if chart is None else _draft_one(chart, out, unit)


def _draft_one(path: Path, out: Path, unit: ScreenUnit) -> int:
    from coutil import job
    from coutil.files import write_text
    from coutil.pattern import style_to_json

    chart = read_chart(path)
    style = job.draft(chart)
    findings = job.check_base(style)
    written = write_text(out / f"{file_stem(chart.name)}.json", style_to_json(style))
    show_checks(findings, unit)
    click.echo(f"Written to {written}.")
    return int(job.has_failed(findings))


def _draft_all(out: Path) -> int:
    from coutil import job
    from coutil.files import write_text
    from coutil.pattern import style_to_json

    failed = 0
    with progress("Drafting", len(job.SIZES)) as begin:
        for size in job.SIZES:
            name = job.size_name(*size)
            begin(name)
            style = job.draft_size(*size)
            findings = job.check_base(style)
            write_text(out / f"{name}.json", style_to_json(style))
            if job.has_failed(findings):
                failed += 1
                click.echo(f"{name}: {', '.join(job.failed_words(findings))}")
    click.echo(f"{len(job.SIZES)} bases written to {out}; {failed} with a failed check.")
    return int(failed > 0)
