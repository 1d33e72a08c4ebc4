"""coutil papers: the workroom sheet and the toile of a result."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from coutil.commands._options import ScreenUnit, out_option, unit_option
from coutil.commands._screen import show_line

if TYPE_CHECKING:
    from coutil.cut import OrderOptions

Paper = Literal["a4", "letter"]


@click.command(name="papers")
@click.argument("result", type=click.Path(path_type=Path))
@click.option(
    "--order",
    "order_file",
    type=click.Path(path_type=Path),
    metavar="ORDER.toml",
    help="How the garment is made: construction, closure, cloths, bones, lacing.  The trade's usual where not given.",
)
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Paper to print on."
)
@out_option("papers")
@unit_option
def command(result: Path, order_file: Path | None, paper: Paper, out: Path, unit: ScreenUnit) -> int:
    """Write the workroom papers of RESULT (a result.json).

    The workroom sheet holds cutting list, small parts, bones, busk, eyelets and lace, hardware, sewing order
    with match points, finished seam lengths, what the garment closes up to and lets out to, the alteration
    chart and the checks, as PDF and as HTML; lengths of cloth are those of the lay plans that RESULT keeps, else an
    estimate.  ordered.json is the pattern with the layers and the closure of the
    order, toile.json the same body as a toile with wide inlays: `coutil print` takes both.
    """
    from coutil import job
    from coutil.cut import ordered_style
    from coutil.files import read_bytes, write_files
    from coutil.pack_job import kept_lays
    from coutil.result_file import result_from_json
    from coutil.speech import sentence

    found, options = result_from_json(read_bytes(result)), order_of(order_file, unit)
    alteration = found.alteration
    job.require_closure(alteration.style, options)
    ordered = ordered_style(alteration.style, options)
    findings = job.check_alteration(replace(alteration, style=ordered))
    laid, stale = kept_lays(ordered, options, found.lays)
    making = job.making_of(alteration, options, tuple(one.plan for one in laid))
    files: dict[str, str | bytes] = {
        f"workroom-{paper}.pdf": job.workroom_sheet_pdf(alteration, findings, making, paper, unit),
        "workroom.html": job.workroom_sheet_html(alteration, findings, making, unit),
        "ordered.json": job.result_text_of(alteration, making.style),
        "toile.json": job.result_text_of(alteration, making.toile.style),
    }
    write_files(out, files)
    for remark in (*stale, *making.remarks):
        show_line(sentence(remark, unit))
    click.echo(f"Written to {out}.")
    return int(job.has_failed(findings))


def order_of(path: Path | None, unit: ScreenUnit) -> OrderOptions:
    """The order in a file, or the trade's usual; raises BadInput with the file's name."""
    from coutil.errors import BadInput
    from coutil.files import read_text
    from coutil.order_file import order_from_toml

    if path is None:
        return order_from_toml("", unit)
    text = read_text(path)
    try:
        return order_from_toml(text, unit)
    except BadInput as error:
        raise BadInput(f"{path}: {error}") from error
