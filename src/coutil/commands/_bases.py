"""Bases as a maker names them, where no client is at hand."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from coutil.pattern import Style


def base_of(base: str) -> Style:
    """A style file, or a shipped base by its name; raises BadInput where there is neither."""
    from coutil.files import read_bytes
    from coutil.pattern import style_from_json
    from coutil.shipped import shipped_base

    if base.lower().endswith(".json") or Path(base).is_file():
        return style_from_json(read_bytes(base))
    return shipped_base(base)


def base_label(base: str) -> str:
    """How a base is called on the screen: a file's name without its folder, or the name itself."""
    return Path(base).name.removesuffix(".json")


def show_remarks_of(remarks: tuple[str, ...]) -> None:
    """Remarks, one line each."""
    for remark in remarks:
        click.echo(f"  {remark}")
