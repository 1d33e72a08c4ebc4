"""Charts, orders and fittings are deleted and brought back; what nobody filled in leaves nothing behind."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from workroom_samples import PNG, Room, room_in

from coutil.check import Verdict
from coutil.errors import BadInput
from coutil.record import (
    Fitting,
    OrderRecord,
    add_chart,
    add_fitting,
    add_order,
    add_photo,
    discard,
    erase_client,
    erase_discarded,
    export_client,
    find_chart,
    find_fitting,
    find_order,
    list_charts,
    list_discarded,
    list_fittings,
    list_orders,
)
from coutil.workroom._words import VERDICT_WORDS


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    with room_in(tmp_path) as opened:
        yield opened


def press(room: Room, path: str) -> str:
    """Presses the button of a form; the page it leads to."""
    answer = room.browser.post(path)
    assert answer.status_code == 303, (path, answer.text[-300:])
    return str(answer.headers["location"])


def test_an_order_is_deleted_and_brought_back(room: Room) -> None:
    made = add_order(room.records, OrderRecord(0, 1, room.client.id, "Wedding bustier"))
    assert f'action="/deleted/order/{made.id}/delete"' in room.page(f"/orders/{made.id}")
    above = press(room, f"/deleted/order/{made.id}/delete")
    assert above == f"/clients/{room.client.id}?deleted=order-{made.id}"
    told = room.page(above)
    assert "The order is deleted." in told
    assert f'action="/deleted/order/{made.id}/back"' in told
    for path in ("/", "/orders", "/orders?which=all", f"/clients/{room.client.id}"):
        assert "Wedding bustier" not in room.page(path), path
    assert "“Wedding bustier”" in room.page("/deleted")
    assert "The order is deleted." in room.page(f"/orders/{made.id}"), "its own page says so too"
    assert press(room, f"/deleted/order/{made.id}/back") == f"/orders/{made.id}"
    assert "Wedding bustier" in room.page("/orders")
    assert "Nothing is deleted." in room.page("/deleted")
    assert "is deleted" not in room.page(above), "an old address says nothing untrue"


def test_a_chart_in_use_is_not_deleted(room: Room) -> None:
    with pytest.raises(BadInput, match="The order “Stage corset” is made from this chart"):
        discard(room.records, "chart", room.chart_id)
    answer = room.browser.post(f"/deleted/chart/{room.chart_id}/delete")
    assert answer.status_code == 422
    other = add_chart(room.records, room.client.id, "2026-12-01", readings=find_chart(room.records, 1).readings)
    press(room, f"/deleted/chart/{other.id}/delete")
    assert [chart.id for chart in list_charts(room.records, room.client.id)] == [room.chart_id]
    assert [chart.id for chart in list_charts(room.records, room.client.id, deleted=True)] == [other.id, room.chart_id]
    assert len(export_client(room.records, room.client.id)) > 0


def test_a_fitting_with_photos_is_deleted_and_brought_back(room: Room) -> None:
    made = add_fitting(room.records, Fitting(0, 1, room.order.id, "2026-11-02", remarks="Gapes at the front."))
    photo = add_photo(room.records, made.id, PNG)
    assert press(room, f"/deleted/fitting/{made.id}/delete").startswith(f"/orders/{room.order.id}/fittings?")
    assert "Gapes" not in room.page(f"/orders/{room.order.id}/fittings")
    press(room, f"/deleted/fitting/{made.id}/back")
    assert "Gapes" in room.page(f"/orders/{room.order.id}/fittings")
    assert room.browser.get(f"/photos/{photo.id}").status_code == 200


def test_what_was_deleted_is_really_erased_in_time_or_with_the_client(room: Room) -> None:
    """30 days: what was deleted 29 days ago is still there, what was deleted 31 days ago is not."""
    made = add_fitting(room.records, Fitting(0, 1, room.order.id, "2026-11-02", remarks="Gapes."))
    discard(room.records, "fitting", made.id)
    backdate(room, 29)
    assert erase_discarded(room.records) == 0
    assert find_fitting(room.records, made.id).remarks == "Gapes."
    backdate(room, 31)
    assert erase_discarded(room.records) == 1
    with pytest.raises(BadInput, match="There is no fitting"):
        find_fitting(room.records, made.id)
    discard(room.records, "order", room.order.id)
    backdate(room, 31)
    assert erase_discarded(room.records) == 1
    with pytest.raises(BadInput, match="There is no order"):
        find_order(room.records, room.order.id)
    discard(room.records, "chart", room.chart_id)
    erase_client(room.records, room.client.id)
    assert list_discarded(room.records) == ()


def backdate(room: Room, days: int) -> None:
    since = (datetime.now(UTC) - timedelta(days=days)).isoformat(timespec="microseconds")
    with room.records.writing() as link:
        link.execute(room.records.tables.discarded.update().values(since=since))


def test_an_odd_kind_is_told(room: Room) -> None:
    assert room.browser.post("/deleted/client/1/delete").status_code == 422
    assert room.browser.post("/deleted/order/77/delete").status_code == 404
    assert room.browser.get("/?deleted=order-999999999").status_code == 200


def test_an_empty_chart_is_none(room: Room) -> None:
    first = press(room, f"/clients/{room.client.id}/charts")
    assert press(room, f"/clients/{room.client.id}/charts") == first, "looking twice begins one chart"
    assert first not in room.page(f"/clients/{room.client.id}")
    assert "1 Oct 2026" in room.page(f"/clients/{room.client.id}")
    answer = room.browser.post("/orders/new", data={"client": "1", "title": "Bodice"})
    made = find_order(room.records, int(answer.headers["location"].rpartition("/")[2]))
    assert (made.chart_id, bool(made.base)) == (room.chart_id, True)
    again = find_order(room.records, int(press(room, f"/orders/{made.id}/repeat").rpartition("/")[2]))
    assert again.chart_id == room.chart_id
    assert again.note.startswith(f"Repeats order {made.id}, “Bodice”. Carried over from it: base, wishes,")


def test_a_fitting_nobody_filled_in_is_none(room: Room) -> None:
    first = press(room, f"/orders/{room.order.id}/fittings")
    assert press(room, f"/orders/{room.order.id}/fittings") == first
    assert first not in room.page(f"/orders/{room.order.id}/fittings")
    assert len(list_fittings(room.records, room.order.id)) == 1


def test_the_alteration_tab_says_what_is_missing_and_where(room: Room) -> None:
    empty = add_chart(room.records, room.client.id, "2026-12-01")
    made = add_order(room.records, OrderRecord(0, 1, room.client.id, "Bodice", chart_id=empty.id))
    told = room.page(f"/orders/{made.id}/alteration")
    assert "The chart holds no readings yet." in told
    assert f'href="/charts/{empty.id}"' in told
    assert f'href="/orders/{made.id}#f-base"' in told
    assert 'aria-label="Order"' in told, "the order's tabs are there as on every page of it"
    bare = add_order(room.records, OrderRecord(0, 1, room.client.id, "Bodice", base="75-22"))
    assert "No chart is chosen." in room.page(f"/orders/{bare.id}/alteration")
    assert len(list_orders(room.records)) == 3


def test_a_photo_is_erased_only_after_a_question(room: Room) -> None:
    made = add_fitting(room.records, Fitting(0, 1, room.order.id, "2026-11-02"))
    photo = add_photo(room.records, made.id, PNG)
    page = room.page(f"/fittings/{made.id}")
    before, _, after = page.partition(f'action="/photos/{photo.id}/remove"')
    assert before.rstrip().endswith('</summary><form method="post"')
    assert "Erase this photo for good" in after


def test_every_verdict_has_words_for_people() -> None:
    """The words of the alteration page, so that one thing has one name."""
    assert set(VERDICT_WORDS) == set(Verdict)
    assert [VERDICT_WORDS[v] for v in (Verdict.PASS, Verdict.WARN, Verdict.FAIL)] == [
        "holds",
        "to look at",
        "does not hold",
    ]
