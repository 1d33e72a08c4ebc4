"""The styles that can be drafted: each is a family, drawn for any size in whole centimetres within its ranges."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import product
from types import MappingProxyType

from coutil.draft._charts import CUPS_CM, UNDERBUSTS_CM, base_chart
from coutil.draft._cupped import draft_cupped
from coutil.draft._panel_charts import PANELLED_CUPS_CM, PANELLED_UNDERBUSTS_CM, WAISTS_CM, panelled_chart, waist_chart
from coutil.draft._panelled import draft_panelled
from coutil.draft._variants import Variant
from coutil.draft._waist_corset import draft_waist_corset
from coutil.errors import BadInput
from coutil.measure import Chart
from coutil.pattern import Fit, Style

Size = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class StyleKind:
    """One style as it can be drafted.

    `ranges` are the sizes it can be drawn in, whole cm; `sizes` a run of them, as lists show it; `prefix` stands before
    a size in a base's name; `chart` gives a size's chart; `nearness` what a size is compared with a body by, in the
    order of importance, cm.
    """

    word: str
    title: str
    prefix: str
    ranges: tuple[range, ...]
    sizes: tuple[Size, ...]
    draft: Callable[[Chart, Fit | None, Variant], Style]
    chart: Callable[[Size], Chart]
    nearness: Callable[[Chart], tuple[float, ...]]

    def base_name(self, size: Size) -> str:
        """How a base of this style is called: 90-14, panelled-85-10, waist-72."""
        return self.prefix + "-".join(str(number) for number in size)

    def size_of(self, name: str) -> Size | None:
        """The size of a base of this style by its name; None for any other name."""
        numbers = name.removeprefix(self.prefix).split("-")
        if not name.startswith(self.prefix) or not all(n.isascii() and n.isdigit() and len(n) < 4 for n in numbers):
            return None
        size = tuple(int(number) for number in numbers)
        return size if self.covers(size) and self.base_name(size) == name else None

    def covers(self, size: Size) -> bool:
        """Whether a size is one that the style is drawn in."""
        return len(size) == len(self.ranges) and all(n in run for n, run in zip(size, self.ranges, strict=True))

    def nearest(self, chart: Chart) -> tuple[Size, ...]:
        """All sizes, the nearest first; raises BadChart where a reading it is chosen by is missing."""
        wanted = self.nearness(chart)
        every = product(*self.ranges)
        return tuple(sorted(every, key=lambda size: tuple(abs(a - b) for a, b in zip(size, wanted, strict=True))))


def style_kind(word: str) -> StyleKind:
    """The style of that word; raises BadInput, naming all, where there is none."""
    if word not in STYLES:
        raise BadInput(f"there is no style {word}: choose {', '.join(STYLES)}")
    return STYLES[word]


def _under_and_cup(chart: Chart) -> tuple[float, float]:
    under = chart["underbust_girth"] / 10
    return under, chart["bust_girth"] / 10 - under


STYLES: Mapping[str, StyleKind] = MappingProxyType(
    {
        "cupped": StyleKind(
            "cupped",
            "Cupped overbust",
            "",
            (range(62, 109), range(8, 27)),
            tuple((under, cup) for under in UNDERBUSTS_CM for cup in CUPS_CM),
            draft_cupped,
            lambda size: base_chart(*size),
            _under_and_cup,
        ),
        "panelled": StyleKind(
            "panelled",
            "Panelled overbust",
            "panelled-",
            (range(62, 109), range(21)),
            tuple((under, cup) for under in PANELLED_UNDERBUSTS_CM for cup in PANELLED_CUPS_CM),
            draft_panelled,
            lambda size: panelled_chart(*size),
            _under_and_cup,
        ),
        "waist": StyleKind(
            "waist",
            "Waist corset",
            "waist-",
            (range(52, 105),),
            tuple((waist,) for waist in WAISTS_CM),
            draft_waist_corset,
            lambda size: waist_chart(*size),
            lambda chart: (chart["waist_girth"] / 10,),
        ),
    }
)
