"""A style as a drawing by our own convention, with the marks that make it the same style again."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from coutil.curves import Curve
from coutil.drawing._found import Loop
from coutil.drawing._marks_of import Place, marks_of
from coutil.drawing._names import SEW_LAYER, TEXT_LAYER, tidy
from coutil.drawing._toml import marks_to_toml
from coutil.drawing._values import Floats, Point
from coutil.pattern import Edge, Piece, Style

GAP_MM = 30.0  # Between pieces, and round them.
MARK_RADIUS_MM = 2.0
TITLE_OVER_MM = 6.0
LEVEL_OVER_MM = 5.0  # A level line is drawn beyond the piece by this on each side.
DECIMALS = 6
INTERNAL, GRAIN, DRILL = "8", "7", "13"


@dataclass(frozen=True, slots=True)
class Exported:
    """A drawing's text and that of the marks file beside it."""

    drawing: str
    marks: str


@dataclass(frozen=True, slots=True)
class _Laid:
    """A piece and where its origin lies on the sheet, mm, y up."""

    piece: Piece
    origin: Point
    bounds: tuple[float, float, float, float]

    def on_sheet(self, points: Floats) -> Floats:
        return np.asarray(points + np.asarray(self.origin))


def export_svg(style: Style) -> Exported:
    """The style as SVG at true size, one group a piece, one path an edge."""
    laid, width, height = _lay_out(style)
    body = "\n".join(line for one in laid for line in _svg_piece(one, height))
    text = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(width)}mm" height="{_n(height)}mm" '
        f'viewBox="0 0 {_n(width)} {_n(height)}" fill="none" stroke="black" stroke-width="0.3">\n'
        f"<title>{escape(style.title)}</title>\n{body}\n</svg>\n"
    )
    return Exported(text, _marks(style, laid))


def export_dxf(style: Style) -> Exported:
    """The style as DXF in mm, one block a piece, one spline an edge on layer 14."""
    import ezdxf

    laid, _, _ = _lay_out(style)
    document = ezdxf.new("R2010")  # type: ignore[attr-defined]
    document.header["$INSUNITS"] = 4
    document.header["$MEASUREMENT"] = 1
    for number, one in enumerate(laid):
        block = document.blocks.new(_block_name(document, one.piece, number))
        _dxf_piece(block, one.piece)
        document.modelspace().add_blockref(block.name, one.origin)
    stream = io.StringIO()
    document.write(stream)
    return Exported(stream.getvalue(), _marks(style, laid))


def _marks(style: Style, laid: list[_Laid]) -> str:
    places = {one.piece.name: Place(_inside(one), one.origin) for one in laid}
    return marks_to_toml(marks_of(style, places, exact=True, chart=style.base_chart))


def _inside(one: _Laid) -> Point:
    spans = np.concatenate([edge.curve.spans for edge in one.piece.edges]) + np.asarray(one.origin)
    return Loop(one.piece.name, spans, np.zeros(len(spans), dtype=bool), "").inside


def _lay_out(style: Style) -> tuple[list[_Laid], float, float]:
    """All pieces in a row, the waists on one line; the sheet's width and height."""
    bounds = [_bounds(piece) for piece in style.pieces]
    low = min(box[1] for box in bounds)
    high = max(box[3] for box in bounds)
    laid, x = [], GAP_MM
    for piece, box in zip(style.pieces, bounds, strict=True):
        laid.append(_Laid(piece, (x - box[0], GAP_MM - low), box))
        x += box[2] - box[0] + GAP_MM
    return laid, x, high - low + 2 * GAP_MM


def _bounds(piece: Piece) -> tuple[float, float, float, float]:
    boxes = np.array([edge.curve.bounds() for edge in piece.edges])
    low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _level_ends(box: tuple[float, float, float, float], height: float) -> Floats:
    return np.array([[box[0] - LEVEL_OVER_MM, height], [box[2] + LEVEL_OVER_MM, height]])


def _grain_ends(one: Piece, box: tuple[float, float, float, float]) -> Floats:
    middle = np.array([(box[0] + box[2]) / 2, (box[1] + box[3]) / 2])
    angle = np.radians(one.grain_deg)
    half = 0.3 * (box[3] - box[1]) * np.array([np.cos(angle), np.sin(angle)])
    return np.array([middle - half, middle + half])


def _heading(box: tuple[float, float, float, float]) -> Floats:
    """Where a piece's title begins: over its left end."""
    return np.array([box[0], box[3] + TITLE_OVER_MM])


