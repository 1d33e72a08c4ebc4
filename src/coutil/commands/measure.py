"""coutil measure: what a pattern itself measures, and a chart made of it."""

from __future__ import annotations

from pathlib import Path

import click

from coutil.commands._bases import base_of
from coutil.commands._options import ScreenUnit, unit_option
from coutil.commands._screen import show_table


@click.command(name="measure")
@click.argument("base")
@click.option("--gap", metavar="LENGTH", help="Lacing gap of the garment; 50 mm at a laced back where not given.")
@click.option("--closure-gap", metavar="LENGTH", default="0", help="How far the closed busk stands open.")
@click.option("--reduction", metavar="LENGTH", default="0", help="Waist reduction the pattern was drafted with.")
@click.option(
    "--chart-out", type=click.Path(path_type=Path), metavar="CHART.csv", help="Write the chart: garment plus fit."
)
@click.option(
    "--style-out", type=click.Path(path_type=Path), metavar="STYLE.json", help="Write BASE with that chart as its own."
)
@unit_option
def command(
    base: str,
    gap: str | None,
    closure_gap: str,
    reduction: str,
    chart_out: Path | None,
    style_out: Path | None,
    unit: ScreenUnit,
) -> int:
    """Lay the tape on BASE (a style file or a shipped base) and show what the pattern measures.

    The chart of the body it fits is garment plus gaps plus reduction; every reading in it counts as estimated.
    With it a base of unknown origin can be altered like any other.
    """
    from coutil import measuring
    from coutil.drawing import usual_gap
    from coutil.files import write_text
    from coutil.measure import chart_to_csv
    from coutil.pattern import Fit, style_to_json
    from coutil.wishes_file import length_of

    style = base_of(base)
    gaps = usual_gap(style) if gap is None else length_of(gap, unit, "--gap")
    closed = length_of(closure_gap, unit, "--closure-gap")
    fit = Fit({}, length_of(reduction, unit, "--reduction"), gaps, closed)
    measured = measuring.measure_pattern(style, fit)
    show_table(f"Girths of {style.title}", measuring.girth_rows(style, fit, unit), right=(1, 2, 3, 4, 5))
    show_table("Heights and distances", measuring.length_rows(measured, unit), right=(1,))
    if chart_out is not None:
        click.echo(f"Chart written to {write_text(chart_out, chart_to_csv(measured.chart, unit))}.")
    if style_out is not None:
        text = style_to_json(measuring.with_own_chart(style, measured))
        click.echo(f"Base with its own chart written to {write_text(style_out, text)}.")
    return 0
