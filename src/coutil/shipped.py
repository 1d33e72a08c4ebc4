"""What comes with the program: the bases and the demonstration's clients, as files of the package."""

from __future__ import annotations

from importlib.resources import files
from importlib.resources.abc import Traversable

from coutil.errors import BadInput
from coutil.measure import Chart, chart_from_text
from coutil.pattern import Style, style_from_json

CHART_SUFFIXES = (".csv", ".toml", ".json")


def base_names() -> tuple[str, ...]:
    """The names of the shipped bases: cupped ones by underbust and cup difference, then the other styles' by size."""
    names = (file.name.removesuffix(".json") for file in _folder("bases").iterdir() if file.name.endswith(".json"))
    return tuple(sorted(names, key=_order))


def _order(name: str) -> tuple[str, tuple[int, ...]]:
    parts = name.split("-")
    return "-".join(part for part in parts if not part.isdigit()), tuple(int(p) for p in parts if p.isdigit())


def shipped_base(name: str) -> Style:
    """The base of that name; raises BadInput, naming the first and last, where there is none."""
    known = base_names()
    if name not in known:
        ends = ", ".join(_ends(known)) or "none"
        raise BadInput(f"There is no base {name}: give a style file, nearest, or one of the bases {ends}.")
    return style_from_json(_folder("bases").joinpath(f"{name}.json").read_bytes())


def _ends(names: tuple[str, ...]) -> list[str]:
    """First and last name of each style: 65-10 to 105-22, panelled-65-2 to panelled-105-18."""
    styles = dict.fromkeys(_order(name)[0] for name in names)
    runs = [[name for name in names if _order(name)[0] == style] for style in styles]
    return [f"{run[0]} to {run[-1]}" for run in runs]


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
