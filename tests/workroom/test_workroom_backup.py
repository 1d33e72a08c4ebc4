"""A backup that is asked for leaves nothing behind, however far it is fetched."""

from __future__ import annotations

import http.client
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from alteration_samples import Workroom, open_workroom, served
from workroom_samples import room_in

from coutil.record import PASSING, passing_folder

BROKEN_OFF = 12


@pytest.fixture
def workroom(tmp_path: Path) -> Workroom:
    made = open_workroom(tmp_path / "book")
    for i in range(60):
        made.order(f"Client {i}")
    return made


@pytest.fixture
def site(workroom: Workroom) -> Iterator[str]:
    with served(workroom.app) as url:
        yield url


def left(workroom: Workroom) -> list[str]:
    return [path.name for path in passing_folder(workroom.records).glob(f"{PASSING}*")]


def asked(site: str, method: str) -> tuple[http.client.HTTPConnection, http.client.HTTPResponse]:
    host, _, port = site.removeprefix("http://").partition(":")
    line = http.client.HTTPConnection(host, int(port), timeout=30)
    line.request(method, "/privacy/backup")
    return line, line.getresponse()


def test_downloads_that_are_broken_off_leave_nothing(site: str, workroom: Workroom) -> None:
    for i in range(BROKEN_OFF):
        line, answer = asked(site, "GET")
        assert answer.status == 200
        assert answer.read(1 + 1000 * (i % 3))
        assert left(workroom) == []
        line.close()
    assert left(workroom) == []


def test_a_whole_download_is_a_database(site: str, workroom: Workroom) -> None:
    line, answer = asked(site, "GET")
    data = answer.read()
    line.close()
    assert data.startswith(b"SQLite format 3\0")
    assert len(data) == int(answer.headers["content-length"])
    assert left(workroom) == []


def test_whoever_asks_for_the_head_alone_makes_no_copy(
    site: str, workroom: Workroom, monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[object] = []
    monkeypatch.setattr("coutil.workroom._privacy.backup_to", lambda *_: made.append(1))
    line, answer = asked(site, "HEAD")
    line.close()
    assert answer.status == 200
    assert answer.headers["content-disposition"].startswith("attachment")
    assert made == []


UPLOADS = (
    ("/bases", "drawing", "a.svg"),
    ("/privacy/restore", "backup", "b.db"),
    ("/fittings/1/photos", "photo", "c.png"),
)


@pytest.mark.parametrize(("path", "name", "file"), UPLOADS)
def test_an_upload_that_finds_no_room_is_told_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, path: str, name: str, file: str
) -> None:
    """Files of more than a megabyte go through the folder for passing files, which may be full or missing."""
    with room_in(tmp_path / "book") as room:
        monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "missing"))
        files = {name: (file, b"x" * 2_000_000, "application/octet-stream")}
        answer = room.browser.post(path, files=files, data={"sure": "yes"})
        assert answer.status_code == 422
        assert "make some room on the disk, and send it again" in answer.text
        assert "Contralto" in room.page("/clients")
