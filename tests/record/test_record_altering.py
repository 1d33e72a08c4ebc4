"""A saved alteration is one transaction: wishes, readings and the revision are all kept, or none of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import pytest
from record_samples import Kept, keep_everything, records_in
from sqlalchemy import event

from coutil.alter import Wishes
from coutil.measure import Reading
from coutil.record import (
    LAY_PAPERS,
    NotKept,
    Records,
    RevisionHead,
    Seen,
    Trials,
    add_lay,
    change_chart,
    change_order,
    erase_client,
    find_chart,
    find_lay,
    find_order,
    find_revision,
    find_trials,
    keep_alteration,
    lay_paper,
    list_lays,
    list_revisions,
    remove_lay,
)


@pytest.fixture
def records(tmp_path: Path) -> Iterator[Records]:
    with records_in(tmp_path) as kept:
        yield kept


def saved(
    records: Records, kept: Kept, correct_chart: bool = False, trials: Trials = MappingProxyType({})
) -> RevisionHead | None:
    chart = replace(kept.chart, readings={**kept.chart.readings, "waist_girth": Reading(711.0)}).chart("Contralto")
    return keep_alteration(
        records,
        Seen(kept.order, kept.chart, trials),
        wishes=Wishes(reduction=50.0),
        chart=chart,
        result_text="{}",
        failed_checks=0,
        note="second",
        correct_chart=correct_chart,
    )


def test_an_alteration_is_kept_whole(records: Records) -> None:
    kept = keep_everything(records)
    head = saved(records, kept)
    assert head is not None
    assert (head.short, head.base, head.note, head.passed) == ("r2", "80-18", "second", True)
    order, chart = find_order(records, kept.order.id), find_chart(records, kept.chart.id)
    assert (order.version, order.wishes.reduction) == (2, 50.0)
    # The dated chart stays as it was taken; the reading that was tried is the order's and the revision's.
    assert chart == kept.chart
    assert find_trials(records, kept.order.id) == {"waist_girth": (706.0, 711.0)}
    assert find_revision(records, head.id).chart["waist_girth"] == 711.0


def test_readings_go_on_the_chart_where_she_says_so(records: Records) -> None:
    kept = keep_everything(records)
    head = saved(records, kept, correct_chart=True)
    assert head is not None
    chart = find_chart(records, kept.chart.id)
    assert (chart.version, chart.readings["waist_girth"].value) == (2, 711.0)
    assert find_revision(records, head.id).chart == chart.chart("Contralto")
    assert find_trials(records, kept.order.id) == {}


def test_whoever_saw_other_trials_writes_nothing(records: Records) -> None:
    """Two windows, both from the same state: the second learns of the reading that the first has tried."""
    kept = keep_everything(records)
    assert saved(records, kept) is not None
    order, trials = find_order(records, kept.order.id), find_trials(records, kept.order.id)
    again = replace(kept, order=order)
    assert saved(records, again) is None
    assert saved(records, again, trials=trials) is not None


@pytest.mark.parametrize("which", ["order", "chart"])
def test_whoever_saw_an_older_state_writes_nothing(records: Records, which: str) -> None:
    kept = keep_everything(records)
    if which == "order":
        change_order(records, kept.order.id, 1, lambda old: replace(old, note="theirs"))
    else:
        change_chart(records, kept.chart.id, 1, lambda old: replace(old, note="theirs"))
    assert saved(records, kept) is None
    assert find_order(records, kept.order.id).wishes == kept.order.wishes
    assert find_chart(records, kept.chart.id).readings == kept.chart.readings
    assert len(list_revisions(records, kept.order.id)) == 1


@pytest.mark.parametrize(
    "table", ["UPDATE orders", "UPDATE charts", "INTO revisions", "INTO revision_data", "FROM trials", "COMMIT"]
)
def test_what_stops_in_the_middle_leaves_nothing(records: Records, table: str) -> None:
    """The program ends at each of its writes in turn: afterwards everything is as it was."""
    kept = keep_everything(records)

    def end(*_: object) -> None:
        raise KeyboardInterrupt

    def stop(_link: object, _cursor: object, statement: str, *_: object) -> None:
        if table in statement:
            end()

    name, act = ("commit", end) if table == "COMMIT" else ("before_cursor_execute", stop)
    event.listen(records.engine, name, act)
    with pytest.raises(KeyboardInterrupt):
        saved(records, kept, correct_chart="charts" in table)
    event.remove(records.engine, name, act)
    assert find_order(records, kept.order.id) == kept.order
    assert find_chart(records, kept.chart.id) == kept.chart
    assert len(list_revisions(records, kept.order.id)) == 1


def test_lay_plans_are_kept_with_their_papers(records: Records) -> None:
    kept = keep_everything(records)
    papers = {name: name.encode() * 100 for name in LAY_PAPERS}
    second = add_lay(records, kept.revision.id, "  lining on\n90 cm ", 900.0, 66.25, papers)
    assert second.title == "lining on 90 cm"
    assert list_lays(records, kept.revision.id) == (second, kept.lay)
    assert find_lay(records, kept.lay.id).remarks == ("remark plain",)
    assert [lay_paper(records, second.id, name) for name in LAY_PAPERS] == list(papers.values())
    remove_lay(records, second.id)
    remove_lay(records, second.id)
    assert list_lays(records, kept.revision.id) == (kept.lay,)
    with pytest.raises(NotKept, match="no lay plan"):
        lay_paper(records, second.id, "pdf")


def test_no_lay_plan_is_kept_for_what_was_erased(records: Records) -> None:
    kept = keep_everything(records)
    erase_client(records, kept.client.id)
    with pytest.raises(NotKept, match="no lay plan"):
        find_lay(records, kept.lay.id)
    with pytest.raises(NotKept, match="no revision"):
        add_lay(records, kept.revision.id, "late", 1.0, 1.0, dict.fromkeys(LAY_PAPERS, b""))
