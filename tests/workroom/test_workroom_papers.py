"""Papers: made from a kept revision, with its short number on them; lay plans with their progress."""

from __future__ import annotations

import csv
import io
import json
import re
import time
from collections.abc import Iterator
from pathlib import Path

import pypdfium2
import pytest
from workroom_samples import Room, browser_of, room_in

from coutil.errors import BadInput
from coutil.lay_file import lay_from_json
from coutil.measure import format_length
from coutil.pattern import style_from_json
from coutil.record import find_base, find_order, list_bases, list_lays, list_revisions
from coutil.result_file import result_from_json
from coutil.workroom import AppState, templates
from coutil.workroom._lay_runs import MOST_AT_ONCE, LayRun, LayRuns, Progress
from coutil.workroom._making import making_options
from coutil.workroom._papers import MAKERS
from coutil.workroom._words import moment


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Room]:
    """A workroom with two revisions of the order."""
    with room_in(tmp_path_factory.mktemp("papers")) as opened:
        assert opened.browser.post("/orders/1/revisions", data={"note": "first toile"}).status_code == 303
        opened.save("/api/orders/1", 1, {"wishes.reduction": "4", "making.closure": "busk"})
        assert opened.browser.post("/orders/1/revisions", data={"note": "less reduction"}).status_code == 303
        yield opened


def test_revisions_are_numbered_and_tell_what_they_are(room: Room) -> None:
    heads = list_revisions(room.records, 1)
    assert [(head.short, head.note, head.base) for head in heads] == [
        ("r2", "less reduction", "75-22"), ("r1", "first toile", "75-22"),
    ]  # fmt: skip
    page = room.page("/orders/1/revisions")
    assert page.index("r2") < page.index("first toile")


@pytest.mark.parametrize("name", MAKERS)
def test_every_paper_can_be_fetched(room: Room, name: str) -> None:
    answer = room.browser.get(f"/revisions/2/{name}")
    assert answer.status_code == 200
    ending = name.rpartition(".")[2]
    starts = {"pdf": b"%PDF", "svg": b"<svg", "dxf": b"  0", "json": b"{", "csv": b"", "html": b"<!"}
    assert answer.content.lstrip(b"\xef\xbb\xbf").startswith((starts[ending], b"<?xml"))
    assert "order-1-r2" in answer.headers["content-disposition"]
    assert "sandbox" in answer.headers["content-security-policy"]


def test_the_short_number_stands_on_every_sheet_and_its_square_is_true(room: Room) -> None:
    """The square's sides are read off the page: 100 mm are 283.46 pt."""
    answer = room.browser.get("/revisions/2/pattern.pdf?paper=a4&kind=ordered")
    document = pypdfium2.PdfDocument(answer.content)
    texts = [page.get_textpage().get_text_range() for page in document]
    assert "revision r2" in texts[0]
    assert sum("r2" in text for text in texts) >= len(texts) - 1
    sides = [
        (right - left, top - bottom)
        for found in document[0].get_objects(max_depth=4)
        for left, bottom, right, top in (found.get_bounds(),)
    ]
    assert any(abs(w - 283.46) < 2 and abs(h - 283.46) < 2 for w, h in sides)
    document.close()


@pytest.mark.parametrize("name", ["workroom.html", "guide.html"])
def test_sheet_and_guide_name_the_revision_that_stands_on_the_pieces(room: Room, name: str) -> None:
    said = set(re.findall(r"revision (\w+)", room.page(f"/revisions/1/{name}")))
    assert said == {"r1"}


def test_files_hold_the_revision(room: Room) -> None:
    result = result_from_json(room.browser.get("/revisions/1/result.json").content)
    style = style_from_json(room.browser.get("/revisions/1/style.json").content)
    assert style == result.alteration.style
    rows = list(csv.reader(io.StringIO(room.browser.get("/revisions/1/chart.csv").text)))
    assert len(rows) > 5


def test_what_cannot_be_printed_is_told(room: Room) -> None:
    for query in ("paper=stamp", "kind=other", "paper=roll:1"):
        answer = room.browser.get(f"/revisions/2/pattern.pdf?{query}")
        assert answer.status_code == 422, query
    assert room.browser.get("/revisions/77/pattern.pdf").status_code == 404


def test_an_altered_pattern_becomes_a_base(room: Room) -> None:
    answer = room.browser.post("/revisions/2/base", data={"title": "Contralto's own"})
    key = answer.headers["location"].rpartition("/")[2]
    assert find_base(room.records, key).title == "Contralto's own"
    assert list_bases(room.records)[0].key == key
    assert "Contralto&#39;s own" in room.page(f"/bases/{key}")


def test_two_revisions_are_compared_and_drawn_over_each_other(room: Room) -> None:
    page = room.page("/orders/1/revisions/compare?a=1&b=2")
    assert "Both were made from the same readings" in page
    assert "Waist" in page
    answer = room.browser.get("/orders/1/revisions/overlay.svg?a=1&b=2")
    assert answer.content.lstrip().startswith(b"<")
    assert "r1 dashed, r2 solid" in answer.text
    assert room.browser.get("/orders/1/revisions/compare?a=1&b=99").status_code == 404


