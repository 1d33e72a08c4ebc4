"""Forms that keep themselves: every field as typed, errors beside the field, and what a second window is told."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from workroom_samples import PNG, Room, contralto, readings, room_in

from coutil.measure import Reading, parse_length
from coutil.record import (
    Amount,
    Fitting,
    OrderState,
    add_chart,
    add_fitting,
    add_photo,
    find_chart,
    find_client,
    find_fitting,
    find_order,
    list_photos,
)
from coutil.workroom._charts import LEAST, reading_of, time_rows
from coutil.workroom._words import day, moment, signed, written
from helpers.photos import png


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    with room_in(tmp_path) as opened:
        yield opened


def test_a_field_is_kept_as_typed(room: Room) -> None:
    status, told = room.save("/api/clients/1", 1, {"note": "prefers mornings"})
    assert (status, told["version"]) == (200, 2)
    assert find_client(room.records, 1).note == "prefers mornings"


def test_a_date_far_ahead_is_kept_and_remarked_on_the_form(room: Room) -> None:
    words = "The chart is dated 9026-10-01: correct the date."
    _, told = room.save("/api/charts/1", 1, {"taken": "9026-10-01"})
    assert {"key": "", "words": words, "kind": "warn"} in told["remarks"]
    assert words in room.browser.get("/charts/1").text
    room.save("/api/charts/1", 2, {"taken": "2026-10-01"})
    assert "correct the date" not in room.browser.get("/charts/1").text


def test_a_field_that_cannot_be_kept_keeps_the_others_waiting(room: Room) -> None:
    status, told = room.save("/api/clients/1", 1, {"name": " ", "note": "x"})
    assert status == 422
    assert list(told["errors"]) == ["name"]
    assert find_client(room.records, 1) == room.client


def test_a_second_window_is_told_what_the_first_saved(room: Room) -> None:
    room.save("/api/clients/1", 1, {"contact": "box 5", "note": "first"})
    status, told = room.save("/api/clients/1", 1, {"note": "second"})
    assert (status, told["version"]) == (409, 2)
    by_name = {field["name"]: field for field in told["conflict"]}
    assert by_name["note"] == {
        "name": "note", "title": "note", "before": "nothing", "mine": "second", "theirs": "first",
        "clashes": True, "changed_by_me": True,
    }  # fmt: skip
    assert (by_name["contact"]["theirs"], by_name["contact"]["changed_by_me"]) == ("box 5", False)
    assert room.save("/api/clients/1", told["version"], {"note": "second"})[0] == 200
    kept = find_client(room.records, 1)
    assert (kept.contact, kept.note) == ("box 5", "second")


@pytest.mark.parametrize(
    "message", [[], {"version": "1"}, {"version": 1, "unit": "ell", "fields": {}}, {"version": True, "unit": "cm"},
                {"version": 1, "unit": "cm", "fields": {"note": 3}}, {"version": 1, "unit": "cm", "fields": []}]
)  # fmt: skip
def test_what_no_page_sends_is_refused(room: Room, message: object) -> None:
    assert room.browser.post("/api/clients/1", json=message).status_code == 422
    answer = room.browser.post("/api/clients/1", content=b"{", headers={"content-type": "application/json"})
    assert (answer.status_code, answer.json()["error"]) == (
        422, "The page sent something that cannot be read: load it again.",
    )  # fmt: skip


def chart_of(room: Room) -> int:
    return add_chart(room.records, room.client.id, "2026-11-01").id


def test_readings_in_inches_with_fractions(room: Room) -> None:
    """34 1/2 in is 34.5 x 25.4 = 876.3 mm; of 27, 27 1/4 and 27 the median is 27 in = 685.8 mm."""
    chart = chart_of(room)
    fields = {"m.bust_girth": "34 1/2", "m.waist_girth": "27 | 27 1/4 | 27", "m.height": "164 cm"}
    status, told = room.save(f"/api/charts/{chart}", 1, fields, "in")
    assert status == 200
    kept = find_chart(room.records, chart).readings
    assert (kept["bust_girth"].value, kept["waist_girth"].value, kept["height"].value) == (876.3, 685.8, 1640.0)
    assert kept["waist_girth"].repeats == (685.8, 692.15, 685.8)
    assert told["values"]["m.bust_girth"] == "34 1/2"
    assert told["values"]["m.waist_girth"] == "27 | 27 1/4 | 27"
    assert told["values"]["how.waist_girth"] == "repeated"


def test_left_and_right_take_the_place_of_the_whole(room: Room) -> None:
    chart = chart_of(room)
    room.save(f"/api/charts/{chart}", 1, {"m.waist_front": "37"})
    room.save(f"/api/charts/{chart}", 2, {"m.waist_front_left": "18"})
    assert set(find_chart(room.records, chart).readings) == {"waist_front", "waist_front_left"}
    room.save(f"/api/charts/{chart}", 3, {"m.waist_front_right": "18.6"})
    assert {k: r.value for k, r in find_chart(room.records, chart).readings.items()} == {
        "waist_front_left": 180.0, "waist_front_right": 186.0,
    }  # fmt: skip
    room.save(f"/api/charts/{chart}", 4, {"m.waist_front_right": ""})
    assert set(find_chart(room.records, chart).readings) == {"waist_front_left"}


def test_a_wrong_reading_is_noticed_beside_its_field(room: Room) -> None:
    """A hip of 99.7 typed among inches: 99.7 in would be 253 cm."""
    chart = chart_of(room)
    fields = {f"m.{key}": written(contralto()[key], "in") for key in LEAST} | {"m.hip_girth": "99.7"}
    status, told = room.save(f"/api/charts/{chart}", 1, fields, "in")
    assert status == 200, "it is kept all the same: the maker decides"
    noticed = [remark for remark in told["remarks"] if remark["key"] == "hip_girth"]
    assert noticed
    assert "centimetres in a column of inches" in noticed[0]["words"]
    room.browser.cookies.set("coutil_unit", "in")
    assert noticed[0]["words"] in room.page(f"/charts/{chart}")
    _, told = room.save(f"/api/charts/{chart}", 2, {"m.hip_girth": "39 1/4"}, "in")
    assert [remark for remark in told["remarks"] if remark["key"] == "hip_girth"] == []
    assert told["missing"] == []


def test_inches_of_a_chart_taken_in_centimetres_are_fractions_and_change_nothing(room: Room) -> None:
    """By hand: 98 cm is 38.58268 in; by 32 that is 1234.65, so 1235/32 = 38 19/32 in, which is 980.28 mm."""
    chart = chart_of(room)
    room.save(f"/api/charts/{chart}", 1, {"m.hip_girth": "98", "m.waist_girth": "68.5 | 69"})
    kept = find_chart(room.records, chart).readings
    room.browser.cookies.set("coutil_unit", "in")
    assert 'name="m.hip_girth" value="38 19/32"' in room.page(f"/charts/{chart}")
    assert 'name="m.waist_girth" value="26 31/32 | 27 5/32"' in room.page(f"/charts/{chart}")
    shown = {"m.hip_girth": " 38 19/32 ", "m.waist_girth": "26 31/32 | 27 5/32", "m.bust_girth": "35"}
    status, _ = room.save(f"/api/charts/{chart}", 2, shown, "in")
    assert status == 200
    again = dict(find_chart(room.records, chart).readings)
    assert again.pop("bust_girth").value == 889.0
    assert again == kept
    room.save(f"/api/charts/{chart}", 3, {"m.hip_girth": "38 5/8"}, "in")
    assert find_chart(room.records, chart).readings["hip_girth"].value == pytest.approx(981.075)


def test_errors_stand_at_their_fields(room: Room) -> None:
    chart = chart_of(room)
    fields = {"m.bust_girth": "ninety", "m.waist_girth": "-3", "taken": "soon", "m.hip_girth": "100"}
    status, told = room.save(f"/api/charts/{chart}", 1, fields)
    assert status == 422
    assert set(told["errors"]) == {"m.bust_girth", "m.waist_girth", "taken"}
    assert "885 mm" in told["errors"]["m.bust_girth"], "an example of how to type is left as it is"
    assert find_chart(room.records, chart).readings == {}
    status, told = room.save(f"/api/charts/{chart}", 1, {"m.elbow": "10"})
    assert (status, list(told["errors"])) == (422, ["m.elbow"])


def test_the_chart_before_stands_beside(room: Room) -> None:
    chart = chart_of(room)
    _, told = room.save(f"/api/charts/{chart}", 1, {"m.waist_girth": "72"})
    assert told["changes"] == {"waist_girth": "+15 mm"}, "705 mm on the chart before, 720 now"
    assert "last 70.5" in room.page(f"/charts/{chart}")


def test_charts_over_time_by_hand() -> None:
    from coutil.measure import Chart

    days = (readings(waist_girth=700), readings(hip_girth=900), readings(waist_girth=712))
    charts = [Chart("a", day_readings) for day_readings in days]
    rows = {row.title: [value for value, _ in row.cells] for row in time_rows(charts)}
    assert rows == {"waist girth": [700, None, 712], "hip girth": [None, 900, None]}


def test_an_order_is_kept_field_by_field(room: Room) -> None:
    fields = {
        "state": "cut", "due": "2026-12-24", "price": "480", "wishes.reduction": "2 1/2", "wishes.lacing_gap": "2",
        "wishes.take_heights": "yes", "wishes.depth_share": "50", "making.closure": "busk", "making.foam": "1/8",
        "making.waist_tape": "yes", "base": "80-18",
    }  # fmt: skip
    status, told = room.save("/api/orders/1", 1, fields, "in")
    assert status == 200, told
    order = find_order(room.records, 1)
    assert (order.state, order.due, order.price, order.base) == (OrderState.CUT, "2026-12-24", "480", "80-18")
    assert (order.wishes.reduction, order.wishes.lacing_gap) == (63.5, 50.8)
    assert (order.wishes.take_heights, order.wishes.depth_share) == (True, 0.5)
    assert dict(order.making) == {"closure": "busk", "foam": "1/8 in", "waist_tape": "yes"}
    room.save("/api/orders/1", 2, {"wishes.reduction": "", "chart_id": ""})
    order = find_order(room.records, 1)
    assert (order.wishes.reduction, order.chart_id) == (None, None)


@pytest.mark.parametrize(
    ("name", "value"),
    [("base", "own-7"), ("state", "lost"), ("due", "tomorrow"), ("wishes.reduction", "-2"),
     ("wishes.depth_share", "120"), ("making.closure", "zip"), ("making.foam", "10"), ("making.binding", "thin"),
     ("chart_id", "1; drop")],
)  # fmt: skip
def test_what_an_order_cannot_be_is_told_at_the_field(room: Room, name: str, value: str) -> None:
    status, told = room.save("/api/orders/1", 1, {name: value})
    assert (status, list(told["errors"])) == (422, [name]), told
    assert find_order(room.records, 1) == room.order


def fitting_of(room: Room) -> int:
    return add_fitting(room.records, Fitting(0, 1, room.order.id, "2026-11-02")).id


def test_amounts_of_a_fitting(room: Room) -> None:
    fitting = fitting_of(room)
    fields = {
        "remarks": "gapes", "a.count": "3",
        "a.0.seam": "side", "a.0.side": "left", "a.0.level": "waist", "a.0.way": "in", "a.0.amount": "1/4",
        "a.1.seam": "hem", "a.1.side": "both", "a.1.level": "", "a.1.way": "out", "a.1.amount": "1/8",
        "a.2.seam": "", "a.2.side": "both", "a.2.level": "", "a.2.way": "in", "a.2.amount": "",
    }  # fmt: skip
    status, told = room.save(f"/api/fittings/{fitting}", 1, fields, "in")
    assert status == 200, told
    kept = find_fitting(room.records, fitting)
    assert kept.amounts == (Amount("side", "left", "waist", -6.35), Amount("hem", "both", "", 3.175))
    assert kept.remarks == "gapes"
    fields |= {"a.1.seam": "side", "a.1.side": "left", "a.1.level": "waist"}
    status, told = room.save(f"/api/fittings/{fitting}", 2, fields, "in")
    assert (status, list(told["errors"])) == (422, ["a.1.amount"])
    fields |= {"a.1.amount": "-2", "a.2.amount": "1"}
    status, told = room.save(f"/api/fittings/{fitting}", 2, fields, "in")
    assert (status, sorted(told["errors"])) == (422, ["a.1.amount", "a.2.amount"])
    # A part of the lines says nothing of the rest: it is refused, not answered as if it had been kept.
    status, told = room.save(f"/api/fittings/{fitting}", 2, {"a.0.seam": "hem"}, "in")
    assert (status, "all together" in told["error"]) == (422, True)


def test_photos_are_what_they_are(room: Room) -> None:
    fitting = fitting_of(room)
    files = {"photo": ("../../holiday.svg", PNG, "image/svg+xml")}
    assert room.browser.post(f"/fittings/{fitting}/photos", files=files, data={"caption": "left"}).status_code == 303
    photo = list_photos(room.records, fitting)[0]
    answer = room.browser.get(f"/photos/{photo.id}")
    assert (answer.content, answer.headers["content-type"]) == (PNG, "image/png")
    assert answer.headers["content-security-policy"] == "default-src 'none'; sandbox"
    evil = {"photo": ("a.png", b"<svg onload='alert(1)'/>", "image/png")}
    answer = room.browser.post(f"/fittings/{fitting}/photos", files=evil)
    assert (answer.status_code, len(list_photos(room.records, fitting))) == (422, 1)
    large = {"photo": ("a.png", png(b"x" * 8_000_000), "image/png")}
    answer = room.browser.post(f"/fittings/{fitting}/photos", files=large)
    assert answer.status_code == 422
    assert "more than 8 MB" in answer.text
    for _ in range(39):
        add_photo(room.records, fitting, PNG)
    answer = room.browser.post(f"/fittings/{fitting}/photos", files=files)
    assert "at most 40 photos" in answer.text


@given(st.integers(0, 200 * 32))
def test_inches_come_back_as_they_were_typed(parts: int) -> None:
    whole, rest = divmod(parts, 32)
    typed = written(Reading(parts / 32 * 25.4).value, "in")
    assert parse_length(typed, "in") == pytest.approx(parts / 32 * 25.4, abs=0.002)
    assert "." not in typed
    assert typed.startswith(str(whole)) or (whole == 0 and rest)


@given(st.floats(0, 3000), st.sampled_from(("cm", "in")))
def test_what_is_shown_to_be_typed_again_is_the_same_reading(mm: float, unit: str) -> None:
    reading = Reading(mm)
    again = reading_of(written(reading.value, unit), unit)  # type: ignore[arg-type]
    assert again.value == pytest.approx(reading.value, abs=0.0021)


def test_words_by_hand() -> None:
    assert [written(v, "cm") for v in (876.3, 0.0, 5.0, None)] == ["87.63", "0", "0.5", ""]
    assert [written(v, "in") for v in (876.3, 0.79375, -6.35, 100.0)] == ["34 1/2", "1/32", "-1/4", "3.93701"]
    assert [signed(v, "cm") for v in (15.0, -35.0, 0.01, None)] == ["+15 mm", "−3.5 cm", "±0 mm", "–"]
    assert signed(-6.35, "in") == "−1/4 in"
    assert day("2026-11-02") == "2 Nov 2026"
    assert day("") == moment("") == ""
    assert moment("2026-11-02T12:30:00+00:00").endswith(":30")
