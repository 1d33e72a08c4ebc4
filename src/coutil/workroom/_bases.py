"""Base patterns: the list, a look at one, a maker's own from a style file or a drawing, and its marks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING

from coutil.drawing import LARGEST_DRAWING, Certainty, Imported
from coutil.errors import BadInput
from coutil.file_names import file_stem
from coutil.import_job import import_apart
from coutil.measure import Chart, chart_from_text, parse_length
from coutil.pattern import LARGEST_FILE, Role, Style, style_from_json, style_to_json
from coutil.record import (
    Conflict,
    OwnBase,
    add_base,
    change_base,
    find_base,
    find_own_base,
    list_bases,
    own_id,
    remove_base,
)
from coutil.workroom._http import called, conflict_json, got, number, posted, saving_from, see, text, told_json, upload
from coutil.workroom._marking import (
    EdgeWish,
    Marks,
    SeamWish,
    marks_text,
    read_marks,
    with_corner,
    with_edges,
    with_levels,
    with_seams,
    with_titles,
)
from coutil.workroom._pattern_svg import pattern_shape
from coutil.workroom._render import page
from coutil.workroom._state import AppState

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route

    from coutil.measure import Unit

LARGEST_CHART = 1_000_000
DRAWINGS = (".svg", ".dxf")
ENDINGS = (".json", *DRAWINGS)
SURE = 0.9  # Proposals at least as sure come after those that ask for the maker's eye.
UNMARKED = "This pattern came as a style file, so everything on it is named already."


@dataclass(frozen=True, slots=True)
class SeamLine:
    """A seam as its two sides are typed."""

    name: str
    a: str
    b: str
    ease: float


def routes(state: AppState) -> list[Route]:
    """The pages of base patterns."""
    return [
        got(state, "/bases", bases),
        posted(state, "/bases", add),
        got(state, "/bases/size", size),
        got(state, "/bases/{key}", base),
        got(state, "/bases/{key}/style.json", style_file),
        posted(state, "/bases/{key}/remove", remove),
        got(state, "/bases/{key}/marks", marks),
        called(state, "/api/bases/{id}/marks", mark),
        called(state, "/api/bases/{id}/corner", corner),
    ]


def bases(state: AppState, request: Request) -> Response:
    """All base patterns, the maker's own first."""
    found = list_bases(state.records)
    own, shipped = [b for b in found if b.own], [b for b in found if not b.own]
    return page(state, request, "bases.html", here="bases", own=own, shipped=shipped, error="")


def size(state: AppState, request: Request) -> Response:
    """Leads to the base of a size that was typed; raises BadInput, with the ranges, where there is none."""
    name = request.query_params.get("name", "").strip()
    find_base(state.records, name)
    return see(f"/bases/{name}")


def add(state: AppState, request: Request, form: FormData) -> Response:
    """Reads a style file or a drawing as a base; a drawing's proposal is to be looked through next."""
    try:
        kept = _read(state, form)
    except BadInput as error:
        found = list_bases(state.records)
        own, shipped = [b for b in found if b.own], [b for b in found if not b.own]
        return page(state, request, "bases.html", 422, here="bases", own=own, shipped=shipped, error=str(error))
    return see(f"/bases/{kept.key}/marks" if kept.drawing else f"/bases/{kept.key}")


def base(state: AppState, request: Request) -> Response:
    """One base pattern: its drawing, its chart, where it comes from."""
    key = str(request.path_params["key"])
    style = find_base(state.records, key)
    own = find_own_base(state.records, own_id(key)) if key.startswith("own-") else None
    shape = pattern_shape(style)
    return page(state, request, "base_pattern.html", here="bases", key=key, style=style, own=own, shape=shape)


def style_file(state: AppState, request: Request) -> Response:
    """The base as a style file."""
    from starlette.responses import Response

    key = str(request.path_params["key"])
    body = style_to_json(find_base(state.records, key))
    disposition = f'attachment; filename="{file_stem(key)}.json"'
    return Response(body, media_type="application/json", headers={"content-disposition": disposition})


