"""coutil measures: what each measurement is and how the tape is laid."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from coutil.commands._screen import show_table

if TYPE_CHECKING:
    from coutil.measure import Measurement


@click.command(name="measures")
@click.argument("key", required=False)
def command(key: str | None) -> int:
    """Explain every measurement a chart may hold, or the one named KEY.

    Tie a narrow tape round the waist before anything else: every height and depth is taken from its lower
    edge.  `_left` or `_right` may be appended to any key where the two sides of the body differ.
    """
    from coutil.measure import MEASUREMENTS, measurement

    if key is None:
        for group in dict.fromkeys(found.group for found in MEASUREMENTS.values()):
            members = tuple(found for found in MEASUREMENTS.values() if found.group == group)
            lines = tuple((found.key, found.definition) for found in members)
            show_table(group.capitalize(), (("key", "what it is"), *lines), wide=1)
        click.echo("coutil measures KEY tells how to take one of them.")
    else:
        _explain(measurement(key))
    return 0


def _explain(found: Measurement) -> None:
    click.echo(f"{found.title.capitalize()} ({found.key})\n")
    click.echo(click.wrap_text(f"What it is: {found.definition}"))
    click.echo(click.wrap_text(f"How to take it: {found.how}"))
    if found.iso:
        click.echo(f"ISO 8559-1: {found.iso}")
    if found.across:
        click.echo("Left and right add up to the whole.")
