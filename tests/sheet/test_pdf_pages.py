"""The printed pattern, read back as a maker would: with a rule on the page, and by reading what stands there."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely.geometry import LinearRing, LineString, MultiLineString, Polygon
from sheet_samples import cup, panel, style

from coutil.alter import GirthOrder, Move, Plan, PlanRow, State
from coutil.check import Finding, Verdict
from coutil.curves import Curve
from coutil.errors import BadInput
from coutil.pattern import Edge, Role
from coutil.sheet import PrintOptions, print_pdf
from coutil.sheet._drawing import fitted, text_width
from coutil.sheet._map_page import TileMap
from coutil.sheet._paper import PAPERS, Paper
from coutil.sheet._pattern_sheet import PatternSheet, pattern_sheet
from helpers.pdf_reading import MM_PER_POINT, darkness, drawn_paths, pages, texts

CLIENT = "Zoë Šťastná · Σοφία Ψάλτη · Жуковская"
OPTIONS = PrintOptions(CLIENT, "2026-11-25", "7", cautions=("Take it off at once on pain.", "Wear it in slowly."))
BOW = Edge("side", Curve(np.array([(260, -120), (150, -20), (160, 160), (230, 260)], dtype=float)), Role.SIDE_SEAM)


def wide_panel(name: str, title: str):
    """A panel that no single tile carries, with one long curved seam."""
    hem = Edge("hem", Curve.line((0, -120), (260, -120)), Role.HEM)
    top = Edge("top", Curve.line((230, 260), (0, 260)), Role.TOP)
    left = Edge("left", Curve.line((0, 260), (0, -120)), Role.CENTRE)
    piece = panel(name, title)
    return replace(piece, edges=(hem, BOW, top, left), level_marks=(), notches=())


STYLE = style(wide_panel("front", "Centre front"), panel("back", "Panneau arrière"), cup("inner", "Inner cup"))


def row(i: int) -> PlanRow:
    where = (Move("front", "side", "waist", "sideways", 3.0),)
    title, reason = f"Waist, front {i}", "shared over the side"
    return PlanRow(
        f"waist_{i}", "curves", title, "waist_girth", 700.0, 712.0, 12.0, 3.0, 3.0, where, reason, State.OVERRULED
    )


PLAN = Plan(
    tuple(row(i) for i in range(70)),
    (GirthOrder("waist", 720.0, 0.0, 80.0, 50.0, 325.0, 265.0),),
    {},
    80.0,
    50.0,
    0.0,
    ("A warning of the plan.",),
)
LONG_ADVICE = "Lower the top line. " * 60
FINDINGS = (
    Finding("seam", "Side seam, total", 0.02, 0.5, "mm", Verdict.PASS, ("front",), "Sewn as it is."),
    Finding("slope", "Slope of a seam", 22.5, 20.0, "deg", Verdict.WARN, ("front", "back"), LONG_ADVICE),
)


@pytest.fixture(scope="module", params=["a4", "letter"])
def paper(request) -> Paper:
    return PAPERS[request.param]


@pytest.fixture(scope="module")
def content(paper: Paper) -> bytes:
    return print_pdf(STYLE, PLAN, FINDINGS, paper.name, OPTIONS)


@pytest.fixture(scope="module")
def sheet(paper: Paper) -> PatternSheet:
    return pattern_sheet(STYLE, paper, OPTIONS)


def tile_pages(content: bytes, sheet: PatternSheet):
    return list(zip(pages(content)[-len(sheet.printed) :], sheet.printed, strict=True))


def test_nothing_lies_outside_the_printable_area(content: bytes, paper: Paper) -> None:
    for page in pages(content):
        dark, (across, down) = darkness(page, 72)
        edge_x, edge_y = int(paper.margin * across), int(paper.margin * down)
        assert dark[edge_y + 1 : -edge_y - 1, edge_x + 1 : -edge_x - 1].any()
        dark[edge_y:-edge_y, edge_x:-edge_x] = 0
        assert not dark.any()


def drawn_shapes(sheet: PatternSheet) -> shapely.Geometry:
    return shapely.union_all([part.shape for part in sheet.parts])


def test_every_tile_page_holds_a_line_and_every_line_has_a_tile(sheet: PatternSheet) -> None:
    everything = left = drawn_shapes(sheet)
    for tile in sheet.printed:
        assert everything.intersects(shapely.box(*tile.box))
        left = left.difference(shapely.box(*tile.box))
    assert left.area < 1e-6


def test_tiles_that_hold_nothing_are_not_printed() -> None:
    # Two slanting strips leave corners of the sheet empty.
    strip = panel("strip", "Strip")
    corners = [(0, 0), (60, 0), (760, 900), (700, 900), (0, 0)]
    lines = [Curve.line(a, b) for a, b in pairwise(corners)]
    edges = tuple(replace(edge, curve=line) for edge, line in zip(strip.edges, lines, strict=True))
    slanting = style(replace(strip, edges=edges, level_marks=(), levels={}, notches=()))
    sheet = pattern_sheet(slanting, PAPERS["a4"], OPTIONS)
    empty = [tile for tile in sheet.tiles if not drawn_shapes(sheet).intersects(shapely.box(*tile.box))]
    assert empty
    assert not set(empty) & set(sheet.printed)
    content = print_pdf(slanting, None, (), "a4", OPTIONS)
    _, tile_map, *others = texts(content)
    assert "Grey tiles hold nothing" in tile_map
    for tile in empty:
        assert f"{tile.label}, p" not in tile_map
        assert not any(tile.label in words.split() for words in others)


def test_a_seam_joined_over_its_tiles_has_its_length(content: bytes, sheet: PatternSheet) -> None:
    joined, carried = MultiLineString(), 0
    for page, tile in tile_pages(content, sheet):
        found = [_flat(path) for path in drawn_paths(page) if _is_side_seam(path)]
        printable = shapely.box(*_printable(sheet.paper))
        shown = shapely.union_all([LineString(line) for line in found]).intersection(printable)
        carried += not shown.is_empty
        # Where this tile belongs by its name alone: a step for each column, a step for each row.
        step_x, step_y = sheet.paper.step
        place = np.array([tile.column * step_x, -tile.row * step_y])
        joined = joined.union(shapely.transform(shown, lambda points, by=place: points + by), grid_size=1e-4)
    assert carried >= 2
    # What two tiles show twice lies one upon the other, so that a strip of 0.01 mm holds it once.
    length = joined.buffer(0.005, cap_style="flat").area / 0.01
    assert length == pytest.approx(BOW.curve.length, abs=0.2)


def _is_side_seam(path: np.ndarray) -> bool:
    """One cubic with the handles of the sample's side seam."""
    wanted = np.diff(BOW.curve.points, axis=0)
    return path.shape == (4, 2) and bool(np.allclose(np.diff(path, axis=0), wanted, atol=0.01))


