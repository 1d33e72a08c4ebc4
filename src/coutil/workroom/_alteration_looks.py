"""What the page shows of a finished job beside its rows: pieces, edges, seams, girths and checks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from coutil.alter import Plan
from coutil.check import Finding
from coutil.measure import Unit, format_length
from coutil.pattern import Edge, EdgeRef, Piece, Seam, SeamLengths, Style, seam_lengths, spread_out
from coutil.tables import check_table, girth_table
from coutil.workroom import _alteration_wire as wire
from coutil.workroom._alteration_shapes import Box, boxes, cut_path, edge_path, level_ends, outline_path, places

# Checks of one seam: which edges they look at is told by the pieces the seam joins.
SEAM_CHECKS = frozenset({"seam", "cradle", "cradle_length", "level_match", "notches"})
LEVEL_WORDS = {"hem": "lower edge", "bust": "bust level"}


def edge_id(piece: str, edge: str) -> str:
    """How the page calls an edge."""
    return f"{piece}/{edge}"


def plain(name: str) -> str:
    """`high_hip` -> high hip."""
    return LEVEL_WORDS.get(name, name.replace("_", " "))


def finest(mm: float, unit: Unit) -> str:
    """A length on the pattern: centimetres to the tenth of a millimetre, inches to the nearest sixteenth."""
    return f"{mm / 10:.2f} cm" if unit == "cm" else format_length(mm, unit)


def side_by_side(a: float, b: float, unit: Unit) -> str:
    """Two lengths that are sewn together, with one unit: 17.35 on 17.35 cm."""
    return f"{finest(a, unit).removesuffix(f' {unit}')} on {finest(b, unit)}"


def edge_title(piece: Piece, edge: str) -> str:
    """`Side front, panel seam`."""
    return f"{piece.title}, {edge.replace('_', ' ')}"


@dataclass(frozen=True, slots=True)
class Ground:
    """What of the page is the base's alone, found once: where its pieces lie, outlines, edges, lengths and seams."""

    placed: Mapping[str, tuple[float, float]]
    outlines: Mapping[str, str]
    edges: Mapping[str, str]
    lengths: Mapping[str, float]
    seams: Mapping[str, SeamLengths]


def ground_of(base: Style) -> Ground:
    """The ground of a base."""
    curves = {edge_id(piece.name, edge.name): edge.curve for piece in base.pieces for edge in piece.edges}
    return Ground(
        places(base, boxes(base)),
        {piece.name: outline_path(piece) for piece in base.pieces},
        {name: edge_path(curve) for name, curve in curves.items()},
        {name: curve.length for name, curve in curves.items()},
        _seams(base),
    )


def _seams(style: Style) -> dict[str, SeamLengths]:
    spread = spread_out(style)
    return {seam.name: seam_lengths(spread, seam) for seam in style.seams}


def piece_views(ground: Ground, style: Style, with_cut_line: bool) -> tuple[wire.Piece, ...]:
    """Every piece: the base and the result as closed outlines, in one frame."""
    extents = boxes(style)
    return tuple(_piece_view(ground, piece, style, extents[piece.name], with_cut_line) for piece in style.pieces)


def _piece_view(ground: Ground, piece: Piece, style: Style, box: Box, with_cut_line: bool) -> wire.Piece:
    at = ground.placed[piece.name]
    return wire.Piece(
        name=piece.name,
        title=piece.title,
        part=piece.part,
        dx=round(at[0], 2),
        dy=round(at[1], 2),
        box=box,
        base=ground.outlines[piece.name],
        result=outline_path(piece),
        cut=cut_path(piece, style.layers) if with_cut_line else None,
        levels=tuple(_levels(piece)),
        points=tuple(_points(piece)),
    )


def _levels(piece: Piece) -> Iterator[wire.LevelLine]:
    for level, height in piece.levels.items():
        ends = level_ends(piece, level)
        if ends is not None:
            yield wire.LevelLine(level, plain(level), round(-height, 2), round(ends[0], 2), round(ends[1], 2))


def _points(piece: Piece) -> Iterator[wire.Point]:
    for mark in piece.landmarks:
        if mark.name == "bust_point":
            x, y = piece.point(mark.at)
            yield wire.Point("bust point", round(float(x), 2), round(-float(y), 2))


def edge_views(ground: Ground, style: Style, unit: Unit) -> tuple[wire.Edge, ...]:
    """Every edge with its length on base and result, its seam and what it is sewn to."""
    sewn = dict(_sewn(style))
    return tuple(
        _edge_view(ground, piece, edge, unit, sewn.get((piece.name, edge.name)))
        for piece in style.pieces
        for edge in piece.edges
    )


