"""Everything for the cutting table of one garment: pattern, guide, workroom sheet, lay plans and toile as files."""

from __future__ import annotations

import os
import subprocess
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, suppress
from dataclasses import dataclass, replace
from typing import IO, Literal

import msgspec

from coutil import job
from coutil.alter import Alteration
from coutil.check import Finding
from coutil.cut import LayCloth, LayPlan, Making, OrderOptions, layers_laid, ordered_style, toile_style
from coutil.errors import BadInput
from coutil.file_names import file_stems
from coutil.lay_job import Laid, LayOrder, laid_again, lay, lay_files
from coutil.measure import Unit
from coutil.pattern import Layer, Style
from coutil.result_file import Result, result_to_json
from coutil.sheet import pattern_drawings, print_pdf
from coutil.workers import end_worker, start_worker, worker_command

Report = Callable[[str], None]

WORKER = worker_command("coutil._pack_worker")

LAY_FORMS = {".json": "the plan, to draw it again", ".svg": "drawing", ".pdf": "page to print"}


@dataclass(frozen=True, slots=True)
class PackOrder:
    """What to put together: the result, how it is made, the pattern's paper, the unit, time for each lay plan (s).

    Lay plans that the result keeps are used where they fit; `seconds` 0 lays by our own way alone.
    """

    result: Result
    making: OrderOptions
    paper: str
    unit: Unit
    seconds: int


@dataclass(frozen=True, slots=True)
class PackFile:
    """One file of the pack: its name, what it is, its content."""

    name: str
    what: str
    content: bytes


