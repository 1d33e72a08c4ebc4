"""coutil pack: everything for the cutting table of one client in one folder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from coutil.commands._options import ScreenUnit, out_option, unit_option
from coutil.commands._screen import progress, show_line, show_table

if TYPE_CHECKING:
    from coutil.cut import LayPlan
    from coutil.measure import Unit
    from coutil.pack_job import Pack
    from coutil.result_file import Result

USUAL_SECONDS = 5
LONGEST_SECONDS = 3600


@click.command(name="pack")
@click.argument("result", type=click.Path(path_type=Path))
@click.option(
    "--order",
    "order_file",
    type=click.Path(path_type=Path),
    metavar="ORDER.toml",
    help="How the garment is made; the trade's usual where not given.",
)
@click.option(
    "--paper",
    metavar="PAPER",
    help="Paper of the pattern and the toile, as for print; a4, or letter with --unit in, where not given.",
)
@click.option(
    "--time",
    "seconds",
    type=click.IntRange(0, LONGEST_SECONDS),
    default=USUAL_SECONDS,
    show_default=True,
    metavar="SECONDS",
    help="Time to look for a short lay, for each layer.",
)
@click.option("--lay-anew", is_flag=True, help="Lay again what RESULT keeps a lay plan for.")
@out_option("pack")
@unit_option
def command(
    result: Path,
    order_file: Path | None,
    paper: str | None,
    seconds: int,
    lay_anew: bool,
    out: Path,
    unit: ScreenUnit,
) -> int:
    """Write everything for the cutting table of RESULT (a result.json) into one folder.

    The pattern as ordered (PDF, SVG, DXF), the alteration guide, the workroom sheet, a lay plan for each layer,
    and the toile.  The lay plans are kept in RESULT: the next pack shows the same, and the same lengths of cloth.
    """
    from dataclasses import replace

    from coutil import job
    from coutil.commands.papers import order_of
    from coutil.files import read_bytes
    from coutil.pack_job import PackOrder, make_pack
    from coutil.result_file import result_from_json
    from coutil.sheet import paper_of

    chosen = paper or ("letter" if unit == "in" else "a4")
    paper_of(chosen)
    found = result_from_json(read_bytes(result))
    begun = replace(found, lays=()) if lay_anew else found
    making = order_of(order_file, unit)
    job.require_closure(found.alteration.style, making)
    with progress("Packing", None) as begin:
        pack = make_pack(PackOrder(begun, making, chosen, unit, seconds), begin)
    write_pack(pack, out)
    keep_lays(result, found, pack.lays)
    show_pack(pack, unit)
    click.echo(f"Written to {out}.  Print at 100 per cent and measure the test square first.")
    return int(job.has_failed(pack.findings))


def write_pack(pack: Pack, folder: Path) -> None:
    """All files of a pack."""
    from coutil.files import write_files

    write_files(folder, {file.name: file.content for file in pack.files})


def keep_lays(path: Path, result: Result, lays: tuple[LayPlan, ...]) -> None:
    """Puts the lay plans into the result file, unless they are there already."""
    from coutil.files import write_text
    from coutil.result_file import result_to_json

    if lays != result.lays:
        # The maker named this file herself: where it is a link, the file it leads to is meant.
        write_text(path.resolve(), result_to_json(result.alteration, result.findings, lays))


def show_pack(pack: Pack, unit: Unit) -> None:
    """What was written, and what to look at before cutting."""
    from coutil.commands._screen import verdict_line
    from coutil.speech import sentence

    heads = ("file", "what it is", "kB")
    lines = tuple((file.name, file.what, f"{len(file.content) / 1000:.0f}") for file in pack.files)
    show_table("For the cutting table", (heads, *lines), right=(2,))
    for remark in pack.remarks:
        show_line(sentence(remark, unit))
    click.echo(verdict_line(pack.findings))
