"""coutil guide: the alteration guide of a result, to repeat the alteration by hand on paper."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from coutil.commands._options import ScreenUnit, out_option, unit_option
from coutil.commands._screen import progress

if TYPE_CHECKING:
    from coutil.alter import Alteration
    from coutil.measure import Unit

Paper = Literal["a4", "letter"]


@click.command(name="guide")
@click.argument("result", type=click.Path(path_type=Path))
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Paper to print on."
)
@out_option("guide")
@unit_option
def command(result: Path, paper: Paper, out: Path, unit: ScreenUnit) -> int:
    """Write the alteration guide of RESULT (a result.json): how to repeat it by hand on paper.

    A cover with the order and the alteration chart, then a step for each row in the order of work: the pieces
    before and after it at a printed scale, arrows with amounts, what to do with paper, scissors and ruler, why,
    the usual mistake, and the mates that change with it.  The last page tells what truing moved and how to walk
    the seams.  As PDF and as HTML.
    """
    from coutil import job
    from coutil.files import read_bytes
    from coutil.result_file import result_from_json

    alteration = result_from_json(read_bytes(result)).alteration
    with progress("Stepping", None) as begin:
        stepped = job.with_steps(alteration, begin)
    write_guide(stepped, paper, unit, out)
    click.echo(f"Written to {out}.")
    return 0


def write_guide(alteration: Alteration, paper: Paper, unit: Unit, folder: Path) -> None:
    """The guide as PDF and as HTML."""
    from coutil import job
    from coutil.files import write_files

    pages, page = job.alteration_guide_pdf(alteration, paper, unit), job.alteration_guide_html(alteration, unit)
    write_files(folder, {f"guide-{paper}.pdf": pages, "guide.html": page})
