"""What several commands ask for in the same words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

if TYPE_CHECKING:
    from coutil.alter import Wishes
    from coutil.measure import Chart

ScreenUnit = Literal["cm", "in"]

unit_option = click.option(
    "--unit",
    type=click.Choice(["cm", "in"]),
    default="cm",
    show_default=True,
    help="Unit of what is shown, and of numbers given without one.",
)


def out_option(default: str) -> Callable[[Any], Any]:
    """--out DIR with its default."""
    return click.option(
        "--out",
        "out",
        type=click.Path(path_type=Path),
        default=default,
        show_default=True,
        metavar="DIR",
        help="Folder to write into; made where missing.",
    )


def wish_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The wishes that can be given in one word each."""
    for option in reversed(_WISHES):
        command = option(command)
    return command


_WISHES = (
    click.option(
        "--wishes",
        "wishes_file",
        type=click.Path(path_type=Path),
        metavar="FILE.toml",
        help="File of wishes and overruled rows; the options below win over it.",
    ),
    click.option("--reduction", metavar="LENGTH", help="Waist reduction of full girth, such as 6 or '2 1/2 in'."),
    click.option("--gap", metavar="LENGTH", help="Lacing gap at the centre back."),
    click.option("--take-heights", is_flag=True, help="Take the wanted heights instead of leaving them open."),
    click.option("--leave-small", is_flag=True, help="Leave differences within the tape's error as in the base."),
)


def wishes_of(
    *,
    wishes_file: Path | None,
    reduction: str | None,
    gap: str | None,
    take_heights: bool,
    leave_small: bool,
    unit: ScreenUnit,
) -> Wishes:
    """The wishes of file and options together; raises BadInput for what cannot be read."""
    from coutil.alter import Wishes
    from coutil.files import read_text
    from coutil.wishes_file import size_of, wishes_from_toml

    wishes = wishes_from_toml(read_text(wishes_file), unit) if wishes_file else Wishes()
    if reduction is not None:
        wishes = replace(wishes, reduction=size_of(reduction, unit, "--reduction"))
    if gap is not None:
        wishes = replace(wishes, lacing_gap=size_of(gap, unit, "--gap"))
    return replace(
        wishes,
        take_heights=wishes.take_heights or take_heights,
        leave_small=wishes.leave_small or leave_small,
    )


def read_chart(path: Path) -> Chart:
    """The chart in a file; raises BadInput with the file's name for what cannot be read."""
    from coutil.errors import BadChart, BadInput
    from coutil.files import read_bytes
    from coutil.measure import chart_from_text

    content = read_bytes(path)
    try:
        return chart_from_text(content, path.suffix)
    except BadInput as error:
        raise BadChart(f"{path}: {error}") from error
