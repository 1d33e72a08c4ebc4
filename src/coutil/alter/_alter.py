"""Alter a base to a client: differences, plan, solve, frames and what truing moved."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from coutil.alter._caps import LENGTHS
from coutil.alter._conflicts import heal, out_of_reach
from coutil.alter._differences import Differences, find_differences
from coutil.alter._goals import Goals, raised
from coutil.alter._layout import Layout, lay_out
from coutil.alter._notes import truing_notes
from coutil.alter._plan import Alteration, Frame, Plan, PlanRow, Wishes
from coutil.alter._planning import make_plan
from coutil.alter._rests import plan_with_measured_rests
from coutil.alter._stages import Staged, Stages, moved_style, plan_with_rest
from coutil.alter._threads import one_thread
from coutil.measure import Chart
from coutil.pattern import Fit, Level, Piece, Style, with_notches


class Alterer:
    """A base made ready once (laid out, its linear rows taken out) and altered to as many clients as wanted."""

    def __init__(self, base: Style) -> None:
        with one_thread():
            self.layout = lay_out(base)
            self.stages = Stages(self.layout)
            self.stages.make_ready()

    def alter(self, client: Chart, wishes: Wishes | None = None) -> Alteration:
        """The altered style with its plan; raises BadInput for missing readings or unknown overrides.

        Wishes that cannot all be kept are declared as conflicts; they never raise.
        """
        wishes = wishes or Wishes()
        with one_thread():
            found = find_differences(self.layout.style, client, wishes)
            plan = make_plan(found, wishes)
            staged = self.stages.run(plan.rows)
            healed = heal(self.stages, staged, plan)
            plan = plan_with_rest(plan, healed.staged.missing_depth)
            style = finished_style(healed.staged, found, plan)
            if healed.gave:
                plan = plan_with_measured_rests(plan, style, healed.gave)
                style = replace(style, base_chart=_chart_kept(found, plan))
            notes = truing_notes(healed.staged.layout, healed.staged.goals, healed.staged.solution)
        conflicts = (*out_of_reach(found, wishes, plan), *healed.conflicts)
        return Alteration(self.layout.style, style, plan, (), notes, conflicts, healed.staged.solution.residual)

    def frames(self, plan: Plan, report: Callable[[str], None] | None = None) -> tuple[Frame, ...]:
        """The pattern after rows 1..k for every k: each frame is a valid, trued pattern.

        `report` is told the key of each row before it is worked on.
        """
        rows = [row for row in plan.rows if any(move.amount for move in row.moves)]
        frames = []
        with one_thread():
            for count in range(1, len(rows) + 1):
                if report is not None:
                    report(rows[count - 1].key)
                frames.append(self._frame(rows[:count]))
        return tuple(frames)

    def _frame(self, rows: list[PlanRow]) -> Frame:
        staged = self.stages.run(rows)
        style = moved_style(staged.layout, staged.solution.z)
        return Frame(rows[-1].key, with_notches(with_levels(staged.layout, staged.goals, style)))


def alter(base: Style, client: Chart, wishes: Wishes | None = None, frames: bool = False) -> Alteration:
    """Alter a base to one client; with `frames`, also the pattern after every row."""
    alterer = Alterer(base)
    outcome = alterer.alter(client, wishes)
    return replace(outcome, frames=alterer.frames(outcome.plan)) if frames else outcome


def finished_style(staged: Staged, found: Differences, plan: Plan) -> Style:
    """Pieces moved, level lines and level depths brought along, the client's chart and fit as the new base's."""
    style = with_levels(staged.layout, staged.goals, moved_style(staged.layout, staged.solution.z))
    fit = Fit(
        ease=_ease(found, plan),
        reduction=found.reduction,
        lacing_gap=found.lacing_gap,
        closure_gap=found.closure_gap,
    )
    # The base's revision is not that of what was made of it.
    origin = replace(style.provenance, revision="")
    return with_notches(replace(style, base_chart=_chart_kept(found, plan), base_fit=fit, provenance=origin))


def _ease(found: Differences, plan: Plan) -> Mapping[str, float]:
    measured = {order.level: order.ease for order in plan.girths}
    return {**found.base.base_fit.ease, **measured}


def _chart_kept(found: Differences, plan: Plan) -> Chart:
    """The client's chart less what is still missing: what this pattern is really drawn for."""
    chart = found.client
    for row in plan.rows:
        if row.group not in LENGTHS:
            continue
        rest = row.wanted - row.amount if row.decision else row.remainder
        if rest and row.measurement in chart:
            chart = chart.with_value(row.measurement, chart[row.measurement] - rest, "estimated")
    return chart


def with_levels(layout: Layout, goals: Goals, style: Style) -> Style:
    """The moved pieces with their level lines where the plan put them."""
    pieces = {p.name: replace(style.piece(p.name), levels=_moved_lines(layout, goals, p)) for p in style.pieces}
    moved = style.with_pieces(pieces)
    return replace(moved, levels=tuple(_moved_level(style, moved, level) for level in style.levels))


def _moved_lines(layout: Layout, goals: Goals, piece: Piece) -> dict[str, float]:
    lines = dict(piece.levels)
    for level, height in piece.levels.items():
        marks = piece.marks_of(level)
        rises = [raised(layout, goals, piece, layout.slots(piece.name, at.edge), at.knot)[0] for at in marks]
        if rises:
            lines[level] = height + sum(rises) / len(rises)
    return lines


def _moved_level(before: Style, after: Style, level: Level) -> Level:
    if level.depth is None:
        return level
    for piece in before.pieces:
        if level.name in piece.levels:
            rise = after.piece(piece.name).levels[level.name] - piece.levels[level.name]
            return replace(level, depth=level.depth - rise)
    return level
