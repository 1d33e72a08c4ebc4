"""coutil draft: a base drafted from a chart, or all of the project's own of one style."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from coutil.commands._options import ScreenUnit, out_option, read_chart, unit_option
from coutil.commands._screen import progress, show_checks

if TYPE_CHECKING:
    from coutil.draft import Variant


@click.command(name="draft")
@click.argument("chart", required=False, type=click.Path(path_type=Path))
@click.option("--all", "every", is_flag=True, help="Draft a run of sizes instead of one chart.")
@click.option(
    "--style",
    type=click.Choice(["cupped", "panelled", "waist"]),
    default="cupped",
    show_default=True,
    help="Cupped overbust, panelled overbust or waist corset.",
)
@click.option("--back", default="straight", show_default=True, help="Back: straight, dipped or low.")
@click.option(
    "--neckline", default="straight", show_default=True, help="Neckline: straight, sweetheart or, on cups, boat."
)
@click.option("--front", default="closed", show_default=True, help="Front: closed, or with a busk.")
@out_option("out/bases")
@unit_option
def command(
    chart: Path | None, every: bool, style: str, back: str, neckline: str, front: str, out: Path, unit: ScreenUnit
) -> int:
    """Draft a base from CHART and check it against that chart.

    CHART is a chart as .csv, .toml or .json.  A cupped overbust is drawn for an underbust of 62 to 108 cm and a bust
    8 to 26 cm more, a panelled overbust for the same underbust and a bust 0 to 20 cm more, a waist corset for a waist
    of 52 to 104 cm.  With --all a run of sizes of the style is drafted instead.  Ends with 1 where a check fails;
    the files are written all the same.
    """
    from coutil.draft import Variant

    if every == (chart is not None):
        raise click.UsageError("Name one chart, or give --all.")
    variant = Variant(back, neckline, front)  # type: ignore[arg-type]  # the words are checked by the variant itself
    return _draft_all(style, variant, out) if chart is None else _draft_one(chart, style, variant, out, unit)


def _draft_one(path: Path, word: str, variant: Variant, out: Path, unit: ScreenUnit) -> int:
    from coutil import job
    from coutil.file_names import file_stem
    from coutil.files import write_files
    from coutil.pattern import style_to_json

    chart = read_chart(path)
    style = job.draft(chart, word, variant)
    findings = job.check_base(style)
    name = f"{file_stem(chart.name)}.json"
    write_files(out, {name: style_to_json(style)})
    show_checks(findings, unit)
    click.echo(f"Written to {out / name}.")
    return int(job.has_failed(findings))


def _draft_all(word: str, variant: Variant, out: Path) -> int:
    from coutil import job
    from coutil.draft import style_kind
    from coutil.files import write_files
    from coutil.pattern import style_to_json

    failed, kind = 0, style_kind(word)
    with progress("Drafting", len(kind.sizes)) as begin:
        for size in kind.sizes:
            name = kind.base_name(size)
            begin(name)
            style = job.draft_size(*size, style=word, variant=variant)
            findings = job.check_base(style)
            write_files(out, {f"{name}.json": style_to_json(style)})
            if job.has_failed(findings):
                failed += 1
                click.echo(f"{name}: {', '.join(job.failed_words(findings))}")
    click.echo(f"{len(kind.sizes)} bases written to {out}; {failed} with a failed check.")
    return int(failed > 0)
