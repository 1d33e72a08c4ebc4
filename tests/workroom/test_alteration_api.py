"""The alteration page's questions over HTTP: what is answered, what is refused, and with which sentence."""

from __future__ import annotations

import asyncio
import json
import time
from dataclasses import dataclass, replace
from typing import Any

import httpx
import pytest
from alteration_samples import Workroom, open_workroom

from coutil.alter import Override, State
from coutil.record import change_order, find_order, latest_revision
from coutil.result_file import result_from_json

HOST = "http://127.0.0.1"
HEADERS = {"origin": HOST, "content-type": "application/json"}
LAST = 60.0  # Seconds after which steps that are not ready count as a failure.


@dataclass(frozen=True)
class Line:
    """A line to the workroom, and the order it speaks about."""

    workroom: Workroom
    order: int

    def get(self, path: str = "", **headers: str) -> httpx.Response:
        return self.ask("GET", path, None, headers)

    def post(self, path: str, body: object, **headers: str) -> httpx.Response:
        return self.ask("POST", path, json.dumps(body).encode(), headers)

    def ask(self, method: str, path: str, body: bytes | None, headers: dict[str, str]) -> httpx.Response:
        async def sent() -> httpx.Response:
            transport = httpx.ASGITransport(app=self.workroom.app, client=("127.0.0.1", 5))
            async with httpx.AsyncClient(transport=transport, base_url=HOST) as client:
                url = f"/api/orders/{self.order}/alteration{path}"
                return await client.request(method, url, content=body, headers={**HEADERS, **headers})

        return asyncio.run(sent())


@pytest.fixture(scope="module")
def workroom(tmp_path_factory: pytest.TempPathFactory) -> Workroom:
    return open_workroom(tmp_path_factory.mktemp("workroom"))


@pytest.fixture
def line(workroom: Workroom) -> Line:
    return Line(workroom, workroom.order().id)


def draft(line: Line, **changed: object) -> dict[str, Any]:
    return {**line.get().json()["draft"], **changed}


def overruled(amount: object = -4, why: str = "sat well on the last toile") -> dict[str, Any]:
    return {"side_front": {"state": "overruled", "why": why, "amount": amount}}


def saving(line: Line, now: dict[str, Any], opening: dict[str, Any], **words: str) -> httpx.Response:
    return line.post("/save", {"draft": now, "origin": opening["draft"], "seen": opening["versions"], **words})


def test_opening_tells_order_client_draft_and_document(line: Line) -> None:
    opening = line.get()
    assert opening.status_code == 200
    said = opening.json()
    assert (said["client"], said["title"], said["base"], said["unit"]) == ("Contralto", "Opera overbust", "80-18", "cm")
    assert said["draft"]["reduction"] == 60.0
    assert len(said["document"]["pieces"]) == 6
    assert said["revisions"] == []


def test_an_order_with_a_row_its_base_does_not_have_opens_and_says_so(line: Line) -> None:
    records = line.workroom.records
    order = find_order(records, line.order)
    odd = (Override("sleeve_head", State.LEFT, "of another base"), Override("side_front", State.LEFT, "sat well"))
    change_order(records, order.id, order.version, lambda o: replace(o, wishes=replace(o.wishes, overrides=odd)))
    said = line.get().json()
    assert said["notice"] == "Decided by hand before, but not rows of this base: sleeve head."
    assert list(said["draft"]["rows"]) == ["side_front"]


def test_the_unit_is_the_browsers(line: Line) -> None:
    said = line.get(cookie="coutil_unit=in").json()
    assert said["document"]["unit"] == "in"
    assert next(m["client"] for m in said["document"]["measures"] if m["key"] == "waist_girth") == "27 3/4 in"


