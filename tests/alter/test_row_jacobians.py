"""The exact derivatives of every kind of row against central differences."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coutil.alter._layout import Layout, lay_out
from coutil.alter._rows import (
    RADIAN,
    AngleRow,
    CollinearRow,
    CrossRow,
    CurvatureRow,
    DistanceRow,
    LengthRow,
    LinearRow,
    Row,
)
from coutil.alter._structure import sewing_rows, structure_rows
from coutil.alter._system import System
from helpers.altering import base_of
from helpers.tubes import tube_style

RELATIVE = 1e-6
# The best step of a central difference: the cube root of the rounding unit, times coordinates of some 100 mm.
STEP_MM = 6e-4


@cache
def layout() -> Layout:
    return lay_out(base_of())


def piece_nodes(piece: str, edge: str) -> tuple[list[int], list[int], list[int]]:
    """Position nodes, tangent nodes and spans of an edge."""
    slots = layout().slots(piece, edge)
    spans = list(range(slots.first_span, slots.first_span + len(slots.widths)))
    return slots.positions.tolist(), slots.tangents.tolist(), spans


def linear_rows() -> list[Row]:
    at, along, _ = piece_nodes("side_front", "side_seam")
    return [LinearRow("x", "plan", ((at[1], 0, 1.0), (at[0], 0, -1.0), (along[2], 1, 0.5)), 3.0)]


def cross_rows() -> list[Row]:
    at, along, _ = piece_nodes("side_back", "side_seam")
    return [CrossRow("cross", "plan", at[k], along[k], 10.0 * k, 200.0) for k in range(1, len(at) - 1)]


def length_rows() -> list[Row]:
    _, _, inner = piece_nodes("inner_cup", "cradle")
    _, _, panel = piece_nodes("centre_front", "cradle")
    terms = tuple((s, 1.0) for s in inner) + tuple((s, -1.0) for s in panel)
    _, _, seam = piece_nodes("outer_cup", "cup_seam")
    return [LengthRow("seam", "sewing", terms, 0.0), LengthRow("depth", "plan", ((seam[1], 1.0),), 75.0)]


def angle_rows() -> list[Row]:
    _, first, _ = piece_nodes("inner_cup", "neckline")
    _, second, _ = piece_nodes("outer_cup", "armhole")
    four = ((first[0], -1.0), (first[-1], 1.0), (second[0], -1.0), (second[-1], 1.0))
    return [AngleRow("join", "sewing", four, 0.3), AngleRow("one", "structure", ((second[1], 1.0),), -1.0)]


def distance_rows() -> list[Row]:
    at, _, _ = piece_nodes("outer_cup", "cup_seam")
    arm, _, _ = piece_nodes("outer_cup", "armhole")
    return [DistanceRow("reach", "plan", at[1], arm[1], 90.0), DistanceRow("short", "plan", at[0], arm[-2], 5.0)]


def collinear_rows() -> list[Row]:
    at, along, _ = piece_nodes("centre_back", "closure")
    hem, _, _ = piece_nodes("side_front", "hem")
    return [
        CollinearRow("knot", "structure", at[2], at[0], at[-1], False),
        CollinearRow("tangent", "structure", along[2], at[0], at[-1], True),
        CollinearRow("hem", "structure", hem[1], hem[0], hem[-1], False),
    ]


def curvature_rows() -> list[Row]:
    _, _, spans = piece_nodes("inner_cup", "cup_seam")
    return [CurvatureRow("bend", "structure", span, place, 0.004) for span in spans for place in (0.0, 0.3, 1.0)]


KINDS = {
    "linear": linear_rows,
    "cross": cross_rows,
    "length": length_rows,
    "angle": angle_rows,
    "distance": distance_rows,
    "collinear": collinear_rows,
    "curvature": curvature_rows,
}
# Straight edges are so soft that their second derivatives are left out; linear rows have none.
BENT_KINDS = tuple(kind for kind in KINDS if kind not in ("linear", "collinear"))
EVERY_KIND = pytest.mark.parametrize("kind", KINDS)


def largest_error(system: System, z: np.ndarray, direction: np.ndarray) -> float:
    """Derivative along a direction: exact against central difference, relative to the rows' own gradients."""
    _, jacobian = system.evaluate(z)
    ahead, _ = system.evaluate(z + STEP_MM * direction)
    behind, _ = system.evaluate(z - STEP_MM * direction)
    estimated = (ahead - behind) / (2 * STEP_MM)
    size = np.maximum(np.linalg.norm(jacobian, axis=1), 1.0)
    return float((np.abs(jacobian @ direction - estimated) / size).max())


def largest_entry_error(system: System, z: np.ndarray) -> float:
    """Every entry of the Jacobian that is not nothing, and a tenth of those that are."""
    _, jacobian = system.evaluate(z)
    moving = np.flatnonzero(np.abs(jacobian).max(axis=0))
    still = np.setdiff1d(np.arange(jacobian.shape[1]), moving)[::10]
    unit = np.eye(jacobian.shape[1])
    return max(largest_error(system, z, unit[i]) for i in (*moving, *still))


def displacement(seed: int, size: float) -> np.ndarray:
    return np.random.default_rng(seed).uniform(-size, size, 2 * len(layout().nodes))


def direction_of(system: System, z: np.ndarray, way: int) -> np.ndarray:
    """A direction of length 1 along which only numbers move that some row depends on."""
    _, jacobian = system.evaluate(z)
    direction = displacement(way, 1.0) * (np.abs(jacobian).max(axis=0) > 0)
    return np.asarray(direction / np.linalg.norm(direction))


