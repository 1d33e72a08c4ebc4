"""Odd values at every address: each is answered with a page or a sentence, never as a fault of the program."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from starlette.routing import Route
from workroom_samples import Room, room_in

from coutil.errors import BadInput
from coutil.record import Fitting, add_fitting
from coutil.sheet import paper_of

ODD_WORDS = (
    "0", "-1", "1", "１", "1e9", str(2**31), str(2**63), str(2**64), "9" * 300, "9" * 5000, "nan", "inf", "1e999", "",
    "roll:９００", "roll:1e5", "roll:" + "9" * 40, "own-9", "own-" + "9" * 40, "own-１", "\x00", "%", "..", "😀",
    "\u202e", "a" * 400,
)  # fmt: skip
HALF = "\\ud800"  # As JSON writes half a letter.
ODD_JSON = (
    "null", "[]", '""', "1", "NaN", "1e999", "9" * 30, "9" * 5000, "true", f'"{HALF}"', f'{{"{HALF}": 1}}', "[" * 3000,
)  # fmt: skip
QUERY = ("q", "page", "client", "a", "b", "revision", "restored", "version", "name", "which", "paper", "kind", "unit")


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    with room_in(tmp_path) as opened:
        add_fitting(opened.records, Fitting(0, 1, opened.order.id, "2026-11-02"))
        yield opened


def routes_of(room: Room, method: str) -> list[str]:
    """Every address of the application that takes that method."""
    app: Any = room.browser.app
    return [r.path for r in app.routes if isinstance(r, Route) and method in (r.methods or ())]


def filled(path: str, value: str) -> str:
    """The address with every number or name in it replaced, percent-encoded where needed."""
    return re.sub(r"\{[^}]*\}", lambda _: quote(value, safe=""), path)


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_no_odd_value_in_an_address_is_a_fault(room: Room) -> None:
    paths = [path for path in routes_of(room, "GET") if "{" in path]
    assert len(paths) > 20
    for path in paths:
        for value in ODD_WORDS:
            if path.endswith(("alteration", ".zip")) and value == "1":
                continue
            answer = room.browser.get(filled(path, value))
            assert answer.status_code < 500, (path, value[:40], answer.text[-300:])


def test_no_odd_question_is_a_fault(room: Room) -> None:
    for path in routes_of(room, "GET"):
        if "frames" in path or path == "/privacy/backup":
            continue
        for value in ODD_WORDS[:-1]:
            answer = room.browser.get(filled(path, "1"), params=dict.fromkeys(QUERY, value[:2000]))
            assert answer.status_code < 500, (path, value[:40], answer.text[-300:])


def test_no_odd_message_is_a_fault(room: Room) -> None:
    kind = {"content-type": "application/json"}
    for path in routes_of(room, "POST"):
        bodies = [*ODD_JSON]
        for odd in ODD_JSON if path.startswith("/api/") else ():
            fields = f'{{"note": {odd}, "title": {odd}, "a.count": {odd}}}'
            bodies.append(f'{{"version": {odd}, "unit": "cm", "fields": {{}}}}')
            bodies += [f'{{"version": 1, "unit": "cm", "fields": {wrong}}}' for wrong in (odd, fields)]
        for body in bodies:
            answer = room.browser.post(filled(path, "1"), content=body.encode(), headers=kind)
            assert answer.status_code < 500, (path, body[:120], answer.text[-300:])


def test_no_odd_field_is_a_fault(room: Room) -> None:
    """Fields of forms that keep themselves, each with every odd value."""
    pages = {"/api/clients/1": "/clients/1", "/api/charts/1": "/charts/1", "/api/orders/1": "/orders/1"}
    pages["/api/fittings/1"] = "/fittings/1"
    for path, shown in pages.items():
        names = set(re.findall(r'name="([^"]+)"', room.page(shown))) - {"back", "unit", "theme"}
        for value in ODD_WORDS[3::3]:
            for name in sorted(names):
                version = room_version(room, path)
                answer = room.browser.post(path, json={"version": version, "unit": "cm", "fields": {name: value}})
                assert answer.status_code < 500, (path, name, value[:40], answer.text)
            for seen in (shown, "/", "/orders"):
                assert room.browser.get(seen).status_code == 200, (seen, value[:40])


def room_version(room: Room, path: str) -> int:
    """The version that is kept now, as a conflict tells it."""
    message = {"version": 2**31, "unit": "cm", "fields": {}}
    return int(room.browser.post(path, json=message).json()["version"])


def test_no_odd_form_is_a_fault(room: Room) -> None:
    names = ("name", "title", "client", "fitting", "code", "unit", "theme", "back", "author", "cloth", "width", "layer")
    for path in routes_of(room, "POST"):
        if path.endswith("/erase"):
            continue
        for value in ODD_WORDS:
            answer = room.browser.post(filled(path, "1"), data=dict.fromkeys(names, value))
            assert answer.status_code < 500, (path, value[:40], answer.text[-300:])


@pytest.mark.parametrize("version", [2**63, 2**64, 10**30])
def test_a_version_beyond_64_bits_is_told(room: Room, version: int) -> None:
    answer = room.browser.post("/api/orders/1", json={"version": version, "unit": "cm", "fields": {"title": "x"}})
    assert answer.status_code == 422
    assert answer.json()["error"] == "The page sent something that cannot be read: load it again."


def test_half_a_letter_is_told(room: Room) -> None:
    body = json.dumps({"version": 1, "unit": "cm", "fields": {"note": "\ud800"}})
    answer = room.browser.post("/api/clients/1", content=body, headers={"content-type": "application/json"})
    assert answer.status_code == 422


def test_a_roll_is_named_in_plain_digits(room: Room) -> None:
    with pytest.raises(BadInput):
        paper_of("roll:９００")
