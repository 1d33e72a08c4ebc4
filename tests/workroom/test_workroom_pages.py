"""Every page is there, says where one is, and names no address outside this machine."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from workroom_samples import PNG, Room, links_of, room_in

from coutil.record import Fitting, add_fitting, add_photo, find_client, find_order, list_clients, list_orders

PAGES = {
    "/": "Today",
    "/clients": "Clients",
    "/clients?q=nobody": "Nobody is called",
    "/clients/new": "New client",
    "/clients/1": "Contralto",
    "/clients/1/charts": "Charts over time",
    "/clients/1/charts/compare?a=1&b=1": "Two charts compared",
    "/charts/1": "Chart of Contralto",
    "/orders": "Stage corset",
    "/orders?which=all": "Stage corset",
    "/orders/new": "For whom?",
    "/orders/new?client=1": "What is to be made",
    "/orders/1": "Stage corset",
    "/orders/1/alteration": "/static/alteration/main.js",
    "/orders/1/revisions": "Nothing has been kept yet",
    "/orders/1/fittings": "Fitting",
    "/orders/1/papers": "made from a kept revision",
    "/fittings/1": "What was seen",
    "/bases": "Base patterns",
    "/bases/80-18": "Drafted for",
    "/guide": "Measuring guide",
    "/privacy": "Privacy",
    "/clients/1/erase": "Type the name to erase",
    "/pair": "Pair this machine",
}


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Room]:
    with room_in(tmp_path_factory.mktemp("pages")) as opened:
        fitting = add_fitting(opened.records, Fitting(0, 1, opened.order.id, "2026-11-02"))
        add_photo(opened.records, fitting.id, PNG, "from the left")
        yield opened


class Outline(HTMLParser):
    """What a screen reader goes by: headings, labels, names of fields, ids."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.headings: list[str] = []
        self.ids: list[str] = []
        self.label_for: set[str] = set()
        self.unnamed: list[str] = []
        self.images: list[dict[str, str | None]] = []
        self.fields: list[dict[str, str | None]] = []
        self.lang = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        if tag == "html":
            self.lang = found.get("lang") or ""
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(tag)
        if found.get("id"):
            self.ids.append(found["id"] or "")
        if tag == "label":
            self.label_for.add(found.get("for") or "")
        if tag == "img":
            self.images.append(found)
        if tag in ("input", "select", "textarea") and found.get("type") not in ("hidden",):
            self.fields.append(found)

    def nameless(self) -> list[str]:
        """Fields that no label names."""
        return [
            str(field.get("name"))
            for field in self.fields
            if not field.get("aria-label") and (field.get("id") or "") not in self.label_for
        ]


@pytest.mark.parametrize("path", PAGES)
def test_a_page_is_there_and_can_be_heard(room: Room, path: str) -> None:
    text = room.page(path)
    assert PAGES[path] in text
    if path.endswith("/alteration"):
        return  # Held by its own tests.
    outline = Outline(text)
    assert outline.lang == "en-GB"
    assert outline.headings.count("h1") == 1
    assert outline.headings[0] == "h1"
    assert outline.nameless() == []
    assert len(outline.ids) == len(set(outline.ids)), "an id stands twice"
    assert all(image.get("alt") for image in outline.images)


@pytest.mark.parametrize("path", PAGES)
def test_no_page_names_an_address_outside(room: Room, path: str) -> None:
    text = room.page(path)
    assert not [link for link in links_of(text) if not link.startswith(("/", "?", "#")) and link]
    plain = text.replace("http://www.w3.org/2000/svg", "")
    assert not re.findall(r"(?:https?:)?//[a-z0-9.-]+\.[a-z]{2,}", plain)


@pytest.mark.parametrize("path", PAGES)
def test_no_page_runs_or_styles_anything_inline(room: Room, path: str) -> None:
    """The policy would refuse it; a page that tried would be broken without anybody being told."""
    text = room.page(path)
    assert not re.findall(r"<[^>]+\sstyle=", text)
    assert not re.findall(r"<[^>]+\son[a-z]+=", text)
    assert not re.findall(r"<script(?![^>]+src=)", text)
    assert "<style" not in text


