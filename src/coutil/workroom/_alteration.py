"""The alteration page's document: from a base, a chart and wishes to everything the page shows.

A base is made ready once (`Desk`) and kept; every change of an amount then costs one alteration and its checks.
"""

from __future__ import annotations

import gc
import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import TypeVar

from coutil import job
from coutil.alter import Alterer, Move, PlanRow, Wishes
from coutil.measure import Chart, Reading, Unit, complete_chart, format_length, split_key, title
from coutil.pattern import Style, measure_style
from coutil.speech import in_unit, sentence
from coutil.tables import conflict_remarks, drawing_unit, plan_remarks, where_words, with_half
from coutil.workroom import _alteration_wire as wire
from coutil.workroom._alteration_looks import (
    check_views,
    edge_id,
    edge_views,
    girth_views,
    ground_of,
    piece_views,
    seam_views,
)
from coutil.workroom._alteration_shapes import boxes, spot_of, whole_box

MOST_DESKS = 8
MOST_JOBS = 24  # Of one base: stepping back and forth finds its patterns still there.
NOTHING_MM = 1e-6
INCH_STEP_MM = 25.4 / 16

Made = TypeVar("Made")
Shared = tuple[tuple[Move, float], ...]


@dataclass(frozen=True, slots=True)
class Work:
    """One state of the alteration: the finished job and how long the engine took, ms."""

    job: job.Job
    engine_ms: float


class Desk:
    """A base made ready, the patterns last made from it, and where every row acts."""

    def __init__(self, base: Style) -> None:
        self.alterer = Alterer(base)
        self.base = self.alterer.layout.style
        self.ground = ground_of(self.base)
        self.box = whole_box(boxes(self.base), self.ground.placed)
        self.measures = measure_style(self.base)
        self.lock = threading.Lock()
        self._jobs: OrderedDict[Hashable, Work] = OrderedDict()
        self._shares: dict[str, Shared] = {}
        self.titles: dict[str, str] = {}

    def work(self, client: Chart, wishes: Wishes, unit: Unit) -> Work:
        """The job for that chart and those wishes; raises BadInput for what cannot be worked from."""
        key = (client, wishes, unit)
        with self.lock:
            known = self._jobs.get(key)
            made = remembered(self._jobs, key, MOST_JOBS, lambda: self._made(client, wishes, unit))
            for row in made.job.alteration.plan.rows:
                self.titles[row.key] = row.title
                if abs(row.amount) > NOTHING_MM:
                    self._shares[row.key] = tuple((move, move.amount / row.amount) for move in row.moves)
        return made if known is None else replace(made, engine_ms=0.0)

    def shares_of(self, row: PlanRow) -> Shared:
        """The row's moves, each with its share of the row's amount; of a row at nothing, those it last made."""
        if abs(row.amount) > NOTHING_MM:
            return self._shares[row.key]
        known = self._shares.get(row.key, tuple((move, 1.0) for move in row.moves))
        return tuple((replace(move, amount=0.0), share) for move, share in known)

    def _made(self, client: Chart, wishes: Wishes, unit: Unit) -> Work:
        start = time.perf_counter()
        made = job.rework(job.Order(self.base, client, wishes, unit), self.alterer)
        return Work(made, 1000.0 * (time.perf_counter() - start))


class Desks:
    """The bases last worked on, each made ready once."""

    def __init__(self) -> None:
        self._desks: OrderedDict[Hashable, Desk] = OrderedDict()
        self._lock = threading.Lock()

    def desk(self, key: Hashable, base: Callable[[], Style]) -> Desk:
        """The desk of the base with that key; `base` is called where it is not ready yet."""
        with self._lock:
            return remembered(self._desks, key, MOST_DESKS, lambda: self._ready(base()))

    def _ready(self, base: Style) -> Desk:
        made = Desk(base)
        if not self._desks:
            # All that was loaded stays for good: no edit need wait while it is looked through for rubbish.
            gc.collect()
            gc.freeze()
        return made


def remembered(known: OrderedDict[Hashable, Made], key: Hashable, most: int, make: Callable[[], Made]) -> Made:
    """The value under that key, made where it is missing; the one not asked for longest gives way."""
    if key not in known:
        known[key] = make()
        while len(known) > most:
            known.popitem(last=False)
    known.move_to_end(key)
    return known[key]


def document(desk: Desk, work: Work, with_cut_line: bool = False) -> wire.Document:
    """Everything the page shows of that work; the cut line only where it is wanted."""
    order, alteration = work.job.order, work.job.alteration
    style, plan, unit = alteration.style, alteration.plan, order.unit
    by_hand = {override.row for override in order.wishes.overrides}
    return wire.Document(
        unit=unit,
        drawing_unit=drawing_unit(unit),
        step_mm=INCH_STEP_MM if unit == "in" else 1.0,
        style=style.title,
        client=order.client.name,
        has_cup=style.sharing.cup is not None,
        box=desk.box,
        pieces=piece_views(desk.ground, style, with_cut_line),
        edges=edge_views(desk.ground, style, unit),
        seams=seam_views(desk.ground, style, unit),
        rows=tuple(_row_view(desk, style, row, row.key in by_hand, unit) for row in plan.rows),
        measures=tuple(measure_views(desk, work.job)),
        girths=girth_views(plan, unit),
        checks=check_views(style, work.job.findings, unit),
        conflicts=conflict_remarks(alteration.conflicts, unit),
        remarks=plan_remarks(plan, unit),
        reduction=format_length(plan.reduction, unit),
        reduction_mm=round(plan.reduction, 3),
        lacing_gap=format_length(plan.lacing_gap, unit),
        lacing_gap_mm=round(plan.lacing_gap, 3),
        engine_ms=round(work.engine_ms, 2),
    )


