"""The plan: every difference shared over the right edges by the style's rules, in the order of work.

Each row sees what the rows before it have already done, so an overruled or locked row is made up for by the ones
after it, and what nobody can take is declared as still missing.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import product

from coutil.alter._caps import ADVICE, row_warnings, within_caps
from coutil.alter._differences import Differences, LevelDifference, girth_order
from coutil.alter._edges import cup_and_edge_rows
from coutil.alter._limits import rooms_at, share_within
from coutil.alter._order_of_seams import seam_places
from coutil.alter._plan import GirthOrder, Group, Move, Override, Plan, PlanRow, State, Wishes
from coutil.alter._sharing import Portion, sewn_mates, share_out
from coutil.alter._words import as_sentence, level_word
from coutil.errors import BadInput
from coutil.measure import NOISE_GIRTH, NOISE_LENGTH, reduction_limit, title
from coutil.pattern import Edge, EdgeShare, LengthRule, Piece, Role, Style

# Amounts below this are arithmetic's own.
NOTHING_MM = 1e-9
# No tape reads and no pencil draws a hundredth of a millimetre: a row that wants less wants nothing.
LEAST_ROW_MM = 0.005

Spread = Callable[[float], tuple[Move, ...]]


def make_plan(found: Differences, wishes: Wishes) -> Plan:
    """All rows with the maker's overrides applied; raises BadInput for an override of a row that does not exist."""
    planner = Planner(found, wishes)
    planner.lengths()
    planner.centre()
    planner.sides()
    planner.surplus()
    planner.reduction()
    planner.curves()
    for row, spread in cup_and_edge_rows(found, wishes, planner.amount("length"), planner.lifted()):
        planner.add(row, spread)
    planner.require_known_overrides()
    return planner.plan()


