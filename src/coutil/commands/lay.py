"""coutil lay: the pieces of a result laid on a cloth."""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from coutil.commands._bases import held_in
from coutil.commands._options import ScreenUnit, out_option, unit_option
from coutil.commands._screen import show_line

if TYPE_CHECKING:
    from coutil.cut import LayCloth, LayPlan, Placement
    from coutil.lay_job import Laid, LayOrder
    from coutil.measure import Unit
    from coutil.pattern import Style

STOPPED = 130
USUAL_SECONDS = 5
LONGEST_SECONDS = 3600
USUAL_WIDTH = "140 cm"


@click.command(name="lay")
@click.argument("file", metavar="RESULT", type=click.Path(path_type=Path))
@click.option("--width", default=USUAL_WIDTH, show_default=True, metavar="LENGTH", help="Width of the cloth.")
@click.option(
    "--layer",
    "layers",
    multiple=True,
    metavar="NAME",
    help="Layer to lay; may be repeated for layers of one cloth.  The first layer where not given.",
)
@click.option("--nap", is_flag=True, help="Cloth with a nap, pile or one-way print: all pieces lie the same way.")
@click.option("--folded", is_flag=True, help="Cloth folded along its length: both hands are cut at once.")
@click.option("--no-grain", is_flag=True, help="Foam or felt without a grain: quarter turns are allowed.")
@click.option("--selvedge", default="1 cm", show_default=True, metavar="LENGTH", help="Left out at each edge.")
@click.option("--gap", default="3 mm", show_default=True, metavar="LENGTH", help="Room between pieces.")
@click.option("--price", type=float, metavar="NUMBER", help="Price of a metre of this cloth.")
@click.option("--small", is_flag=True, help="Lay the small parts cut from this cloth too.")
@click.option(
    "--order",
    "order_file",
    type=click.Path(path_type=Path),
    metavar="ORDER.toml",
    help="How the garment is made; the trade's usual where not given.",
)
@click.option(
    "--time",
    "seconds",
    type=click.IntRange(0, LONGEST_SECONDS),
    default=USUAL_SECONDS,
    show_default=True,
    metavar="SECONDS",
    help="Time to look for a shorter lay; with 0 the same pieces always lie the same.",
)
@click.option(
    "--fixed",
    "fixed_file",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Pieces you have placed: TOML with [[part]] entries, or a kept lay plan.",
)
@click.option(
    "--kept",
    type=click.Path(path_type=Path),
    metavar="LAY.json",
    help="Draw this kept lay plan again instead; cloth and layers are its own.",
)
@click.option("--keep", is_flag=True, help="Keep the plan in RESULT, for its papers and every reprint.")
@out_option("lay")
@unit_option
def command(
    file: Path, out: Path, seconds: int, kept: Path | None, keep: bool, unit: ScreenUnit, **options: Any
) -> int:
    """Lay the pieces in RESULT on a cloth, along its grain, in as little of it as can be found.

    RESULT is a result.json, a style.json or a shipped base by its name.  Writes the plan (.json), a drawing
    (.svg) and a page to print (.pdf), and says length, use and cost.  Ctrl-C ends the looking and keeps the best
    lay so far.

    Fixed pieces are named as [[part]] with piece, x and y (from the cloth's cut end and its lower edge to the
    box around the piece) and, where needed, layer, hand = "mirrored" and rotation = 180.
    """
    from coutil.files import read_bytes

    asked = options["layers"]
    order = order_in(file, unit, **options)
    with looking(seconds if kept is None else 0, unit) as watch:
        laid = _laid(order, seconds, watch) if kept is None else _again(order, read_bytes(kept), asked)
    write_lay(laid, order.style, out, unit)
    if keep:
        keep_lay(file, laid.plan)
    show_lay(laid.plan, unit)
    click.echo(f"Written to {out}.")
    if watch.stopped.is_set():
        click.echo("Stopped; the best lay so far is kept.", err=True)
        return STOPPED
    return 0


@dataclass(frozen=True, slots=True)
class Watch:
    """What is told while a lay is looked for, and whether the maker has had enough."""

    report: Callable[[LayPlan], None]
    tick: Callable[[float], None]
    stopped: threading.Event


def _laid(order: LayOrder, seconds: int, watch: Watch) -> Laid:
    from coutil import lay_job

    return lay_job.lay(order, seconds, report=watch.report, tick=watch.tick, cancelled=watch.stopped.is_set)


def _again(order: LayOrder, text: bytes, asked: tuple[str, ...]) -> Laid:
    """The kept plan drawn again; raises BadInput where layers were asked for that are not its own."""
    from coutil import lay_job
    from coutil.cut import layers_laid
    from coutil.errors import BadInput

    laid = lay_job.draw_again(order, text)
    own = layers_laid(laid.plan)
    if asked and set(asked) != set(own):
        raise BadInput(
            f"The kept lay plan lays {' and '.join(own)}, not {' and '.join(dict.fromkeys(asked))}: "
            "leave out --layer, or give the plan of that cloth."
        )
    return laid


