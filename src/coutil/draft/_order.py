"""What a draft is to measure: the chart halved and turned into garment widths, with the draft's own fit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from coutil.errors import BadChart, CannotDraft
from coutil.measure import REDUCTION_MOST, Chart, complete_chart, girth_at_depth
from coutil.pattern import Fit

# A first garment's usual reduction (trade: 7.7 to 11.8 per cent in worked examples; 10 is the middle).
REDUCTION_SHARE = 0.10
# The most usual gap left between the laced edges (trade practice: 50 mm, 2 in).
LACING_GAP = 50.0
STEMS = ("bust", "underbust", "waist", "high_hip", "hem")


@dataclass(frozen=True, slots=True)
class Width:
    """Half widths of the garment at one level, front and back, mm."""

    front: float
    back: float


def usual_fit(chart: Chart, reduction: float | None = None, lacing_gap: float = LACING_GAP) -> Fit:
    """Body girths at every level, a tenth off the waist but no more than 100 mm, and a gap of 50 mm at the back."""
    usual = min(REDUCTION_SHARE * chart["waist_girth"], REDUCTION_MOST)
    taken = usual if reduction is None else reduction
    return Fit(ease=dict.fromkeys(STEMS, 0.0), reduction=taken, lacing_gap=lacing_gap)


def garment_widths(chart: Chart, fit: Fit, reduction_front: float = 0.5) -> Mapping[str, Width]:
    """Half front and half back of the garment at every level the chart has.

    The lacing gap comes off the back alone; the reduction is shared between front and back.
    Worked case: waist 720 (front 370), reduction 80, gap 50 -> garment 590: half front 165, half back 130.
    """
    widths = {}
    for stem in STEMS:
        if f"{stem}_girth" not in chart:
            continue
        front, girth = chart[f"{stem}_front"], chart[f"{stem}_girth"]
        ease = fit.ease.get(stem, 0.0) / 2
        taken = fit.reduction if stem == "waist" else 0.0
        widths[stem] = Width(
            (front + ease - reduction_front * taken - fit.closure_gap) / 2,
            (girth - front + ease - (1 - reduction_front) * taken - fit.lacing_gap) / 2,
        )
    return widths


def at_depths(chart: Chart, depths: Mapping[str, float]) -> Chart:
    """The chart with high hip and hem as they are at the style's depths below the waist, mm.

    A high hip taken more than 10 mm elsewhere, or a hem that was not measured, is read between the measured levels
    and marked as estimated.  Raises CannotDraft where the high hip was taken elsewhere and cannot be read.
    """
    depth = depths["high_hip"]
    if "waist_to_high_hip" in chart:
        try:
            girth_at_depth(chart, depth)
        except BadChart as error:
            raise CannotDraft(
                f"high_hip_girth was taken {chart['waist_to_high_hip']:.0f} mm below the waist and this style has the "
                f"level at {depth:.0f} mm: measure it there, or give hip_girth and waist_to_hip too"
            ) from error
    return complete_chart(chart, chart, depths).chart


def require(chart: Chart, keys: tuple[str, ...]) -> None:
    """Raise CannotDraft naming every measurement that the draft needs and the chart lacks."""
    missing = [key for key in keys if key not in chart]
    if missing:
        raise CannotDraft(
            f"chart {chart.name or 'without a name'} lacks {', '.join(missing)}: "
            "take these readings before drafting a base from it"
        )