def _flat(path: np.ndarray) -> np.ndarray:
    return Curve(path).flatten(0.001)


def _printable(paper: Paper) -> tuple[float, float, float, float]:
    return paper.margin, paper.margin, paper.width - paper.margin, paper.height - paper.margin


def test_neighbours_show_the_same_on_the_strip_they_share(content: bytes, sheet: PatternSheet) -> None:
    by_place = {(tile.row, tile.column): page for page, tile in tile_pages(content, sheet)}
    (left_at, right_at) = next((p, (p[0], p[1] + 1)) for p in by_place if (p[0], p[1] + 1) in by_place)
    left, right = _lines(by_place[left_at]), _lines(by_place[right_at])
    step = np.array([sheet.paper.step[0], 0])
    joint = sheet.paper.margin + sheet.paper.overlap / 2
    crosses_left = {tuple(p.mean(axis=0).round(2)) for p in left if _is_cross_arm(p)}
    crosses_right = {tuple((p.mean(axis=0) + step).round(2)) for p in right if _is_cross_arm(p)}
    shared = {cross for cross in crosses_left & crosses_right if abs(cross[0] - joint - step[0]) < 0.02}
    assert len(shared) == 3


def _lines(page) -> list[np.ndarray]:
    return [path for path in drawn_paths(page) if len(path) == 2]


def _is_cross_arm(path: np.ndarray) -> bool:
    return bool(abs(np.abs(path[1] - path[0]).sum() - 5.0) < 0.01 and np.abs(path[1] - path[0]).min() < 0.001)


def test_tile_pages_bear_name_place_and_page(content: bytes, sheet: PatternSheet) -> None:
    every = texts(content)
    for words, tile in zip(every[-len(sheet.printed) :], sheet.printed, strict=True):
        assert tile.label in words.split()
        assert f"page {every.index(words) + 1} of {len(every)}" in words


def test_neighbours_are_named_at_the_joints(content: bytes, sheet: PatternSheet) -> None:
    printed = {(tile.row, tile.column): tile.label for tile in sheet.printed}
    for words, tile in zip(texts(content)[-len(printed) :], sheet.printed, strict=True):
        for step, word in (((0, -1), "trim, lay on"), ((-1, 0), "trim, lay on"), ((0, 1), "under"), ((1, 0), "under")):
            neighbour = printed.get((tile.row + step[0], tile.column + step[1]))
            assert neighbour is None or f"{word} {neighbour}" in words


def test_labels_are_read_back_with_accents_greek_and_cyrillic(content: bytes) -> None:
    first, *others = texts(content)
    assert CLIENT in first
    tiles = " ".join(others)
    for words in ("Centre front", "Panneau arrière", "cut 2 × outer, mirrored", "grain along the arrow", "Жуковская"):
        assert words in tiles


def test_the_first_page_tells_how_to_test_join_and_wear(content: bytes, sheet: PatternSheet) -> None:
    words = texts(content)[0]
    assert "Print this page first, at 100 per cent (actual size), never fitted to the page." in words
    assert "More than 0.2 mm off on 100 mm" in words
    assert f"{len(texts(content))} pages" in words
    assert f"stand {sheet.paper.step[0]:g} mm apart across and {sheet.paper.step[1]:g} mm down" in words
    assert all(caution in words for caution in OPTIONS.cautions)


