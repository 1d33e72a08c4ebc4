"""README and ARCHITECTURE tell the truth: their charts and wishes are read, their commands and files exist."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from coutil.cli import commands, run
from coutil.measure import chart_from_text
from coutil.wishes_file import wishes_from_toml

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```(\w*)\n(.*?)```", README, re.DOTALL)


def block(start: str) -> str:
    """The block that begins with those words."""
    (found,) = (text for _, text in BLOCKS if text.startswith(start))
    return str(found)


def test_the_chart_in_csv_can_be_read() -> None:
    chart = chart_from_text(block("# name: Contralto"), ".csv")
    assert chart["bust_girth"] == pytest.approx(38.5 * 25.4, abs=1e-3)
    assert chart["waist_girth"] == pytest.approx(27 * 25.4, abs=1e-3)
    assert chart.sides("waist_to_lap") == pytest.approx((8.5 * 25.4, 8.75 * 25.4), abs=1e-3)


def test_the_chart_in_toml_can_be_read() -> None:
    chart = chart_from_text(block('name = "Contralto"'), ".toml")
    assert (chart["bust_girth"], chart["waist_girth"]) == (980.0, 685.0)
    assert chart.sides("waist_to_lap") == (215.0, 220.0)


@pytest.mark.parametrize(("start", "name"), [("# name: Contralto", "c.csv"), ('name = "Contralto"', "c.toml")])
def test_the_charts_can_be_worked_from(start: str, name: str, tmp_path: Path) -> None:
    """A beginner's first own run: the chart as printed, the nearest base, the wishes as printed."""
    (tmp_path / name).write_text(block(start), encoding="utf-8")
    (tmp_path / "wishes.toml").write_text(block('unit = "cm"\nreduction'), encoding="utf-8")
    line = ["alter", "nearest", str(tmp_path / name), "--out", str(tmp_path / "out")]
    assert run([*line, "--wishes", str(tmp_path / "wishes.toml")]) in (0, 1)
    assert (tmp_path / "out" / "overview.svg").is_file()


def test_the_wishes_can_be_read() -> None:
    wishes = wishes_from_toml(block('unit = "cm"\nreduction'), "cm")
    assert (wishes.reduction, wishes.lacing_gap, wishes.take_heights) == (60.0, 50.0, True)
    assert [override.row for override in wishes.overrides] == ["side_front"]


def test_every_command_named_exists_and_every_command_is_named() -> None:
    named = set(re.findall(r"coutil (\w+) ", README + " ")) - {"makes", "COMMAND"}
    assert named <= set(commands.commands), named
    for name in commands.commands:
        assert f"coutil {name}" in README or f"start.py {name}" in README


def test_every_option_named_exists() -> None:
    known = {word for command in commands.commands.values() for option in command.params for word in option.opts}
    assert set(re.findall(r"(?<!-)--[a-z]+[a-z-]*", README)) <= known


@pytest.mark.parametrize("page", ["README.md", "ARCHITECTURE.md"])
def test_every_file_named_exists(page: str) -> None:
    text = (ROOT / page).read_text(encoding="utf-8")
    named = re.findall(r"`((?:src|tests)/[\w./]+|\w+\.md|\w+\.py|\w+/)`", text)
    assert named
    for name in named:
        assert any((folder / name).exists() for folder in (ROOT, ROOT / "src" / "coutil")), name


def test_the_tour_shows_pictures_that_are_there_and_small() -> None:
    """A picture without words for who cannot see it tells that person nothing: WCAG 2.2, 1.1.1."""
    tour = ROOT / "docs" / "tour.md"
    assert "docs/tour.md" in README
    shown = re.findall(r"!\[(.*?)\]\((.*?)\)", tour.read_text(encoding="utf-8"))
    assert all(words for words, _ in shown)
    pictures = {tour.parent / path for _, path in shown}
    assert pictures == set((tour.parent / "tour").iterdir())
    assert sum(path.stat().st_size for path in pictures) < 1_500_000
