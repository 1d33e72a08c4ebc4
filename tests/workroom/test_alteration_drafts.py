"""Drafts of the alteration page: read into chart and wishes, compared field by field, refused in one sentence."""

from __future__ import annotations

import math

import pytest
from alteration_samples import contralto
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from coutil.alter import Override, State, Wishes
from coutil.errors import BadInput
from coutil.workroom._alteration_draft import (
    FieldError,
    changes,
    chart_of,
    choice_words,
    draft_of,
    length,
    wishes_of,
)
from coutil.workroom._alteration_wire import Draft, RowChoice

WISHES = Wishes(
    reduction=60.0,
    lacing_gap=40.0,
    depth_share=0.5,
    take_heights=True,
    overrides=(
        Override("side_front", State.OVERRULED, "sat well", -4.0),
        Override("centre", State.LEFT, "in doubt"),
        Override("armhole", State.LOCKED, "as it is", 3.0),
    ),
)


def draft() -> Draft:
    return draft_of(contralto(), WISHES)


def test_chart_and_wishes_come_back_from_their_draft() -> None:
    assert chart_of(draft(), contralto(), "cm") == contralto()
    assert wishes_of(draft(), "cm", trying=False) == WISHES


def test_a_reading_that_was_not_touched_keeps_its_repeats() -> None:
    changed = replace(draft(), chart={**draft().chart, "waist_girth": "28 1/2 in"})
    chart = chart_of(changed, contralto(), "cm")
    # 28.5 times 25.4.
    assert chart["waist_girth"] == 723.9
    assert chart.readings["bust_point_to_underbust"] == contralto().readings["bust_point_to_underbust"]
    assert chart.readings["bust_point_to_underbust"].how == "repeated"


def test_a_reading_taken_out_is_missing() -> None:
    chart = chart_of(replace(draft(), chart={**draft().chart, "waist_girth": None}), contralto(), "cm")
    assert "waist_girth" not in chart


def test_amounts_without_a_unit_are_millimetres_or_inches() -> None:
    rows = {"side_front": RowChoice("overruled", "why", "-4")}
    assert wishes_of(replace(draft(), rows=rows), "cm", trying=False).overrides[0].amount == -4.0
    assert wishes_of(replace(draft(), rows=rows), "in", trying=False).overrides[0].amount == -101.6


@pytest.mark.parametrize(
    ("field", "changed"),
    [
        ("chart.waist_girth", {"chart": {"waist_girth": "seventy"}}),
        ("chart.waist_girth", {"chart": {"waist_girth": "-70 cm"}}),
        ("chart.waist_girth", {"chart": {"waist_girth": math.nan}}),
        ("chart.waist_girth", {"chart": {"waist_girth": math.inf}}),
        ("chart.waist_girth", {"chart": {"waist_girth": 1e300}}),
        ("chart.wasit_girth", {"chart": {"wasit_girth": 700.0}}),
        ("chart.waist_girth", {"chart": {"waist_girth": "1,250"}}),
    ],
)
def test_readings_that_cannot_be_are_refused_at_their_field(field: str, changed: dict[str, dict[str, object]]) -> None:
    bad = replace(draft(), chart={**draft().chart, **changed["chart"]})
    with pytest.raises(FieldError) as refused:
        chart_of(bad, contralto(), "cm")
    assert refused.value.field == field
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 200


@pytest.mark.parametrize(
    ("field", "changed"),
    [
        ("reduction", {"reduction": "-1 cm"}),
        ("reduction", {"reduction": math.nan}),
        ("lacing_gap", {"lacing_gap": "wide"}),
        ("depth_share", {"depth_share": 1.5}),
        ("depth_share", {"depth_share": math.nan}),
        ("rows.side_front.amount", {"rows": {"side_front": RowChoice("overruled", "why")}}),
        ("rows.side_front.amount", {"rows": {"side_front": RowChoice("overruled", "why", math.nan)}}),
        ("rows.side_front.amount", {"rows": {"side_front": RowChoice("locked", "why", "four")}}),
        ("rows.side_front.why", {"rows": {"side_front": RowChoice("overruled", "   ", 4.0)}}),
        ("rows.centre.why", {"rows": {"centre": RowChoice("left")}}),
    ],
)
def test_wishes_that_cannot_be_are_refused_at_their_field(field: str, changed: dict[str, object]) -> None:
    with pytest.raises(FieldError) as refused:
        wishes_of(replace(draft(), **changed), "cm", trying=False)
    assert refused.value.field == field


def test_while_she_tries_no_reason_is_wanted() -> None:
    trying = replace(draft(), rows={"side_front": RowChoice("overruled", "", 4.0)})
    assert wishes_of(trying, "cm", trying=True).overrides[0].why == "being tried"


def test_changes_are_told_in_words() -> None:
    after = replace(
        draft(),
        chart={**draft().chart, "waist_girth": 700.0, "height": None},
        rows={"side_front": RowChoice("overruled", "sat well", -5.0)},
        take_heights=False,
        reduction=None,
    )
    told = {change.path: change for change in changes(draft(), after, "cm", {"side_front": "Side seam, front"})}
    assert set(told) == {
        "chart.waist_girth",
        "chart.height",
        "rows.side_front",
        "rows.centre",
        "rows.armhole",
        "take_heights",
        "reduction",
    }
    assert (told["chart.waist_girth"].before, told["chart.waist_girth"].after) == ("70.5 cm", "70.0 cm")
    assert told["chart.height"].after == "not given"
    assert told["rows.side_front"].title == "Side seam, front"
    assert told["rows.side_front"].before == "overruled at -4 mm: sat well"
    assert (told["rows.centre"].before, told["rows.centre"].after) == (
        "left as in the base: in doubt",
        "as computed",
    )
    assert (told["take_heights"].before, told["take_heights"].after) == ("yes", "no")
    assert (told["reduction"].before, told["reduction"].after) == ("6.0 cm", "as in the base")


def test_nothing_changed_is_nothing_told() -> None:
    assert changes(draft(), draft(), "in", {}) == ()
    assert choice_words(None, "cm") == "as computed"


@given(st.one_of(st.none(), st.text(max_size=60), st.floats(), st.integers().map(float)))
def test_whatever_is_written_is_a_length_or_one_sentence(written: float | str | None) -> None:
    sentence, found = "", None
    try:
        found = length(written, "cm", "reduction")
    except BadInput as error:
        sentence = str(error)
    assert found is None or math.isfinite(found)
    assert "\n" not in sentence
