"""Two charts of one body, or two revisions of one order, laid side by side."""

from __future__ import annotations

from dataclasses import dataclass

from coutil.alter import PlanRow
from coutil.check import Finding
from coutil.measure import MEASUREMENTS, SIDES, Chart, noise, title
from coutil.record._values import Revision
from coutil.result_file import Result, result_from_json

SAME_MM = 0.0005  # Readings are held to a thousandth of a millimetre.


@dataclass(frozen=True, slots=True)
class ReadingChange:
    """A measurement in two charts, mm, None where it was not taken; `difference` is later less earlier.

    `within_tape` where the difference is no more than the tape's own error.
    """

    key: str
    title: str
    earlier: float | None
    later: float | None
    difference: float | None
    within_tape: bool


@dataclass(frozen=True, slots=True)
class RowChange:
    """A row of the alteration chart in two revisions; None where the row is not in one of them."""

    key: str
    title: str
    earlier: PlanRow | None
    later: PlanRow | None

    @property
    def differs(self) -> bool:
        """Whether amount, state or reason are others."""
        a, b = self.earlier, self.later
        if a is None or b is None:
            return True
        return abs(a.amount - b.amount) > SAME_MM or (a.state, a.why) != (b.state, b.why)


@dataclass(frozen=True, slots=True)
class CheckChange:
    """A check whose verdict differs between two revisions; None where it is not in one of them."""

    name: str
    earlier: Finding | None
    later: Finding | None


@dataclass(frozen=True, slots=True)
class RevisionComparison:
    """What differs between two revisions, and both results to draw one over the other."""

    readings: tuple[ReadingChange, ...]
    rows: tuple[RowChange, ...]
    checks: tuple[CheckChange, ...]
    earlier: Result
    later: Result


def compare_charts(earlier: Chart, later: Chart) -> tuple[ReadingChange, ...]:
    """Every measurement taken in either chart, in the order of the definitions; sides where one chart has them."""
    keys = (key for stem in MEASUREMENTS for key in _asked(stem, earlier, later))
    return tuple(_reading_change(key, earlier, later) for key in keys)


def compare_revisions(earlier: Revision, later: Revision) -> RevisionComparison:
    """Charts, rows and checks of two revisions; of rows and checks those alone that differ."""
    a, b = result_from_json(earlier.result_text), result_from_json(later.result_text)
    readings = compare_charts(earlier.chart, later.chart)
    return RevisionComparison(
        tuple(change for change in readings if change.difference is None or abs(change.difference) > SAME_MM),
        tuple(row for row in _rows(a, b) if row.differs),
        _checks(a, b),
        a,
        b,
    )


def _asked(stem: str, earlier: Chart, later: Chart) -> tuple[str, ...]:
    """The measurement as a whole where either chart knows it, and its sides where either has both."""
    whole = (stem,) if stem in earlier or stem in later else ()
    sided = earlier.sides(stem) is not None or later.sides(stem) is not None
    return (*whole, *(f"{stem}_{side}" for side in SIDES if sided))


def _reading_change(key: str, earlier: Chart, later: Chart) -> ReadingChange:
    a, b = earlier.get(key), later.get(key)
    difference = round(b - a, 3) + 0.0 if a is not None and b is not None else None
    within = difference is not None and abs(difference) < noise(key)
    return ReadingChange(key, title(key), a, b, difference, within)


def _rows(a: Result, b: Result) -> tuple[RowChange, ...]:
    rows = (*a.alteration.plan.rows, *b.alteration.plan.rows)
    titles = {row.key: row.title for row in rows}
    return tuple(
        RowChange(key, name, a.alteration.plan.row(key), b.alteration.plan.row(key)) for key, name in titles.items()
    )


def _checks(a: Result, b: Result) -> tuple[CheckChange, ...]:
    one, two = ({finding.name: finding for finding in result.findings} for result in (a, b))
    changes = (CheckChange(name, one.get(name), two.get(name)) for name in dict.fromkeys((*one, *two)))
    return tuple(change for change in changes if _verdict(change.earlier) != _verdict(change.later))


def _verdict(finding: Finding | None) -> str:
    return finding.verdict if finding is not None else ""