def test_going_back(room: Room) -> None:
    order = find_order(room.records, 1)
    stale = room.browser.post("/revisions/1/restore", data={"version": "1"})
    assert stale.status_code == 422
    assert "another window" in stale.text
    answer = room.browser.post("/revisions/1/restore", data={"version": str(order.version)})
    assert answer.status_code == 303
    assert find_order(room.records, 1).wishes.reduction is None
    told = "is the current one again"
    landed = answer.headers["location"]
    assert f"Revision r1 of {moment(list_revisions(room.records, 1)[-1].created)} {told}" in room.page(landed)
    assert told not in room.page("/orders/1")
    room.save("/api/orders/1", order.version + 1, {"note": "a shorter busk"})
    assert told not in room.page(landed), "the order is no longer as it was then"


def ended(room: Room, number: int) -> Progress:
    give_up = time.monotonic() + 60
    run = room.state.lays.find(number)
    while not run.progress.ended and time.monotonic() < give_up:
        time.sleep(0.02)
    return run.progress


def test_a_lay_plan_from_asking_to_fetching(room: Room) -> None:
    form = {"layer.outer": "yes", "layer.strength": "", "width": "140", "seconds": "0", "nap": "yes", "price": "38"}
    answer = room.browser.post("/revisions/2/lay", data=form)
    assert answer.status_code == 303, answer.text
    place = answer.headers["location"]
    found = ended(room, int(place.rpartition("/")[2]))
    assert (found.ended, found.error) == (True, "")
    assert found.length is not None
    assert found.length > 100
    lines = room.browser.get(f"{place}/progress").text.split("\n\n")
    assert json.loads(lines[-2].removeprefix("data: "))["ended"] is True
    onward = room.browser.get(place)
    assert onward.status_code == 303
    place = onward.headers["location"]
    assert "used" in room.page(place)
    assert room.browser.get(f"{place}/lay.pdf").content.startswith(b"%PDF")
    plan = lay_from_json(room.browser.get(f"{place}/lay.json").content)
    assert plan.length == found.length
    assert room.browser.get(f"{place}/plan.svg").headers["content-type"] == "image/svg+xml"


def test_a_lay_plan_outlives_the_program_and_gives_the_length_of_cloth(room: Room) -> None:
    assert "by its lay plan" not in room.page("/revisions/1/workroom.html")
    form = {"layer.outer": "yes", "width": "140", "seconds": "0"}
    place = room.browser.post("/revisions/1/lay", data=form).headers["location"]
    ended(room, int(place.rpartition("/")[2]))
    kept = list_lays(room.records, 1)[0]
    again = browser_of(AppState(room.records, templates()))
    page = again.get("/orders/1/papers?revision=1").text
    assert f"/plans/{kept.id}" in page
    assert format_length(kept.length, "cm") in page
    assert again.get(f"/plans/{kept.id}").status_code == 200
    result = result_from_json(again.get("/revisions/1/result.json").content)
    assert [plan.length for plan in result.lays] == [kept.length]
    assert "by its lay plan" in again.get("/revisions/1/workroom.html").text
    assert again.post(f"/plans/{kept.id}/remove").status_code == 303
    assert again.get(f"/plans/{kept.id}").status_code == 404
    assert list_lays(room.records, 1) == ()


@pytest.mark.parametrize(
    "wrong", [{"layer.outer": ""}, {"width": "wide"}, {"width": ""}, {"seconds": "9999"}, {"price": "much"}]
)
def test_what_cannot_be_laid_is_told(room: Room, wrong: dict[str, str]) -> None:
    form = {"layer.outer": "yes", "width": "140", "seconds": "0", **wrong}
    assert room.browser.post("/revisions/2/lay", data=form).status_code == 422


def test_runs_tell_their_news_and_end_in_a_sentence() -> None:
    runs = LayRuns()

    def fails(run: LayRun) -> None:
        run.tell(gone=0.5)
        raise BadInput("The cloth is narrower than a piece.")

    run = runs.start(7, "outer", 10, fails)
    while not run.progress.ended:
        run.wait(run.progress, 0.2)
    assert run.progress == Progress(10, 0.5, ended=True, error="The cloth is narrower than a piece.")
    assert runs.of(7) == (run,)
    runs.forget(frozenset({7}))
    with pytest.raises(BadInput, match="Nobody looks for"):
        runs.find(run.number)


def test_no_more_than_two_lays_are_looked_for_at_once() -> None:
    runs = LayRuns()
    waiting = [runs.start(1, "outer", 10, lambda run: run.enough.wait(20) and None) for _ in range(MOST_AT_ONCE)]  # type: ignore[func-returns-value]
    with pytest.raises(BadInput, match="Two lay plans"):
        runs.start(1, "outer", 10, lambda run: None)
    runs.stop_all()
    for run in waiting:
        while not run.progress.ended:
            run.wait(run.progress, 0.2)
    assert runs.start(1, "outer", 10, lambda run: None).number == 3


def test_how_it_is_made_is_read_as_an_order_file() -> None:
    making = {"closure": "busk", "foam": "1/8 in", "modesty_panel": "yes"}
    options = making_options(making, 'A "B" \\ C', "stage", "", "cm")
    assert (options.closure, options.foam, options.modesty_panel) == ("busk", 3.175, True)
    assert (options.reference, options.wear) == ('A "B" \\ C', "stage")
    assert making_options({"closure": "", "unknown": "x"}, "", "", "", "cm").closure is None


def test_an_order_without_chart_or_base_cannot_be_worked_out(tmp_path: Path) -> None:
    with room_in(tmp_path) as room:
        room.save("/api/orders/1", 1, {"chart_id": ""})
        answer = room.browser.post("/orders/1/revisions", data={})
        assert answer.status_code == 422
        assert "choose both on the order" in answer.text
        assert "no chart" in room.browser.get("/orders/1/alteration").text.lower()