def test_every_link_leads_to_a_page(room: Room) -> None:
    seen, todo = set(), ["/"]
    while todo:
        path = todo.pop()
        if path in seen or not path.startswith("/") or re.match(r"/(api|static/|privacy/backup|bases/\w|switch)", path):
            continue
        seen.add(path)
        answer = room.browser.get(path)
        if answer.status_code == 405:
            continue  # A form is sent there.
        assert answer.status_code == 200, path
        if answer.headers["content-type"].startswith("text/html"):
            todo += [link.partition("#")[0].replace("&amp;", "&") for link in links_of(answer.text)]
    assert {"/clients/1", "/charts/1", "/orders/1/papers", "/fittings/1", "/photos/1", "/guide"} <= seen


def test_static_files_hold_no_address_outside() -> None:
    import coutil.workroom as door

    static = Path(door.__file__).parent / "static"
    files = [path for path in static.rglob("*") if path.suffix in (".js", ".css", ".svg")]
    assert len(files) > 5
    for path in files:
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert not re.findall(r"(?:https?:)?//[a-z0-9.-]+\.[a-z]{2,}", text), path.name
        assert "@import" not in text


def test_what_is_not_there_is_told_on_a_page(room: Room) -> None:
    for path, status in (("/clients/99", 404), ("/clients/x", 422), ("/nothing", 404), ("/charts/-1", 422)):
        answer = room.browser.get(path)
        assert answer.status_code == status
        assert "That cannot be done" in answer.text
        assert "Traceback" not in answer.text
    answer = room.browser.post("/api/clients/99", json={"version": 1, "unit": "cm", "fields": {}})
    assert (answer.status_code, answer.json()["error"]) == (404, "There is no client 99; it may have been erased.")


def test_what_is_typed_is_shown_as_text_and_never_as_page(room: Room) -> None:
    evil = '"><script>alert(1)</script>'
    room.browser.post("/clients/new", data={"name": evil, "contact": evil, "note": evil})
    client = next(row for row in list_clients(room.records) if "alert" in row.name)
    for path in ("/clients", f"/clients/{client.id}", "/", "/privacy", f"/clients?q={evil}", "/orders/new"):
        assert "<script>alert" not in room.page(path)
    room.browser.post(f"/clients/{client.id}/erase", data={"name": evil})


def test_a_new_client_needs_a_name(room: Room) -> None:
    answer = room.browser.post("/clients/new", data={"name": "  ", "contact": "kept as typed"})
    assert answer.status_code == 422
    assert "Give the client a name" in answer.text
    assert "kept as typed" in answer.text


def test_an_order_begins_on_the_newest_chart_with_the_nearest_base(room: Room) -> None:
    """The contralto: underbust 76 cm and 22 cm more at the bust, so 75-22."""
    answer = room.browser.post("/orders/new", data={"client": "1", "title": "Gala bustier"})
    order = find_order(room.records, int(answer.headers["location"].rpartition("/")[2]))
    assert (order.base, order.chart_id, order.title) == ("76-22", room.chart_id, "Gala bustier")
    assert room.browser.post("/orders/new", data={"client": "1", "title": " "}).status_code == 422


def test_a_client_is_erased_only_under_its_name(tmp_path: Path) -> None:
    with room_in(tmp_path) as room:
        assert room.browser.post("/clients/1/erase", data={"name": "contralto"}).status_code == 422
        assert find_client(room.records, 1).name == "Contralto"
        answer = room.browser.post("/clients/1/erase", data={"name": " Contralto "})
        assert answer.headers["location"] == "/privacy?done=erased"
        assert "Nothing of the client is left" in room.page("/privacy?done=erased")
        assert list_clients(room.records) == ()
        assert list_orders(room.records, "all") == ()
        assert "The book is empty" in room.page("/")


def test_backup_and_restore(tmp_path: Path) -> None:
    with room_in(tmp_path) as room:
        answer = room.browser.get("/privacy/backup")
        assert answer.headers["content-disposition"].startswith('attachment; filename="coutil-')
        assert len(answer.content) == int(answer.headers["content-length"])
        room.browser.post("/clients/1/erase", data={"name": "Contralto"})
        files = {"backup": ("../../backup.db", answer.content, "application/octet-stream")}
        assert room.browser.post("/privacy/restore", files=files).status_code == 422, "the tick is missing"
        assert list_clients(room.records) == ()
        done = room.browser.post("/privacy/restore", files=files, data={"sure": "yes"})
        assert done.headers["location"] == "/privacy?done=restored"
        assert find_client(room.records, 1) == room.client
        wrong = {"backup": ("b.db", b"no backup", "application/octet-stream")}
        answer = room.browser.post("/privacy/restore", files=wrong, data={"sure": "yes"})
        assert answer.status_code == 422
        assert "no backup of coutil" in answer.text