class Planner:
    """Gathers rows; each new row is decided (computed, overruled, left, locked) as it is added."""

    def __init__(self, found: Differences, wishes: Wishes) -> None:
        self.found, self.wishes = found, wishes
        self.base = found.base
        self.rules = found.base.sharing
        self.sides_of_body = found.base.sides
        self.rows: list[PlanRow] = []
        self._overrides = {override.row: override for override in wishes.overrides}

    # --- deciding --------------------------------------------------------------------------------------

    def add(self, row: PlanRow, spread: Spread) -> None:
        """Decide a row and keep it; rows that change nothing and were not asked for are left out."""
        decided = self._decided(row)
        if max(abs(row.wanted), abs(decided.amount)) < LEAST_ROW_MM and row.key not in self._overrides:
            return
        moved = replace(decided, moves=spread(decided.amount), reason=as_sentence(decided.reason))
        warnings = (*moved.warnings, *row_warnings(self.rules.caps, self.base, moved))
        self.rows.append(replace(moved, warnings=tuple(as_sentence(words) for words in warnings)))

    def _decided(self, row: PlanRow) -> PlanRow:
        override = self._overrides.get(row.key)
        if override is not None:
            return _overruled(row, override)
        noise = NOISE_GIRTH if row.measurement.endswith(("_girth", "_front", "_back")) else NOISE_LENGTH
        # At a level other rows may have moved the seams already: what is small is what is still to be moved there.
        still = row.wanted * self.base.sides if row.group == "curves" else row.difference
        if self.wishes.leave_small and abs(still) < noise:
            why = f"within the tape's error of {noise:.0f} mm"
            return replace(row, state=State.LEFT, amount=0.0, why=why)
        return within_caps(self.rules.caps, row)

    def require_known_overrides(self) -> None:
        """An override that meets no row would be forgotten silently."""
        known = [row.key for row in self.rows]
        for key in self._overrides:
            if key not in known:
                raise BadInput(f"there is no row {key} to overrule: the rows are {', '.join(known) or 'none'}")

    def amount(self, key: str) -> float:
        """What that row moves, mm on the stored half; 0 where there is none."""
        return next((row.amount for row in self.rows if row.key == key), 0.0)

    # --- length, centre, side --------------------------------------------------------------------------

    def lengths(self) -> None:
        """The band between the waist and the level the style names, then the style's further bands above it."""
        self._length(self.rules.length, "length", 0.0)
        for rule in self.rules.bands:
            self._length(rule, f"length_{rule.above}", self.lifted())

    def lifted(self) -> float:
        """How far all bands together lift what lies above them, mm."""
        return sum(row.amount for row in self.rows if row.group == "length")

    def _length(self, rule: LengthRule, key: str, below: float) -> None:
        """One band; `below` is what the bands below it have taken already, mm."""
        pair = self.found.value(rule.measure)
        if pair is None:
            return
        wanted = pair[1] - pair[0] - below
        how = "let in" if wanted > 0 else "taken out"
        place = _band_place(self.base, rule, wanted)
        reason = f"a band is {how} {place}, the same on every piece; the side height follows by the same amount"
        words = title(rule.measure)
        self.add(
            self._row(key, "length", f"{words[:1].upper()}{words[1:]}", rule.measure, pair, wanted, reason),
            lambda amount: tuple(
                Move(piece, edge, rule.above, "upwards", amount * share)
                for piece, edge, share in _lifted(self.base, rule)
            ),
        )

    def centre(self) -> None:
        """Centre edges move by half the difference in bust point separation."""
        pair = self.found.value("bust_point_separation")
        if pair is None or not self.rules.centre.edges:
            return
        # A busk stands open between the bust points: the pieces are so much narrower.
        opened = self.found.closure_gap - self.base.base_fit.closure_gap
        wanted = (pair[1] - pair[0] - opened) / 2
        reason = "half the difference on each half, the same at every level; both peaks keep their height"
        if self.rules.centre.giving:
            reason = "half the difference on each half, the same at every level: the seam over the bust is shifted"
        self.add(
            self._row("centre", "centre", "Bust point separation", "bust_point_separation", pair, wanted, reason),
            self._centred,
        )

    def _centred(self, amount: float) -> tuple[Move, ...]:
        rule = self.rules.centre
        given = tuple(Move(p, e, None, "sideways", -amount / len(rule.giving)) for p, e in rule.giving)
        return (*_on_edges(rule.edges, amount), *given)

    def sides(self) -> None:
        """Side seams, parallel over their whole height, front and back separately; a whole pattern has two of each."""
        for part, edges in (("front", self.rules.side.front), ("back", self.rules.side.back)):
            missing, level = self._side_amount(part)
            if level is None or not edges:
                continue
            wanted = missing * self.sides_of_body / 2
            reason = (
                f"the {level_word(level.level.name)} difference of the {part}"
                + (" less what the centre takes" if part == "front" else "")
                + ", parallel over the whole height, every piece that meets the side seam alike"
            )
            row = self._level_row(f"side_{part}", "side", f"Side seam, {part}", level, part, wanted, reason)
            self.add(row, partial(_on_edges, edges))

    def _side_amount(self, part: str) -> tuple[float, LevelDifference | None]:
        if self.rules.side.basis == "underbust":
            level = self._level_of("underbust")
            return (self._missing(level, part), level) if level is not None else (0.0, None)
        return self._common_amount(part)

    def _common_amount(self, part: str) -> tuple[float, LevelDifference | None]:
        """The part common to all levels: the smallest, if all have one sign, else nothing."""
        missing = [(self._missing(level, part), level) for level in self.found.levels]
        if not missing:
            return 0.0, None
        smallest = min(missing, key=lambda pair: abs(pair[0]))
        one_sign = all(m * smallest[0] > 0 for m, _ in missing)
        return smallest if one_sign else (0.0, smallest[1])

    def surplus(self) -> None:
        """The bust difference that centre and side have not taken."""
        level = self._level_of("bust")
        if level is None or not self.rules.surplus:
            return
        wanted = self._missing(level, "front")
        reason = "what centre and side have not taken of the front bust goes to the seam over the bust point"
        row = self._level_row("bust_surplus", "curves", "Front bust, the rest", level, "front", wanted, reason)
        shares, name = self.rules.surplus, level.level.name
        rooms = self._rooms(name, shares, wanted)
        spread = partial(self._shared, shares=shares, levels=(name,), rooms=rooms)
        kept = self._kept(row, shares, rooms)
        self.add(row if kept is None else replace(row, amount=kept), spread)

    def _level_of(self, stem: str) -> LevelDifference | None:
        return next((found for found in self.found.levels if found.level.measure == stem), None)

    # --- curves ----------------------------------------------------------------------------------------

    def reduction(self) -> None:
        """A changed reduction: side edges most, their neighbours half of that, centre and closure nothing."""
        waist = self._level_of("waist")
        if waist is None or not self.rules.reduction:
            return
        change = self.found.reduction - self.found.base_reduction
        reason = "the change of waist reduction goes to the side edges twice, to the edges beside them once"
        pair = (self.found.base_reduction, self.found.reduction)
        limit = reduction_limit(self.found.client["waist_girth"], self.found.client.get("waist_girth_compressed"))
        warnings = (limit.sentence,) if self.found.reduction > limit.amount + LEAST_ROW_MM else ()
        row = self._row(
            "reduction", "curves", "Waist reduction", "waist_reduction", pair, -change / self.sides_of_body, reason
        )
        self.add(
            replace(row, warnings=warnings),
            lambda amount: self._reduced(amount, waist.level.name),
        )

    def _reduced(self, amount: float, level: str) -> tuple[Move, ...]:
        """Front and back each take their weights' part exactly, so that neither arc is rounded away."""
        moves: list[Move] = []
        for part in ("front", "back"):
            own = [s for s in self.rules.reduction if self.base.piece(s.piece).part == part]
            moves += self._shared(amount * _reduced_share(self.base, self.rules.reduction, part), own, (level,))
        return tuple(moves)

    def curves(self) -> None:
        """At every level, what is still missing, over the seam edges of that half."""
        for level in self.found.levels:
            for part in ("front", "back"):
                shares = self._shares_at(level.level.name, part)
                wanted = self._missing(level, part)
                if not shares:
                    continue
                name = level.level.name
                reason = f"what is still missing at the {level_word(name)}, on both sides of each seam of the {part}"
                title = f"{level_word(name).capitalize()}, {part}"
                row = self._level_row(f"curves_{name}_{part}", "curves", title, level, part, wanted, reason)
                carried = (name, *self._carried_levels(name))
                rooms = self._rooms(name, shares, wanted)
                spread = partial(self._shared, shares=shares, levels=carried, rooms=rooms)
                self.add(self._limited(row, shares, rooms), spread)

    def _rooms(self, level: str, shares: Sequence[EdgeShare], wanted: float) -> list[float]:
        """What each edge can still take at that level before its seam leans too far, mm.

        The topmost level is held against the one below it, which the rows to come hardly move.
        """
        order = [found.level.name for found in self.found.levels]
        place = order.index(level)
        beside = order[:place] or order[1:2]
        moves = [move for row in self.rows for move in row.moves]
        return rooms_at(self.base, moves, shares, level, beside, math.copysign(1.0, wanted))

    def _limited(self, row: PlanRow, shares: Sequence[EdgeShare], rooms: Sequence[float]) -> PlanRow:
        """The row with what its edges can take; the rest is declared as still missing."""
        kept = self._kept(row, shares, rooms)
        if kept is None:
            return row
        cap = self.rules.caps.slope_refuses
        missing = f"{abs(row.wanted - kept):.1f} mm a side stay missing"
        warning = f"no seam may lean by more than {cap:.0f} degrees, so {missing}: {ADVICE}"
        return replace(row, amount=kept, warnings=(warning,))

    def _kept(self, row: PlanRow, shares: Sequence[EdgeShare], rooms: Sequence[float]) -> float | None:
        """What the edges can take of a row, mm, or None where they can take all of it."""
        step, mates = self.base.workroom_step, sewn_mates(self.base, shares)
        kept = sum(p.amount for p in share_within(row.wanted, shares, step, mates, rooms))
        return None if abs(kept - row.wanted) < NOTHING_MM else kept

    def _shares_at(self, level: str, part: str) -> tuple[EdgeShare, ...]:
        shares = self.rules.curves.get(part, ())
        return tuple(s for s in shares if _is_marked(self.base, s, level) and not self._sets_separation(s, level))

    def _sets_separation(self, share: EdgeShare, level: str) -> bool:
        """At the bust the pieces between both bust points are the separation: the centre row alone changes them."""
        bust = self._level_of("bust")
        if bust is None or bust.level.name != level or not self.rules.centre.edges:
            return False
        piece = self.base.piece(share.piece)
        return piece.part == "front" and _ends_at_bust_point(self.base, piece)

    def _carried_levels(self, level: str) -> tuple[str, ...]:
        """Levels without a measurement of their own beyond this one, on which its amounts are carried parallel."""
        measured = {found.level.name for found in self.found.levels}
        order = [lv.name for lv in self.base.levels]
        last = max((order.index(name) for name in measured if name in order), default=-1)
        return tuple(order[last + 1 :]) if order.index(level) == last else ()

    def _shared(
        self,
        amount: float,
        shares: Sequence[EdgeShare],
        levels: Iterable[str],
        rooms: Sequence[float] | None = None,
    ) -> tuple[Move, ...]:
        """Shared within the rooms; more than there is room for was asked by the maker, and is shared as usual."""
        names = tuple(levels)
        step, mates = self.base.workroom_step, sewn_mates(self.base, shares)
        portions = share_out(amount, shares, step, mates, self._taken_beyond(shares, names[0]))
        if rooms is not None:
            within = share_within(amount, shares, step, mates, rooms)
            reach = {(s.piece, s.edge): room for s, room in zip(shares, rooms, strict=True)}
            too_far = any(abs(p.amount) > reach[p.piece, p.edge] + NOTHING_MM for p in portions)
            if too_far and abs(sum(p.amount for p in within) - amount) < NOTHING_MM:
                portions = within
        return tuple(_moves_of(portions, names))

    def _taken_beyond(self, shares: Sequence[EdgeShare], level: str) -> dict[int, float]:
        """What the other part's edge, sewn to one of these and of equal weight, has taken at the level; mm by place."""
        rules = (*self.rules.curves.values(), self.rules.reduction)
        weights = {(s.piece, s.edge): s.weight for group in rules for s in group}
        last = self.rows[-1] if self.rows else None
        taken = {(m.piece, m.edge): m.amount for m in (last.moves if last is not None else ()) if m.level == level}
        places = {(s.piece, s.edge): i for i, s in enumerate(shares)}
        return {
            places[own]: taken[other]
            for own, other in _sewn_pairs(self.base)
            if own in places and other in taken and other not in places and weights.get(other) == weights.get(own)
        }

    def _missing(self, level: LevelDifference, part: str) -> float:
        """Half the difference of that part less what the rows so far move there, mm on the stored half."""
        wanted = (level.front if part == "front" else level.back) / self.sides_of_body
        return wanted - self._placed(level.level.name, part, skip="reduction")

    def _placed(self, level: str, part: str, skip: str = "") -> float:
        pieces = {p.name for p in self.base.pieces if p.part == part and level in p.levels}
        return sum(
            move.amount
            for row in self.rows
            if row.key != skip
            for move in row.moves
            if move.kind == "sideways" and move.piece in pieces and move.level in (None, level)
        )

    # --- rows and the finished plan --------------------------------------------------------------------

    def _row(
        self,
        key: str,
        group: Group,
        title: str,
        measurement: str,
        pair: tuple[float, float],
        wanted: float,
        reason: str,
    ) -> PlanRow:
        base, client = pair
        estimated = measurement in self.found.client and self.found.client.estimated(measurement) if (
            measurement != "waist_reduction"
        ) else False
        return PlanRow(
            key, group, title, measurement, base, client, client - base, wanted, wanted, (), reason, estimated=estimated
        )

    def _level_row(
        self, key: str, group: Group, title: str, level: LevelDifference, part: str, wanted: float, reason: str
    ) -> PlanRow:
        difference = level.front if part == "front" else level.back
        before = level.base_front if part == "front" else level.base_back
        measurement = f"{level.level.measure}_{part}"
        return PlanRow(
            key,
            group,
            title,
            measurement,
            before,
            before + difference,
            difference,
            wanted,
            wanted,
            (),
            reason,
            estimated=level.estimated,
        )

    def plan(self) -> Plan:
        """The finished plan with girths ordered and every declared rest."""
        rows = tuple(self._with_rest(row) for row in self.rows)
        girths = tuple(self._order(level) for level in self.found.levels)
        return Plan(
            rows,
            girths,
            self._targets(),
            self.found.reduction,
            self.found.lacing_gap,
            self.found.closure_gap,
            tuple(as_sentence(words) for words in self.found.sentences),
        )

    def _with_rest(self, row: PlanRow) -> PlanRow:
        """Curves rows are the last to take a level's difference: what they leave is missing for good.

        A height that waits for the maker's decision is not missing yet.
        """
        last = row.key.startswith(("curves_", "reduction")) or row.group in ("length", "centre", "cup", "edges")
        if not last or (row.decision and row.state is State.LEFT):
            return row
        factor = self.sides_of_body if row.group in ("curves", "centre") else 1
        remainder = factor * (row.wanted - row.amount)
        return replace(row, remainder=remainder) if remainder != row.remainder else row

    def _order(self, level: LevelDifference) -> GirthOrder:
        if level.level.measure != "waist":
            return girth_order(self.found, level, 0.0, 0.0)
        front = _reduced_share(self.base, self.rules.reduction, "front")
        change = self.found.reduction - self.found.base_reduction
        return girth_order(self.found, level, front * change, (1.0 - front) * change)

    def _targets(self) -> dict[str, float]:
        of_cup = ("bust_point_to_underbust", "bust_point_to_upper_corner", "bust_point_to_armhole")
        keys = (
            *("bust_point_separation", *(of_cup if self.rules.cup is not None else ())),
            *(rule.measure for rule in (self.rules.length, *self.rules.bands)),
            *self.rules.heights,
        )
        pairs = {key: self.found.value(key) for key in keys}
        measured = self.found.base_measures
        return {
            key: measured[key] + pair[1] - pair[0]
            for key, pair in pairs.items()
            if pair is not None and key in measured
        }


