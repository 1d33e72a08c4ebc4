"""A maker's own base from a file or a drawing, and its marks put right on the page."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from workroom_samples import Room, room_in

from coutil.errors import BadInput
from coutil.pattern import Role, Style, style_to_json
from coutil.record import find_base, find_own_base, list_bases
from coutil.shipped import shipped_base
from coutil.workroom._marking import EdgeWish, SeamWish, marks_text, with_corner, with_edges, with_seams
from coutil.workroom._pattern_svg import pattern_shape

DRAWING = Path(__file__).parents[2] / "docs" / "waist-cincher.svg"


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    with room_in(tmp_path) as opened:
        yield opened


def bring(room: Room, name: str, data: bytes, **form: str) -> str:
    """Uploads a pattern; the page it leads to."""
    answer = room.browser.post("/bases", files={"pattern": (name, data, "application/octet-stream")}, data=form)
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def style_of(room: Room) -> Style:
    return find_base(room.records, "own-1")


def test_a_style_file_becomes_a_base(room: Room) -> None:
    assert bring(room, "base.json", style_to_json(shipped_base("80-18")).encode()) == "/bases/own-1"
    assert style_of(room) == shipped_base("80-18")
    assert room.browser.get("/bases/own-1/style.json").text == style_to_json(shipped_base("80-18"))
    assert room.browser.get("/bases/own-1/marks").status_code == 422


def test_a_drawing_becomes_a_base_whose_proposal_is_shown(room: Room) -> None:
    assert bring(room, "cincher.svg", DRAWING.read_bytes(), title="My cincher") == "/bases/own-1/marks"
    assert [piece.name for piece in style_of(room).pieces] == ["centre_front", "side_front", "side_back", "centre_back"]
    page = room.page("/bases/own-1/marks")
    assert "My cincher" in page
    assert "No piece is named left and another right." in page
    assert page.count('class="edge ') == 16


def save_marks(room: Room, fields: Mapping[str, str], version: int = 1) -> tuple[int, Any]:
    return room.save("/api/bases/1/marks", version, fields)


def test_an_edge_gets_another_name_and_every_seam_follows(room: Room) -> None:
    bring(room, "cincher.svg", DRAWING.read_bytes())
    status, told = save_marks(room, {"name.centre_front.panel_seam": "front seam", "title.centre_front": "Mid front"})
    assert status == 200, told
    style = style_of(room)
    assert "front_seam" in [edge.name for edge in style.piece("centre_front").edges]
    assert style.piece("centre_front").title == "Mid front"
    assert [seam.a[0].edge for seam in style.seams if seam.a[0].piece == "centre_front"] == ["front_seam"]
    assert told["version"] == 2
    assert save_marks(room, {"title": "late"}, version=1)[0] == 409


def test_a_level_and_a_seam_are_put_right(room: Room) -> None:
    bring(room, "cincher.svg", DRAWING.read_bytes())
    seams = style_of(room).seams
    fields = {"seam.count": "2"}
    for i, seam in enumerate(seams[:2]):
        fields |= {f"seam.{i}.name": seam.name, f"seam.{i}.ease": "0,2",
                   f"seam.{i}.a": f"{seam.a[0].piece}.{seam.a[0].edge}",
                   f"seam.{i}.b": f"{seam.b[0].piece}.{seam.b[0].edge} backward"}  # fmt: skip
    status, told = save_marks(room, fields)
    assert status == 200, told
    assert [(seam.name, seam.ease) for seam in style_of(room).seams] == [(seam.name, 2.0) for seam in seams[:2]]


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"name.centre_front.hem": "Über!"}, "named in small letters"),
        ({"name.centre_front.hem": "top"}, "Two edges of centre_front would be called top"),
        ({"role.centre_front.hem": "sleeve"}, "An edge is panel seam"),
        ({"seam.count": "1", "seam.0.name": "s", "seam.0.a": "centre_front", "seam.0.b": "a.b"}, "written like"),
        ({"seam.count": "1", "seam.0.name": "s", "seam.0.a": "centre_front.none", "seam.0.b": "a.b"}, "no"),
        ({"text": "title = "}, "is not TOML"),
    ],
)
def test_marks_that_cannot_be_are_told_and_change_nothing(room: Room, fields: dict[str, str], sentence: str) -> None:
    bring(room, "cincher.svg", DRAWING.read_bytes())
    before = find_own_base(room.records, 1)
    status, told = save_marks(room, fields)
    assert status == 422
    assert sentence in told["error"]
    assert find_own_base(room.records, 1) == before


def test_a_corner_is_moved_along_the_outline(room: Room) -> None:
    """The hem of the centre front begins at (0, -80); pointed at (8, -80) its corner lies there."""
    bring(room, "cincher.svg", DRAWING.read_bytes())
    message = {"version": 1, "unit": "cm", "piece": "side_front", "edge": "top", "x": 88.0, "y": 90.0}
    answer = room.browser.post("/api/bases/1/corner", json=message)
    assert answer.status_code == 200, answer.text
    top = style_of(room).piece("side_front").edge("top")
    marks = tomllib.loads(find_own_base(room.records, 1).marks_text)
    assert marks["pieces"]["side_front"]["edges"]["top"]["from"] == pytest.approx([88.0, 90.0], abs=0.6)
    ends = np.ptp(top.curve.points[:, 0])
    assert ends == pytest.approx(84.0, abs=1.0)
    for wrong in ({"x": 1e9}, {"edge": "none"}, {"x": "1"}):
        answer = room.browser.post("/api/bases/1/corner", json={**message, "version": 2, **wrong})
        assert answer.status_code == 422


def test_a_base_leaves_the_list_unless_an_order_names_it(room: Room) -> None:
    bring(room, "base.json", style_to_json(shipped_base("80-18")).encode())
    room.save("/api/orders/1", 1, {"base": "own-1"})
    answer = room.browser.post("/bases/own-1/remove")
    assert answer.status_code == 422
    assert "the base of one order" in answer.text
    room.save("/api/orders/1", 2, {"base": "80-18"})
    assert room.browser.post("/bases/own-1/remove").status_code == 303
    assert not any(base.own for base in list_bases(room.records))


@pytest.mark.parametrize(
    ("name", "data"),
    [("a.json", b"{}"), ("a.svg", b"<svg"), ("a.dxf", b"0"), ("a.pdf", b"%PDF"), ("none", b""), ("a.json", b"\xff")],
)
def test_what_is_no_pattern_is_told_on_the_page(room: Room, name: str, data: bytes) -> None:
    answer = room.browser.post("/bases", files={"pattern": (name, data, "application/octet-stream")})
    assert answer.status_code == 422
    assert "Bring a pattern" in answer.text
    assert not any(base.own for base in list_bases(room.records))


NAMES = st.from_regex(r"[a-z][a-z0-9_]{0,8}", fullmatch=True)
VALUES = st.recursive(
    st.booleans() | st.integers(-(10**6), 10**6) | st.floats(-1e6, 1e6) | st.text(max_size=9),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=12,
)


@given(st.dictionaries(NAMES, VALUES, max_size=4))
@settings(max_examples=40, deadline=None)
def test_marks_written_are_read_back(marks: dict[str, Any]) -> None:
    assert tomllib.loads(marks_text(marks)) == marks


def test_renaming_touches_every_mention_and_nothing_else() -> None:
    marks = {
        "pieces": {"front": {"edges": {"old": {"role": "hem", "straight": False}}}, "back": {"edges": {"old": {}}}},
        "seams": {"s": {"a": ["front.old backward"], "b": ["back.old"]}},
        "sharing": {"reduction": [{"piece": "front", "edge": "old", "weight": 1.0}], "front": [["front", "old"]]},
        "title": "front.oldest",
    }
    made = with_edges(marks, [EdgeWish("front", "old", "new", "hem", True)])
    assert list(made["pieces"]["front"]["edges"]) == ["new"]
    assert list(made["pieces"]["back"]["edges"]) == ["old"]
    assert made["seams"]["s"] == {"a": ["front.new backward"], "b": ["back.old"]}
    assert made["sharing"] == {
        "reduction": [{"piece": "front", "edge": "new", "weight": 1.0}], "front": [["front", "new"]],
    }  # fmt: skip
    assert made["title"] == "front.oldest"


def test_faulty_marks_are_refused() -> None:
    with pytest.raises(BadInput, match="name of its own"):
        with_seams({}, [SeamWish("s", "a.b", "c.d", 0), SeamWish("s", "a.b", "c.d", 0)])
    with pytest.raises(BadInput, match="Both sides"):
        with_seams({}, [SeamWish("s", "", "c.d", 0)])
    with pytest.raises(BadInput, match="not on the drawing"):
        with_corner({}, "front", "hem", (float("nan"), 0))


def test_a_drawing_shows_every_piece_beside_the_next() -> None:
    style = shipped_base("80-18")
    shape = pattern_shape(style)
    assert [piece.name for piece in shape.pieces] == [piece.name for piece in style.pieces]
    for piece, drawn in zip(style.pieces, shape.pieces, strict=True):
        assert [edge.name for edge in drawn.edges] == [edge.name for edge in piece.edges]
        assert {edge.role for edge in drawn.edges} <= set(Role)
        start = piece.edges[0].curve.points[0]
        expected = (drawn.shift[0] + start[0], drawn.shift[1] - start[1])
        assert drawn.edges[0].corner == pytest.approx(expected, abs=0.01)
    lefts = [min(edge.corner[0] for edge in piece.edges) for piece in shape.pieces]
    assert lefts == sorted(lefts)
    assert all(0 < edge.corner[1] < shape.height for piece in shape.pieces for edge in piece.edges)