def _row_view(desk: Desk, style: Style, row: PlanRow, by_hand: bool, unit: Unit) -> wire.Row:
    drawing = drawing_unit(unit)
    shares = desk.shares_of(row)
    moved = dict.fromkeys(edge_id(move.piece, move.edge) for move, _ in shares)
    return wire.Row(
        key=row.key,
        group=row.group,
        title=row.title,
        measurement=row.measurement,
        base=with_half(row.base, row.measurement, unit),
        client=with_half(row.client, row.measurement, unit),
        difference=with_half(row.difference, row.measurement, unit, sign="+"),
        wanted_mm=round(row.wanted, 4),
        wanted=signed(row.wanted, drawing),
        amount_mm=round(row.amount, 4),
        amount=signed(row.amount, drawing),
        where=where_words(row, unit),
        state=row.state.value,
        by_hand=by_hand,
        why=row.why,
        reason=sentence(row.reason, unit),
        missing=_missing_words(row, drawing),
        decision=row.decision,
        estimated=row.estimated,
        warnings=tuple(sentence(warning, unit) for warning in row.warnings),
        edges=tuple(moved),
        arrows=tuple(arrow_view(style, move, share, drawing) for move, share in shares),
    )


def _missing_words(row: PlanRow, drawing: Unit) -> str:
    rest = row.wanted - row.amount if row.decision else row.remainder
    return f"still missing {format_length(abs(rest), drawing)}" if abs(rest) >= 0.05 else ""


def arrow_view(style: Style, move: Move, share: float, drawing: Unit) -> wire.Arrow:
    """A move as an arrow on that state of the pattern."""
    spot = spot_of(style.piece(move.piece), move)
    return wire.Arrow(
        edge=edge_id(move.piece, move.edge),
        piece=move.piece,
        level=move.level,
        kind=move.kind,
        x=round(float(spot.point[0]), 2),
        y=round(-float(spot.point[1]), 2),
        ux=round(float(spot.direction[0]), 5),
        uy=round(-float(spot.direction[1]), 5),
        amount_mm=round(move.amount, 4),
        amount=signed(move.amount, drawing),
        share=round(share, 6),
    )


def signed(mm: float, unit: Unit) -> str:
    """The length with its unit and, above nothing, a plus."""
    written = format_length(mm, unit)
    return f"+{written}" if mm >= 0.05 and not written.startswith("0 ") else written


def measure_views(desk: Desk, made: job.Job) -> Iterator[wire.Measure]:
    """The lines of the chart: whatever base or client was measured at, in the order of the base."""
    base, client = made.alteration.base.base_chart, made.order.client
    depths = {level.measure: level.depth for level in desk.base.levels if level.measure is not None}
    completed = complete_chart(client, base, depths).chart
    rows = made.alteration.plan.rows
    for key in _keys(base, client):
        yield _measure_view(desk, made, key, completed.get(key), tuple(_rows_of(rows, key)))


def _keys(base: Chart, client: Chart) -> Iterable[str]:
    halved = {stem for stem, side in map(split_key, client) if side is not None}
    return dict.fromkeys(key for key in (*base.keys(), *client.keys()) if key not in halved)


def _measure_view(desk: Desk, made: job.Job, key: str, completed: float | None, rows: tuple[str, ...]) -> wire.Measure:
    unit, reading = made.order.unit, made.order.client.readings.get(key)
    before = made.alteration.base.base_chart.get(key) or desk.measures.get(key)
    # A girth taken at another depth than the style's is compared at the style's, as its rows are.
    now = reading.value if completed is None and reading is not None else completed
    return wire.Measure(
        key=key,
        title=title(key).capitalize(),
        how="" if reading is None else reading.how,
        base="" if before is None else with_half(before, key, unit),
        client_mm=None if reading is None else reading.value,
        client="" if reading is None else format_length(reading.value, unit),
        estimate="" if completed is None else format_length(completed, unit),
        difference="" if before is None or now is None else with_half(now - before, key, unit, sign="+"),
        rows=rows,
        remarks=(
            *_depth_remark(desk, key, reading, completed, unit),
            *(in_unit(r.sentence, unit) for r in made.remarks if key in r.keys and r.code != "estimated"),
        ),
    )


def _depth_remark(
    desk: Desk, key: str, reading: Reading | None, completed: float | None, unit: Unit
) -> tuple[str, ...]:
    """That a girth is compared at the style's own depth, where it was taken at another."""
    around = {f"{lv.measure}_{part}": lv.depth for lv in desk.base.levels if lv.measure for part in ("girth", "front")}
    depth = around.get(key)
    if reading is None or completed is None or depth is None or abs(reading.value - completed) < NOTHING_MM:
        return ()
    at, there = format_length(depth, unit), format_length(completed, unit)
    return (f"Compared at the style's depth, {at} below the waist: {there} there.",)


def _rows_of(rows: Iterable[PlanRow], key: str) -> Iterator[str]:
    """The rows a measurement goes to: those that name it, and for a girth those of its front and back."""
    stem = key.removesuffix("_girth") if key.endswith("_girth") else None
    for row in rows:
        own = row.measurement == key
        if own or (stem and row.measurement in (f"{stem}_front", f"{stem}_back", f"{stem}_reduction")):
            yield row.key
