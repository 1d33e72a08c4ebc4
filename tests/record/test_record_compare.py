"""Charts and revisions side by side."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from record_samples import keep_everything, records_in, worked_out

from coutil.measure import MEASUREMENTS, Chart, Reading
from coutil.record import Records, add_revision, compare_charts, compare_revisions, find_revision


@pytest.fixture
def records(tmp_path: Path) -> Iterator[Records]:
    with records_in(tmp_path) as kept:
        yield kept


def test_two_charts_by_hand() -> None:
    """Waist 720 to 731: 11 more, beyond the tape's 5.  Depth 80 to 82: 2, within its 3.  The rest was taken once."""
    earlier = Chart("a", {"waist_girth": Reading(720), "bust_point_to_underbust": Reading(80), "height": Reading(1700)})
    later = Chart("a", {"waist_girth": Reading(731), "bust_point_to_underbust": Reading(82)})
    told = {c.key: (c.earlier, c.later, c.difference, c.within_tape) for c in compare_charts(earlier, later)}
    assert told == {
        "waist_girth": (720, 731, 11, False),
        "bust_point_to_underbust": (80, 82, 2, True),
        "height": (1700, None, None, False),
    }


def test_sides_are_compared_where_a_chart_has_both() -> None:
    earlier = Chart("a", {"waist_front_left": Reading(180), "waist_front_right": Reading(186)})
    later = Chart("a", {"waist_front": Reading(370)})
    told = {c.key: (c.earlier, c.later, c.difference) for c in compare_charts(earlier, later)}
    assert told == {
        "waist_front": (366, 370, 4),
        "waist_front_left": (180, None, None),
        "waist_front_right": (186, None, None),
    }


CHARTS = st.dictionaries(st.sampled_from(sorted(MEASUREMENTS)), st.builds(Reading, st.floats(1, 3000)), max_size=12)


@given(CHARTS, CHARTS)
def test_comparing_the_other_way_round_turns_every_sign(a: dict[str, Reading], b: dict[str, Reading]) -> None:
    there, back = compare_charts(Chart("a", a), Chart("b", b)), compare_charts(Chart("b", b), Chart("a", a))
    assert [c.key for c in there] == [c.key for c in back]
    assert {c.key for c in there} == set(a) | set(b)
    for one, two in zip(there, back, strict=True):
        assert (one.earlier, one.later) == (two.later, two.earlier)
        assert (one.difference is None) == (two.difference is None)
        if one.difference is not None and two.difference is not None:
            assert one.difference == -two.difference


def test_two_revisions_that_differ_in_the_reduction_alone(records: Records) -> None:
    """20 mm more reduction moves waist rows, and no reading."""
    kept = keep_everything(records)
    heads = []
    for reduction in (50.0, 70.0):
        text, wishes, chart = worked_out(reduction)
        words = {"base": "75-22", "wishes": wishes, "chart": chart, "failed_checks": 0}
        heads.append(add_revision(records, kept.order.id, result_text=text, **words))  # type: ignore[arg-type]
    found = compare_revisions(*(find_revision(records, head.id) for head in heads))
    assert [head.short for head in heads] == ["r2", "r3"]
    assert found.readings == ()
    assert found.rows
    waist = [row for row in found.rows if row.earlier and row.earlier.measurement.startswith("waist")]
    assert waist
    assert all(row.later is not None for row in waist)
    assert found.later.alteration.plan.reduction - found.earlier.alteration.plan.reduction == pytest.approx(20.0)


def test_a_revision_is_the_same_as_itself(records: Records) -> None:
    text, wishes, chart = worked_out(50.0)
    kept = keep_everything(records)
    words = {"base": "75-22", "wishes": wishes, "chart": chart, "failed_checks": 0}
    head = add_revision(records, kept.order.id, result_text=text, **words)  # type: ignore[arg-type]
    revision = find_revision(records, head.id)
    found = compare_revisions(revision, revision)
    assert (found.readings, found.rows, found.checks) == ((), (), ())
