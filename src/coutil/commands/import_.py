"""coutil import: a maker's own pattern from an SVG or DXF drawing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from coutil.commands._bases import show_remarks_of
from coutil.commands._options import read_chart
from coutil.commands._screen import show_line, show_table

if TYPE_CHECKING:
    from coutil.drawing import Certainty, Imported

SURE = 0.9  # Proposals at least as sure are counted, not listed.


@click.command(name="import")
@click.argument("drawing", type=click.Path(path_type=Path))
@click.option(
    "--marks",
    type=click.Path(path_type=Path),
    metavar="MARKS.toml",
    help="File that says what the lines are: all of it, or only what is to be corrected.",
)
@click.option(
    "--chart",
    type=click.Path(path_type=Path),
    metavar="CHART",
    help="Chart (.csv, .toml or .json) the pattern was drafted for; what it measures itself where there is none.",
)
@click.option("--scale", type=float, default=1.0, show_default=True, help="How many times larger the pattern is.")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    required=True,
    metavar="STYLE.json",
    help="Style file to write; the proposal goes beside it as STYLE.marks.toml.",
)
@click.option("--all", "every", is_flag=True, help="List every proposal, the sure ones too.")
def command(drawing: Path, marks: Path | None, chart: Path | None, scale: float, out: Path, every: bool) -> int:
    """Read the pattern on DRAWING (.svg or .dxf) as a base.

    Pieces, edges, levels and marks are named on the drawing or in a marks file; docs/own-patterns.md shows how.
    What is not named is proposed: corners, roles, levels, seams and sharing rules, each with how sure it is
    and why.  The whole proposal is written as a marks file to correct and give back with --marks.  The exit code
    is 1 where what was read can be no pattern, such as one with seam edges that nothing is sewn to.
    """
    from coutil.check import what_makes_no_sense
    from coutil.drawing import LARGEST_DRAWING
    from coutil.errors import BadInput
    from coutil.file_names import file_stem
    from coutil.files import read_bytes, read_text, write_together
    from coutil.import_job import import_apart
    from coutil.pattern import style_to_json

    target = marks_beside(out)
    if marks is not None and marks.resolve() == target.resolve():
        raise BadInput(f"The proposal would be written over {marks}: give --out another name, or the marks another.")
    if not 1e-4 <= scale <= 1e4:
        raise BadInput(f"A scale of {scale:g} makes no pattern: give how many times larger the pattern is.")
    said = read_text(marks) if marks is not None else None
    base = read_chart(chart) if chart is not None else None
    name = file_stem(drawing.stem).replace("-", "_")
    found = import_apart(read_bytes(drawing, LARGEST_DRAWING), drawing.suffix, name, said, base, scale)
    text = style_to_json(found.style)
    write_together({target: found.marks_text, out: text})
    show_import(found, every=every)
    wrong = what_makes_no_sense(found.style)
    for finding in wrong:
        show_line(f"Failed: {finding.advice}")
    click.echo(f"Written to {out}; the proposal to look through is in {target}.")
    return 1 if wrong else 0


def marks_beside(out: Path) -> Path:
    """The name of the marks file that goes with a drawing or style file."""
    return out.with_name(f"{out.stem}.marks.toml")


def show_import(found: Imported, *, every: bool) -> None:
    """What was read, and every proposal that asks for the maker's eye."""
    style = found.style
    edges = sum(len(piece.edges) for piece in style.pieces)
    knots = sum(edge.curve.n_spans for piece in style.pieces for edge in piece.edges)
    click.echo(f"{style.title}: {len(style.pieces)} pieces, {edges} edges of {knots} spans, {len(style.seams)} seams.")
    show_remarks_of(found.remarks)
    listed = [c for c in found.certainties if every or c.sure < SURE]
    if listed:
        show_table("Proposed; look through these", _table(listed), right=(2,), wide=3)
    rest = len(found.certainties) - len(listed)
    if rest:
        click.echo(f"{rest} more proposals are at least {SURE:.0%} sure.")


def _table(certainties: list[Certainty]) -> tuple[tuple[str, ...], ...]:
    ordered = sorted(certainties, key=lambda c: c.sure)
    rows = ((c.about, c.proposal, f"{c.sure * 100:.0f} %", c.reason) for c in ordered)
    return (("about", "proposal", "sure", "because"), *rows)
