"""Every structural fault is planted in a sound style and asked for back by name."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coutil.curves import Curve
from coutil.pattern import (
    CutFrom,
    EdgeRef,
    EdgeShare,
    KnotRef,
    Landmark,
    Level,
    LevelMark,
    Match,
    Notch,
    PointRef,
    Role,
    Style,
    find_faults,
)
from coutil.pattern._sharing import CupRule
from helpers.file_samples import line, sample_style, with_edge, with_piece, with_seam


def only(style: Style) -> str:
    """The single fault of the style."""
    (fault,) = find_faults(style)
    return fault


def test_a_sound_style_has_no_fault() -> None:
    assert find_faults(sample_style()) == ()


# Outlines


def test_an_open_loop_names_the_gap_and_both_edges() -> None:
    # The hem ends 3 right and 4 above the corner (100, -60): a gap of 5.
    style = with_edge("front", "hem", curve=line((0, -60), (103, -56)))
    assert only(style) == (
        "piece front: the outline is open by 5.00 mm between the end of edge hem and the start of edge side"
    )


def test_a_gap_of_a_hundredth_is_closed_and_of_three_is_open() -> None:
    assert not find_faults(with_edge("front", "hem", curve=line((0, -60), (100.005, -60))))
    assert "open by 0.03 mm" in only(with_edge("front", "hem", curve=line((0, -60), (100.03, -60))))


def test_a_clockwise_outline_is_found() -> None:
    def mirrored(piece):
        edges = tuple(replace(e, curve=e.curve.transformed(((-1, 0), (0, 1)))) for e in piece.edges)
        return replace(piece, edges=edges)

    assert "piece back: its edges run clockwise" in only(with_piece("back", mirrored))


def test_a_self_crossing_outline_is_found_with_its_place() -> None:
    # The hem rises three quarters of its handles' 200, from -60 to 90, and stays below the top at 100 ...
    low = Curve([(0, -60), (0, 140), (100, 140), (100, -60)])
    assert find_faults(with_edge("front", "hem", curve=low)) == ()
    # ... and with handles 400 long it reaches -60 + 0.75 * 400 = 240, through the top.
    high = Curve([(0, -60), (0, 340), (100, 340), (100, -60)])
    assert "piece front: its outline crosses itself near" in only(with_edge("front", "hem", curve=high))


def test_a_piece_without_edges() -> None:
    faults = find_faults(with_piece("yoke", lambda p: replace(p, edges=(), landmarks=(), notches=())))
    assert any("names edge seam of piece yoke" in fault for fault in faults)


def test_a_style_without_pieces() -> None:
    assert "it has no pieces" in find_faults(replace(sample_style(), pieces=()))


# Sizes and numbers


def test_absurd_sizes() -> None:
    far = with_edge("front", "hem", curve=Curve([(0, -60), (0, -6000), (100, -6000), (100, -60)]))
    assert "edge hem reaches 6000 mm" in find_faults(far)[0]

    def shrunk(piece):
        edges = tuple(replace(e, curve=e.curve.transformed(((0.04, 0), (0, 0.04)))) for e in piece.edges)
        return replace(piece, edges=edges, levels={}, level_marks=())

    # 100 x 160 mm at one twenty-fifth is 4.0 x 6.4: narrower than 5.
    assert "only 4.0 mm wide and 6.4 mm high" in only(with_piece("front", shrunk))


def test_an_edge_shorter_than_half_a_millimetre() -> None:
    def pinched(piece):
        hem, side, top, centre = piece.edges
        short = replace(hem, name="stub", curve=line((99.6, -60), (100, -60)))
        return replace(piece, edges=(replace(hem, curve=line((0, -60), (99.6, -60))), short, side, top, centre))

    assert "edge stub is 0.40 mm long" in only(with_piece("front", pinched))


@given(st.sampled_from([math.nan, math.inf, -math.inf, 5001.0, -1e300]))
def test_numbers_no_pattern_can_have(number: float) -> None:
    style = with_piece("back", lambda p: replace(p, levels={"waist": number}))
    assert only(style).startswith("pieces back levels waist is ")
    assert find_faults(with_seam("side", ease=number))[0].startswith("seams side ease is ")


def test_too_many_knots() -> None:
    # 160 mm of side in 10,000 spans: with the other edges' knots it is over the limit.
    fractions = [i / 10_000 for i in range(1, 10_000)]
    many = with_edge("front", "side", curve=line((100, -60), (100, 100), *fractions))
    assert "knots, and at most 10000 can be worked with" in find_faults(many)[0]


# Edges


def test_a_kink_inside_an_edge_beyond_two_degrees() -> None:
    def bent(degrees: float) -> Style:
        rise = 50 * math.tan(math.radians(degrees / 2))
        first, second = line((0, -60), (50, -60 - rise)), line((50, -60 - rise), (100, -60))
        return with_edge("front", "hem", curve=Curve([*first.points, *second.points[1:]]))

    assert find_faults(bent(1.9)) == ()
    assert "edge hem turns 2.1 degrees at knot 1" in only(bent(2.1))


def test_a_kink_behind_a_handle_without_length_is_seen() -> None:
    # The handle before the knot has no length, so the direction comes from the control point before it.
    curve = Curve([(0, -60), (20, -60), (50, -60), (50, -60), (50, -70), (100, -70), (100, -60)])
    assert "turns 90.0 degrees" in only(with_edge("front", "hem", curve=curve))


def test_a_curve_that_turns_back_is_a_kink_of_180_degrees() -> None:
    curve = Curve([(0, -60), (30, -60), (50, -60), (60, -60), (55, -60), (80, -62), (100, -60)])
    assert "turns 180.0 degrees at knot 1" in find_faults(with_edge("front", "hem", curve=curve))[0]


def test_a_straight_edge_must_be_straight() -> None:
    bow = Curve([(0, 40), (0.2, 30), (0.2, 10), (0, 0)])  # A bow of 0.75 * 0.2 = 0.15.
    faults = find_faults(with_edge("yoke", "centre", curve=bow))
    assert "piece yoke: edge centre is declared straight, but strays more than 0.1 mm from its chord" in faults


@pytest.mark.parametrize(("piece", "edge", "role"), [("yoke", "centre", "centre"), ("back", "closure", "closure")])
def test_centre_and_closure_stand_upright(piece: str, edge: str, role: str) -> None:
    old = sample_style().piece(piece).edge(edge).curve
    leaning = old.points.copy()
    leaning[:, 0] += 0.25 * (leaning[:, 1] - leaning[0, 1]) / (leaning[-1, 1] - leaning[0, 1])
    faults = find_faults(with_edge(piece, edge, curve=Curve(leaning)))
    assert f"piece {piece}: edge {edge} is a {role} line, but strays 0.25 mm from the upright" in faults


def test_an_allowance_below_nothing() -> None:
    assert "allowance of -1 mm" in only(with_edge("front", "hem", allowance=-1.0))


# Names


def test_double_names() -> None:
    style = sample_style()
    assert "2 pieces are called front" in find_faults(with_piece("back", lambda p: replace(p, name="front")))[0]
    assert "2 edges in piece front are called top" in find_faults(with_edge("front", "hem", name="top"))[0]
    assert "2 seams are called side" in find_faults(with_seam("yoke seam", name="side"))[0]
    assert "2 levels are called waist" in only(replace(style, levels=(*style.levels, style.levels[0])))
    assert "2 layers are called outer" in only(replace(style, layers=(*style.layers, style.layers[0])))


@pytest.mark.parametrize("name", ["", "  ", "a" * 81, "two\nlines", "bell\x07"])
def test_names_that_cannot_be_printed(name: str) -> None:
    assert "name" in only(replace(sample_style(), name=name))


# References


def test_a_seam_to_a_missing_piece_or_edge() -> None:
    assert only(with_seam("side", a=(EdgeRef("gore", "side"),), matches=())) == (
        "seam side names piece gore, which is not there"
    )
    assert only(with_seam("side", a=(EdgeRef("front", "slit"),), matches=())) == (
        "seam side names edge slit of piece front, which is not there"
    )


def test_a_seam_with_one_side_only() -> None:
    assert "nothing to sew on side B" in only(with_seam("side", b=(), matches=()))


def test_a_match_at_a_knot_or_edge_that_is_not_there() -> None:
    def matched(b: PointRef) -> Style:
        return with_seam("side", matches=(Match("waist", PointRef("front", "side", 1), b),))

    assert only(matched(PointRef("back", "side", 3))) == (
        "seam side: match waist names knot 3 of edge side of piece back, which has knots 0 to 2"
    )
    assert "knot -1 of edge side" in only(matched(PointRef("back", "side", -1)))
    assert "edge hem of piece back, which is not on side B" in only(matched(PointRef("back", "hem", 0)))


def test_marks_that_name_what_is_not_there() -> None:
    mark = LevelMark("waist", KnotRef("hem", 2))
    assert "knot 2 of edge hem" in only(with_piece("front", lambda p: replace(p, level_marks=(mark,))))
    lost = LevelMark("hip", KnotRef("hem", 0))
    assert "names level hip" in only(with_piece("front", lambda p: replace(p, level_marks=(lost,))))
    assert "its level hip is not among" in only(
        with_piece("front", lambda p: replace(p, levels={**p.levels, "hip": 1}))
    )
    peak = Landmark("peak", KnotRef("ridge", 0))
    assert "landmark peak names edge ridge" in only(with_piece("front", lambda p: replace(p, landmarks=(peak,))))
    notch = Notch("n", "ridge", 1.0)
    assert "notch n names edge ridge" in only(with_piece("front", lambda p: replace(p, notches=(notch,))))
    felt = CutFrom("felt", 1, False)
    assert "cut from layer felt" in only(with_piece("front", lambda p: replace(p, cut=(felt,))))


def test_sharing_rules_that_name_what_is_not_there() -> None:
    style = sample_style()
    rules = style.sharing
    share = EdgeShare("front", "dart", 1.0)
    for changed, words in (
        (replace(rules, reduction=(share,)), "the sharing rule for reduction names edge dart"),
        (replace(rules, curves={"front": (share,)}), "the sharing rule for front curves names edge dart"),
        (replace(rules, surplus=(share,)), "the sharing rule for bust surplus names edge dart"),
        (replace(rules, centre=replace(rules.centre, edges=(("gore", "x"),))), "for centre names piece gore"),
        (replace(rules, side=replace(rules.side, back=(("back", "x"),))), "for side names edge x"),
        (replace(rules, length=replace(rules.length, above="ribs")), "for length names level ribs"),
    ):
        assert words in only(replace(style, sharing=changed))
    cup = CupRule("front", "back", "side", "cradle", "centre", "top", "top")
    faults = find_faults(replace(style, sharing=replace(rules, cup=cup)))
    assert "the sharing rule for the cup names edge cradle of piece front, which is not there" in faults
    fit = replace(style.base_fit, ease={"ribs": 1.0})
    assert "ease at level ribs" in only(replace(style, base_fit=fit))


# Levels and notches


def test_a_level_outside_its_piece() -> None:
    # The front reaches from -60 to 100, and 5 mm of grace.
    assert find_faults(with_piece("front", lambda p: replace(p, levels={**p.levels, "underbust": 104.9}))) == ()
    style = with_piece("front", lambda p: replace(p, levels={**p.levels, "underbust": 105.1}))
    assert "level underbust at 105.1 mm lies outside" in only(style)


def test_a_level_mark_off_its_level() -> None:
    mark = LevelMark("waist", KnotRef("side", 0))
    style = with_piece("front", lambda p: replace(p, level_marks=(mark,)))
    assert only(style) == ("piece front: the mark of level waist at knot 0 of edge side lies 60.0 mm below its level")


def test_notches_beyond_their_edge_or_without_strokes() -> None:
    def notched(along: float, count: int) -> Style:
        return with_piece("front", lambda p: replace(p, notches=(Notch("n", "hem", along, count),)))

    assert find_faults(notched(100.0, 1)) == ()
    assert "100.5 mm along edge hem, which is 100.0 mm long" in only(notched(100.5, 1))
    assert "has 0 strokes" in only(notched(50, 0))


def test_rules_that_cannot_be_followed() -> None:
    style = sample_style()
    shares = {"front": (EdgeShare("front", "side", -0.5),)}
    assert "the weight of side on front is -0.5" in only(replace(style, sharing=replace(style.sharing, curves=shares)))
    assert "the workroom step is 0 mm" in only(replace(style, workroom_step=0.0))
    cup = CupRule("front", "back", "side", "hem", "centre", "top", "top")
    assert "names a seam hem" in only(replace(style, sharing=replace(style.sharing, cup=cup)))


def test_no_level_between_underbust_and_bust_on_a_cupped_style() -> None:
    style = sample_style()
    cup = CupRule("front", "back", "side", "hem", "centre", "top", "top")
    levels = (Level("waist", 0.0, None), Level("underbust", -80.0, None), Level("bust", -160.0, None))
    seams = (replace(style.seams[0], name="hem"), *style.seams[1:])
    cupped = replace(style, sharing=replace(style.sharing, cup=cup), levels=levels, seams=seams)
    pieces = {p.name: replace(p, levels={}, level_marks=()) for p in cupped.pieces}
    cupped = cupped.with_pieces(pieces)
    assert find_faults(cupped) == ()
    rib = replace(cupped, levels=(*levels, Level("rib", -120.0, None)))
    assert "the style has level rib between underbust and bust" in only(rib)
    assert find_faults(replace(rib, sharing=style.sharing)) == ()
    on_cup = cupped.with_pieces({"front": replace(pieces["front"], levels={"waist": -1.0, "bust": 0.0})})
    assert "piece front has level waist between underbust and bust" in only(on_cup)
    marked = replace(pieces["yoke"], levels={"waist": 30.0, "underbust": 10.0})
    assert find_faults(cupped.with_pieces({"yoke": marked})) == ()
    edges = tuple(replace(e, role=Role.CRADLE) if e.name == "neckline" else e for e in marked.edges)
    beside = cupped.with_pieces({"yoke": replace(marked, edges=edges)})
    assert "piece yoke has level waist between underbust and bust" in only(beside)


# Sewing


def test_an_edge_sewn_twice() -> None:
    style = sample_style()
    again = replace(style.seams[0], name="side again")
    faults = find_faults(replace(style, seams=(*style.seams, again)))
    assert "edge side of piece front is sewn 2 times (seam side, side again); an edge is sewn once" in faults


def test_a_centre_edge_may_be_sewn_to_its_mirror_on_a_half() -> None:
    style = sample_style()
    ref = (EdgeRef("yoke", "centre"),)
    centre = replace(style.seams[0], name="centre", a=ref, b=ref, matches=())
    halved = replace(style, seams=(*style.seams, centre))
    assert find_faults(halved) == ()
    assert "edge centre of piece yoke is sewn 2 times" in only(replace(halved, half=False))


def test_a_chain_must_run_end_to_end() -> None:
    backwards = (EdgeRef("back", "top", backward=True), EdgeRef("front", "top", backward=True))
    faults = find_faults(with_seam("yoke seam", b=backwards))
    assert faults == (
        "seam yoke seam: on side B, edge top of piece front does not begin where edge top of piece back ends",
    )
    assert "does not begin where" in only(with_seam("yoke seam", b=(EdgeRef("front", "top"), EdgeRef("back", "top"))))


def test_a_chain_within_one_piece_follows_its_corners() -> None:
    around = (EdgeRef("yoke", "centre"), EdgeRef("yoke", "seam"))
    assert find_faults(with_seam("yoke seam", a=around)) == ()
    skipping = (EdgeRef("yoke", "seam"), EdgeRef("yoke", "neckline"))
    assert "edge neckline of piece yoke does not begin where edge seam" in only(with_seam("yoke seam", a=skipping))
