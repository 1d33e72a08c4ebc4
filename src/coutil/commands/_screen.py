"""What stands on the screen: tables, verdicts and progress.  The drawing library is loaded only when used."""

from __future__ import annotations

import sys
import textwrap
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

# What a column of words is to have at least, where it has that much to say; its frame takes three letters more.
NARROW_LEAST, WIDE_LEAST, BETWEEN_COLUMNS = 16, 28, 3
PIPED_WIDTH = 150  # Columns where the output goes into a file and has no width of its own.


def show_table(title: str, table: Table, right: Sequence[int] = (), wide: int | None = None) -> None:
    """A table whose first row holds the heads; columns in `right` range right, `wide` takes what is left.

    Where the screen is too narrow for the columns, each row is a paragraph of its own instead: nothing is cut off.
    """
    console = _console()
    if _least_width(table, right, wide) <= console.width:
        _show_columns(console, title, table, right, wide)
    else:
        click.echo(f"{click.style(title, bold=True)}\n{_paragraphs(table, right, console.width)}")


def _show_columns(console: Console, title: str, table: Table, right: Sequence[int], wide: int | None) -> None:
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
    console.print(drawn)


def _least_width(table: Table, right: Sequence[int], wide: int | None) -> int:
    """How many letters across a table needs to be read: figures whole, words broken at blanks alone."""
    columns = list(zip(*table, strict=True))
    return 1 + sum(BETWEEN_COLUMNS + _least_of(cells, i in right, i == wide) for i, cells in enumerate(columns))


def _least_of(cells: Sequence[str], figures: bool, wide: bool) -> int:
    longest = max(len(cell) for cell in cells)
    if figures:
        return longest
    word = max((len(word) for cell in cells for word in cell.split()), default=0)
    return max(word, min(longest, WIDE_LEAST if wide else NARROW_LEAST))


def _paragraphs(table: Table, right: Sequence[int], width: int) -> str:
    """Each row by its first cell, its figures below one another as in columns, then its words in lines of their own."""
    heads, *rows = table
    widths = [max(len(row[i]) for row in table) + 2 for i in right]
    in_columns = len(widths) > 1 and 2 + sum(widths) <= width
    top = ["  " + _aligned(heads, right, widths)] if in_columns and right else []
    told = (_paragraph(heads, row, right, widths if in_columns else (), width) for row in rows)
    return "\n".join((*top, *told))


def _paragraph(
    heads: Sequence[str], row: Sequence[str], right: Sequence[int], widths: Sequence[int], width: int
) -> str:
    words = [i for i in range(1, len(row)) if i not in right and row[i]]
    told = (row[i] if len(words) == 1 else f"{heads[i]}: {row[i]}" for i in words)
    figures = ";  ".join(f"{heads[i]} {row[i]}" for i in right if row[i])
    lines = [*_wrapped(" – ".join(row[0].splitlines()), width, 0), *(_wrapped(figures, width, 2) if not widths else ())]
    if widths and figures:
        lines.append("  " + _aligned(row, right, widths))
    return "\n".join((*lines, *(line for text in told for line in _wrapped(text, width, 2))))


def _aligned(row: Sequence[str], right: Sequence[int], widths: Sequence[int]) -> str:
    return "".join(row[i].rjust(wide) for i, wide in zip(right, widths, strict=True)).rstrip()


def _wrapped(text: str, width: int, indent: int) -> list[str]:
    first, more = " " * indent, " " * (indent + 2)
    return textwrap.wrap(" ".join(text.split()), width, initial_indent=first, subsequent_indent=more)


def show_line(text: str, indent: int = 2) -> None:
    """A sentence, broken between words where the screen ends; whole where it goes into a file."""
    click.echo("\n".join(_wrapped(text, _console().width, indent)) if sys.stdout.isatty() else " " * indent + text)


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
        show_line(f"{'Look again' if remark.severity == 'warn' else 'Note'}: {remark.sentence}")


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
