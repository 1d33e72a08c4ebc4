"""Bases as a maker names them, where no client is at hand."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from coutil.alter import Alteration
    from coutil.pattern import Style


def base_of(base: str) -> Style:
    """A style file, or a shipped base by its name; raises BadInput where there is neither."""
    from coutil.files import read_bytes
    from coutil.pattern import style_from_json
    from coutil.shipped import shipped_base

    if base.lower().endswith(".json") or Path(base).is_file():
        return style_from_json(read_bytes(base))
    return shipped_base(base)


def held_in(file: Path) -> Alteration | Style:
    """What a style or result file holds, or a shipped base by its name; raises BadInput where there is none."""
    from coutil.files import read_bytes
    from coutil.pattern import format_of, style_from_json
    from coutil.result_file import RESULT_FORMAT, result_from_json
    from coutil.shipped import shipped_base

    if not file.suffix and file.name == str(file) and not file.is_file():
        return shipped_base(str(file))
    content = read_bytes(file)
    if format_of(content) == RESULT_FORMAT:
        return result_from_json(content).alteration
    return style_from_json(content)


def base_label(base: str) -> str:
    """How a base is called on the screen: a file's name without its folder, or the name itself."""
    return Path(base).name.removesuffix(".json")


def show_remarks_of(remarks: tuple[str, ...]) -> None:
    """Remarks, one line each."""
    from coutil.commands._screen import show_line

    for remark in remarks:
        show_line(remark)
