"""Drawings that lie upside down, count downwards, hold both halves or lie in rows: settled, or they fail the checks."""

from __future__ import annotations

from dataclasses import replace

import ezdxf
import pytest
from drawing_samples import LEVELS, cincher, dxf_text, outlines, strokes, svg

from coutil.check import Verdict, check_style
from coutil.drawing import Imported, import_drawing
from coutil.pattern import Level, Style
from helpers.whole import whole_style

NAMES = ("centre_front", "side_front", "side_back", "centre_back")
WAIST = 657.8  # The documented cincher's, laced, mm: measured off the documented drawing itself.
TURNED = "The drawing lay upside down: it was turned the right way up."
MIRRORED = "The drawing counts downwards: it was mirrored, so that up is up."


def fails(style: Style) -> list[str]:
    return [finding.code for finding in check_style(style) if finding.verdict is Verdict.FAIL]


def row(style: Style, pieces: list[str], names: list[str]) -> str:
    """The named pieces side by side in straight strokes, the levels over all of them; a unit is a millimetre."""
    body, x = [], 0.0
    for name, called in zip(pieces, names, strict=True):
        points = strokes([edge.curve for edge in style.piece(name).edges], 0.02)
        points = points - [points[:, 0].min() - x, 0.0]
        path = " L".join(f"{a:.4f} {200 - b:.4f}" for a, b in points)
        body.append(f'<path id="{called}" d="M{path} Z"/>')
        x = points[:, 0].max() + 30.0
    body += [
        f'<line id="level {name}" x1="-5" x2="{x}" y1="{200 - at}" y2="{200 - at}"/>' for name, at in LEVELS.items()
    ]
    return "".join(body)


def sheet(body: str) -> bytes:
    return svg(body, 'width="1500mm" height="900mm" viewBox="-100 0 1500 900"')


def read(body: str, **options: object) -> Imported:
    return import_drawing(sheet(body), ".svg", "cincher", **options)  # type: ignore[arg-type]


def unnamed(count: int) -> list[str]:
    return [f"path{k}" for k in range(count)]


def assert_the_cincher(found: Imported) -> None:
    """The documented waist, three seams, no failed check."""
    style = found.style
    assert style.base_chart["waist_girth"] == pytest.approx(WAIST, abs=0.3)
    assert [level.name for level in sorted(style.levels, key=lambda level: level.depth or 0)] == list(LEVELS)
    assert len(style.seams) == 3
    assert [piece.part for piece in style.pieces] == ["front", "front", "back", "back"]
    assert fails(style) == []


def drawn_in_blocks(*, turned: bool, texts: bool) -> bytes:
    """A block a piece, inserted at 0 or 180 degrees, as a plotting program writes them."""
    document = ezdxf.new()
    document.units = 4
    for name, curves in outlines(cincher().style).items():
        block = document.blocks.new(name)
        points = strokes(curves, 0.02)
        block.add_lwpolyline(points.tolist(), close=True, dxfattribs={"layer": "14"})
        for level, at in LEVELS.items():
            left, right = points[:, 0].min() - 3, points[:, 0].max() + 3
            block.add_line((left, 100 + at), (right, 100 + at), dxfattribs={"layer": "8"})
            if texts:
                said = {"layer": "15", "height": 5, "insert": (left + 20, 101 + at)}
                block.add_text(level, dxfattribs=said)
        document.modelspace().add_blockref(name, (0, 0), dxfattribs={"rotation": 180 if turned else 0})
    return dxf_text(document)


@pytest.mark.parametrize("texts", [True, False])
@pytest.mark.parametrize("turned", [True, False])
def test_a_block_inserted_at_180_degrees_is_turned(turned: bool, texts: bool) -> None:
    found = import_drawing(drawn_in_blocks(turned=turned, texts=texts), ".dxf", "cincher")
    assert_the_cincher(found)
    assert (TURNED in found.remarks) is turned


@pytest.mark.parametrize("scale", [1.0, 10.0])
def test_a_drawing_that_counts_downwards_is_mirrored(scale: float) -> None:
    body = row(cincher().style, list(NAMES), list(NAMES))
    found = read(f'<g transform="scale({1 / scale}) translate(0,400) scale(1,-1)">{body}</g>', scale=scale)
    assert_the_cincher(found)
    assert MIRRORED in found.remarks


