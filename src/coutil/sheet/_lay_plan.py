"""The lay plan on one page: the cloth with every piece where it is cut from, its grain, names, counts, figures.

Drawn small, at one of the usual scales, the largest that leaves room for the list of pieces on the page.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from coutil.cut import LayPart, LayPlan, Placement, outline_at, part_of
from coutil.measure import Unit, format_length
from coutil.sheet._drawing import (
    FRAME,
    GRAIN,
    GREY,
    RUST,
    TEAL,
    Bounds,
    Floats,
    Line,
    Moved,
    Pen,
    Recorder,
    arrow_head,
    fitted,
    group,
    text_box,
    text_width,
)
from coutil.sheet._overview import Heading
from coutil.sheet._pdf_pen import POINTS_PER_MM, PdfPen
from coutil.sheet._svg import svg_text

# A4 lying (ISO 216), and what few printers print beyond.
PAGE = (297.0, 210.0)
MARGIN_MM = 10.0

# One millimetre on the page stands for so many on the cloth.
SCALES = (2, 5, 10, 20, 25, 50, 100, 200)

HEAD_MM, SMALLEST_HEAD_MM = 4.0, 2.4
TEXT_MM = 2.2
# Labels in pieces are tried in these sizes; a title is written no smaller than this, a number down to the last.
SIZES = (TEXT_MM, 1.8, 1.5, 1.3, 1.0)
SMALL_TITLE_MM = 1.3
CLEAR_MM = 0.4
# Outlines are drawn to this: far finer than the pen.
SEEN_MM = 0.005
# Room for a row's number or sign.
SIGN_MM = 8.0
STEP = 1.75
# Between the cloth and the list; the cloth's own measures stand in a border of this width.
GAP_MM = 10.0
BORDER_MM = 9.0
ARROW_MM = 9.0
HEAD_HEIGHT_MM = HEAD_MM * 1.6 + 2 * TEXT_MM * STEP
# What is left on the page for the cloth and the list.
ROOM = (PAGE[0] - 2 * MARGIN_MM - BORDER_MM, PAGE[1] - 2 * MARGIN_MM - HEAD_HEIGHT_MM - 2 * BORDER_MM)

# The scale bar shows this much cloth.
BAR_MM: dict[str, float] = {"mm": 100.0, "cm": 100.0, "in": 4 * 25.4}

CLOTH_EDGE = Line("cloth edge", 0.5)
SELVEDGE = Line("selvedge", 0.18, (2.0, 1.5), GREY)
FOLD_EDGE = Line("fold", 0.5, (6.0, 1.5, 1.0, 1.5), TEAL)
CUT_OFF = Line("cut off", 0.3, (3.0, 2.0))
PIECE = Line("cut line", 0.3)
FIXED = Line("fixed", 0.6, (), RUST)


@dataclass(frozen=True, slots=True)
class Label:
    """What is written in a piece, the middle of its baseline, and the height of its capitals."""

    words: str
    at: tuple[float, float]
    height: float


@dataclass(frozen=True, slots=True, eq=False)
class Page:
    """What is drawn: the plan with its parts, the scale, where the list goes, and each placement's label."""

    plan: LayPlan
    parts: tuple[LayPart, ...]
    heading: Heading
    unit: Unit
    scale: int
    beside: bool = True
    labels: tuple[Label | None, ...] = ()

    @property
    def size(self) -> tuple[float, float]:
        """The cloth's length and width on the page, mm."""
        return self.plan.length / self.scale, self.plan.cloth.lay_width / self.scale

    def number(self, one: Placement) -> int:
        """The part's number in the list, from 1."""
        return self.parts.index(part_of(self.parts, one)) + 1


def lay_plan_svg(plan: LayPlan, parts: tuple[LayPart, ...], heading: Heading, unit: Unit = "cm") -> str:
    """The page as SVG.  Raises BadInput where the plan speaks of a part that is not among `parts`."""
    drawing = lay_plan_drawing(plan, parts, heading, unit)
    return svg_text(drawing, (0.0, 0.0, *_page_size(drawing)), _title(plan, heading))


def lay_plan_pdf(plan: LayPlan, parts: tuple[LayPart, ...], heading: Heading, unit: Unit = "cm") -> bytes:
    """The page as PDF; the same plan gives the same bytes.  Raises as `lay_plan_svg`."""
    from reportlab.pdfgen.canvas import Canvas

    drawing, content = lay_plan_drawing(plan, parts, heading, unit), io.BytesIO()
    size = tuple(side * POINTS_PER_MM for side in _page_size(drawing))
    canvas: Any = Canvas(content, pagesize=size, pageCompression=1, invariant=1, trimBox=(0, 0, *size))
    canvas.setTitle(_title(plan, heading))
    canvas.setCreator("coutil")
    drawing.replay(PdfPen(canvas))
    canvas.showPage()
    canvas.save()
    return content.getvalue()


