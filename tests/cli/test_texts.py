"""Every text of a demo run, for all clients: proper sentences, no torn figure, no word of the solver."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from coutil import job
from coutil.alter import Alterer, Wishes
from coutil.commands.alter import base_for
from coutil.measure import Unit, inspect_chart
from coutil.shipped import demo_clients
from coutil.tables import chart_csv, chart_table, check_table, checks_csv, conflict_remarks, girth_table, plan_remarks

SOLVER_WORDS = re.compile(
    r"\b(residuals?|jacobians?|iterations?|constraints?|solver?|newton|matrix|tolerance|converged?|gradients?|elastic)\b",
    re.IGNORECASE,
)
TORN = re.compile(r"\bnan\b|\binf\b|-0\.0+(?!\d)|\bNone\b", re.IGNORECASE)
CLIENTS = tuple(demo_clients())


@pytest.fixture(scope="module", params=CLIENTS)
def done(request: pytest.FixtureRequest) -> job.Job:
    """The job without the pictures between its steps, which hold no words."""
    chart = demo_clients()[request.param]
    order = job.Order(base_for("nearest", chart), chart, Wishes(), "cm")
    alteration = Alterer(order.base).alter(chart, order.wishes)
    return job.Job(order, inspect_chart(chart, (), "cm"), alteration, job.check_alteration(alteration))


def sentences(done: job.Job, unit: Unit) -> Iterator[str]:
    """What is told in whole sentences."""
    plan = done.alteration.plan
    yield from (remark.sentence for remark in done.remarks)
    yield from plan_remarks(plan, unit)
    yield from conflict_remarks(done.alteration.conflicts, unit)
    yield from (line[-1] for line in check_table(done.findings, unit)[1:])
    yield from (note.sentence for note in done.alteration.truing)


def texts(done: job.Job, unit: Unit) -> Iterator[str]:
    plan = done.alteration.plan
    yield from sentences(done, unit)
    for table in (girth_table(plan, unit), chart_table(plan, unit, 2), check_table(done.findings, unit)):
        yield from (cell for line in table for cell in line)
    yield from chart_csv(plan, unit, 2).splitlines()
    yield from checks_csv(done.findings, unit).splitlines()
    yield from re.findall(r">([^<]+)<", job.overview_text(done.alteration))


@pytest.mark.parametrize("unit", ["cm", "in"])
def test_every_sentence_is_one(done: job.Job, unit: Unit) -> None:
    told = list(sentences(done, unit))
    assert len(told) > 60
    for text in told:
        assert text[:1] == text[:1].upper(), text
        assert text.endswith((".", "?")), text
        assert ".." not in text, text
        assert "  " not in text, text


@pytest.mark.parametrize("unit", ["cm", "in"])
def test_no_figure_is_torn_and_no_word_is_the_solver_s(done: job.Job, unit: Unit) -> None:
    for text in texts(done, unit):
        assert not TORN.search(text), text
        assert not SOLVER_WORDS.search(text), text


def test_who_works_in_inches_reads_no_millimetre_in_the_tables(done: job.Job) -> None:
    plan = done.alteration.plan
    tables = (chart_table(plan, "in", 2), check_table(done.findings, "in"))
    cells = [cell for table in tables for line in table for cell in line]
    assert not [cell for cell in (*cells, *plan_remarks(plan, "in")) if re.search(r"\d mm\b|\bcm\b", cell)]