@dataclass(frozen=True, slots=True)
class Pack:
    """The files, the lay plans they show, what to look at before cutting, and the checks of the pattern as ordered."""

    files: tuple[PackFile, ...]
    lays: tuple[LayPlan, ...]
    remarks: tuple[str, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class PackTask:
    """What the helper is told: a PackOrder whose result is written as a file."""

    result: bytes
    making: OrderOptions
    paper: str
    unit: Unit


@dataclass(frozen=True, slots=True)
class PackReply:
    """What the helper made."""

    files: tuple[PackFile, ...]


def make_pack(order: PackOrder, begin: Report = lambda _: None) -> Pack:
    """All files; `begin` is told the name of each part before it is made.

    Raises BadInput for what cannot be made, laid or printed.
    """
    ordered = _as_ordered(order)
    # The helper begins first: it works while the lay plans are looked for.
    helper = _started(order)
    laid, stale = _laid(order, ordered.style, begin)
    plans = tuple(one.plan for one in laid)
    making = job.making_of(order.result.alteration, order.making, plans)
    findings = job.check_alteration(ordered)
    files = (
        *_pattern(order, ordered, findings, begin),
        *_workroom(order, making, findings, begin),
        *_lays(laid, ordered.style, order.unit),
    )
    begin("drawings, alteration guide and toile")
    files = (*files, *(_answered(helper) or pages_without_lay(order)))
    return Pack(files, plans, (*stale, *making.remarks), findings)


def pages_without_lay(order: PackOrder) -> tuple[PackFile, ...]:
    """Drawings of the pattern, alteration guide and toile."""
    return (*_drawings(order), *_guide(order), *_toile(order))


def _as_ordered(order: PackOrder) -> Alteration:
    return replace(order.result.alteration, style=ordered_style(order.result.alteration.style, order.making))


def office_paper_of(paper: str, unit: Unit) -> Literal["a4", "letter"]:
    """The paper for pages of words beside a pattern on that paper: Letter for who uses it or works in inches."""
    return "letter" if paper.lower() == "letter" or (unit == "in" and paper.lower() != "a4") else "a4"


def lay_cloth(layer: Layer, making: OrderOptions) -> LayCloth:
    """The order's cloth for a layer; foam, which has no allowance, has no grain either."""
    cloth = making.cloth(layer.name)
    return LayCloth(cloth.width, nap=cloth.nap, grain=layer.allowance, price=cloth.price)


def kept_lays(style: Style, making: OrderOptions, kept: Sequence[LayPlan]) -> tuple[tuple[Laid, ...], tuple[str, ...]]:
    """Those kept lay plans that fit the style as ordered and its cloths, and a sentence for each that does not."""
    found, stale = list[Laid](), list[str]()
    for plan in kept:
        names = " and ".join(layers_laid(plan)).replace("_", " ")
        try:
            _require_cloth(plan, making)
            found.append(laid_again(LayOrder(style, layers_laid(plan), plan.cloth, making), plan))
        except BadInput:
            stale.append(f"The lay plan kept for {names} was made for another pattern, order or cloth: not used.")
    return tuple(found), tuple(stale)


def _require_cloth(plan: LayPlan, making: OrderOptions) -> None:
    """Raises BadInput where the order names cloth of another width."""
    for cloth in making.cloths:
        if cloth.layer in layers_laid(plan) and cloth.width != plan.cloth.width:
            raise BadInput(f"The order's cloth for {cloth.layer} is {cloth.width:g} mm wide, not {plan.cloth.width:g}.")


def _laid(order: PackOrder, style: Style, begin: Report) -> tuple[tuple[Laid, ...], tuple[str, ...]]:
    """A lay plan for every layer: the kept one, or else a new one."""
    found, stale = kept_lays(style, order.making, order.result.lays)
    done = {layer for one in found for layer in layers_laid(one.plan)}
    new = []
    for layer in style.layers:
        if layer.name not in done:
            begin(f"lay plan, {layer.name.replace('_', ' ')}")
            cloth = lay_cloth(layer, order.making)
            new.append(lay(LayOrder(style, (layer.name,), cloth, order.making, small=True), order.seconds))
    return (*found, *new), stale


def _pattern(order: PackOrder, ordered: Alteration, findings: tuple[Finding, ...], begin: Report) -> Iterator[PackFile]:
    begin("pattern")
    options = job.print_options(ordered, order.unit, order.making)
    content = print_pdf(ordered.style, ordered.plan, findings, order.paper, options)
    paper = order.paper.lower().replace(":", "-")
    yield PackFile(f"pattern-{paper}.pdf", f"the pattern at true size on {order.paper}", content)


def _drawings(order: PackOrder) -> Iterator[PackFile]:
    ordered = _as_ordered(order)
    made = pattern_drawings(ordered.style, job.print_options(ordered, order.unit, order.making))
    yield PackFile("pattern.svg", "the pieces to draw on, mm", made.svg.encode())
    yield PackFile("pattern.dxf", "the pieces to cut by, mm (R2000)", made.dxf)


def _guide(order: PackOrder) -> Iterator[PackFile]:
    paper = office_paper_of(order.paper, order.unit)
    stepped = job.with_steps(order.result.alteration)
    content = job.alteration_guide_pdf(stepped, paper, order.unit)
    yield PackFile(f"guide-{paper}.pdf", "the alteration step by step, by hand", content)


def _workroom(order: PackOrder, making: Making, findings: tuple[Finding, ...], begin: Report) -> Iterator[PackFile]:
    begin("workroom sheet")
    paper = office_paper_of(order.paper, order.unit)
    alteration = order.result.alteration
    content = job.workroom_sheet_pdf(alteration, findings, making, paper, order.unit)
    yield PackFile(f"workroom-{paper}.pdf", "what to cut, buy and sew, with every check", content)
    page = job.workroom_sheet_html(alteration, findings, making, order.unit)
    yield PackFile("workroom.html", "the same on a screen", page.encode())


def _lays(laid: Sequence[Laid], style: Style, unit: Unit) -> Iterator[PackFile]:
    stems = file_stems([" ".join(("lay", *layers_laid(one.plan))) for one in laid])
    for stem, one in zip(stems, laid, strict=True):
        told = " and ".join(layers_laid(one.plan)).replace("_", " ")
        for ending, content in lay_files(one, job.heading_of(style), unit).items():
            yield PackFile(f"{stem}{ending}", f"lay plan of {told}: {LAY_FORMS[ending]}", content)


def _toile(order: PackOrder) -> Iterator[PackFile]:
    """The toile's own sheets: wide inlays, levels, bust point, a bone up the middle of every panel."""
    toile = replace(order.result.alteration, style=toile_style(order.result.alteration.style))
    options = job.print_options(toile, order.unit)
    paper = order.paper.lower().replace(":", "-")
    content = print_pdf(toile.style, paper=order.paper, options=options)
    yield PackFile(f"toile-{paper}.pdf", "the toile at true size, with its inlays and bones", content)


# --- the helper --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Helper:
    """A process that makes the pages without a lay plan meanwhile, and the file it writes them to."""

    process: subprocess.Popen[bytes]
    written: IO[bytes]


def _started(order: PackOrder) -> _Helper | None:
    """The helper at work; None where no process can be started, or where there is one processor alone."""
    if (os.cpu_count() or 1) < 2:
        return None
    text = result_to_json(order.result.alteration, order.result.findings).encode()
    task = msgspec.msgpack.encode(PackTask(text, order.making, order.paper, order.unit))
    with suppress(OSError), ExitStack() as opened:
        written = opened.enter_context(tempfile.TemporaryFile())
        process = start_worker(WORKER, task, written)
        opened.pop_all()  # It is closed when its content has been read.
        return _Helper(process, written)
    return None


def _answered(helper: _Helper | None) -> tuple[PackFile, ...]:
    """What the helper made; () where it could not, so that the same trouble comes up here, in words."""
    if helper is None:
        return ()
    with helper.written as written:
        helper.process.wait()
        if end_worker(helper.process):
            return ()
        written.seek(0)
        return msgspec.msgpack.decode(written.read(), type=PackReply).files
