"""What stands on the screen: tables, verdicts and progress.  The drawing library is loaded only when used."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from itertools import count
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from rich.console import Console

    from coutil.check import Finding
    from coutil.measure import ChartFinding, Unit
    from coutil.tables import Table

PIPED_WIDTH = 150  # Columns where the output goes into a file and has no width of its own.


def show_table(title: str, table: Table, right: Sequence[int] = (), wide: int | None = None) -> None:
    """A table whose first row holds the heads; columns in `right` range right, `wide` takes what is left."""
    from rich.table import Table as Drawn
    from rich.text import Text

    heads, *rows = table
    drawn = Drawn(title=title, title_justify="left", title_style="bold", header_style="bold")
    for i, head in enumerate(heads):
        figures = i in right
        drawn.add_column(
            Text(head), justify="right" if figures else "left", ratio=1 if i == wide else None, no_wrap=figures
        )
    for row in rows:
        drawn.add_row(*(Text(cell) for cell in row))
    _console().print(drawn)


def show_checks(findings: Sequence[Finding], unit: Unit) -> None:
    """Every check that asks for attention, and how many passed."""
    from coutil.check import Verdict
    from coutil.tables import check_table

    telling = [finding for finding in findings if finding.verdict is not Verdict.PASS]
    if telling:
        show_table("Checks to look at", check_table(telling, unit), right=(1, 2), wide=5)
    click.echo(verdict_line(findings))


def verdict_line(findings: Sequence[Finding]) -> str:
    """All verdicts counted, in one line."""
    from coutil.check import Verdict

    words = {
        Verdict.PASS: "pass",
        Verdict.WARN: "to look at",
        Verdict.DECISION: "to decide",
        Verdict.EXPLAINED: "explained by what is still missing",
        Verdict.FAIL: "fail",
    }
    counts = ((sum(f.verdict is verdict for f in findings), word) for verdict, word in words.items())
    told = ", ".join(f"{count} {word}" for count, word in counts if count)
    return f"{len(findings)} checks: {told}." if findings else "No checks."


def show_remarks(remarks: Sequence[ChartFinding]) -> None:
    """What was noticed about a chart, one line each."""
    for remark in remarks:
        click.echo(f"  {'Look again' if remark.severity == 'warn' else 'Note'}: {remark.sentence}")


@contextmanager
def progress(what: str, total: int | None) -> Iterator[Callable[[str], None]]:
    """Gives a function to call at the start of each step with its name; silent where nobody watches.

    `total` is the number of steps, None where it is not known before.
    """
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        task = shown.add_task(what, total=total)
        begun = count()
        yield lambda name: shown.update(task, description=f"{what}: {name}", completed=next(begun))


def _console() -> Console:
    from rich.console import Console

    return Console() if sys.stdout.isatty() else Console(width=PIPED_WIDTH)