def remove(state: AppState, request: Request, form: FormData) -> Response:
    """Takes an own base off the list."""
    remove_base(state.records, own_id(str(request.path_params["key"])))
    return see("/bases")


def marks(state: AppState, request: Request) -> Response:
    """What was proposed for a drawing, to be confirmed or put right."""
    kept = find_own_base(state.records, own_id(str(request.path_params["key"])))
    if not kept.drawing:
        raise BadInput(UNMARKED)
    style = style_from_json(kept.style_text)
    found = _imported(kept, kept.marks_text)
    return page(
        state,
        request,
        "base_marks.html",
        here="bases",
        base=kept,
        style=style,
        shape=pattern_shape(style),
        proposals=in_doubt_first(_proposed(kept, found)),
        remarks=found.remarks,
        seams=seam_lines(style),
        roles=list(Role),
        sure=SURE,
        corners=corner_offsets(read_marks(kept.marks_text), style),
    )


def mark(state: AppState, request: Request, data: object) -> Response:
    """Reads the drawing again with the marks as put right on the page."""
    saving = saving_from(data)
    return _marked(state, number(request), saving.version, saving.unit, saving.fields)


def corner(state: AppState, request: Request, data: object) -> Response:
    """Moves a corner to where the maker pointed."""
    if not isinstance(data, dict):
        raise BadInput("The page sent something that cannot be read: load it again.")
    saving = saving_from({**data, "fields": {}})
    piece, edge, x, y = (data.get(name) for name in ("piece", "edge", "x", "y"))
    if not (isinstance(piece, str) and isinstance(edge, str) and _is_number(x) and _is_number(y)):
        raise BadInput("The page sent something that cannot be read: load it again.")
    kept = find_own_base(state.records, number(request))
    place = (float(str(x)), float(str(y)))
    return _kept(state, kept, with_corner(read_marks(kept.marks_text), piece, edge, place), saving.version, saving.unit)


def in_doubt_first(certainties: Iterable[Certainty]) -> list[Certainty]:
    """The proposals, the least sure first."""
    return sorted(certainties, key=lambda certainty: certainty.sure)


def seam_lines(style: Style) -> list[SeamLine]:
    """The seams as typed."""
    from coutil.pattern import EdgeRef

    def typed(chain: tuple[EdgeRef, ...]) -> str:
        return ", ".join(f"{ref.piece}.{ref.edge}{' backward' if ref.backward else ''}" for ref in chain)

    return [SeamLine(seam.name, typed(seam.a), typed(seam.b), seam.ease) for seam in style.seams]


def corner_offsets(marks: Marks, style: Style) -> dict[str, tuple[float, float]]:
    """By piece, what to add to its own coordinates to have the marks file's."""
    offsets = {}
    for piece in style.pieces:
        edges = marks.get("pieces", {}).get(piece.name, {}).get("edges", {})
        first = piece.edges[0]
        stated = edges.get(first.name, {}).get("from")
        start = first.curve.points[0]
        offsets[piece.name] = (
            (round(stated[0] - float(start[0]), 4), round(stated[1] - float(start[1]), 4)) if stated else (0.0, 0.0)
        )
    return offsets


def _marked(state: AppState, base_id: int, version: int, unit: Unit, fields: Mapping[str, str]) -> Response:
    kept = find_own_base(state.records, base_id)
    if "text" in fields:
        wanted = read_marks(fields["text"])
    else:
        wanted = _with_fields(read_marks(kept.marks_text), style_from_json(kept.style_text), fields, unit)
    return _kept(state, kept, wanted, version, unit)


def _with_fields(marks: Marks, style: Style, fields: Mapping[str, str], unit: Unit) -> Marks:
    titles = {piece.name: fields.get(f"title.{piece.name}", piece.title) for piece in style.pieces}
    named = with_titles(marks, fields.get("title", style.title), titles)
    seamed = with_seams(named, _seams(fields, unit)) if "seam.count" in fields else named
    levelled = with_levels(seamed, _depths(style, fields, unit))
    return with_edges(levelled, _edges(style, fields))


