"""From parts and cloth to a checked lay plan: the shorter of our own layout and what a search offers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from coutil.cut.lay._bottom_left import NoFits, Put, end_of, lay_better, lay_in_order, orders, settled
from coutil.cut.lay._check import find_lay_faults
from coutil.cut.lay._poses import Item, Pose, make_items
from coutil.cut.lay._search import Search, SearchFailed, Spot, question
from coutil.cut.lay._values import LayCloth, LayPart, LayPlan, Placement, part_of, part_sizes
from coutil.errors import BadInput

# Without a search so many placings of one part are tried in all: it keeps a garment to a few seconds.
PLACINGS = 400
# Parts are moved together so often after a search.
MOST_SETTLINGS = 5

OWN = "part by part"
SEARCHED = "searched"
AROUND = "searched beside the fixed parts"

Report = Callable[[LayPlan], None]


@dataclass(slots=True)
class _Best:
    """The shortest sound layout so far."""

    style: str
    parts: tuple[LayPart, ...]
    cloth: LayCloth
    report: Report | None
    puts: list[Put] = field(default_factory=list)
    plan: LayPlan | None = None
    refused: int = 0

    def is_shorter(self, puts: Sequence[Put]) -> bool:
        return self.plan is None or end_of(puts) < self.plan.length - 1e-6

    def offer(self, puts: Sequence[Put], method: str) -> None:
        """Keeps the layout if it is shorter than all before, and sound."""
        if not self.is_shorter(puts):
            return
        placements = tuple(put.item.placed(put.pose, put.x, put.y, put.fixed) for put in puts)
        if find_lay_faults(self.parts, placements, self.cloth):
            self.refused += 1
            return
        self.puts = list(puts)
        self.plan = _plan(self.style, self.parts, self.cloth, placements, end_of(puts), method)
        if self.report is not None:
            self.report(self.plan)


def plan_lay(
    style: str,
    parts: tuple[LayPart, ...],
    cloth: LayCloth,
    *,
    fixed: Sequence[Placement] = (),
    search: Search | None = None,
    report: Report | None = None,
    placings: int = PLACINGS,
) -> LayPlan:
    """The shortest lay found for those parts; every candidate is checked on the cut lines before it counts.

    Our own layout, part by part, comes first and always; a search then tries to shorten it.  Parts in `fixed`
    stay where the maker put them; the others are laid around them part by part, and a search lays what the
    cloth beside the fixed parts has no room for beyond them.  Parts on a fold are laid along it like fixed ones.
    `report` is given every better plan.  Without a search, or where it fails, which leaves a remark, our own
    way tries `placings` placings of one part in other orders; that is exactly repeatable.
    Raises BadInput for a part too wide for the cloth and for fixed parts that cannot lie as they were put.
    """
    held, free = _held(make_items(parts, cloth), parts, fixed, cloth)
    best, no_fits = _Best(style, parts, cloth, report), NoFits()
    first, _ = lay_in_order(orders(free)[0], held, cloth, no_fits)
    best.offer(first, OWN)
    remark = _searched(best, held, free, no_fits, search) if search is not None and free else None
    if search is None or remark is not None:
        best.offer(lay_better(first, free, held, cloth, no_fits, placings), OWN)
    if best.plan is None:
        raise BadInput("No sound lay was found on this cloth: give more gap or a wider cloth.")
    return best.plan if remark is None else replace(best.plan, remarks=(remark,))


def plan_of(style: str, parts: tuple[LayPart, ...], cloth: LayCloth, placements: Sequence[Placement]) -> LayPlan:
    """The plan of placements that are all given, such as a kept or a hand-made one.

    Raises BadInput with the first fault where they are not a sound lay of exactly these parts.
    """
    placed = tuple(placements)
    _require_sound(find_lay_faults(parts, placed, cloth))
    length = max((one.x + _along(parts, one) for one in placed), default=0.0)
    return _plan(style, parts, cloth, placed, length, "as placed")


def _along(parts: tuple[LayPart, ...], one: Placement) -> float:
    along, across = part_of(parts, one).size
    return across if one.rotation in (90, 270) else along


def _plan(
    style: str,
    parts: tuple[LayPart, ...],
    cloth: LayCloth,
    placements: tuple[Placement, ...],
    length: float,
    method: str,
) -> LayPlan:
    area = sum(part.area * part.count for part in parts)
    lying = tuple(sorted(placements, key=lambda one: (one.x, one.y)))
    return LayPlan(style, cloth, part_sizes(parts), lying, length, area, method)


def _searched(best: _Best, held: list[Put], free: list[Item], no_fits: NoFits, search: Search) -> str | None:
    """Offers what the search finds; the sentence that says why it found nothing, or None."""
    on_fold = [item for item in free if item.part.on_fold]
    before, _ = lay_in_order(on_fold, held, best.cloth, no_fits)
    others = [item for item in free if not item.part.on_fold]
    before, beyond = _filled_beside(before, others, best.cloth, no_fits)
    if not beyond:
        best.offer(before, OWN)
        return None
    asked = question(beyond, best.cloth, end_of(before) + best.cloth.gap if before else 0.0)
    found = AROUND if before else SEARCHED

    def offered(spots: Sequence[Spot]) -> None:
        best.offer([*before, *asked.puts(spots)], found)

    try:
        search(asked.task, offered)
    except SearchFailed as error:
        return f"{error} This lay was made part by part instead."
    _settle(best, no_fits, found)
    return None


def _settle(best: _Best, no_fits: NoFits, found: str) -> None:
    """Moves the parts of the best layout towards the beginning as long as that shortens it.

    A search that ran out of time leaves gaps which a person would close by hand.
    """
    for _ in range(MOST_SETTLINGS):
        puts = settled(best.puts, best.cloth, no_fits)
        if not best.is_shorter(puts):
            return
        best.offer(puts, found)


def _filled_beside(
    before: list[Put], items: list[Item], cloth: LayCloth, no_fits: NoFits
) -> tuple[list[Put], list[Item]]:
    """Lays beside what lies there already whatever ends no later than that does; and what is left over."""
    if not before or not items:
        return before, items
    return lay_in_order(orders(items)[0], before, cloth, no_fits, end_of(before))


def _held(
    items: tuple[Item, ...], parts: tuple[LayPart, ...], fixed: Sequence[Placement], cloth: LayCloth
) -> tuple[list[Put], list[Item]]:
    """What the maker has placed, and the items that are left to lay."""
    free, held = list(items), []
    for one in fixed:
        part_of(parts, one)
        item, pose = _item_for(one, free)
        free.remove(item)
        held.append(Put(item, pose, one.x, one.y, True))
    placements = [put.item.placed(put.pose, put.x, put.y, True) for put in held]
    _require_sound(find_lay_faults(parts, placements, cloth, complete=False))
    return held, free


def _item_for(one: Placement, free: Sequence[Item]) -> tuple[Item, Pose]:
    mine = [item for item in free if (item.part.piece, item.part.layer) == (one.piece, one.layer)]
    if not mine:
        raise BadInput(f"{one.piece} ({one.layer}) is fixed more often than it is cut: take out a placement.")
    for item in mine:
        for pose in item.poses:
            if pose.rotation == one.rotation % 360 and (pose.hand == one.hand or item.part.either_hand):
                return item, pose
    raise BadInput(
        f"{one.piece} ({one.layer}) cannot be fixed as {one.hand}, turned by {one.rotation} degrees: "
        "its nap or grain forbids it, or no more are cut of that hand."
    )


def _require_sound(faults: tuple[str, ...]) -> None:
    if faults:
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        raise BadInput(f"The parts cannot lie as they were placed: {faults[0]}{more}.")
