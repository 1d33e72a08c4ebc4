"""One lay plan from an order to its papers: which layers on which cloth in, the checked plan and its drawings out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from coutil.cut import (
    Allowances,
    LayCloth,
    LayPart,
    LayPlan,
    OrderOptions,
    Placement,
    lay_parts,
    order_allowances,
    ordered_style,
    parts_as_ordered,
    plan_lay,
    small_lay_parts,
)
from coutil.errors import BadInput
from coutil.file_names import file_stem
from coutil.lay_file import lay_again, lay_from_json, lay_to_json
from coutil.lay_search import search_for
from coutil.measure import Unit
from coutil.pattern import Style
from coutil.sheet import Heading, lay_plan_pdf, lay_plan_svg


@dataclass(frozen=True, slots=True)
class LayOrder:
    """What to lay: some layers of a style on one cloth; `small` adds the small parts cut from these layers.

    `making` says how the garment is made; `fixed` parts stay where the maker put them.
    """

    style: Style
    layers: tuple[str, ...]
    cloth: LayCloth
    making: OrderOptions
    small: bool = False
    fixed: tuple[Placement, ...] = ()


@dataclass(frozen=True, slots=True)
class Laid:
    """A lay plan with the parts it lays."""

    plan: LayPlan
    parts: tuple[LayPart, ...]


def lay(
    order: LayOrder,
    seconds: int,
    *,
    report: Callable[[LayPlan], None] | None = None,
    tick: Callable[[float], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Laid:
    """The shortest lay found in that time; with no time, our own alone, which is exactly repeatable.

    `report` is given every better plan, `tick` the seconds gone, and `cancelled` asked whether to stop with the
    best so far.  Raises BadInput for what cannot be laid.
    """
    parts = parts_of(order)
    search = search_for(seconds, tick, cancelled)
    plan = plan_lay(order.style.title, parts, order.cloth, fixed=order.fixed, search=search, report=report)
    return Laid(plan, parts)


def draw_again(order: LayOrder, text: str | bytes) -> Laid:
    """A kept lay plan with the parts of the order, on the cloth it was made for.

    Raises BadInput where it was made for other parts.
    """
    return laid_again(order, lay_from_json(text))


def laid_again(order: LayOrder, kept: LayPlan) -> Laid:
    """As `draw_again`, of a plan that is read already."""
    layers = tuple(dict.fromkeys(part.layer for part in kept.parts))
    known = {layer.name for layer in order.style.layers}
    if not known.issuperset(layers):
        raise BadInput("This lay plan was made for a pattern with other layers: lay this pattern anew.")
    pieces = {piece.name for piece in order.style.pieces}
    small = any(part.piece not in pieces for part in kept.parts)
    parts = parts_of(LayOrder(order.style, layers, kept.cloth, order.making, small))
    return Laid(lay_again(kept, parts), parts)


def parts_of(order: LayOrder) -> tuple[LayPart, ...]:
    """Everything the order lays; raises BadInput for layers the style has not."""
    allowances: Allowances = order_allowances(order.making)
    small = _small(order) if order.small else ()
    return lay_parts(order.style, order.layers, order.cloth, allowances, small)


def _small(order: LayOrder) -> tuple[LayPart, ...]:
    found = parts_as_ordered(ordered_style(order.style, order.making), order.making)
    return tuple(part for layer in order.layers for part in small_lay_parts(found, layer))


def lay_stem(layers: Iterable[str]) -> str:
    """How the files of a lay plan of these layers are called, without their endings."""
    return file_stem(" ".join(("lay", *layers)))


def lay_files(laid: Laid, heading: Heading, unit: Unit) -> Mapping[str, bytes]:
    """The papers of a lay plan by the ending of their names: the plan itself, a drawing, a page to print."""
    return {
        ".json": lay_to_json(laid.plan).encode(),
        ".svg": lay_plan_svg(laid.plan, laid.parts, heading, unit).encode(),
        ".pdf": lay_plan_pdf(laid.plan, laid.parts, heading, unit),
    }