def _edge_view(
    ground: Ground, piece: Piece, edge: Edge, unit: Unit, sewn: tuple[str, tuple[str, ...]] | None
) -> wire.Edge:
    name = edge_id(piece.name, edge.name)
    before, after = ground.lengths[name], edge.curve.length
    return wire.Edge(
        id=name,
        piece=piece.name,
        title=edge_title(piece, edge.name),
        base=ground.edges[name],
        result=edge_path(edge.curve),
        base_mm=round(before, 3),
        result_mm=round(after, 3),
        length=_against(after, before, unit),
        seam=None if sewn is None else sewn[0],
        mates=() if sewn is None else sewn[1],
    )


def _sewn(style: Style) -> Iterator[tuple[tuple[str, str], tuple[str, tuple[str, ...]]]]:
    for seam in style.seams:
        for own, other in ((seam.a, seam.b), (seam.b, seam.a)):
            mates = _ids(other)
            yield from (((ref.piece, ref.edge), (seam.name, mates)) for ref in own)


def _ids(chain: tuple[EdgeRef, ...]) -> tuple[str, ...]:
    return tuple(edge_id(ref.piece, ref.edge) for ref in chain)


def _against(result: float, base: float, unit: Unit) -> str:
    return f"{finest(result, unit)}, base {finest(base, unit)}"


def seam_views(ground: Ground, style: Style, unit: Unit) -> tuple[wire.Seam, ...]:
    """Every seam as the tape walks it, both sides, from match point to match point."""
    walked = _seams(style)
    return tuple(
        _seam_view(style, seam, walked[seam.name], ground.seams[seam.name], unit) for seam in style.seams
    )


def _seam_view(style: Style, seam: Seam, now: SeamLengths, before: SeamLengths, unit: Unit) -> wire.Seam:
    segments = now.segments if len(now.segments) > 1 else ()
    return wire.Seam(
        name=seam.name,
        title=seam_title(style, seam),
        a=_ids(seam.a),
        b=_ids(seam.b),
        result=side_by_side(now.total.a, now.total.b, unit),
        base=side_by_side(before.total.a, before.total.b, unit),
        segments=tuple(wire.Segment(_stretch(s.name), side_by_side(s.a, s.b, unit)) for s in segments),
    )


def _stretch(name: str) -> str:
    """`high_hip to end` -> high hip to its end."""
    parts = (plain(part) for part in name.split(" to "))
    return " to ".join(f"its {part}" if part in ("start", "end") else part for part in parts)


def seam_title(style: Style, seam: Seam) -> str:
    """`Side seam: side front and outer cup to side back`."""
    name = seam.name.replace("_", " ")
    word = name if name.endswith("seam") else f"{name} seam"
    return f"{word[:1].upper()}{word[1:]}: {_titles(style, seam.a)} to {_titles(style, seam.b)}"


def _titles(style: Style, chain: tuple[EdgeRef, ...]) -> str:
    names = dict.fromkeys(ref.piece for ref in chain)
    return " and ".join(style.piece(name).title.lower() for name in names)


def check_views(style: Style, findings: tuple[Finding, ...], unit: Unit) -> tuple[wire.Check, ...]:
    """The check list in words, each check with the edges it looks at."""
    lines = check_table(findings, unit)[1:]
    return tuple(
        wire.Check(
            code=finding.code,
            name=line[0],
            figure=line[1],
            limit=line[2],
            verdict=line[3],
            pieces=finding.pieces,
            edges=_edges_of(style, finding),
            advice=line[5],
        )
        for finding, line in zip(findings, lines, strict=True)
    )


def _edges_of(style: Style, finding: Finding) -> tuple[str, ...]:
    if finding.code not in SEAM_CHECKS:
        return ()
    pieces = set(finding.pieces)
    seams = (seam for seam in style.seams if {ref.piece for ref in (*seam.a, *seam.b)} == pieces)
    return tuple(found for seam in seams for found in (*_ids(seam.a), *_ids(seam.b)))


def girth_views(plan: Plan, unit: Unit) -> tuple[wire.Girth, ...]:
    """The ordered girths, full with the half in brackets."""
    return tuple(
        wire.Girth(plain(order.level), *line[1:])
        for order, line in zip(plan.girths, girth_table(plan, unit)[1:], strict=True)
    )