def test_the_map_names_the_page_of_every_tile(content: bytes, sheet: PatternSheet) -> None:
    words = texts(content)[1]
    first = len(texts(content)) - len(sheet.printed) + 1
    assert all(f"{tile.label}, p {first + i}" in words for i, tile in enumerate(sheet.printed))


def test_no_line_of_the_map_runs_through_a_tiles_label(sheet: PatternSheet) -> None:
    """Neither a piece's outline nor a test line, which are as long as two tiles."""
    small = TileMap(sheet, {tile: i for i, tile in enumerate(sheet.printed)}, (10.0, 280.0), 0.18)
    outlines = [LinearRing(small._on_page(part.outline)) for part in sheet.parts]
    lines = shapely.union_all(outlines)
    labels = [Polygon(small._label_room(tile, small._label_at(tile, lines))) for tile in sheet.printed]
    assert not any(label.intersects(lines) for label in labels)
    upper_left = [Polygon(small._label_room(tile, small._label_at(tile, Polygon()))) for tile in sheet.printed]
    assert any(label.intersects(lines) for label in upper_left)


def test_chart_and_checks_are_printed_whole_with_heads_on_every_page(content: bytes, sheet: PatternSheet) -> None:
    reports = texts(content)[2 : -len(sheet.printed)]
    words = " ".join(reports)
    assert all(f"Waist, front {i} " in words for i in range(70))
    assert "70.0 (35.0)" in words
    assert "+1.2 (+0.6)" in words
    assert "overruled" in words
    assert "A warning of the plan." in words
    assert words.count("Lower the top line.") == 60
    with_rows = [report for report in reports if "Waist, front" in report]
    assert len(with_rows) > 1
    heads = "measurement base, cm client, cm difference, cm others, mm this row, mm where it goes"
    assert all(heads in report for report in with_rows)


def test_a_cell_higher_than_a_page_is_broken_not_cut_off() -> None:
    advice = "Lower the top line. " * 900
    finding = replace(FINDINGS[1], advice=advice)
    content = print_pdf(STYLE, None, [finding], "a4")
    assert " ".join(texts(content)).count("Lower") == 900


def test_markup_in_words_is_shown_and_not_obeyed() -> None:
    finding = replace(FINDINGS[0], advice="keep <b>a < b</b> & c")
    assert "eep <b>a < b</b> & c" in " ".join(texts(print_pdf(STYLE, None, [finding])))


def test_inches_are_printed_as_fractions() -> None:
    words = " ".join(texts(print_pdf(STYLE, PLAN, (), "letter", replace(OPTIONS, unit="in"))))
    # 700 mm = 27.559 in, to the nearest sixteenth 27 9/16; half of it, 13.780, to a thirty-second 13 25/32.
    assert "27 9/16 (13 25/32)" in words


def test_the_same_pattern_gives_the_same_file(content: bytes, paper: Paper) -> None:
    assert print_pdf(STYLE, PLAN, FINDINGS, paper.name, OPTIONS) == content


def test_a_pattern_is_printed_without_plan_and_findings() -> None:
    words = " ".join(texts(print_pdf(STYLE)))
    assert "Alteration chart" not in words
    assert "Checks" not in words
    assert "Cautions" not in words


def test_unknown_paper_is_refused_in_one_sentence() -> None:
    with pytest.raises(BadInput, match="There is no paper 'b5'"):
        print_pdf(STYLE, PLAN, FINDINGS, "b5")


def test_a_long_name_leaves_room_for_the_pages_number() -> None:
    """Eighty letters in three scripts: the foot ends before the number, and still tells revision and date."""
    name = "Жозефина-Александра фон Ваген · Κασσιόπη Αργυροπούλου · Šárka Ó Dálaigh-Ångström"
    assert len(name) == 80
    content = print_pdf(STYLE, None, (), "a4", replace(OPTIONS, reference=name))
    text = pages(content)[1].get_textpage()
    boxes = [text.get_charbox(i) for i in range(text.count_chars())]
    foot = sorted(box for box in boxes if 0.0 < box[1] < 15.0 / MM_PER_POINT and box[2] > box[0])
    assert len(foot) > 80
    assert min(right[0] - left[2] for left, right in pairwise(foot)) > -1.0
    words = texts(content)[1]
    assert "revision 7 · 2026-11-25" in words
    assert "Жозефина" in words


@pytest.mark.parametrize("width", [300.0, 60.0, 25.0])
def test_words_are_fitted_into_their_room(width: float) -> None:
    words, height = fitted("Panelled overbust · revision 7 · 2026-11-25", 2.0, width, 1.5)
    assert text_width(words, height) <= width + 1e-6
    assert (words[0], words[-1]) == ("P", "5")
    assert ("…" in words) == (width < 60)
    assert 1.5 <= height <= 2.0
