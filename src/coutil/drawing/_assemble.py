"""The whole way from a drawing to a style: gather, sketch, name, sew, share, measure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from coutil.drawing._dxf_read import read_dxf
from coutil.drawing._found import Found
from coutil.drawing._gather import gather
from coutil.drawing._halves import flipped, halved, one_half
from coutil.drawing._levels import WAIST
from coutil.drawing._marks import LayerMarks, Marks
from coutil.drawing._marks_of import Place, marks_of
from coutil.drawing._own_chart import fitted, own_chart, usual_gap, with_front_arcs
from coutil.drawing._pieces import level_names, make_pieces, waist_heights
from coutil.drawing._roles import settle_parts, settle_roles
from coutil.drawing._rules import usual_sharing
from coutil.drawing._seams import propose_seams, stated_seams
from coutil.drawing._sketch import Sketch, sketch_pieces
from coutil.drawing._sure import Certainty, Guesses, Imported
from coutil.drawing._svg_read import read_svg
from coutil.drawing._toml import marks_from_toml, marks_to_toml
from coutil.drawing._upright import set_upright
from coutil.drawing._values import Drawing
from coutil.errors import BadInput, BadStyle
from coutil.measure import MEASUREMENTS, Chart, chart_from_data
from coutil.pattern import (
    Fit,
    Layer,
    Level,
    Piece,
    Provenance,
    Role,
    Seam,
    Style,
    find_faults,
    sides_of,
    with_notches,
)

USUAL_LAYERS = (LayerMarks("strength"),)


def read_drawing(data: bytes, suffix: str, scale: float = 1.0) -> Drawing:
    """The drawing in a file's content; `suffix` is .svg or .dxf.  Raises BadInput for anything else."""
    if suffix.lower() == ".svg":
        return read_svg(data, scale)
    if suffix.lower() == ".dxf":
        return read_dxf(data, scale)
    raise BadInput(
        f"A drawing is an .svg or a .dxf file, not {suffix or 'one without a suffix'}: save it as one of them."
    )


def import_drawing(
    data: bytes, suffix: str, name: str, marks_text: str | None = None, chart: Chart | None = None, scale: float = 1.0
) -> Imported:
    """The style a drawing holds, what was proposed on the way, and the complete marks to correct and give back.

    `name` is the style's where the marks give none; `chart` the base chart, if there is one.  Raises BadInput
    or BadStyle, in one sentence, where no sound pattern comes of it.
    """
    marks = marks_from_toml(marks_text) if marks_text is not None else Marks()
    drawing = read_drawing(data, suffix, scale * marks.scale)
    sure = Guesses()
    found = set_upright(flipped(drawing) if marks.flip else drawing, gather)
    halves = marks.half if marks.half is not None else not _is_whole(found, sure)
    found = one_half(halved(found), marks) if halves else found
    sketches = sketch_pieces(found, marks, sure)
    settle_parts(sketches, sure)
    settle_roles(sketches, marks, sure)
    style = _style(sketches, found, replace_name(marks, name), halves, sure)
    if chart is None and marks.chart is None and (marks.fit is None or marks.fit.reduction is None):
        sure.add("fit", "no waist reduction", 0.3, "no line tells how far it laces in: state [fit] reduction")
    style, told = _with_chart(style, marks, _chart(marks, chart))
    style = _sound(style)
    remarks = tuple(dict.fromkeys((*found.remarks, *sure.remarks, *told)))
    text = _complete(style, sketches, marks, chart, sure.certainties, scale)
    return Imported(style, text, tuple(sure.certainties), remarks)


def replace_name(marks: Marks, name: str) -> Marks:
    """The marks with the style's name, the given one where they have none."""
    from msgspec.structs import replace as replaced

    return replaced(marks, style=marks.style or name or "own_pattern")


def _is_whole(found: Found, sure: Guesses) -> bool:
    """A drawing with pieces of both sides of the body, told apart by left and right in their names."""
    names = [loop.piece for loop in found.loops]
    whole = any("left" in name for name in names) and any("right" in name for name in names)
    told = "left and right pieces are named" if whole else "no piece is named left and another right"
    sure.add("style", "whole" if whole else "half", 0.9 if whole or found.mirrors else 0.7, told)
    return whole


def _style(sketches: Sequence[Sketch], found: Found, marks: Marks, half: bool, sure: Guesses) -> Style:
    pieces = make_pieces(sketches, found, marks, sure)
    if not any(WAIST in piece.levels for piece in pieces):
        raise BadInput("No piece on the drawing is a panel: let a line named `level waist` run over the panels.")
    seams: Sequence[Seam]
    if marks.seams is not None:
        pieces, seams = stated_seams(pieces, marks.seams)
    else:
        seams = propose_seams(pieces, sure)
    assert marks.style is not None
    levels = _levels(pieces, marks)
    style = Style(
        name=marks.style,
        title=marks.title or marks.style.replace("_", " ").capitalize(),
        half=half,
        pieces=tuple(pieces),
        seams=tuple(seams),
        levels=levels,
        layers=_layers(pieces, marks),
        construction=marks.construction,
        base_chart=Chart("", {}),
        base_fit=Fit(),
        sharing=marks.sharing or usual_sharing(pieces, seams, {}),
        provenance=Provenance(marks.provenance or "Imported from a drawing", marks.revision, marks.invented),
        contact=marks.contact,
        workroom_step=marks.workroom_step,
    )
    sides = {} if marks.sharing else sides_of(style)
    return replace(style, sharing=usual_sharing(pieces, seams, sides)) if sides else style


