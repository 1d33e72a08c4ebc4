"""Who is let in: forged hosts, other pages, other machines, too much at once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.websockets import WebSocketDisconnect
from workroom_samples import OWN, Room, browser_of, room_in

from coutil.record import count_clients, find_client
from coutil.workroom import Settings
from coutil.workroom._pairing import (
    CODE_LENGTH,
    FREE_TRIES,
    LETTERS,
    MOST_ADDRESSES,
    PASS_LASTS_S,
    Pairing,
    TooSoon,
    wait_after,
)


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    with room_in(tmp_path) as opened:
        yield opened


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "evil.example:80", "", "192.168.1.5", "127.0.0.1@evil", "[::2]"]
)
def test_a_forged_host_is_refused(room: Room, host: str) -> None:
    for path in ("/", "/clients/1", "/static/workroom.css", "/api/clients/1"):
        assert room.browser.get(path, headers={"host": host}).status_code == 400
    assert room.browser.post("/clients/new", data={"name": "X"}, headers={"host": host}).status_code == 400
    assert count_clients(room.records) == 1


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.1:8123", "localhost", "LOCALHOST:1", "[::1]:8123"])
def test_our_own_hosts_are_answered(room: Room, host: str) -> None:
    assert room.browser.get("/", headers={"host": host, "origin": f"http://{host}"}).status_code == 200


STRANGERS = [
    {"origin": "http://evil.example"},
    {"origin": "null"},
    {"origin": "http://127.0.0.1:9999"},
    {"origin": "https://127.0.0.1"},
    {"origin": OWN, "sec-fetch-site": "cross-site"},
    {"origin": OWN, "sec-fetch-site": "same-site"},
]


@pytest.mark.parametrize("headers", STRANGERS)
def test_another_page_is_refused(room: Room, headers: dict[str, str]) -> None:
    form = {"name": "Somebody"}
    assert room.browser.post("/clients/new", data=form, headers=headers).status_code == 403
    assert room.browser.get("/clients/1/export.zip", headers=headers).status_code == 403
    message = {"version": 1, "unit": "cm", "fields": {"note": "changed"}}
    assert room.browser.post("/api/clients/1", json=message, headers=headers).status_code == 403
    assert room.browser.post("/clients/1/erase", data={"name": "Contralto"}, headers=headers).status_code == 403
    assert find_client(room.records, 1) == room.client


def test_a_change_that_does_not_say_where_it_comes_from_is_refused(room: Room) -> None:
    silent = browser_of(room.state, own=False)
    assert silent.get("/").status_code == 200, "an address that is typed in"
    assert silent.get("/", headers={"sec-fetch-site": "none"}).status_code == 200
    assert silent.post("/clients/new", data={"name": "X"}).status_code == 403
    assert silent.post("/clients/new", data={"name": "X"}, headers={"sec-fetch-site": "none"}).status_code == 403
    answer = silent.post("/clients/new", data={"name": "X"}, headers={"sec-fetch-site": "same-origin"})
    assert answer.status_code == 303


def test_two_origins_are_none(room: Room) -> None:
    headers = [("origin", OWN), ("origin", OWN)]
    answer = browser_of(room.state, own=False).post("/clients/new", data={"name": "X"}, headers=headers)  # type: ignore[arg-type]
    assert answer.status_code == 403


@pytest.mark.parametrize("origin", ["http://evil.example", "null", None])
def test_a_forged_socket_is_refused(room: Room, origin: str | None) -> None:
    headers = {"origin": origin} if origin else {}
    browser = browser_of(room.state, own=False)
    with pytest.raises(WebSocketDisconnect), browser.websocket_connect("/anything", headers=headers):
        pass
    forged = {"host": "evil.example", "origin": OWN}
    with pytest.raises(WebSocketDisconnect), browser.websocket_connect("/", headers=forged):
        pass


def test_every_answer_carries_the_policy(room: Room) -> None:
    paths = ("/", "/static/workroom.css", "/nothing-there", "/clients/77", "/orders/1/revisions")
    answers = [room.browser.get(path) for path in paths]
    answers += [room.browser.get("/", headers={"host": "evil.example"}), room.browser.post("/clients/new", data={})]
    assert [answer.status_code for answer in answers] == [200, 200, 404, 404, 200, 400, 422]
    for answer in answers:
        policy = answer.headers["content-security-policy"]
        assert policy.startswith("default-src 'none'; script-src 'self'; style-src 'self'")
        assert "unsafe" not in policy
        for part in ("form-action 'self'", "base-uri 'none'", "frame-ancestors 'none'", "connect-src 'self'"):
            assert part in policy
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["referrer-policy"] == "same-origin"
        assert answer.headers["x-frame-options"] == "DENY"
        assert "access-control-allow-origin" not in answer.headers


def test_other_ways_of_asking_are_refused(room: Room) -> None:
    for method in ("PUT", "PATCH", "OPTIONS", "TRACE"):
        assert room.browser.request(method, "/clients/1").status_code == 405


@pytest.mark.parametrize(
    ("path", "back"),
    [("/bases", "/bases"), ("/fittings/7/photos", "/fittings/7"), ("/clients/new", "/clients/new")],
)
def test_who_sends_too_much_finds_the_way_back(tmp_path: Path, path: str, back: str) -> None:
    with room_in(tmp_path, Settings(largest_upload=2_000_000)) as room:
        answer = room.browser.post(path, files={"pattern": ("a.svg", b"x" * 2_000_001)})
        assert answer.status_code == 413
        assert answer.headers["content-type"].startswith("text/html")
        assert "more than the 2 MB" in answer.text
        assert f'<a class="button" href="{back}">Back</a>' in answer.text
        json = {"content-type": "application/json"}
        told = room.browser.post("/api/clients/1", content=b"x" * 2_000_001, headers=json)
        assert told.json() == {"error": "That is more than the 2 MB that can be taken at once.", "errors": {}}


def test_too_much_at_once_is_refused(tmp_path: Path) -> None:
    with room_in(tmp_path, Settings(largest_upload=10_000)) as room:
        big = b"x" * 20_000
        assert room.browser.post("/clients/new", content=big).status_code == 413
        pieces = (b"note=" + b"x" * 1000 for _ in range(20))
        answer = room.browser.post(
            "/clients/new", content=pieces, headers={"content-type": "application/x-www-form-urlencoded"}
        )
        assert answer.status_code == 413, "a length that was not announced is counted"
        assert room.browser.post("/api/clients/1", content=big).status_code == 413
        assert count_clients(room.records) == 1


def test_a_fault_of_the_program_is_told_without_a_trace(room: Room, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("secret inside")

    monkeypatch.delenv("COUTIL_TRACEBACK", raising=False)
    monkeypatch.setattr("coutil.workroom._clients.list_clients", broken)
    answer = room.browser.get("/clients")
    assert answer.status_code == 500
    assert "Something in the program went wrong (ZeroDivisionError)" in answer.text
    assert "secret" not in answer.text
    assert "Traceback" not in answer.text


def test_another_machine_stays_outside(room: Room) -> None:
    other = browser_of(room.state, host="192.168.1.9")
    for path in ("/", "/pair", "/clients", "/static/workroom.css"):
        assert other.get(path).status_code in (303, 401)
        assert "Contralto" not in other.get(path).text
    assert other.post("/pair", data={"code": room.state.pairing.code}).status_code == 401


@pytest.fixture
def lan(tmp_path: Path) -> Iterator[Room]:
    with room_in(tmp_path, Settings(lan=True)) as opened:
        yield opened


def test_with_lan_a_machine_comes_in_by_a_code_that_counts_once(lan: Room) -> None:
    code = lan.state.pairing.code
    tablet = browser_of(lan.state, host="192.168.1.9")
    answer = tablet.get("/clients")
    assert (answer.status_code, answer.headers["location"]) == (303, "/pair")
    assert tablet.get("/static/workroom.css").status_code == 200
    assert tablet.post("/api/clients/1", json={}).status_code == 401
    assert tablet.post("/pair", data={"code": "WRONG"}).status_code == 403
    entered = tablet.post("/pair", data={"code": f" {code[:4].lower()} {code[4:]} "})
    assert entered.status_code == 303
    cookie = entered.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert "Contralto" in tablet.get("/clients").text
    another = browser_of(lan.state, host="192.168.1.10")
    assert another.post("/pair", data={"code": code}).status_code == 403, "a code counts once"
    another.cookies.set("coutil_pass", "x" * 43)
    assert another.get("/clients").status_code == 303


def test_guessing_is_slowed_down_by_address() -> None:
    """Five wrong codes, then 2, 4, 8 ... s are waited, an hour at most; 25 letters at 8 places are 1.5e11 codes.

    The waits of ten wrong codes: 2 + 4 + 8 + 16 + 32 + 64 = 126 s; a day then holds some 24 + 15 guesses.
    """
    shown: list[str] = []
    time = [0.0]
    pairing = Pairing(shown.append, lambda: time[0])
    code = pairing.code
    assert set(code) <= set(LETTERS)
    assert (len(code), len(LETTERS) ** CODE_LENGTH > 1.5e11) == (CODE_LENGTH, True)
    for _ in range(FREE_TRIES):
        assert pairing.redeem("AAAA", "10.0.0.7") is None
    with pytest.raises(TooSoon) as told:
        pairing.redeem(code, "10.0.0.7")
    assert told.value.seconds == 2.0
    assert [wait_after(n) for n in (4, 5, 6, 10, 16, 10**9)] == [0.0, 2.0, 4.0, 64.0, 3600.0, 3600.0]
    assert sum(wait_after(n) for n in range(11)) == 126.0
    assert shown == [code], "nobody's guesses bring another code"
    assert pairing.redeem(code.lower(), "10.0.0.8"), "the other machine's code still counts"
    time[0] = 2.0
    assert pairing.redeem(pairing.code, "10.0.0.7"), "whoever waits may type again"


def test_guesses_from_very_many_addresses_are_not_all_remembered() -> None:
    pairing = Pairing(clock=lambda: 0.0)
    for i in range(MOST_ADDRESSES + 50):
        pairing.redeem("", f"10.1.{i // 256}.{i % 256}")
    assert len(pairing._missed) == MOST_ADDRESSES


def test_a_pass_counts_for_its_address_until_it_ends_or_is_removed() -> None:
    time = [0.0]
    pairing = Pairing(clock=lambda: time[0])
    tickets = [pairing.redeem(pairing.code, f"10.0.0.{i}") for i in (1, 2)]
    assert pairing.admits(tickets[0], "10.0.0.1")
    assert not pairing.admits(tickets[0], "10.0.0.2"), "a pass taken elsewhere"
    assert not pairing.admits(None, "10.0.0.1")
    assert not pairing.admits("", "10.0.0.1")
    assert [(m.address, m.until) for m in pairing.machines()] == [("10.0.0.1", 57600.0), ("10.0.0.2", 57600.0)]
    pairing.remove(1)
    assert not pairing.admits(tickets[0], "10.0.0.1")
    time[0] = PASS_LASTS_S - 1
    assert pairing.admits(tickets[1], "10.0.0.2")
    time[0] = PASS_LASTS_S
    assert not pairing.admits(tickets[1], "10.0.0.2")
    assert pairing.machines() == ()


def test_machines_are_listed_and_removed_on_the_page(lan: Room) -> None:
    tablet, stranger = (browser_of(lan.state, host=f"192.168.1.{i}") for i in (9, 66))
    for _ in range(FREE_TRIES):
        assert stranger.post("/pair", data={"code": "BBBB BBBB"}).status_code == 403
    told = stranger.post("/pair", data={"code": lan.state.pairing.code})
    assert told.status_code == 429
    assert "wait 2 seconds, then type it again" in told.text
    assert "not encrypted" in told.text
    assert tablet.post("/pair", data={"code": lan.state.pairing.code}).status_code == 303
    page = lan.page("/privacy")
    assert "192.168.1.9" in page
    assert "192.168.1.66" not in page
    assert "not encrypted" in page
    assert lan.browser.post("/privacy/machines/1/remove").status_code == 303
    assert (tablet.get("/clients").status_code, tablet.get("/clients").headers["location"]) == (303, "/pair")
    assert "No other machine is let in" in lan.page("/privacy")


def test_without_lan_no_machines_are_spoken_of(room: Room) -> None:
    assert "Other machines" not in room.page("/privacy")


def test_switches_lead_nowhere_else(room: Room) -> None:
    places = {"/orders": "/orders", "//evil.example": "/", "http://evil.example": "/", "/\\evil": "/"}
    for back, lands in places.items():
        answer = room.browser.post("/switch", data={"unit": "in", "back": back})
        assert answer.headers["location"] == lands
    assert room.browser.cookies["coutil_unit"] == "in"
    room.browser.post("/switch", data={"unit": "ell", "theme": "pink"})
    assert room.browser.cookies["coutil_unit"] == "in"
    assert "coutil_theme" not in room.browser.cookies


def test_no_path_from_the_browser_is_a_path_on_the_disk(room: Room, tmp_path: Path) -> None:
    (tmp_path / "secret.txt").write_text("secret inside")
    places = ("../secret.txt", "%2e%2e/secret.txt", "..%2fsecret.txt", "....//secret.txt", str(tmp_path / "secret.txt"))
    for place in places:
        for start in ("/static/", "/bases/", "/photos/", "/lays/", "/revisions/"):
            answer = room.browser.get(start + place)
            assert answer.status_code in (404, 422), (start, place)
            assert "secret inside" not in answer.text
    files = {"pattern": ("../../../evil.json", b"{}", "application/json")}
    assert room.browser.post("/bases", files=files).status_code == 422
    assert not list(tmp_path.rglob("evil*"))