def test_a_changed_draft_is_worked_out(line: Line) -> None:
    before = line.get().json()["document"]
    after = line.post("/document", {"draft": draft(line, rows=overruled())}).json()
    row = next(row for row in after["rows"] if row["key"] == "side_front")
    assert (row["amount_mm"], row["state"], row["why"]) == (-4.0, "overruled", "sat well on the last toile")
    assert after["pieces"][1]["result"] != before["pieces"][1]["result"]
    assert after["pieces"][1]["base"] == before["pieces"][1]["base"]
    assert after["pieces"][1]["cut"] is None
    assert line.post("/document", {"draft": draft(line), "cut": True}).json()["pieces"][1]["cut"]


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"rows": overruled("four")}, "rows.side_front.amount", "is not a length"),
        ({"rows": overruled(900)}, "rows.side_front.amount", "Side seam, front is overruled by 90.0 cm, more than any"),
        ({"rows": {"sleeve": {"state": "left", "why": "x"}}}, "", "There is no row sleeve"),
        ({"reduction": "half of it"}, "reduction", "is not a length"),
        ({"reduction": 500}, "", "more than half of the waist"),
        ({"lacing_gap": -5}, "lacing_gap", "0 or more"),
    ],
)
def test_what_cannot_be_used_is_refused_in_one_sentence(line: Line, changed: Any, field: str, words: str) -> None:
    refused = line.post("/document", {"draft": draft(line, **changed)})
    assert refused.status_code == 422
    said = refused.json()
    assert words in said["sentence"]
    assert said["field"] == field
    assert said["sentence"].endswith(".")
    assert "\n" not in said["sentence"]


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{}",
        b"[]",
        b"not json",
        b'{"draft": {"chart": {"waist_girth": NaN}}}',
        b'{"draft": {"chart": {"waist_girth": [1]}}}',
        b'{"draft": {"chart": {}, "sleeve": 1}}',
        b'{"draft": {"chart": {}, "rows": {"side": {"state": "maybe"}}}}',
        b"\xff\xfe",
        b"[" * 100_000,
    ],
)
def test_what_is_no_draft_is_refused_in_one_sentence(line: Line, body: bytes) -> None:
    refused = line.ask("POST", "/document", body, {})
    assert refused.status_code == 422
    assert refused.json()["sentence"].startswith("The page sent something that cannot be read")
    assert "\n" not in refused.json()["sentence"]


def test_a_chart_that_lacks_a_girth_is_refused_in_one_sentence(line: Line) -> None:
    chart = draft(line)["chart"]
    refused = line.post("/document", {"draft": draft(line, chart={**chart, "waist_girth": None})})
    assert refused.status_code == 422
    assert "waist girth is missing" in refused.json()["sentence"]


def test_too_much_is_refused(line: Line) -> None:
    refused = line.ask("POST", "/document", b" " * 500_000, {})
    assert refused.status_code == 413


def test_an_order_that_is_not_there_is_not_found(workroom: Workroom) -> None:
    refused = Line(workroom, 999_999).get()
    assert refused.status_code == 404
    assert "There is no order 999999" in refused.json()["sentence"]


def test_other_pages_are_refused(line: Line) -> None:
    assert line.post("/document", {"draft": draft(line)}, origin="http://elsewhere.example").status_code == 403


def test_the_tape_over_http(line: Line) -> None:
    points = {
        "first": {"edge": "side_back/hem", "x": 0, "y": 90},
        "second": {"edge": "side_back/hem", "x": 900, "y": 90},
    }
    read = line.post("/tape", {"draft": draft(line), **points})
    assert read.status_code == 200
    assert [reading["name"] for reading in read.json()["readings"]] == ["result", "base"]
    bad = {**points, "second": {"edge": "sleeve/hem", "x": 0, "y": 0}}
    refused = line.post("/tape", {"draft": draft(line), **bad})
    assert refused.status_code == 422
    assert "no piece sleeve" in refused.json()["sentence"]


def test_steps_are_worked_out_in_the_background_and_told_as_they_come(line: Line) -> None:
    begun = line.post("/frames", {"draft": draft(line)})
    assert begun.status_code == 202
    place = f"/frames/{begun.json()['name']}"
    end = time.monotonic() + LAST
    seen = []
    while (state := line.get(place).json())["frames"] is None and time.monotonic() < end:
        seen.append(state["done"])
        time.sleep(0.05)
    assert state["problem"] == ""
    assert state["done"] == state["total"] == len(state["frames"]) == 17
    assert seen == sorted(seen)
    final = line.post("/document", {"draft": draft(line)}).json()
    outlines = {piece["name"]: piece["result"] for piece in final["pieces"]}
    assert state["frames"][-1]["pieces"].keys() == outlines.keys()
    assert state["frames"][0]["title"] == "Underbust to waist"
    assert state["frames"][0]["edges"].keys() == set(final["rows"][0]["edges"])


