"""coutil check: every check of a style or a result, looked at again, or against another client's chart."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from coutil.commands._bases import held_in
from coutil.commands._options import ScreenUnit, read_chart, unit_option
from coutil.commands._screen import show_line, show_remarks, show_table, verdict_line

if TYPE_CHECKING:
    from coutil.check import Finding


@click.command(name="check")
@click.argument("file", metavar="STYLE_OR_RESULT", type=click.Path(path_type=Path))
@click.option(
    "--chart",
    "client",
    type=click.Path(path_type=Path),
    metavar="CLIENT",
    help="Chart (.csv, .toml or .json) of the client whom the pattern is to fit as it stands.",
)
@unit_option
def command(file: Path, client: Path | None, unit: ScreenUnit) -> int:
    """Check a style or a result and show every figure with its limit.

    STYLE_OR_RESULT is a style.json, a result.json or a shipped base by its name.  A style is checked against
    the chart it was drafted for, a result against its base, its alteration chart and the client's chart.  With
    --chart the pattern is checked against that client's measurements instead, as it stands: would it fit her
    unaltered?  Ends with 1 where a check fails.
    """
    from coutil.job import has_failed
    from coutil.tables import check_table

    findings = findings_of(file) if client is None else _findings_for(file, client, unit)
    show_table(f"Checks of {file.name}", check_table(findings, unit), right=(1, 2), wide=5)
    click.echo(verdict_line(findings))
    return int(has_failed(findings))


def findings_of(file: Path) -> tuple[Finding, ...]:
    """The checks of what the file holds; raises BadInput where it holds neither style nor result."""
    from coutil import job
    from coutil.alter import Alteration

    held = held_in(file)
    return job.check_alteration(held) if isinstance(held, Alteration) else job.check_base(held)


def _findings_for(file: Path, client: Path, unit: ScreenUnit) -> tuple[Finding, ...]:
    """The checks against the client's chart, after what was noticed about that chart."""
    from coutil import job
    from coutil.alter import Alteration
    from coutil.speech import sentence

    held, chart = held_in(file), read_chart(client)
    style, base = (held.style, held.base) if isinstance(held, Alteration) else (held, None)
    checked = job.check_for(style, chart, unit, base)
    show_remarks(checked.remarks)
    for estimate in checked.estimates:
        show_line(sentence(estimate, unit))
    return checked.findings
