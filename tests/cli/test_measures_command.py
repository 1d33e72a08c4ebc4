"""coutil measures: every measurement is explained."""

from __future__ import annotations

import pytest

from coutil.cli import run
from coutil.measure import MEASUREMENTS


def test_all_measurements_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["measures"]) == 0
    told = capsys.readouterr().out
    for key in MEASUREMENTS:
        assert key in told


@pytest.mark.parametrize("key", MEASUREMENTS)
def test_each_is_explained(key: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["measures", key]) == 0
    told = " ".join(capsys.readouterr().out.split())
    found = MEASUREMENTS[key]
    assert found.definition in told
    assert found.how in told
    assert found.iso is None or found.iso in told


def test_a_side_is_explained_by_its_measurement(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["measures", "waist_to_lap_left"]) == 0
    assert "Waist to lap" in capsys.readouterr().out
