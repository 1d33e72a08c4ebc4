"""coutil export: a style as a drawing that comes back as the same style."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import click

from coutil.commands._bases import base_of
from coutil.commands.import_ import marks_beside


@click.command(name="export")
@click.argument("style")
@click.option(
    "--format", "kind", type=click.Choice(["svg", "dxf"]), default="svg", show_default=True, help="Kind of drawing."
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Drawing to write; named by the style where not given.",
)
def command(style: str, kind: Literal["svg", "dxf"], out: Path | None) -> int:
    """Draw STYLE (a style file or a shipped base) in lines named by the convention, to be changed and imported again.

    SVG holds a group a piece and a path an edge; DXF a block a piece and a spline an edge on layer 14.  A marks
    file goes beside it; `coutil import FILE --marks FILE.marks.toml` gives the same style within 0.01 mm.
    """
    from coutil.commands._names import require_ending
    from coutil.drawing import export_dxf, export_svg
    from coutil.file_names import file_stem
    from coutil.files import write_together

    if out is not None:
        require_ending(out, f".{kind}")
    held = base_of(style)
    made = export_svg(held) if kind == "svg" else export_dxf(held)
    target = out or Path(f"{file_stem(held.name)}.{kind}")
    write_together({target: made.drawing, marks_beside(target): made.marks})
    click.echo(f"Written to {target}, with its marks in {marks_beside(target)}.")
    return 0