def order_in(
    file: Path, unit: ScreenUnit, layers: tuple[str, ...], small: bool, order_file: Path | None,
    fixed_file: Path | None, **cloth: Any,
) -> LayOrder:  # fmt: skip
    """What the options ask for; raises BadInput for what cannot be read."""
    from coutil.commands.papers import order_of
    from coutil.cut import ordered_style
    from coutil.lay_job import LayOrder

    making = order_of(order_file, unit)
    style = style_in(file) if order_file is None else ordered_style(style_in(file), making)
    named = tuple(dict.fromkeys(layers)) or tuple(layer.name for layer in style.layers[:1])
    fixed = fixed_in(fixed_file, named, unit) if fixed_file else ()
    return LayOrder(style, named, cloth_of(unit, **cloth), making, small, fixed)


def style_in(file: Path) -> Style:
    """The pattern in a result or style file, or a shipped base; raises BadInput for anything else."""
    from coutil.alter import Alteration

    held = held_in(file)
    return held.style if isinstance(held, Alteration) else held


def cloth_of(
    unit: Unit, width: str, selvedge: str, gap: str, nap: bool, folded: bool, no_grain: bool, price: float | None
) -> LayCloth:
    """The cloth; raises BadInput for lengths that are none."""
    from coutil.cut import LayCloth
    from coutil.wishes_file import length_of

    return LayCloth(
        length_of(width, unit, "--width"),
        length_of(selvedge, unit, "--selvedge"),
        length_of(gap, unit, "--gap"),
        nap=nap,
        folded=folded,
        grain=not no_grain,
        price=price,
    )


def fixed_in(path: Path, layers: tuple[str, ...], unit: Unit) -> tuple[Placement, ...]:
    """The placements in a file; raises BadInput with the file's name."""
    from coutil.errors import BadInput
    from coutil.files import read_text
    from coutil.lay_file import fixed_parts

    text = read_text(path)
    try:
        return fixed_parts(text, layers, unit)
    except BadInput as error:
        raise BadInput(f"{path}: {error}") from error


def write_lay(laid: Laid, style: Style, folder: Path, unit: Unit) -> None:
    """The plan's files, named after the layers it lays; the page names whom the pattern is for."""
    from coutil.files import write_files
    from coutil.job import heading_of
    from coutil.lay_job import lay_files, lay_stem

    stem = lay_stem(dict.fromkeys(part.layer for part in laid.parts))
    made = lay_files(laid, heading_of(style), unit)
    write_files(folder, {f"{stem}{ending}": content for ending, content in made.items()})


def keep_lay(path: Path, plan: LayPlan) -> None:
    """Puts the plan into a result file instead of those that lay its layers; raises BadInput for any other file."""
    from coutil.commands.pack import keep_lays
    from coutil.cut import layers_laid
    from coutil.files import read_bytes
    from coutil.result_file import result_from_json

    result = result_from_json(read_bytes(path))
    laid = set(layers_laid(plan))
    others = tuple(kept for kept in result.lays if not laid.intersection(layers_laid(kept)))
    keep_lays(path, result, (*others, plan))


def show_lay(plan: LayPlan, unit: Unit) -> None:
    """Length, use and cost, and what went otherwise than asked."""
    from coutil.measure import format_length

    for remark in plan.remarks:
        show_line(remark)
    cost = "" if plan.cost is None else f", cost {plan.cost:.2f}"
    length, buy = format_length(plan.length, unit), format_length(plan.sold_length, unit)
    click.echo(f"Length of cloth {length} (to buy {buy}), use {plan.use:.1f} %{cost}.")


@contextmanager
def looking(seconds: int, unit: Unit) -> Iterator[Watch]:
    """Shows how long is still looked and how short the lay is by now; the first Ctrl-C ends the looking alone."""
    stopped = threading.Event()
    with _interrupts(stopped):
        if not seconds or not sys.stderr.isatty():
            yield Watch(lambda _: None, lambda _: None, stopped)
            return
        with _bar(seconds, unit) as (report, tick):
            yield Watch(report, tick, stopped)


@contextmanager
def _bar(seconds: int, unit: Unit) -> Iterator[tuple[Callable[[LayPlan], None], Callable[[float], None]]]:
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    from coutil.measure import format_length

    columns = (TextColumn("{task.description}"), BarColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        task = shown.add_task("Laying", total=seconds)
        yield (
            lambda plan: shown.update(
                task, description=f"Laying: {format_length(plan.length, unit)}, {plan.use:.1f} %"
            ),
            lambda gone: shown.update(task, completed=min(gone, seconds)),
        )


@contextmanager
def _interrupts(stopped: threading.Event) -> Iterator[None]:
    """The first interrupt sets `stopped`, a second one ends the program as usual."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    usual = signal.getsignal(signal.SIGINT)

    def stop(*_: object) -> None:
        stopped.set()
        signal.signal(signal.SIGINT, usual)

    signal.signal(signal.SIGINT, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, usual)