def _edges(style: Style, fields: Mapping[str, str]) -> list[EdgeWish]:
    return [
        EdgeWish(
            piece.name,
            edge.name,
            fields.get(f"name.{piece.name}.{edge.name}", edge.name).strip().lower().replace(" ", "_"),
            fields.get(f"role.{piece.name}.{edge.name}", edge.role.value),
            fields.get(f"straight.{piece.name}.{edge.name}", "yes" if edge.straight else "") == "yes",
        )
        for piece in style.pieces
        for edge in piece.edges
    ]


def _depths(style: Style, fields: Mapping[str, str], unit: Unit) -> dict[str, float]:
    typed = {level.name: fields.get(f"level.{level.name}", "") for level in style.levels}
    return {name: round(parse_length(depth, unit), 3) for name, depth in typed.items() if depth.strip()}


def _seams(fields: Mapping[str, str], unit: Unit) -> list[SeamWish]:
    count = fields["seam.count"]
    n_seams = int(count) if count.isascii() and count.isdigit() and len(count) < 4 else 0
    wishes = []
    for i in range(n_seams):
        name, a, b = (fields.get(f"seam.{i}.{part}", "").strip() for part in ("name", "a", "b"))
        if a or b:
            ease = parse_length(fields.get(f"seam.{i}.ease", "") or "0", unit)
            wishes.append(SeamWish(name.lower().replace(" ", "_"), a, b, round(ease, 3)))
    return wishes


def _kept(state: AppState, kept: OwnBase, wanted: Marks, version: int, unit: Unit) -> Response:
    found = _imported(kept, marks_text(wanted))
    style = found.style

    def edit(old: OwnBase) -> OwnBase:
        return replace(
            old, name=style.name, title=style.title, style_text=style_to_json(style), marks_text=found.marks_text
        )

    outcome = change_base(state.records, kept.id, version, edit)
    if isinstance(outcome, Conflict):
        return conflict_json(outcome, unit)
    proposals = [asdict(certainty) for certainty in in_doubt_first(found.certainties)]
    return told_json({"version": outcome.version, "proposals": proposals, "remarks": found.remarks})


def _imported(kept: OwnBase, said: str | None, chart: Chart | None = None, scale: float = 1.0) -> Imported:
    return import_apart(kept.drawing, kept.suffix, kept.name, said, chart, scale)


def _read(state: AppState, form: FormData) -> OwnBase:
    """The base in the uploaded file; raises BadInput for what is none."""
    found = upload(form, "pattern", max(LARGEST_FILE, LARGEST_DRAWING))
    if found is None:
        raise BadInput("Choose a file: a style file (.json), or a drawing (.svg or .dxf).")
    suffix, data = found
    if suffix not in ENDINGS:
        raise BadInput("A base pattern comes as a style file (.json) or as a drawing (.svg or .dxf).")
    if suffix == ".json":
        return add_base(state.records, style_from_json(data))
    drawn = OwnBase(0, 1, "own_pattern", "", "", drawing=data, suffix=suffix)
    read = _imported(drawn, None, _chart(form), _scale(text(form, "scale")))
    title = text(form, "title").strip()
    style = replace(read.style, title=title) if title else read.style
    told = marks_text({**read_marks(read.marks_text), "title": title}) if title else read.marks_text
    return add_base(state.records, style, told, data, suffix)


def _proposed(kept: OwnBase, found: Imported) -> tuple[Certainty, ...]:
    """What was guessed when the drawing was first read, until the maker has put her marks on it."""
    if kept.version > 1:
        return found.certainties
    return _imported(kept, None, scale=float(read_marks(kept.marks_text).get("scale", 1.0))).certainties


def _chart(form: FormData) -> Chart | None:
    found = upload(form, "chart", LARGEST_CHART)
    return chart_from_text(found[1], found[0]) if found else None


def _scale(typed: str) -> float:
    try:
        scale = float(typed.replace(",", ".") or 1)
    except ValueError:
        scale = 0.0
    if not 1e-4 <= scale <= 1e4:
        raise BadInput("Give how many times larger the pattern is than the drawing, such as 1 or 10.")
    return scale


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
