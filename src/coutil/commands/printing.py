"""coutil print: the pattern at true size as a tiled PDF."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from coutil.commands._options import ScreenUnit, unit_option

if TYPE_CHECKING:
    from coutil.alter import Alteration
    from coutil.check import Finding
    from coutil.measure import Unit

Paper = Literal["a4", "letter"]


@click.command(name="print")
@click.argument("result", type=click.Path(path_type=Path))
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Paper to print on."
)
@click.option(
    "--out",
    "out",
    type=click.Path(path_type=Path),
    metavar="FILE.pdf",
    help="File to write; beside the result where not given.",
)
@unit_option
def command(result: Path, paper: Paper, out: Path | None, unit: ScreenUnit) -> int:
    """Print the pattern in RESULT (a result.json) at true size, tiled on paper, as a PDF.

    Print it at 100 per cent, never fitted to the page, and measure the test square first: it must be 100 mm
    within 0.2 mm.
    """
    from coutil.files import read_bytes
    from coutil.job import check_alteration, has_failed
    from coutil.result_file import result_from_json

    alteration = result_from_json(read_bytes(result)).alteration
    findings = check_alteration(alteration)
    target = out or result.with_name(f"pattern-{paper}.pdf")
    write_pdf(alteration, findings, paper, unit, target)
    click.echo(f"Written to {target}.  Print at 100 per cent and measure the test square first.")
    if has_failed(findings):
        click.echo("Some checks of this pattern fail: see coutil check.", err=True)
    return int(has_failed(findings))


def write_pdf(alteration: Alteration, findings: tuple[Finding, ...], paper: Paper, unit: Unit, target: Path) -> None:
    """The tiled pattern with its chart and checks."""
    from coutil import job
    from coutil.files import write_bytes

    write_bytes(target, job.pattern_pdf(alteration, findings, paper, unit))
