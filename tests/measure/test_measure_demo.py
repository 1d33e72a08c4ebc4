"""The invented clients: readable, invented, plausible, and within what the base styles are drafted for."""

from __future__ import annotations

from importlib.resources import files

import pytest

from coutil.measure import Chart, chart_from_text, inspect_chart

FOLDER = files("coutil") / "demo_data" / "clients"
NAMES = sorted(f.name for f in FOLDER.iterdir() if f.name.endswith((".csv", ".toml", ".json")))
NEEDED = (
    "bust_girth", "underbust_girth", "waist_girth", "high_hip_girth", "hip_girth", "hem_girth",
    "bust_front", "underbust_front", "waist_front", "high_hip_front", "hip_front", "hem_front",
    "bust_point_separation", "bust_point_to_underbust", "bust_point_to_centre_top",
    "bust_point_to_upper_corner", "bust_point_to_armhole", "underbust_to_waist", "bust_level_to_waist",
    "side_height", "centre_front_height", "centre_back_height", "waist_to_high_hip", "waist_to_hip",
    "waist_to_hip_bone", "waist_to_lap", "height",
)  # fmt: skip


def demo(name: str) -> Chart:
    return chart_from_text((FOLDER / name).read_bytes(), name[name.rindex(".") :])


def test_there_are_nine_in_three_forms() -> None:
    assert len(NAMES) == 9
    assert {name.rsplit(".", 1)[1] for name in NAMES} == {"csv", "json", "toml"}
    assert len({demo(name).name for name in NAMES}) == 9


@pytest.mark.parametrize("name", NAMES)
def test_an_invented_client_is_complete_and_plausible(name: str) -> None:
    client = demo(name)
    assert client.invented
    assert client.worn
    assert [f.sentence for f in inspect_chart(client, NEEDED)] == []


@pytest.mark.parametrize("name", NAMES)
def test_an_invented_client_lies_within_the_base_sizes(name: str) -> None:
    client = demo(name)
    assert 640 <= client["underbust_girth"] <= 1040
    assert 80 <= client["bust_girth"] - client["underbust_girth"] <= 260
    assert 80 <= client["waist_to_high_hip"] <= 100
    assert client["bust_point_to_centre_top"] > client["bust_point_separation"] / 2


def test_the_chart_in_inches_holds_fractions() -> None:
    text = (FOLDER / "coloratura.csv").read_text(encoding="utf-8")
    assert "# unit: in" in text
    assert "waist_girth,25 1/2,measured" in text
    assert demo("coloratura.csv")["waist_girth"] == pytest.approx(647.7)