@EVERY_KIND
def test_at_the_base_every_entry_is_the_central_difference(kind: str) -> None:
    system = System(layout(), KINDS[kind]())
    assert largest_entry_error(system, np.zeros(2 * system.n)) <= RELATIVE


@EVERY_KIND
def test_away_from_the_base_too(kind: str) -> None:
    system = System(layout(), KINDS[kind]())
    assert largest_entry_error(system, displacement(7, 0.1)) <= RELATIVE


@EVERY_KIND
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(seed=st.integers(0, 2**32 - 1), size=st.floats(0.0, 0.1), way=st.integers(0, 2**32 - 1))
def test_along_any_direction_from_any_displacement(kind: str, seed: int, size: float, way: int) -> None:
    """Tangents are derivatives by a parameter of unit order, so a tenth of a unit already turns them."""
    system = System(layout(), KINDS[kind]())
    z = displacement(seed, size)
    assert largest_error(system, z, direction_of(system, z, way)) <= RELATIVE


@pytest.mark.parametrize("kind", BENT_KINDS)
@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(seed=st.integers(0, 2**32 - 1), size=st.floats(0.0, 0.1), way=st.integers(0, 2**32 - 1))
def test_second_derivatives_are_central_differences_of_the_first(kind: str, seed: int, size: float, way: int) -> None:
    """Of the sum of weight * residual, along any direction."""
    system = System(layout(), KINDS[kind]())
    z = displacement(seed, size)
    direction = direction_of(system, z, way)
    weights = np.random.default_rng(seed).uniform(-1.0, 1.0, system.set.count)
    first, second = system.set.bend_slots
    values = system.set.bends(system.set.bent(system.set.base + z, system.wanted), weights)
    found = np.bincount(first, values * direction[second], len(direction))
    ahead, behind = (system.evaluate(z + step * direction)[1].T @ weights for step in (STEP_MM, -STEP_MM))
    size_of_it = max(float(np.abs(found).max()), 1e-3 * float(np.abs(ahead).max()), 1e-9)
    assert np.abs(found - (ahead - behind) / (2 * STEP_MM)).max() <= 1e-4 * size_of_it


@settings(max_examples=5, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), way=st.integers(0, 2**32 - 1))
def test_all_rows_of_a_style_together(seed: int, way: int) -> None:
    system = System(layout(), [*structure_rows(layout()), *sewing_rows(layout())])
    z = displacement(seed, 0.05)
    assert largest_error(system, z, direction_of(system, z, way)) <= RELATIVE


def test_rows_are_gathered_by_kind_in_the_order_of_the_residuals() -> None:
    rows = [row for kind in reversed(KINDS) for row in KINDS[kind]()]
    system = System(layout(), rows)
    residuals, jacobian = system.evaluate(np.zeros(2 * system.n))
    assert sorted(row.key for row in system.rows) == sorted(row.key for row in rows)
    assert residuals.shape == (len(rows),)
    assert jacobian.shape == (len(rows), 2 * system.n)
    for row, residual, gradient in zip(system.rows, residuals, jacobian, strict=True):
        alone = System(layout(), [row])
        one, own = alone.evaluate(np.zeros(2 * system.n))
        assert residual == pytest.approx(one[0], abs=1e-12), row.key
        assert gradient == pytest.approx(own[0], abs=1e-12), row.key


# --- residuals by hand -------------------------------------------------------------------------------------


def tube_layout() -> Layout:
    """Panel 1 of a tube of two: 150 wide, knots of its back edge at heights -80, -50, 0 and 100, x = 150."""
    return lay_out(tube_style(2))


def residual(row: Row) -> float:
    system = System(tube_layout(), [row])
    values, _ = system.evaluate(np.zeros(2 * system.n))
    return float(values[0])


def test_residuals_by_hand() -> None:
    """On a panel with corners (0, -80), (150, -80), (150, 100), (0, 100): side 180, top 150, diagonal sqrt(54900)."""
    found = tube_layout()
    side, top = found.slots("panel_1", "backward"), found.slots("panel_1", "top")
    at, along = side.positions.tolist(), side.tangents.tolist()
    spans = tuple((side.first_span + k, 1.0) for k in range(3))
    across = int(top.tangents[0])
    assert residual(LinearRow("x", "plan", ((at[1], 0, 1.0), (at[1], 1, 2.0)), 40.0)) == pytest.approx(10.0)
    assert residual(CrossRow("c", "plan", at[2], along[2], 5.0, 149.0)) == pytest.approx(1.0)
    assert residual(LengthRow("l", "plan", spans, 178.5)) == pytest.approx(1.5)
    corner, far = at[0], int(found.slots("panel_1", "centre").positions[0])
    assert residual(DistanceRow("d", "plan", corner, far, 230.0)) == pytest.approx(math.sqrt(54900.0) - 230.0)
    quarter = AngleRow("a", "plan", ((across, 1.0), (along[-1], -1.0)), math.pi / 2 - 0.01)
    assert residual(quarter) == pytest.approx(0.01 * RADIAN)
    assert residual(CollinearRow("k", "structure", at[1], at[0], far, False)) == pytest.approx(
        -150.0 * 30.0 / math.sqrt(54900.0)
    )
    assert residual(CollinearRow("t", "structure", along[1], at[0], at[-1], True)) == pytest.approx(0.0, abs=1e-12)


def test_an_angle_is_the_same_after_a_whole_turn() -> None:
    side = tube_layout().slots("panel_1", "backward")
    node = int(side.tangents[0])
    for turns in (-1, 0, 2):
        row = AngleRow("a", "structure", ((node, 1.0),), math.pi / 2 + 2 * math.pi * turns)
        assert residual(row) == pytest.approx(0.0, abs=1e-9)
