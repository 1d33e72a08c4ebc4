"""What comes with the program: bases, drafted when they are asked for, and the demonstration's clients."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from coutil.draft import PLAIN, STYLES, StyleKind
from coutil.errors import BadInput
from coutil.measure import Chart, chart_from_text
from coutil.pattern import Style

CHART_SUFFIXES = (".csv", ".toml", ".json")
# A draft takes a twentieth of a second; the workroom goes to and fro between a few bases.
KEPT_BASES = 64


def base_names() -> tuple[str, ...]:
    """The names of the bases that lists show, a run of sizes of every style; `shipped_base` draws those between too."""
    return tuple(kind.base_name(size) for kind in STYLES.values() for size in kind.sizes)


@lru_cache(maxsize=KEPT_BASES)
def shipped_base(name: str) -> Style:
    """The base of that name, drafted; raises BadInput, naming every style's range, where there is none."""
    for kind in STYLES.values():
        size = kind.size_of(name)
        if size is not None:
            return kind.draft(kind.chart(size), None, PLAIN)
    *others, last = (_range_words(kind) for kind in STYLES.values())
    raise BadInput(
        f"There is no base {name[:40]}: give a style file, nearest, or a size in whole centimetres: "
        f"{', '.join(others)} (underbust, then how much more the bust has) or {last}."
    )


def _range_words(kind: StyleKind) -> str:
    """From its smallest base to its largest."""
    first, last = (kind.base_name(tuple(run[end] for run in kind.ranges)) for end in (0, -1))
    return f"{first} to {last}"


def demo_clients() -> dict[str, Chart]:
    """The charts of the invented touring opera, by file name without its suffix."""
    charts = (file for file in _folder("clients").iterdir() if _suffix(file) in CHART_SUFFIXES)
    ordered = sorted(charts, key=lambda file: file.name)
    return {
        file.name.removesuffix(_suffix(file)): chart_from_text(file.read_bytes(), _suffix(file)) for file in ordered
    }


def example_size_table() -> str:
    """The text of the example table of size steps, after a published size table."""
    return _folder("tables").joinpath("misses.csv").read_text(encoding="utf-8")


def _suffix(file: Traversable) -> str:
    return "." + file.name.rpartition(".")[2]


def _folder(name: str) -> Traversable:
    return files("coutil").joinpath("demo_data", name)
