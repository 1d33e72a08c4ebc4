"""The complete marks of a style: everything a drawing of its lines alone cannot hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from coutil.drawing._marks import (
    CutMarks,
    EdgeMarks,
    FitMarks,
    LandmarkMarks,
    LayerMarks,
    LevelMarkMarks,
    LevelMarks,
    Marks,
    MatchMarks,
    PieceMarks,
    SeamMarks,
)
from coutil.drawing._values import Point
from coutil.measure import Chart, chart_to_data
from coutil.pattern import Edge, EdgeRef, KnotRef, Piece, PointRef, Seam, Style


@dataclass(frozen=True, slots=True)
class Place:
    """Where a piece lies on a drawing: a point inside it, its origin, and how it is turned there, degrees.

    `corners` are the places at which its edges begin as drawn, by edge, where a cut line was drawn and not the
    stitching line.
    """

    inside: Point
    origin: Point
    turn: float = 0.0
    corners: Mapping[str, Point] = field(default_factory=dict)


def marks_of(style: Style, places: Mapping[str, Place], *, exact: bool, chart: Chart | None) -> Marks:
    """The marks with which a drawing of the style's lines becomes the style again.

    `exact` states every knot and the fit's ease too; without it they are found anew from what is stated.
    """
    fit = style.base_fit
    return Marks(
        style=style.name,
        title=style.title,
        half=style.half,
        contact=style.contact,
        construction=style.construction,
        workroom_step=style.workroom_step,
        provenance=style.provenance.text,
        revision=style.provenance.revision,
        invented=style.provenance.invented,
        fit=FitMarks(fit.lacing_gap, fit.closure_gap, fit.reduction, dict(fit.ease) if exact else None),
        levels={level.name: LevelMarks(level.depth, level.measure) for level in style.levels},
        layers=tuple(LayerMarks(la.name, la.turn, la.turn_at_edges, la.allowance) for la in style.layers),
        pieces={piece.name: _piece(piece, places[piece.name], exact=exact) for piece in style.pieces},
        seams={seam.name: _seam(style, seam, exact=exact) for seam in style.seams},
        sharing=style.sharing,
        chart=None if chart is None else dict(chart_to_data(chart)),
    )


def _piece(piece: Piece, place: Place, *, exact: bool) -> PieceMarks:
    return PieceMarks(
        inside=place.inside,
        origin=place.origin,
        turn=place.turn,
        title=piece.title,
        part=piece.part,
        grain=piece.grain_deg,
        centre_cut=piece.centre_cut or "none",
        eyelets=piece.eyelets,
        levels=dict(piece.levels),
        cut=tuple(CutMarks(c.layer, c.count, c.mirrored) for c in piece.cut),
        edges={edge.name: _edge(edge, place) for edge in piece.edges},
        landmarks={m.name: LandmarkMarks(m.at.edge, _at(piece, m.at)) for m in piece.landmarks},
        level_marks=tuple(LevelMarkMarks(m.level, m.at.edge, _at(piece, m.at)) for m in piece.level_marks)
        if exact
        else None,
    )


def _edge(edge: Edge, place: Place) -> EdgeMarks:
    x, y = edge.curve.start.tolist()
    return EdgeMarks(place.corners.get(edge.name, (x, y)), edge.role, edge.straight, edge.allowance)


def _at(piece: Piece, at: KnotRef) -> Point:
    x, y = piece.point(at).tolist()
    return x, y


def _seam(style: Style, seam: Seam, *, exact: bool) -> SeamMarks:
    matches = tuple(
        MatchMarks(m.name, _name(m.a), _point(style, m.a), _name(m.b), _point(style, m.b))
        if m.b is not None
        else MatchMarks(m.name, _name(m.a), _point(style, m.a))
        for m in seam.matches
    )
    return SeamMarks(
        tuple(_ref(ref) for ref in seam.a), tuple(_ref(ref) for ref in seam.b), seam.ease, matches if exact else None
    )


def _ref(ref: EdgeRef) -> str:
    return f"{ref.piece}.{ref.edge} backward" if ref.backward else f"{ref.piece}.{ref.edge}"


def _name(ref: PointRef) -> str:
    return f"{ref.piece}.{ref.edge}"


def _point(style: Style, ref: PointRef) -> Point:
    x, y = style.point(ref).tolist()
    return x, y
