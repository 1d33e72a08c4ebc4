"""A half style made whole: every piece of the wearer's left half and its mirror image, sewn together at the centre."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from coutil.pattern import (
    CentreRule,
    CutFrom,
    Edge,
    EdgeRef,
    EdgeShare,
    KnotRef,
    Match,
    Piece,
    PointRef,
    Role,
    Seam,
    SideRule,
    Style,
)

MIRROR = ((-1.0, 0.0), (0.0, 1.0))


def whole_style(half: Style) -> Style:
    """`name_left` and `name_right` for every piece; left and right are sewn at the centre, not at a closure."""
    both = tuple(made for piece in half.pieces for made in (_left(piece), _right(piece)))
    sewn = tuple(made for seam in half.seams for made in (_left_seam(seam), _right_seam(half, seam)))
    return replace(half, half=False, pieces=both, seams=(*sewn, *_centre_seams(half)), sharing=_shared(half))


def narrower(style: Style, side: str, by: float) -> Style:
    """A whole style, every panel of one side `by` mm narrower: all its points drawn together towards its centre."""
    return style.with_pieces({p.name: _drawn_in(p, by) for p in style.pieces if p.name.endswith(f"_{side}")})


def _drawn_in(piece: Piece, by: float) -> Piece:
    xs = [float(x) for edge in piece.edges for x in edge.curve.points[:, 0]]
    share = 1.0 - by / (max(xs) - min(xs))
    return piece.with_curves({e.name: e.curve.transformed(((share, 0.0), (0.0, 1.0))) for e in piece.edges})


def _left(piece: Piece) -> Piece:
    return replace(piece, name=f"{piece.name}_left", title=f"{piece.title}, left", cut=_once(piece))


def _once(piece: Piece) -> tuple[CutFrom, ...]:
    return tuple(replace(cut, count=1, mirrored=False) for cut in piece.cut)


def _right(piece: Piece) -> Piece:
    """Mirrored, the outline runs the other way: edges in turn, each from its end."""
    marks = tuple(replace(m, at=_turned(piece, m.at)) for m in piece.level_marks)
    landmarks = tuple(replace(m, at=_turned(piece, m.at)) for m in piece.landmarks)
    notches = tuple(replace(n, along=piece.edge(n.edge).curve.length - n.along) for n in piece.notches)
    return replace(
        _left(piece),
        name=f"{piece.name}_right",
        title=f"{piece.title}, right",
        edges=tuple(_mirrored(edge) for edge in reversed(piece.edges)),
        level_marks=marks,
        landmarks=landmarks,
        notches=notches,
        grain_deg=180.0 - piece.grain_deg,
    )


def _mirrored(edge: Edge) -> Edge:
    return replace(edge, curve=edge.curve.transformed(MIRROR).reversed())


def _turned(piece: Piece, at: KnotRef) -> KnotRef:
    return KnotRef(at.edge, piece.edge(at.edge).curve.n_spans - at.knot)


def _left_seam(seam: Seam) -> Seam:
    return _renamed(seam, "left", lambda ref: ref, lambda point: point)


def _right_seam(half: Style, seam: Seam) -> Seam:
    def turned(point: PointRef) -> PointRef:
        return replace(point, knot=half.curve(point).n_spans - point.knot)

    return _renamed(seam, "right", lambda ref: replace(ref, backward=not ref.backward), turned)


def _renamed(seam: Seam, side: str, edge: Callable[[EdgeRef], EdgeRef], knot: Callable[[PointRef], PointRef]) -> Seam:
    def point(at: PointRef | None) -> PointRef | None:
        return None if at is None else replace(knot(at), piece=f"{at.piece}_{side}")

    def chain(refs: tuple[EdgeRef, ...]) -> tuple[EdgeRef, ...]:
        return tuple(replace(edge(ref), piece=f"{ref.piece}_{side}") for ref in refs)

    matches = tuple(Match(m.name, point(m.a), point(m.b)) for m in seam.matches)  # type: ignore[arg-type]
    return replace(seam, name=f"{seam.name}_{side}", a=chain(seam.a), b=chain(seam.b), matches=matches)


def _centre_seams(half: Style) -> tuple[Seam, ...]:
    return tuple(
        Seam(
            f"{piece.name}_centre",
            (EdgeRef(f"{piece.name}_left", edge.name),),
            (EdgeRef(f"{piece.name}_right", edge.name, backward=True),),
        )
        for piece in half.pieces
        for edge in piece.edges
        if edge.role is Role.CENTRE
    )


def _shared(half: Style) -> object:
    """The same rules for both sides; a rule of cups names two pieces alone and is left out."""
    rules = half.sharing

    def pairs(edges: tuple[tuple[str, str], ...]) -> tuple[tuple[str, str], ...]:
        return tuple((f"{piece}_{side}", edge) for piece, edge in edges for side in ("left", "right"))

    def shares(edges: tuple[EdgeShare, ...]) -> tuple[EdgeShare, ...]:
        return tuple(replace(s, piece=f"{s.piece}_{side}") for s in edges for side in ("left", "right"))

    return replace(
        rules,
        centre=CentreRule(pairs(rules.centre.edges)),
        side=SideRule(pairs(rules.side.front), pairs(rules.side.back), rules.side.basis),
        curves={part: shares(edges) for part, edges in rules.curves.items()},
        reduction=shares(rules.reduction),
        surplus=shares(rules.surplus),
        cup=None,
    )
