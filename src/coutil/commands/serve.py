"""coutil serve: the workroom in the browser."""

from __future__ import annotations

from pathlib import Path

import click

HIGHEST_PORT = 65535


@click.command(name="serve")
@click.option(
    "--data",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="Folder of the records; the one this system keeps for programs where not given.",
)
@click.option(
    "--port",
    type=click.IntRange(0, HIGHEST_PORT),
    default=None,
    metavar="NUMBER",
    help="Port of the page, 8421 where not given; 0 takes any free one.",
)
@click.option("--lan", is_flag=True, help="Let other machines in too, each with a code that is shown here.")
@click.option("--database", metavar="URL", help="Keep the records in PostgreSQL: postgresql://user@host/name.")
@click.option("--no-browser", is_flag=True, help="Do not open the page in a browser.")
def command(data: Path | None, port: int | None, lan: bool, database: str | None, no_browser: bool) -> int:
    """Open the workroom: clients, charts, orders, fittings and papers, as a page in the browser.

    The page is served by this machine for this machine alone; nothing leaves it.  Ctrl-C closes the workroom;
    everything is saved as it is typed.
    """
    from coutil.errors import BadInput
    from coutil.workroom import USUAL_PORT, ServeOptions, serve

    if data is not None and database is not None:
        raise BadInput("Give --data or --database, not both.")
    if database is not None and "://" not in database:
        raise BadInput("The database is given as postgresql://user@host/name.")
    usual = USUAL_PORT if port is None else port
    serve(ServeOptions(database or data, usual, lan, not no_browser), click.echo)
    return 0