def _layers(pieces: Sequence[Piece], marks: Marks) -> tuple[Layer, ...]:
    """The stated layers, or one for every name the pieces are cut from."""
    if marks.layers is not None:
        return tuple(Layer(la.name, la.turn, la.turn_at_edges, la.allowance) for la in marks.layers)
    names = dict.fromkeys([*(la.name for la in USUAL_LAYERS), *(cut.layer for piece in pieces for cut in piece.cut)])
    return tuple(Layer(name) for name in names)


def _levels(pieces: Sequence[Piece], marks: Marks) -> tuple[Level, ...]:
    """Depths and measurements as stated; else the height on the pieces, and the measurement of that name."""
    heights = waist_heights(pieces)
    cupped = any(edge.role is Role.CUP_SEAM for piece in pieces for edge in piece.edges)
    stated = marks.levels or {}
    carried = level_names(pieces)
    if not heights:
        raise BadInput("No piece carries the level waist: let a line named `level waist` run over the panels.")
    for name in stated:
        if name not in carried:
            raise BadInput(
                f"The marks file has level {name}, which no piece carries: draw it over a piece, or drop it."
            )
    levels = []
    for name in [*stated, *(name for name in carried if name not in stated)]:
        if name in stated:
            levels.append(Level(name, stated[name].depth, stated[name].measure))
            continue
        depth = None if (cupped and name == "bust") or name not in heights else round(0.0 - heights[name], 6)
        levels.append(Level(name, depth, name if f"{name}_girth" in MEASUREMENTS else None))
    return tuple(levels)


# --- chart and fit -----------------------------------------------------------------------------------------


def _chart(marks: Marks, chart: Chart | None) -> Chart | None:
    if chart is not None or marks.chart is None:
        return chart
    return chart_from_data(marks.chart)


def _with_chart(style: Style, marks: Marks, chart: Chart | None) -> tuple[Style, tuple[str, ...]]:
    """The style with base chart and fit: the given chart and the fit measured off, or the pattern's own chart."""
    said = marks.fit
    gap = said.lacing_gap if said is not None else usual_gap(style)
    closure = said.closure_gap if said is not None else 0.0
    reduction = said.reduction if said is not None else None
    if chart is None:
        fit = Fit(dict(said.ease or {}) if said is not None else {}, reduction or 0.0, gap, closure)
        own = own_chart(style, fit, f"as {style.name} measures"[:80])
        told = (
            f"No chart was given: the base chart is what the pattern itself measures, with {gap:.0f} mm of lacing gap "
            f"and {fit.reduction:.0f} mm of reduction."
        )
        return replace(style, base_chart=own, base_fit=fit), (told,)
    full, added = with_front_arcs(chart, own_chart(style, Fit(lacing_gap=gap, closure_gap=closure), ""))
    style = replace(style, base_chart=full)
    if said is not None and said.ease is not None:
        fit = Fit(dict(said.ease), reduction or 0.0, gap, closure)
    else:
        fit = fitted(style, gap, closure, reduction)
    estimated = [f"Estimated in the pattern's own proportion: {', '.join(added)}."] if added else []
    return replace(style, base_fit=fit), tuple(estimated)


# --- the outcome -------------------------------------------------------------------------------------------


def _sound(style: Style) -> Style:
    """The style with its notches, if it is a pattern at all."""
    faults = find_faults(style)
    if faults:
        more = f" ({len(faults) - 1} more such faults)" if len(faults) > 1 else ""
        raise BadStyle(f"No sound pattern comes of the drawing: {faults[0]}{more}; mend the drawing or its marks.")
    return with_notches(style)


def _corners(sketch: Sketch) -> dict[str, tuple[float, float]]:
    """Where each edge begins as drawn."""
    return {edge.name: (float(edge.spans[0, 0, 0]), float(edge.spans[0, 0, 1])) for edge in sketch.edges}


def _complete(
    style: Style,
    sketches: Sequence[Sketch],
    marks: Marks,
    chart: Chart | None,
    certainties: Sequence[Certainty],
    scale: float,
) -> str:
    """The marks file that states everything; doubtful proposals stand as comments at its head."""
    from msgspec.structs import replace as replaced

    places = {s.name: Place(s.loop.inside, s.origin, s.turn, _corners(s)) for s in sketches}
    kept = chart if chart is not None else _chart(marks, None)
    full = marks_of(style, places, exact=False, chart=kept)
    drawn = "cut" if marks.drawn == "cut" or any(s.loop.word == "cut" for s in sketches) else "stitching"
    full = replaced(full, drawn=drawn, flip=marks.flip, scale=scale * marks.scale)
    full = replaced(full, pieces={**full.pieces, **{n: p for n, p in marks.pieces.items() if not p.use}})
    doubts = sorted((c for c in certainties if c.sure < 0.9), key=lambda c: c.sure)
    notes = [f"{c.sure * 100:.0f} % sure: {c.about}: {c.proposal}, as {c.reason}." for c in doubts]
    return marks_to_toml(full, ["", *notes] if notes else ())