def test_a_turned_drawing_comes_back_by_its_marks_file() -> None:
    drawing = drawn_in_blocks(turned=True, texts=True)
    first = import_drawing(drawing, ".dxf", "cincher")
    again = import_drawing(drawing, ".dxf", "cincher", first.marks_text)
    assert_the_cincher(again)


@pytest.mark.parametrize("order", ["right then left", "left then right"])
def test_of_both_halves_without_names_one_is_kept(order: str) -> None:
    """The waist is 65.8 cm, not twice as much."""
    whole = whole_style(cincher().style)
    left, right = ([f"{name}_{side}" for name in NAMES] for side in ("left", "right"))
    found = read(row(whole, right[::-1] + left if order == "right then left" else left + right, unnamed(8)))
    assert_the_cincher(found)
    assert any(remark.startswith("Both halves were drawn") for remark in found.remarks)


@pytest.mark.parametrize("order", [(0, 1, 2, 3), (3, 2, 1, 0), (1, 0, 3, 2)], ids=str)
def test_the_trade_s_letters_tell_the_panels(order: tuple[int, ...]) -> None:
    letters = ("CF", "SF", "SB", "CB")
    found = read(row(cincher().style, [NAMES[k] for k in order], [letters[k] for k in order]))
    assert_the_cincher(found)
    assert [piece.title for piece in found.style.pieces] == ["Centre front", "Side front", "Side back", "Centre back"]


def test_pieces_in_two_rows_are_taken_row_by_row() -> None:
    style = cincher().style
    above, below = (row(style, list(names), unnamed(2)) for names in (NAMES[:2], NAMES[2:]))
    assert_the_cincher(read(f'{above}<g transform="translate(0,300)">{below}</g>'))


# --- what no drawing may leave behind ----------------------------------------------------------------------


def test_an_edge_without_a_mate_fails() -> None:
    style = cincher().style
    assert fails(replace(style, seams=style.seams[1:])).count("unsewn") == 1


@pytest.mark.parametrize(("name", "depth"), [("underbust", 80.0), ("underbust", 0.0), ("high_hip", -10.0)])
def test_levels_out_of_their_order_fail(name: str, depth: float) -> None:
    style = cincher().style
    levels = tuple(Level(name, depth, name) if level.name == name else level for level in style.levels)
    assert "level_order" in fails(replace(style, levels=levels))


@pytest.mark.parametrize(("off", "is_found"), [(0.9, False), (1.1, True)])
def test_a_level_at_another_height_on_one_panel_fails(off: float, is_found: bool) -> None:
    style = cincher().style
    piece = style.piece("side_back")
    moved = replace(piece, levels={**piece.levels, "high_hip": piece.levels["high_hip"] + off})
    assert ("levels_agree" in fails(style.with_pieces({"side_back": moved}))) is is_found


@pytest.mark.parametrize(("factor", "is_found"), [(0.5, True), (0.75, False), (2.5, False), (3.5, True)])
def test_a_girth_that_nobody_has_fails(factor: float, is_found: bool) -> None:
    """By hand: the waist of 60.8 and a gap of 5 is 35.4 cm at a half and 50.6 at three quarters, with 40 the least.

    The high hip of 72.4 and a gap of 5 is 186 cm at 2.5 times and 258 at 3.5, with 220 the most.
    """
    style = cincher().style
    wider = {
        piece.name: piece.with_curves(
            {edge.name: edge.curve.transformed(((factor, 0.0), (0.0, 1.0))) for edge in piece.edges}
        )
        for piece in style.pieces
    }
    assert ("human" in fails(style.with_pieces(wider))) is is_found


def test_mirror_pairs_in_a_half_fail() -> None:
    whole = whole_style(cincher().style)
    assert "halves" in fails(replace(whole, half=True))
    assert "halves" not in fails(whole)


def test_a_front_that_mirrors_its_back_is_a_true_half() -> None:
    """Two panels of which one is the other's mirror image, under 45 cm at the waist together: they are half of one."""
    whole = whole_style(cincher().style)
    both = tuple(piece for piece in whole.pieces if piece.name.startswith("side_front"))
    half = replace(whole, half=True, pieces=both, seams=())
    assert "halves" not in fails(half)
