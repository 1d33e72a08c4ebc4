"""coutil print: the pattern at true size, as a PDF on paper of any size, as SVG or as DXF."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from coutil.commands._names import require_ending
from coutil.commands._options import ScreenUnit, unit_option

if TYPE_CHECKING:
    from coutil.alter import Alteration
    from coutil.check import Finding
    from coutil.measure import Unit
    from coutil.sheet import PrintOptions

SUFFIXES = {"pdf": ".pdf", "svg": ".svg", "dxf": ".dxf", "dxf-r12": ".dxf"}


@click.command(name="print")
@click.argument("result", type=click.Path(path_type=Path))
@click.option(
    "--paper",
    default="a4",
    show_default=True,
    metavar="PAPER",
    help="a4, letter, a3, a0, a roll by its width in mm as roll:900, or single for one page.",
)
@click.option(
    "--layers",
    metavar="NAMES",
    help="Layers of cloth to print, as outer,lining, or all; each piece once where left out.",
)
@click.option("--overlay", type=click.Choice(["base"]), help="Draw the base pattern dashed beneath every piece.")
@click.option(
    "--marks",
    default="all",
    show_default=True,
    metavar="NAMES",
    help="Marks on the pieces, some of notches, levels, grain, points, fold, bones; all or none.",
)
@click.option(
    "--scale-measured",
    "measured",
    metavar="MM",
    help="What the printed 100 mm square measures: 99.6, or 99.6x99.8 across and down; the 4 in square as 3.98in.",
)
@click.option("--rescale", is_flag=True, help="Print rescaled by what was measured, for the same printer.")
@click.option(
    "--format",
    "kind",
    type=click.Choice(list(SUFFIXES)),
    default="pdf",
    show_default=True,
    help="PDF to print; SVG or DXF (R2000 with curves, R12 with polylines) to draw on or cut by.",
)
@click.option(
    "--out",
    "out",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="File to write; beside the result, named after it and what is printed, where not given.",
)
@unit_option
def command(
    result: Path,
    paper: str,
    layers: str | None,
    overlay: str | None,
    marks: str,
    measured: str | None,
    rescale: bool,
    kind: str,
    out: Path | None,
    unit: ScreenUnit,
) -> int:
    """Print the pattern in RESULT (a result.json) at true size, tiled on paper or whole.

    Print it at 100 per cent, never fitted to the page, and measure the test square first: it must be 100 mm
    within 0.2 mm.  What you measured can be given with --scale-measured.
    """
    from coutil import job
    from coutil.files import read_bytes
    from coutil.result_file import result_from_json
    from coutil.sheet import missing_in, paper_of

    paper_of(paper)
    if out is not None:
        require_ending(out, SUFFIXES[kind])
    scale = _scale(measured, rescale)
    alteration = result_from_json(read_bytes(result)).alteration
    options = replace(
        job.print_options(alteration, unit), layers=_names(layers), marks=_marks(marks), measured=scale
    )
    findings = job.check_alteration(alteration)
    target = out or result.with_name(_file_name(result, options, paper, kind, overlay == "base"))
    _write(alteration, findings, paper, options, kind, overlay == "base", target)
    click.echo(_told(target, kind))
    _tell_missing(missing_in(alteration.style, options) if kind == "pdf" else "")
    if job.has_failed(findings):
        click.echo("Some checks of this pattern fail: see coutil check.", err=True)
    return int(job.has_failed(findings))


def write_pdf(alteration: Alteration, findings: tuple[Finding, ...], paper: str, unit: Unit, target: Path) -> None:
    """The tiled pattern with its chart and checks."""
    from coutil import job
    from coutil.files import write_bytes

    write_bytes(target, job.pattern_pdf(alteration, findings, paper, unit))


def _write(
    alteration: Alteration,
    findings: tuple[Finding, ...],
    paper: str,
    options: PrintOptions,
    kind: str,
    overlay: bool,
    target: Path,
) -> None:
    from coutil import job
    from coutil.files import write_bytes, write_text

    if kind == "pdf":
        write_bytes(target, job.pattern_pdf(alteration, findings, paper, options.unit, options, overlay))
    elif kind == "svg":
        write_text(target, job.pattern_svg(alteration, options, overlay))
    else:
        write_bytes(target, job.pattern_dxf(alteration, options, "r12" if kind == "dxf-r12" else "r2000"))


def _file_name(result: Path, options: PrintOptions, paper: str, kind: str, overlay: bool) -> str:
    """Named after the result and whatever differs from a plain print, so that no print replaces another kind.

    `pattern-a4.pdf` for result.json, `toile-a4.pdf` for toile.json, `pattern-lining-rescaled-a4.pdf` and so on.
    """
    rescaled = options.measured != (100.0, 100.0) and kind == "pdf"
    parts = (
        "pattern" if result.stem == "result" else result.stem,
        *(_in_a_name(name) for name in options.layers),
        "over-base" if overlay else "",
        "rescaled" if rescaled else "",
        _in_a_name(paper) if kind == "pdf" else "r12" if kind == "dxf-r12" else "",
    )
    return "-".join(part for part in parts if part) + SUFFIXES[kind]


def _in_a_name(words: str) -> str:
    """Words as part of a file's name: letters and figures alone, joined by hyphens."""
    return "-".join("".join(letter if letter.isalnum() else " " for letter in words.lower()).split())


def _scale(measured: str | None, rescale: bool) -> tuple[float, float]:
    """The measured square to rescale by; raises BadInput where the page is to be printed again instead."""
    from coutil.errors import BadInput
    from coutil.sheet import TOLERANCE_MM, is_true_to_size, measured_square

    if measured is None:
        if rescale:
            raise BadInput("--rescale needs what the test square measures: give --scale-measured as well.")
        return 100.0, 100.0
    square = measured_square(measured)
    if rescale:
        return square
    if not is_true_to_size(square):
        worst = max(square, key=lambda mm: abs(mm - 100.0))
        raise BadInput(
            f"The square measures {worst:g} mm, more than {TOLERANCE_MM:g} mm off: switch off every scaling in the "
            "printer's window and print page 1 again, or add --rescale to print for that printer as it is."
        )
    click.echo(f"The square is within {TOLERANCE_MM:g} mm: the print is true to size.")
    return 100.0, 100.0


def _names(words: str | None) -> tuple[str, ...]:
    return tuple(name.strip() for name in (words or "").split(",") if name.strip())


def _marks(words: str) -> frozenset[str]:
    from coutil.errors import BadInput
    from coutil.sheet import MARKS

    names = _names(words)
    if names in (("all",), ("none",)):
        return frozenset(MARKS) if names == ("all",) else frozenset()
    unknown = [name for name in names if name not in MARKS]
    if unknown:
        raise BadInput(f"There is no mark {unknown[0][:40]!r}: name some of {', '.join(MARKS)}, or all, or none.")
    return frozenset(names)


def _told(target: Path, kind: str) -> str:
    if kind == "pdf":
        return f"Written to {target}.  Print at 100 per cent and measure the test square first."
    return f"Written to {target}, at true size in mm."


def _tell_missing(letters: str) -> None:
    if letters:
        click.echo(
            f"The face of printed sheets has no letter for {letters}: an empty box stands in its place.", err=True
        )