def lay_plan_drawing(plan: LayPlan, parts: tuple[LayPart, ...], heading: Heading, unit: Unit) -> Recorder:
    """The same for any pen, in mm on the page, its lower left corner at (0, 0)."""
    page = _fitting(plan, parts, heading, unit)
    length, width = page.size
    sheet, top = Recorder(), PAGE[1] - MARGIN_MM
    top = _draw_head(sheet, page, top) - BORDER_MM
    _draw_cloth(Moved(sheet, MARGIN_MM + BORDER_MM, top - width), page)
    left = MARGIN_MM + BORDER_MM + (length + GAP_MM if page.beside else 0.0)
    below = top if page.beside else top - width - BORDER_MM - GAP_MM / 2
    _draw_list(sheet, page, left, below)
    return _raised(sheet)


def _raised(sheet: Recorder) -> Recorder:
    """The same, moved up where a long list reaches below the page."""
    low = _box(sheet)[1]
    if low >= MARGIN_MM:
        return sheet
    raised = Recorder()
    sheet.replay(Moved(raised, 0.0, MARGIN_MM - low))
    return raised


def _box(drawing: Recorder) -> tuple[float, float, float, float]:
    bounds = Bounds()
    drawing.replay(bounds)
    return bounds.box


def _page_size(drawing: Recorder) -> tuple[float, float]:
    """The page; larger where the list or the cloth needs it."""
    _, _, right, top = _box(drawing)
    return max(PAGE[0], right + MARGIN_MM), max(PAGE[1], top + MARGIN_MM)


def _title(plan: LayPlan, heading: Heading) -> str:
    return " · ".join(word for word in ("Lay plan", plan.style, *heading.words) if word)


def _fitting(plan: LayPlan, parts: tuple[LayPart, ...], heading: Heading, unit: Unit) -> Page:
    """The largest scale at which cloth and list stand on the page, beside or below each other."""
    page = Page(plan, parts, heading, unit, SCALES[-1])
    for scale in SCALES:
        page = replace(page, scale=scale)
        if page.size[0] > ROOM[0] or page.size[1] > ROOM[1]:
            continue
        page = _with_labels(page)
        for beside in (True, False):
            if _fits(replace(page, beside=beside)):
                return replace(page, beside=beside)
    return _with_labels(page)


def _with_labels(page: Page) -> Page:
    return replace(page, labels=tuple(_label(page, one) for one in page.plan.placements))