# --- SVG ---------------------------------------------------------------------------------------------------


def _svg_piece(one: _Laid, height: float) -> Iterator[str]:
    piece, name = one.piece, one.piece.name

    def down(points: Floats) -> Floats:
        return np.asarray(one.on_sheet(points) * np.array([1.0, -1.0]) + np.array([0.0, height]))

    yield f"<g id={quoteattr(tidy(name))} data-name={quoteattr(name)}>"
    for edge in piece.edges:
        yield f"<path {_label(f'{name}.{edge.name}')} d={quoteattr(_path(down(edge.curve.points)))}/>"
    for level, at in piece.levels.items():
        (x1, y1), (x2, y2) = down(_level_ends(one.bounds, at))
        yield f'<line {_label(f"{name}.level {level}")} x1="{_n(x1)}" y1="{_n(y1)}" x2="{_n(x2)}" y2="{_n(y2)}"/>'
    for mark in piece.landmarks:
        x, y = down(piece.point(mark.at)[None])[0]
        yield f'<circle {_label(f"{name}.mark {mark.name}")} cx="{_n(x)}" cy="{_n(y)}" r="{_n(MARK_RADIUS_MM)}"/>'
    (x1, y1), (x2, y2) = down(_grain_ends(piece, one.bounds))
    yield f'<line {_label(f"{name}.grain")} x1="{_n(x1)}" y1="{_n(y1)}" x2="{_n(x2)}" y2="{_n(y2)}"/>'
    x, y = down(_heading(one.bounds)[None])[0]
    yield f'<text x="{_n(x)}" y="{_n(y)}" font-size="7" fill="black" stroke="none">{escape(piece.title)}</text>'
    yield "</g>"


def _label(name: str) -> str:
    return f"data-name={quoteattr(name)}"


def _path(points: Floats) -> str:
    first, rest = points[0], points[1:].reshape(-1, 3, 2)
    spans = (" ".join(f"{_n(x)},{_n(y)}" for x, y in span) for span in rest)
    return f"M{_n(first[0])},{_n(first[1])} C{' '.join(spans)}"


def _n(value: float) -> str:
    text = f"{value:.{DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


# --- DXF ---------------------------------------------------------------------------------------------------


def _block_name(document: object, piece: Piece, number: int) -> str:
    """A name every reader takes: the piece's, or a numbered one where it has signs that DXF forbids."""
    plain = tidy(piece.name)
    known = plain.isascii() and all(c.isalnum() or c in "_-" for c in plain)
    taken = plain in document.blocks  # type: ignore[attr-defined]
    return plain if known and plain and not taken else f"piece_{number + 1}"


def _dxf_piece(block: object, piece: Piece) -> None:
    box = _bounds(piece)
    for edge in piece.edges:
        _dxf_edge(block, edge)
    for level, at in piece.levels.items():
        ends = _level_ends(box, at)
        _dxf_line(block, ends, INTERNAL)
        _dxf_text(block, f"level {level}", ends[0])
    for mark in piece.landmarks:
        point = piece.point(mark.at)
        block.add_circle(point, MARK_RADIUS_MM, dxfattribs={"layer": DRILL})  # type: ignore[attr-defined]
        _dxf_text(block, f"mark {mark.name}", point + np.array([MARK_RADIUS_MM, 0.0]))
    _dxf_line(block, _grain_ends(piece, box), GRAIN)


def _dxf_edge(block: object, edge: Edge) -> None:
    points = edge.curve.points
    count = edge.curve.n_spans
    knots = [0.0] * 4 + [float(k) for k in range(1, count) for _ in range(3)] + [float(count)] * 4
    block.add_open_spline(  # type: ignore[attr-defined]
        [(float(x), float(y)) for x, y in points], degree=3, knots=knots, dxfattribs={"layer": SEW_LAYER}
    )
    _dxf_text(block, f"edge {edge.name}", _middle(edge.curve))


def _middle(curve: Curve) -> Floats:
    return curve.point_at(curve.length / 2)


def _dxf_line(block: object, ends: Floats, layer: str) -> None:
    a, b = ends.tolist()
    block.add_line(a, b, dxfattribs={"layer": layer})  # type: ignore[attr-defined]


def _dxf_text(block: object, words: str, at: Floats) -> None:
    text = block.add_text(words, height=3.0, dxfattribs={"layer": TEXT_LAYER})  # type: ignore[attr-defined]
    text.set_placement((float(at[0]), float(at[1])))
