"""What cannot be kept is refused when it is made, in one sentence."""

from __future__ import annotations

import copy
import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coutil.alter import Wishes
from coutil.errors import BadChart, BadInput
from coutil.measure import MEASUREMENTS, Reading
from coutil.record import Amount, ChartRecord, Client, FieldChange, Fitting, OrderRecord, OrderState


@pytest.mark.parametrize("day", ["2026-13-01", "01.10.2026", "20261001", "soon"])
def test_a_day_is_an_iso_date(day: str) -> None:
    with pytest.raises(BadInput, match="year-month-day"):
        ChartRecord(0, 1, 1, taken=day)


def test_text_that_cannot_be_printed_is_refused() -> None:
    with pytest.raises(BadInput, match="cannot be printed"):
        Client(0, 1, "Ten\x00or")
    with pytest.raises(BadInput, match="cannot be printed"):
        Client(0, 1, "Tenor", note="a\x07b")
    assert Client(0, 1, " The \n Tenor ", note="two\r\nlines").name == "The Tenor"


def test_text_has_an_end() -> None:
    with pytest.raises(BadInput, match="longer than 200"):
        Client(0, 1, "n" * 201)
    with pytest.raises(BadInput, match="longer than 20000"):
        Client(0, 1, "Tenor", note="n" * 20_001)


def test_amounts_have_a_place_and_a_size() -> None:
    with pytest.raises(BadInput, match="at which seam"):
        Amount("", "both", "", 3)
    with pytest.raises(BadInput, match="more than any fitting moves"):
        Amount("side", "both", "", 301)
    with pytest.raises(BadInput, match="more than any fitting moves"):
        Amount("side", "both", "", float("nan"))
    with pytest.raises(BadInput, match="both, left or right"):
        Amount("side", "middle", "", 1)  # type: ignore[arg-type]
    with pytest.raises(BadInput, match="at most 200"):
        Fitting(0, 1, 1, amounts=(Amount("side", "both", "", 1),) * 201)


def test_an_order_has_a_known_state() -> None:
    with pytest.raises(BadInput, match="An order is asked"):
        OrderRecord(0, 1, 1, state="lost")  # type: ignore[arg-type]
    assert OrderRecord(0, 1, 1, state="cut").state is OrderState.CUT  # type: ignore[arg-type]
    assert [state.value for state in OrderState if not state.is_open] == ["handed over", "called off"]


def test_a_chart_has_known_measurements() -> None:
    with pytest.raises(BadChart, match="no measurement called"):
        ChartRecord(0, 1, 1, readings={"elbow": Reading(1)})


READINGS = st.dictionaries(st.sampled_from(sorted(MEASUREMENTS)), st.builds(Reading, st.floats(0, 3000)), max_size=6)


@given(READINGS)
def test_records_can_be_copied_and_sent(readings: dict[str, Reading]) -> None:
    chart = ChartRecord(3, 2, 1, "2026-10-01", readings=readings)
    order = OrderRecord(3, 2, 1, "corset", wishes=Wishes(reduction=10), making={"closure": "busk"})
    assert copy.deepcopy(chart) == chart == pickle.loads(pickle.dumps(chart))
    assert copy.deepcopy(order) == order == pickle.loads(pickle.dumps(order))


def test_a_clash_needs_two_who_differ() -> None:
    assert FieldChange("note", "a", "b", "c").clashes
    assert not FieldChange("note", "a", "b", "a").clashes, "only I changed it"
    assert not FieldChange("note", "a", "a", "c").clashes, "only the other changed it"
    assert not FieldChange("note", "a", "b", "b").clashes, "both wrote the same"
