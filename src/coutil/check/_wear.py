"""On the body: upper edge, lap, hip bone and armpit, the way in, and how far the waist is pulled in."""

from __future__ import annotations

from collections.abc import Iterator

from coutil.check._case import Case
from coutil.check._findings import Finding, Verdict
from coutil.check._judge import at_least, shown, within
from coutil.check._words import mm
from coutil.measure import reduction_limit
from coutil.pattern import Role, Spread, girth

# The upper edge holds when its half is 5 to 15 mm shorter than the body there (common practice).
TOP_SHORTER_MM = (5.0, 15.0)
LAP_CLEAR_MM = 20.0
HIP_BONE_CLEAR_MM = 15.0
EDGE_HIGHER_MM = 0.5
DEPTH_MM = 10.0
OPENING_MM = 350.0


def check_top_edge(case: Case) -> tuple[Finding, ...]:
    """Neckline, armhole and back top with half the gap, against half the run on the body less 5 to 15 mm.

    Silent where the run was not taken on the body: an estimate is the pattern's own figure.
    """
    body, has = taken(case, "top_edge_run"), case.measures.get("top_edge_run")
    if body is None or has is None:
        return ()
    low, high = TOP_SHORTER_MM
    middle, half = (low + high) / 2, (has + case.gaps) / 2
    off = body / 2 - half - middle
    figures = f"Half of it is {mm(half)} with the gap, half of the body {mm(body / 2)}"
    word = "lies loose: take the edge in" if off < 0 else "cuts in: let the edge out"
    said = (f"{figures}.", f"{figures}; the edge {word}.")
    return (within("top_edge", "upper edge against the body", off, (high - low) / 2, (), said, beyond=Verdict.WARN),)


def check_lower_edge(case: Case) -> tuple[Finding, ...]:
    """The front hem clear of the lap when seated, and no hem on the edge of the hip bone."""
    return (*_lap(case), *_hip_bone(case))


def check_underarm(case: Case) -> tuple[Finding, ...]:
    """The underarm edge no higher than the side height taken on the body, which keeps 25 mm clear of the armpit.

    Silent where that was not taken.  Worked case: taken 175, the pattern 208 as the base has it: 33 too high.
    """
    planned, has = taken(case, "side_height"), case.measures.get("side_height")
    if planned is None or has is None:
        return ()
    higher = max(has - planned, 0.0)
    figures = f"{mm(has)} above the waist, taken on the body {mm(planned)}"
    bad = f"{figures}: {mm(higher)} higher, so it may reach the armpit. Lower the side by as much, or take it again."
    said = (f"{figures}.", bad)
    name = "underarm edge above the planned one"
    return (within("underarm", name, higher, EDGE_HIGHER_MM, (), said, beyond=Verdict.WARN),)


def taken(case: Case, key: str) -> float | None:
    """What was read on the body, mm; None for what was only estimated.

    The altered pattern's own chart says what it is drawn for; her reading stands in the row that could not follow it.
    """
    row = next((r for r in case.plan.rows if r.measurement == key), None) if case.plan is not None else None
    if row is not None:
        return None if row.estimated else row.client
    return None if case.chart.estimated(key) else case.chart.get(key)


def check_depths(case: Case) -> tuple[Finding, ...]:
    """Girths below the waist were measured where the pattern has their level."""
    found = []
    for key, words in (("waist_to_high_hip", "high hip"), ("waist_to_hip", "hip")):
        body, has = case.chart.get(key), case.measures.get(key)
        if body is not None and has is not None:
            bad = f"The {words} was measured {mm(body)} below the waist, on the pattern {mm(has)}: measure there."
            said = (f"The {words} lies where it was measured.", bad)
            name = f"depth of the {words} on pattern and body"
            found.append(within("depth", name, has - body, DEPTH_MM, (), said, beyond=Verdict.WARN))
    return tuple(found)


def check_opening(case: Case) -> tuple[Finding, ...]:
    """How far the lacing must open for stepping in: hip less the narrowest net girth, unless the front opens too."""
    hip = case.chart.get("hip_girth")
    waist = [level.name for level in case.style.levels if level.measure == "waist"]
    if hip is None or not waist:
        return ()
    if _opens_in_front(case.spread):
        return (shown("opening", "opening needed to get in", 0.0, (), "The front opens; the lacing need not."),)
    needed = max(hip - girth(case.spread, waist[0]).full, 0.0)
    bad = "That is more than a lacing opens with ease: put a busk in the front."
    said = (f"The lace must let the back open to {mm(needed)}.", bad)
    return (within("opening", "opening needed to get in", needed, OPENING_MM, (), said, beyond=Verdict.WARN),)


def check_reduction(case: Case) -> tuple[Finding, ...]:
    """The waist reduction against the smallest of a tenth, 100 mm and what the tape can be pulled in."""
    waist = case.chart.get("waist_girth")
    if waist is None:
        return ()
    reduction = case.style.base_fit.reduction if case.plan is None else case.plan.reduction
    limit = reduction_limit(waist, case.chart.get("waist_girth_compressed"))
    over = max(reduction, 0.0)
    said = (f"{mm(over)} of {mm(waist)}.", f"{limit.sentence} Reduce less, and in stages; read the cautions.")
    return (within("reduction", "waist reduction", over, limit.amount, (), said, beyond=Verdict.WARN),)


def _lap(case: Case) -> Iterator[Finding]:
    lap, depth = case.chart.get("waist_to_lap"), _front_hem(case.spread)
    if lap is not None and depth is not None:
        said = ("It clears the thighs when seated.", "It stands on the thighs when seated: shorten the front.")
        name = "front hem above the lap when seated"
        yield at_least("lap", name, lap - depth, LAP_CLEAR_MM, (), said, beyond=Verdict.WARN)


def _hip_bone(case: Case) -> Iterator[Finding]:
    bone, hem = case.chart.get("waist_to_hip_bone"), case.measures.get("side_below_waist")
    if bone is not None and hem is not None:
        bad = "The hem ends on the edge of the hip bone: end it clearly above or below."
        name = "hem clear of the hip bone's edge"
        said = ("The hem is clear of the bone.", bad)
        yield at_least("hip_bone", name, abs(hem - bone), HIP_BONE_CLEAR_MM, (), said, beyond=Verdict.WARN)


def _front_hem(spread: Spread) -> float | None:
    """Depth below the waist of the deepest front hem corner that is not on the centre line, where the thigh is."""
    depths = [
        piece.levels["waist"] - float(edge.curve.points[end][1])
        for piece in spread.style.pieces
        for i, edge in enumerate(piece.edges)
        for end, beside in ((0, i - 1), (-1, (i + 1) % len(piece.edges)))
        if piece.part == "front" and "waist" in piece.levels and edge.role is Role.HEM
        if not piece.edges[beside].role.is_vertical
    ]
    return max(depths, default=None)


def _opens_in_front(spread: Spread) -> bool:
    return any(e.role is Role.CLOSURE for piece in spread.style.pieces if piece.part == "front" for e in piece.edges)