def _fits(page: Page) -> bool:
    length, width = page.size
    if page.beside:
        return length + GAP_MM + _list_width(page) <= ROOM[0] and max(width, _list_height(page, 1)) <= ROOM[1]
    columns = max(1, int((ROOM[0] + GAP_MM) // (_list_width(page) + GAP_MM)))
    # A list too long for any scale makes the page longer, not the drawing smaller.
    return width + GAP_MM + min(_list_height(page, columns), ROOM[1] / 2) <= ROOM[1]


# The head and the list


def _draw_head(pen: Pen, page: Page, top: float) -> float:
    """Title and figures downwards from `top`; says where they end."""
    with group(pen, "head"):
        title, height = fitted(_title(page.plan, page.heading), HEAD_MM, PAGE[0] - 2 * MARGIN_MM, SMALLEST_HEAD_MM)
        pen.text((MARGIN_MM, top - HEAD_MM), title, height)
        for i, line in enumerate((_cloth_words(page), _figure_words(page))):
            pen.text((MARGIN_MM, top - HEAD_MM * 1.6 - (i + 1) * TEXT_MM * STEP + 1.0), line, TEXT_MM)
    return top - HEAD_HEIGHT_MM


def _cloth_words(page: Page) -> str:
    cloth = page.plan.cloth
    words = (
        f"cloth {format_length(cloth.width, page.unit)} wide",
        "folded along its length, right sides together" if cloth.folded else "single, right side up",
        "with nap: all one way" if cloth.nap else "pieces may be turned round" if cloth.grain else "no grain",
        f"selvedge {format_length(cloth.selvedge, page.unit)}",
        f"{format_length(cloth.gap, page.unit)} between pieces",
    )
    return " · ".join(words)


def _figure_words(page: Page) -> str:
    plan = page.plan
    cost = "" if plan.cost is None else f"cost {plan.cost:.2f}"
    words = (
        f"length {format_length(plan.length, page.unit)}",
        f"to buy {format_length(plan.sold_length, page.unit)}",
        f"use {plan.use:.1f} %",
        cost,
        f"scale 1 : {page.scale}",
    )
    return " · ".join(word for word in words if word)


def _rows(page: Page) -> list[tuple[str, str]]:
    """The list, each row with its sign first, and what other signs mean."""
    rows = [(f"{i + 1}", _row_words(part)) for i, part in enumerate(page.parts)]
    rows += [(f"{page.number(one)}", _where(page, one)) for one, label in _labelled(page) if label is None]
    if any(one.hand == "mirrored" for one in page.plan.placements):
        rows.append(("m", "mirrored"))
    if any(one.fixed for one in page.plan.placements):
        rows.append(("—", "heavy line: fixed by hand"))
    if any(one.copies == 1 and not part_of(page.parts, one).on_fold for one in _folded(page)):
        rows.append(("×1", "cut from the upper ply alone, all others through both"))
    return rows


def _row_words(part: LayPart) -> str:
    hands = f"{part.count} × {part.layer.replace('_', ' ')}"
    mirrored = f", {part.mirrored} mirrored" if part.mirrored else ""
    return f"{part.title}: {hands}{mirrored}{', on the fold' if part.on_fold else ''}"


def _labelled(page: Page) -> Iterator[tuple[Placement, Label | None]]:
    return zip(page.plan.placements, page.labels, strict=True)


def _where(page: Page, one: Placement) -> str:
    """Where a part lies that is too narrow for its number."""
    x, y = (format_length(figure, page.unit) for figure in (one.x, one.y))
    return f"too narrow to be numbered: {x} from the end, {y} from the lower edge"


def _folded(page: Page) -> tuple[Placement, ...]:
    return page.plan.placements if page.plan.cloth.folded else ()


def _list_width(page: Page) -> float:
    return SIGN_MM + max(text_width(words, TEXT_MM) for _, words in _rows(page))


def _list_height(page: Page, columns: int) -> float:
    """With the scale bar below it."""
    return (-(-len(_rows(page)) // columns) + 3) * TEXT_MM * STEP


def _draw_list(pen: Pen, page: Page, left: float, top: float) -> None:
    rows, width = _rows(page), _list_width(page) + GAP_MM
    columns = 1 if page.beside else max(1, int((PAGE[0] - MARGIN_MM - left + GAP_MM) // width))
    tall = -(-len(rows) // columns)
    with group(pen, "list"):
        for i, (sign, words) in enumerate(rows):
            column, line = divmod(i, tall)
            x, y = left + column * width, top - (line + 1) * TEXT_MM * STEP
            pen.text((x, y), sign, TEXT_MM)
            pen.text((x + SIGN_MM, y), words, TEXT_MM)
        _draw_bar(pen, page, left, top - (tall + 2.5) * TEXT_MM * STEP)


def _draw_bar(pen: Pen, page: Page, left: float, y: float) -> None:
    """How long a piece of cloth is at this scale."""
    cloth = BAR_MM[page.unit]
    right = left + cloth / page.scale
    pen.polyline(np.array([(left, y + 1.5), (left, y), (right, y), (right, y + 1.5)]), FRAME)
    pen.text((right + 2.0, y), format_length(cloth, page.unit), TEXT_MM)


# The cloth


def _draw_cloth(pen: Pen, page: Page) -> None:
    """The cloth with its lower left corner at (0, 0), and the pieces on it."""
    with group(pen, "cloth"):
        _draw_edges(pen, page)
        _draw_measures(pen, page)
    with group(pen, "pieces"):
        for one, label in _labelled(page):
            _draw_piece(pen, page, one, label)


def _draw_edges(pen: Pen, page: Page) -> None:
    (length, width), cloth = page.size, page.plan.cloth
    inner = cloth.selvedge / page.scale
    lower = FOLD_EDGE if cloth.folded else CLOTH_EDGE
    for y, line in ((0.0, lower), (width, CLOTH_EDGE)):
        pen.polyline(np.array([(0.0, y), (length, y)]), line)
    for y in (width - inner,) if cloth.folded else (inner, width - inner):
        if inner:
            pen.polyline(np.array([(0.0, y), (length, y)]), SELVEDGE)
    pen.polyline(np.array([(0.0, 0.0), (0.0, width)]), CLOTH_EDGE)
    pen.polyline(np.array([(length, 0.0), (length, width)]), CUT_OFF)


def _draw_measures(pen: Pen, page: Page) -> None:
    """Length below the cloth, the width it lies in at its left, the warp's direction above."""
    (length, width), cloth = page.size, page.plan.cloth
    pen.text((length / 2, -5.0), format_length(page.plan.length, page.unit), TEXT_MM, anchor="middle")
    _draw_arrow(pen, np.array([(0.0, -2.0), (length, -2.0)]), FRAME)
    across = format_length(cloth.lay_width, page.unit)
    pen.text((-3.5, width / 2), across, TEXT_MM, angle=90.0, anchor="middle")
    pen.polyline(np.array([(-2.0, 0.0), (-2.0, width)]), FRAME)
    grain = np.array([(0.0, width + 3.0), (min(20.0, length), width + 3.0)])
    if cloth.grain:
        _draw_arrow(pen, grain, GRAIN)
        pen.text((grain[1, 0] + 2.0, width + 2.0), "nap and grain" if cloth.nap else "grain", TEXT_MM, colour=GREY)
    if cloth.folded:
        pen.text((length, -5.0), "fold", TEXT_MM, anchor="end", colour=TEAL)


def _draw_arrow(pen: Pen, line: Floats, style: Line) -> None:
    pen.polyline(line, style)
    pen.polyline(arrow_head(line[1].tolist(), (line[1] - line[0]).tolist(), 1.6), style)


def _draw_piece(pen: Pen, page: Page, one: Placement, label: Label | None) -> None:
    outline = _on_page(page, one)
    with group(pen, f"{one.piece} {one.layer} {one.hand}"):
        pen.polyline(outline, FIXED if one.fixed else PIECE, closed=True)
        if label is not None:
            pen.text(label.at, label.words, label.height, anchor="middle")
            _draw_grain(pen, one, outline, (label.at[0], label.at[1] - label.height * 0.8))


def _on_page(page: Page, one: Placement) -> Floats:
    outline = Polygon(outline_at(part_of(page.parts, one), one) / page.scale)
    return np.asarray(shapely.get_coordinates(outline.exterior.simplify(SEEN_MM)))[:-1]


def _label(page: Page, one: Placement) -> Label | None:
    """Number and title, else the number alone, as large as there is room; None where even that has none."""
    outline = _on_page(page, one)
    shape = Polygon(outline)
    room, middles = shape.buffer(-CLEAR_MM), _middles(shape)
    for words, smallest in _label_words(page, one):
        for height in (size for size in SIZES if size >= smallest):
            for at in middles:
                if room.contains(Polygon(text_box(at, words, height, 0.0, "middle"))):
                    return Label(words, at, height)
    return None


def _middles(shape: Polygon) -> list[tuple[float, float]]:
    """Points to try: the centre of area first, then the one with most air around it."""
    circle = shapely.maximum_inscribed_circle(shape, tolerance=max(0.05, shape.length / 400))
    middle, roomiest = shape.centroid.coords[0], circle.coords[0]
    return [(float(x), float(y)) for x, y in (middle, roomiest)]


def _label_words(page: Page, one: Placement) -> Iterator[tuple[str, float]]:
    """Words, and how small they may be written."""
    part, number = part_of(page.parts, one), page.number(one)
    signs = f"{' m' if one.hand == 'mirrored' else ''}{' ×1' if _folded(page) and _is_single(part, one) else ''}"
    yield f"{number} {part.title}{signs}", SMALL_TITLE_MM
    yield f"{number}{signs}", SIZES[-1]


def _is_single(part: LayPart, one: Placement) -> bool:
    return one.copies == 1 and not part.on_fold


def _draw_grain(pen: Pen, one: Placement, outline: Floats, middle: tuple[float, float]) -> None:
    """An arrow along the grain below the label, its head towards the piece's top; none where it has no room."""
    angle = np.radians(one.rotation)
    ahead = np.array([np.cos(angle), np.sin(angle)])
    room = Polygon(outline).buffer(-CLEAR_MM)
    for reach in (ARROW_MM / 2, ARROW_MM / 4, ARROW_MM / 8):
        line = np.array([middle - reach * ahead, middle + reach * ahead])
        if room.contains(LineString(line)):
            pen.polyline(line, GRAIN)
            pen.polyline(arrow_head(line[1].tolist(), ahead.tolist(), min(1.4, reach)), GRAIN)
            return
