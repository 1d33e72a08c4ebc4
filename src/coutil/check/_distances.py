"""Distances and heights as measured on the pattern, against what they are to be."""

from __future__ import annotations

from collections.abc import Iterator

from coutil.check._case import Case, is_declared
from coutil.check._findings import Finding, Verdict
from coutil.check._judge import within
from coutil.check._words import mm
from coutil.measure import title
from coutil.pattern import bust_points, lower_dart_angles

DISTANCE_MM = 0.5

# Distances over the breast: a cup is drawn to them, a panelled front bridges them.
OF_CUP = ("bust_point_to_underbust", "bust_point_to_upper_corner", "bust_point_to_armhole")
# A base by itself is held to these readings of its own chart.
DISTANCES = ("bust_point_separation", *OF_CUP, "underbust_to_waist", "bust_level_to_waist")
# Heights of the top edge; a style may keep its own, whatever the client's chart says.
HEIGHTS = ("side_height", "centre_front_height", "centre_back_height")
# Heights are the maker's to decide; so is a distance that follows from one.
DECISIONS = (
    "bust_point_to_centre_top",
    *HEIGHTS,
    "centre_front_below_waist",
    "side_below_waist",
    "centre_back_below_waist",
)


def check_distances(case: Case) -> tuple[Finding, ...]:
    """Bust point separation, cup distances and lengths against target or declared rest."""
    return tuple(_distance(case, key, wanted) for key, wanted in _targets(case))


def check_heights(case: Case) -> tuple[Finding, ...]:
    """Heights above the waist and depths below it against the wanted ones: a decision, shown."""
    return tuple(_height(case, key, wanted) for key, wanted in _wanted_heights(case))


def check_dart(case: Case) -> tuple[Finding, ...]:
    """The lower dart of each cup within the limits the style gives."""
    cup = case.style.sharing.cup
    low, high = (25.0, 75.0) if cup is None else cup.dart_limits
    pieces = tuple(dict.fromkeys(point.piece.name for point in bust_points(case.spread)))
    found = []
    for angle in lower_dart_angles(case.spread):
        off = max(low - angle, angle - high, 0.0)
        figures = f"It stands open by {angle:.1f} degrees"
        said = (f"{figures}.", f"{figures}, outside {low:.0f} to {high:.0f}: start from another cup.")
        found.append(within("lower_dart", "lower dart of the cup, beyond its limits", off, 0.0, pieces, said, "deg"))
    return tuple(found)


def _targets(case: Case) -> Iterator[tuple[str, float]]:
    if case.plan is not None:
        wanted = [(key, value) for key, value in case.plan.targets.items() if key not in DECISIONS]
    else:
        chart = case.style.base_chart
        # A style that gives its bust level a plumb height of its own does not follow the breast.
        is_bridged = any(band.above == "bust" for band in case.style.sharing.bands)
        # A side has a reading of its own only where left and right were both taken.
        drawn = (key for key in DISTANCES if not is_bridged or key not in OF_CUP)
        sided = (f"{key}{side}" for key in drawn for side in ("", "_left", "_right"))
        wanted = [(key, chart[key]) for key in sided if key in chart]
    return ((key, value) for key, value in wanted if key in case.measures)


def _distance(case: Case, key: str, wanted: float) -> Finding:
    has = case.measures[key]
    figures = f"Wanted {mm(wanted)}, has {mm(has)}"
    name, pieces = title(key), _pieces(case, key)
    if is_declared(case, has - wanted, key):
        said = (f"{figures}.", f"{figures}; the alteration chart says what is still missing.")
        return within("distance", name, has - wanted, DISTANCE_MM, pieces, said, beyond=Verdict.EXPLAINED)
    said = (f"{figures}.", f"{figures}: redraw the edges that set it.")
    return within("distance", name, has - wanted, DISTANCE_MM, pieces, said)


def _pieces(case: Case, key: str) -> tuple[str, ...]:
    if not key.startswith("bust_point"):
        return ()
    return tuple(dict.fromkeys(point.piece.name for point in bust_points(case.spread)))


def _wanted_heights(case: Case) -> Iterator[tuple[str, float]]:
    targets = {} if case.plan is None else case.plan.targets
    foreign = set(HEIGHTS) - set(case.style.sharing.heights)
    for key in DECISIONS:
        wanted = None if key in foreign else targets.get(key, case.chart.get(key))
        if wanted is not None and key in case.measures:
            yield key, wanted


def _height(case: Case, key: str, wanted: float) -> Finding:
    has = case.measures[key]
    figures = f"Wanted {mm(wanted)}, has {mm(has)}"
    said = (f"{figures}.", f"{figures}: keep it, or say that it is to be taken.")
    return within("height", title(key), has - wanted, DISTANCE_MM, (), said, beyond=Verdict.DECISION)


