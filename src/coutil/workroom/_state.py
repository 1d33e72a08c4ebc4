"""What every page of the workroom is given: the records, the templates, and who may come in."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from coutil.workroom._lay_runs import LayRuns
from coutil.workroom._pairing import Pairing

if TYPE_CHECKING:
    from jinja2 import Environment

    from coutil.record import Records

HERE = Path(__file__).parent


@dataclass(frozen=True, slots=True)
class Settings:
    """How the workroom is served.

    `hosts` are the values of the Host header that are answered; `lan` lets other machines in after pairing.
    """

    hosts: frozenset[str] = frozenset({"127.0.0.1", "localhost", "[::1]"})
    lan: bool = False
    largest_upload: int = 25_000_000
    largest_backup: int = 8_000_000_000


@dataclass(frozen=True, slots=True)
class AppState:
    """What the pages work with.

    `records` keeps everything (see coutil.record); base patterns are found there too, by `find_base(records, key)`.
    """

    records: Records
    templates: Environment
    settings: Settings = Settings()
    pairing: Pairing = field(default_factory=Pairing)
    lays: LayRuns = field(default_factory=LayRuns)


def templates() -> Environment:
    """The page templates, everything put into them escaped."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    from coutil.workroom._words import FILTERS

    environment = Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters.update(FILTERS)
    return environment
