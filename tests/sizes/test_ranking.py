"""Ranking bases: the energy is the solve's own, the nearest base comes first, refusals are told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from coutil.alter import Alterer, Wishes
from coutil.curves import Curve
from coutil.draft import base_chart
from coutil.drawing import export_svg, import_drawing
from coutil.measure import Chart, Reading
from coutil.pattern import Edge, Piece, Role, Style
from coutil.ranking import change_energy, drafted_for, is_reduction_known, rank_bases
from coutil.shipped import demo_clients, shipped_base

CLIENT = demo_clients()["understudy"]


def one_edge(curve: Curve, role: Role = Role.PANEL_SEAM, straight: bool = False) -> Style:
    """A style of one edge, enough to measure a change on."""
    piece = Piece("p", "P", "front", (Edge("e", curve, role, straight),), {})
    return replace(shipped_base("80-14"), pieces=(piece,))


def test_energy_of_a_stretched_and_of_a_bent_line_by_hand() -> None:
    # A line of 300 mm: u = 3 s / 300 along it stretches by 0.01 everywhere: half of 0.01^2 times 300 is 0.015.
    line = Curve.line((0, 0), (0, 300))
    longer = Curve.line((0, 0), (0, 303))
    assert change_energy(one_edge(line), one_edge(longer)) == pytest.approx(0.015)
    assert change_energy(one_edge(line, Role.TOP), one_edge(longer, Role.TOP)) == pytest.approx(0.0015)
    assert change_energy(one_edge(line, straight=True), one_edge(longer, straight=True)) == pytest.approx(1.5e-5)
    # u = (s / 300)^2 in x: slope 2 s / 90000, bend 2 / 90000.
    bent = Curve(np.array([[0, 0], [0, 100], [1 / 3, 200], [1, 300]]))
    slope, bend = 4 / 300**4 * 300**3 / 3, 1e4 * (2 / 300**2) ** 2 * 300
    assert change_energy(one_edge(line), one_edge(bent)) == pytest.approx((slope + bend) / 2)


def test_what_is_merely_shifted_costs_nothing() -> None:
    line = Curve(np.array([[0, 0], [5, 100], [-3, 200], [1, 300]]))
    assert change_energy(one_edge(line), one_edge(line.moved(20, -7))) == pytest.approx(0, abs=1e-20)


def test_the_energy_is_that_of_the_solve() -> None:
    base = shipped_base("80-18")
    alterer = Alterer(base)
    outcome = alterer.alter(CLIENT)
    solved = alterer.stages.run(outcome.plan.rows).solution.energy
    # The solve adds an anchor of 1e-5 |u|^2 a knot, which is a hundredth here, and the last stage may free the cup.
    assert change_energy(outcome.base, outcome.style) == pytest.approx(solved, rel=0.15)


def test_the_base_of_the_clients_own_size_changes_least() -> None:
    chart = base_chart(80, 14)
    ranked = rank_bases(chart, [(name, shipped_base(name)) for name in ("75-14", "80-14", "80-22")], Wishes())
    assert ranked[0].name == "80-14"
    assert ranked[0].energy < 1e-6
    assert not ranked[0].warnings
    assert "nothing has to change" in ranked[0].reason or "nothing beyond the caps" in ranked[0].reason
    assert ranked[0].energy < ranked[1].energy


def test_bases_beyond_the_caps_come_after_those_within_and_say_so() -> None:
    ranked = rank_bases(CLIENT, [(name, shipped_base(name)) for name in ("80-14", "80-18")], Wishes())
    assert [found.name for found in ranked] == ["80-18", "80-14"]
    assert "start from another size" in ranked[1].warnings[0]
    assert "beyond the caps" in ranked[1].reason
    largest = ranked[1].largest
    assert largest is not None
    assert abs(largest.amount) > 12


def test_a_base_that_cannot_be_altered_comes_last_with_its_sentence() -> None:
    poor = replace(shipped_base("80-18"), base_chart=Chart("x", {"bust_girth": Reading(900.0)}))
    ranked = rank_bases(CLIENT, [("poor", poor), ("80-18", shipped_base("80-18"))], Wishes())
    assert [found.name for found in ranked] == ["80-18", "poor"]
    assert "waist" in ranked[1].refused


def lines_alone(name: str) -> Style:
    """A shipped base's lines as another drawing: without its marks file, so without chart, fit and sharing rules."""
    return import_drawing(export_svg(shipped_base(name)).drawing.encode(), ".svg", "lines_alone").style


@pytest.mark.parametrize("reduction", [None, 60.0])
@pytest.mark.parametrize("name", ["80-18", "panelled-85-10", "waist-72"])
def test_the_lines_of_a_base_alone_rank_as_the_base_itself(name: str, reduction: float | None) -> None:
    """A drawing says nothing of reduction: it is compared for the same garment, not for a body that is not laced."""
    again = lines_alone(name)
    assert not is_reduction_known(again)
    assert is_reduction_known(shipped_base(name))
    ranked = rank_bases(CLIENT, [("base", shipped_base(name)), ("lines", again)], Wishes(reduction=reduction))
    energy = {found.name: found.energy for found in ranked}
    assert energy["lines"] == pytest.approx(energy["base"], rel=0.03)
    told = {found.name: found.reason for found in ranked}
    assert "taken to lace in by 10 %" in told["lines"]
    assert "taken to lace in" not in told["base"]


def test_a_base_of_unknown_reduction_taken_as_drafted_for_a_tenth() -> None:
    """Laced waist 648 mm, a tenth of the body laced in: body 648 / 0.9 = 720, reduction 72, 36 of it in front."""
    again = lines_alone("waist-72")
    # Drafted for 720 less 72, 50 of it gap: the lines tell 598 of cloth and 648 laced.
    assert again.base_chart["waist_girth"] == pytest.approx(648.0, abs=0.01)
    drafted = drafted_for(again, 0.1)
    assert drafted.base_chart["waist_girth"] == pytest.approx(720.0, abs=0.02)
    assert drafted.base_fit.reduction == pytest.approx(72.0, abs=0.01)
    more = drafted.base_chart["waist_front"] - again.base_chart["waist_front"]
    assert more == pytest.approx(36.0, abs=0.01)
    assert drafted.pieces == again.pieces


def test_bases_that_lace_in_differently_are_compared_for_one_garment() -> None:
    own, tight = shipped_base("80-18"), shipped_base("80-18")
    # The same lines, said to be drafted for a body of 40 mm more waist that is laced in by as much more.
    chart = tight.base_chart.with_value("waist_girth", tight.base_chart["waist_girth"] + 40.0)
    chart = chart.with_value("waist_front", chart["waist_front"] + 20.0)
    fit = replace(tight.base_fit, reduction=tight.base_fit.reduction + 40.0)
    tight = replace(tight, base_chart=chart, base_fit=fit)
    ranked = rank_bases(CLIENT, [("own", own), ("tight", tight)], Wishes())
    energy = {found.name: found.energy for found in ranked}
    # Each by its own per cent, the second would be 4.5 % of 760 = 34 mm narrower at the waist and cost far more.
    alone = {name: rank_bases(CLIENT, [(name, base)], Wishes())[0] for name, base in (("own", own), ("tight", tight))}
    apart = abs(alone["tight"].energy - alone["own"].energy)
    assert abs(energy["tight"] - energy["own"]) < apart
