"""coutil rank: which base fits a client best."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from coutil.commands._bases import base_label, base_of
from coutil.commands._options import ScreenUnit, read_chart, unit_option, wish_options, wishes_of
from coutil.commands._screen import progress, show_line, show_table

if TYPE_CHECKING:
    from coutil.ranking import Ranked

MOST_BASES = 100


@click.command(name="rank")
@click.argument("client", type=click.Path(path_type=Path))
@click.argument("bases", nargs=-1, required=True)
@wish_options
@unit_option
def command(client: Path, bases: tuple[str, ...], unit: ScreenUnit, **wishes: Any) -> int:
    """Rank BASES (style files or shipped bases) by how much each must change to fit CLIENT.

    Every base is altered for trial; the one that is bent and stretched least comes first, whatever goes beyond
    the caps comes after those that stay within them.  Ends with 1 where no base can be altered to the chart.
    """
    from coutil.ranking import rank_bases
    from coutil.speech import sentence

    if len(bases) > MOST_BASES:
        raise click.UsageError(f"Give at most {MOST_BASES} bases.")
    chart = read_chart(client)
    order = wishes_of(unit=unit, **wishes)
    named = [(base_label(base), base_of(base)) for base in dict.fromkeys(bases)]
    with progress("Ranking", len(named)) as begin:
        ranked = rank_bases(chart, named, order, begin)
    show_table(f"Bases for {chart.name or client.name}, best first", _table(ranked, unit), right=(2,), wide=4)
    for found in ranked:
        for warning in (found.refused, *found.warnings):
            if warning:
                show_line(f"{found.name}: {sentence(warning, unit)}")
    return int(all(found.refused for found in ranked))


def _table(ranked: tuple[Ranked, ...], unit: ScreenUnit) -> tuple[tuple[str, ...], ...]:
    from coutil.speech import sentence

    rows = []
    for found in ranked:
        change = "" if found.refused else f"{found.energy:.1f}"
        verdict = (
            "no" if found.refused or found.conflicts else "beyond the caps" if found.warnings else "within the caps"
        )
        rows.append((found.name, found.title, change, verdict, sentence(found.reason, unit)))
    return (("base", "style", "change", "caps", "why"), *rows)
