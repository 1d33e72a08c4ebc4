"""coutil check: every check of a style or a result, looked at again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from coutil.commands._screen import show_table, verdict_line

if TYPE_CHECKING:
    from coutil.check import Finding


@click.command(name="check")
@click.argument("file", metavar="STYLE_OR_RESULT", type=click.Path(path_type=Path))
def command(file: Path) -> int:
    """Check a style or a result and show every figure with its limit.

    STYLE_OR_RESULT is a style.json or a result.json.  A style is checked against the chart it was drafted
    for, a result against its base, its alteration chart and the client's chart.  Ends with 1 where a check
    fails.
    """
    from coutil.job import has_failed
    from coutil.tables import check_table

    findings = findings_of(file)
    show_table(f"Checks of {file.name}", check_table(findings), right=(1, 2), wide=5)
    click.echo(verdict_line(findings))
    return int(has_failed(findings))


def findings_of(file: Path) -> tuple[Finding, ...]:
    """The checks of what the file holds; raises BadInput where it holds neither style nor result."""
    from coutil import job
    from coutil.files import read_bytes
    from coutil.pattern import format_of, style_from_json
    from coutil.result_file import RESULT_FORMAT, result_from_json

    content = read_bytes(file)
    if format_of(content) == RESULT_FORMAT:
        return job.check_alteration(result_from_json(content).alteration)
    return job.check_base(style_from_json(content))
