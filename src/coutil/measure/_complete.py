"""What a client's chart lacks, estimated from the base's chart and marked so."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from coutil.errors import BadChart
from coutil.measure._chart import Chart, Reading
from coutil.measure._definitions import MEASUREMENTS
from coutil.measure._keys import title
from coutil.measure._levels import SAME_LEVEL_MM, girth_at_depth

# Limits of the body and wishes: a base's value would be a made-up check, so these are never copied.
NEVER_COPIED = frozenset(
    {"height", "waist_to_lap", "waist_to_hip_bone", "top_edge_run", "centre_front_height"}
)
_DEPTH_OF = {"high_hip": "waist_to_high_hip", "hip": "waist_to_hip"}


@dataclass(frozen=True, slots=True)
class Completed:
    """The chart with its gaps filled, which keys were estimated here, and a sentence for each."""

    chart: Chart
    estimated_keys: tuple[str, ...]
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Estimate:
    key: str
    value: float
    source: str


def complete_chart(client: Chart, base: Chart, levels: Mapping[str, float | None]) -> Completed:
    """The client's chart with what the base's chart needs, estimated where it was not measured.

    `levels` gives for each stem (waist, high_hip, hip, hem) the style's depth below the waist in mm, or None
    where the pieces state it alone.  Fronts: the back first (back bust arc = back underbust arc x the
    base's ratio; elsewhere the base's proportion of front to girth).  High hip and hem: read between the
    client's own levels at the style's depth.  Lengths: `underbust_to_waist` from bust to waist less cup
    depth, others the base's.  Girths that cannot be estimated, limits of the body and the centre front
    height stay absent.
    """
    chart, made = client, list[_Estimate]()
    for stage in (_lengths, _girths_at_depth, _fronts):
        for estimate in stage(chart, base, levels):
            chart = chart.with_value(estimate.key, estimate.value, "estimated")
            made.append(estimate)
    return Completed(chart, tuple(e.key for e in made), tuple(_sentence(e) for e in made))


def _sentence(estimate: _Estimate) -> str:
    return f"The {title(estimate.key)} is estimated at {estimate.value:.0f} mm, {estimate.source}."


def _lengths(client: Chart, base: Chart, _levels: Mapping[str, float | None]) -> Iterator[_Estimate]:
    for key in base.stems():
        if MEASUREMENTS[key].kind in ("length", "height") and key not in client and key not in NEVER_COPIED:
            yield _derived_length(client, base, key) or _Estimate(key, base[key], "as in the base")


def _derived_length(client: Chart, base: Chart, key: str) -> _Estimate | None:
    """A length that follows from others of the same body, or None."""
    cup, band = client.get("bust_point_to_underbust"), client.get("underbust_to_waist")
    to_waist = client.get("bust_to_waist")
    if key == "underbust_to_waist" and to_waist is not None and cup is not None and to_waist > cup:
        return _Estimate(key, to_waist - cup, "bust point to waist less the cup depth")
    if key == "bust_to_waist" and band is not None and cup is not None:
        return _Estimate(key, band + cup, "underbust to waist and the cup depth together")
    if key == "bust_level_to_waist" and "underbust_to_waist" in base:
        under = _derived_length(client, base, "underbust_to_waist")
        start = band if band is not None or under is None else under.value
        if start is not None:
            above = base[key] - base["underbust_to_waist"]
            return _Estimate(key, start + above, "the underbust, and above it as in the base")
    return None


def _girths_at_depth(client: Chart, _base: Chart, levels: Mapping[str, float | None]) -> Iterator[_Estimate]:
    high_hip, hem = levels.get("high_hip"), levels.get("hem")
    if high_hip is not None and _lies_elsewhere(client, "high_hip", high_hip):
        yield from _read_at(client, "high_hip", high_hip)
    if hem is not None and "hem_girth" not in client:
        yield from _read_at(client, "hem", hem)


def _lies_elsewhere(client: Chart, stem: str, depth: float) -> bool:
    """Whether the level's girth is missing, or was taken more than 10 mm from the style's depth."""
    taken_at = client.get(_DEPTH_OF[stem])
    if f"{stem}_girth" not in client:
        return True
    return taken_at is not None and abs(taken_at - depth) > SAME_LEVEL_MM


def _read_at(client: Chart, stem: str, depth: float) -> Iterator[_Estimate]:
    """Girth, front and depth of a level read between the measured ones; nothing where that cannot be done."""
    try:
        found = girth_at_depth(client, depth)
    except BadChart:
        return
    source = f"read between the measured levels at {depth:.0f} mm below the waist"
    yield _Estimate(f"{stem}_girth", found.girth, source)
    front = found.front if found.front is not None else _scaled_front(client, stem, found.girth)
    if front is not None and (stem != "hem" or "hem_front" not in client):
        yield _Estimate(f"{stem}_front", front, source)
    if stem in _DEPTH_OF:
        yield _Estimate(_DEPTH_OF[stem], depth, "the style's depth, to which the girth was brought")


def _scaled_front(client: Chart, stem: str, girth: float) -> float | None:
    """The level's own front, brought to another girth in proportion; None where it was not taken."""
    own_girth, own_front = client.get(f"{stem}_girth"), client.get(f"{stem}_front")
    return girth * own_front / own_girth if own_girth and own_front is not None else None


def _fronts(client: Chart, base: Chart, _levels: Mapping[str, float | None]) -> Iterator[_Estimate]:
    known = client
    for stem in ("underbust", "bust", "waist", "high_hip", "hip", "hem"):
        key = f"{stem}_front"
        if key in client or f"{stem}_girth" not in client:
            continue
        from_back = _bust_front(known, base) if stem == "bust" else None
        estimate = from_back or _front_by_share(known, base, stem)
        if estimate is not None:
            known = known.with_reading(key, Reading(estimate.value, "estimated"))
            yield estimate


def _bust_front(client: Chart, base: Chart) -> _Estimate | None:
    backs = [_back(client, "underbust"), _back(base, "underbust"), _back(base, "bust")]
    if any(back is None or back <= 0 for back in backs):
        return None
    own, base_underbust, base_bust = (back for back in backs if back is not None)
    front = client["bust_girth"] - own * base_bust / base_underbust
    source = "the back taken from the back of the underbust by the base's ratio"
    return _Estimate("bust_front", front, source) if front > 0 else None


def _back(chart: Chart, stem: str) -> float | None:
    girth, front = chart.get(f"{stem}_girth"), chart.get(f"{stem}_front")
    return girth - front if girth is not None and front is not None else None


def _front_by_share(client: Chart, base: Chart, stem: str) -> _Estimate | None:
    girth, front = base.get(f"{stem}_girth"), base.get(f"{stem}_front")
    if not girth or front is None:
        return None
    share = front / girth
    source = f"{100 * share:.0f} % of the girth as in the base"
    return _Estimate(f"{stem}_front", client[f"{stem}_girth"] * share, source)