def test_steps_that_were_stopped_are_no_longer_known(line: Line) -> None:
    name = line.post("/frames", {"draft": draft(line)}).json()["name"]
    assert line.post(f"/frames/{name}/stop", {}).status_code == 200
    refused = line.get(f"/frames/{name}")
    assert refused.status_code == 422
    assert "ask for them again" in refused.json()["sentence"]


def test_a_save_keeps_wishes_chart_and_a_revision(line: Line) -> None:
    opening = line.get().json()
    now = draft(line, rows=overruled(), chart={**opening["draft"]["chart"], "waist_girth": "70 cm"})
    saved = saving(line, now, opening, note="First toile.", author="The cutter")
    assert saved.status_code == 201
    said = saved.json()
    assert (said["revision"]["short"], said["revision"]["note"]) == ("r1", "First toile.")
    assert said["draft"]["chart"]["waist_girth"] == 700.0
    order = find_order(line.workroom.records, line.order)
    assert order.wishes.overrides[0].why == "sat well on the last toile"
    revision = latest_revision(line.workroom.records, line.order)
    assert revision is not None
    assert revision.head.author == "The cutter"
    row = result_from_json(revision.result_text).alteration.plan.row("side_front")
    assert row is not None
    assert row.amount == -4.0
    assert line.get().json()["draft"] == said["draft"]


def test_a_save_without_a_reason_keeps_nothing(line: Line) -> None:
    opening = line.get().json()
    refused = saving(line, draft(line, rows=overruled(why="")), opening)
    assert refused.status_code == 422
    assert refused.json()["field"] == "rows.side_front.why"
    assert line.get("/revisions").json() == []


def test_the_second_writer_is_told_what_the_first_changed_and_overwrites_nothing(line: Line) -> None:
    opening = line.get().json()
    saving(line, draft(line, rows=overruled()), opening, note="first")
    refused = saving(line, draft(line, reduction=50), opening, note="second")
    assert refused.status_code == 409
    said = refused.json()
    assert "nothing was overwritten" in said["sentence"]
    assert [(c["path"], c["before"], c["after"]) for c in said["changes"]] == [
        ("rows.side_front", "as computed", "overruled at -4 mm: sat well on the last toile")
    ]
    assert said["draft"]["rows"]["side_front"]["amount"] == -4.0
    assert [revision["note"] for revision in line.get("/revisions").json()] == ["first"]
    merged = {"draft": {**said["draft"], "reduction": 50}, "origin": said["draft"], "seen": said["versions"]}
    assert line.post("/save", merged).status_code == 201


def test_a_chart_changed_elsewhere_is_a_conflict_too(line: Line) -> None:
    opening = line.get().json()
    chart = opening["draft"]["chart"]
    saving(line, draft(line, chart={**chart, "waist_girth": 700}), opening)
    refused = saving(line, draft(line, rows=overruled()), opening)
    assert refused.status_code == 409
    assert [change["path"] for change in refused.json()["changes"]] == ["chart.waist_girth"]


def test_revisions_are_compared_and_given_back(line: Line) -> None:
    opening = line.get().json()
    first = saving(line, draft(line), opening, note="as computed").json()
    second = saving(line, draft(line, rows=overruled(), reduction=70), {**opening, **first}, note="by hand").json()
    ids = {"first": second["revision"]["id"], "second": first["revision"]["id"]}
    found = line.post("/compare", {"draft": draft(line), **ids}).json()
    told = {(d["kind"], d["title"]): (d["first"], d["second"]) for d in found["differences"]}
    assert told["rows", "Side seam, front"] == ("-4 mm, overruled: sat well on the last toile", "-7.5 mm")
    assert found["first_pieces"]["side_front"] != found["second_pieces"]["side_front"]
    with_page = line.post("/compare", {"draft": draft(line), "second": second["revision"]["id"]}).json()
    assert with_page["first"] == "this page"
    assert with_page["differences"] == []
    kept = line.get(f"/revisions/{first['revision']['id']}").json()
    assert kept["same_base"] is True
    assert kept["draft"] == first["draft"]


def test_another_orders_revision_is_not_given(line: Line) -> None:
    saved = saving(line, draft(line), line.get().json()).json()
    other = Line(line.workroom, line.workroom.order().id)
    refused = other.get(f"/revisions/{saved['revision']['id']}")
    assert refused.status_code == 422
    assert "of this order" in refused.json()["sentence"]