def _overruled(row: PlanRow, override: Override) -> PlanRow:
    if not override.why.strip():
        raise BadInput(f"row {row.key} is overruled without a reason: say why, so that it can be understood later")
    if override.state is State.LEFT:
        amount = 0.0
    elif override.amount is None:
        if override.state is State.OVERRULED:
            raise BadInput(f"row {row.key} is overruled without an amount: give it in mm")
        amount = row.amount
    else:
        amount = override.amount
    return replace(row, state=override.state, amount=amount, why=override.why)


def _on_edges(edges: Iterable[tuple[str, str]], amount: float) -> tuple[Move, ...]:
    return tuple(Move(piece, edge, None, "sideways", amount) for piece, edge in edges)


def _moves_of(portions: Iterable[Portion], levels: Iterable[str]) -> Iterator[Move]:
    names = tuple(levels)
    for portion in portions:
        for name in names:
            yield Move(portion.piece, portion.edge, name, "sideways", portion.amount)


def _is_marked(style: Style, share: EdgeShare, level: str) -> bool:
    piece = style.piece(share.piece)
    return any(mark.level == level and mark.at.edge == share.edge for mark in piece.level_marks)


def _ends_at_bust_point(style: Style, piece: Piece) -> bool:
    """Whether the piece lies between the centre and a seam over a bust point."""
    places = seam_places(style)
    points = [(own.name, mark.edge) for own in style.pieces if (mark := own.landmark("bust_point")) is not None]
    busts = [places[point] for point in points if point in places]
    seams = [edge.name for edge in piece.edges if edge.role in (Role.PANEL_SEAM, Role.SIDE_SEAM)]
    return bool(busts) and max(places.get((piece.name, name), 1.0) for name in seams) <= min(busts)


def _sewn_pairs(style: Style) -> Iterator[tuple[tuple[str, str], tuple[str, str]]]:
    """Edges of both sides of a seam, both ways round; at one level a side has no more than one edge."""
    for seam in style.seams:
        for one, other in product(seam.a, seam.b):
            yield (one.piece, one.edge), (other.piece, other.edge)
            yield (other.piece, other.edge), (one.piece, one.edge)


def _reduced_share(style: Style, shares: Sequence[EdgeShare], part: str) -> float:
    total = sum(share.weight for share in shares)
    own = sum(share.weight for share in shares if style.piece(share.piece).part == part)
    return own / total if total else 0.5


def _band_place(style: Style, rule: LengthRule, wanted: float) -> str:
    """Where the band lies: at the waist, or in the middle between the level it lifts and the one below."""
    if rule.place == "waist":
        return "at the waist line"
    upper = next((i for i, level in enumerate(style.levels) if level.name == rule.above), 0)
    below = style.levels[upper + 1].name if upper + 1 < len(style.levels) else "waist"
    between = f"between {level_word(below)} and {level_word(rule.above)}"
    if abs(wanted) > 25.0:
        return f"half of it a little below, half a little above the middle {between}"
    return f"midway {between}"


def _lifted(style: Style, rule: LengthRule) -> Iterator[tuple[str, str, float]]:
    """Edges that cross or end above the band, with their share of it: all alike, or a wedge."""
    for piece in style.pieces:
        if rule.above not in piece.levels or "waist" not in piece.levels:
            continue
        for edge in piece.edges:
            if edge.role in (Role.PANEL_SEAM, Role.SIDE_SEAM, Role.CENTRE, Role.CLOSURE):
                share = 1.0 if rule.shape == "parallel" else _wedge_share(style, piece, edge)
                yield piece.name, edge.name, share


def _wedge_share(style: Style, piece: Piece, edge: Edge) -> float:
    """A wedge is full at the centre front, in proportion at the panel seams, nothing at side and back."""
    if piece.part == "back":
        return 0.0
    return 1.0 - seam_places(style).get((piece.name, edge.name), 0.0 if edge.role.is_vertical else 1.0)
