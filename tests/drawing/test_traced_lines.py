"""Lines traced by hand or off a scan shake: their curves stay near, as long as the line, and do not double back."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from coutil.alter import Wishes, alter
from coutil.check import Verdict, check_style
from coutil.curves import Curve, fit_through
from coutil.curves import _fit as fitting
from coutil.drawing import _smooth as smoothing
from coutil.drawing import export_svg, import_drawing
from coutil.drawing._smooth import FIT_MM, MOST_SHAKEN_MM, SHAKES_FOLLOWED, shake, smooth_curve
from coutil.pattern import Edge
from coutil.shipped import shipped_base

STEPS_MM, SPREADS_MM = (1.5, 3.0, 5.0), (0.0, 0.02, 0.05)
SEAMS = [
    edge for name in ("80-14", "waist-72") for piece in shipped_base(name).pieces for edge in piece.edges
    if not edge.straight
]  # fmt: skip
# A seam may be off by half a millimetre in all (trade); a line read from paper has a quarter of it.
LENGTH_MM = 0.125


def traced(edge: Edge, step: float, spread: float, rng: np.random.Generator) -> np.ndarray:
    """The edge as a shaky hand draws it: a point every `step` mm, each off by that spread in x and y."""
    points = edge.curve.flatten(0.005)
    along = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))))
    at = np.linspace(0.0, along[-1], max(int(along[-1] / step), 4) + 1)
    line = np.stack([np.interp(at, along, points[:, k]) for k in (0, 1)], axis=1)
    line[1:-1] += rng.normal(0.0, spread, (len(line) - 2, 2)) if spread else 0.0
    return line


def strokes(line: np.ndarray) -> np.ndarray:
    a, b = line[:-1], line[1:]
    return np.stack([a, a + (b - a) / 3, b - (b - a) / 3, b], axis=1)


def curve_of(line: np.ndarray) -> Curve:
    return smooth_curve(strokes(line), np.ones(len(line) - 1, dtype=bool))


def cases() -> Iterator[tuple[Edge, float, np.ndarray]]:
    rng = np.random.default_rng(1)
    for i in range(45):
        spread = SPREADS_MM[i % 3]
        edge = SEAMS[i % len(SEAMS)]
        yield edge, spread, traced(edge, STEPS_MM[i // 3 % 3], spread, rng)


def errors() -> tuple[float, float]:
    """The worst error of a length, and how far a curve lies from its points beyond what is followed, mm."""
    lengths, off = [], []
    for edge, spread, line in cases():
        curve = curve_of(line)
        lengths.append(abs(curve.length - edge.curve.length))
        off.append(max(curve.closest(point).distance for point in line[::7]) - SHAKES_FOLLOWED * 1.6 * spread)
    return max(lengths), max(off)


def test_a_shaky_line_keeps_its_length() -> None:
    length, off = errors()
    assert length <= LENGTH_MM
    assert off <= 0.1


def short_traces() -> Iterator[tuple[np.ndarray, tuple[float, float], tuple[float, float], float]]:
    """A few shaky points within some millimetres, between directions that are a little off; and their run."""
    for seed in (469, 515, 636, 963, 1405):
        rng = np.random.default_rng(seed)
        count = int(rng.integers(3, 7))
        along = np.sort(rng.uniform(0, 8, count))
        line = np.stack([along, rng.normal(0, 0.05, count)], axis=1)
        first, last = rng.normal(0, 0.15), rng.normal(0, 0.15)
        run = float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())
        yield line, (np.cos(first), np.sin(first)), (np.cos(last), np.sin(last)), run


def test_without_the_bound_on_handles_a_curve_doubles_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """The bound's reason: without it these lines of some millimetres come out hundreds too long, near all points."""

    def worst() -> float:
        return max(fit_through(line, 0.25, a, b).length - run for line, a, b, run in short_traces())

    assert worst() <= 0.05
    for factor in (3.0, 100.0):
        monkeypatch.setattr(fitting, "LONGEST_HANDLE", 0.5 * factor)
        assert worst() > 1.0, factor


def test_a_third_of_the_bound_would_need_more_spans(monkeypatch: pytest.MonkeyPatch) -> None:
    lines = [line for _, spread, line in cases() if spread]
    spans = sum(fit_through(line, 0.25).n_spans for line in lines)
    monkeypatch.setattr(fitting, "LONGEST_HANDLE", 0.5 / 3)
    assert sum(fit_through(line, 0.25).n_spans for line in lines) > 1.3 * spans


def test_no_handle_is_longer_than_half_of_its_run() -> None:
    for _, _, line in cases():
        curve = curve_of(line)
        for span in curve.spans:
            run = Curve.from_spans(span[None]).length
            handles = np.linalg.norm(span[1] - span[0]), np.linalg.norm(span[2] - span[3])
            assert max(handles) <= 0.55 * run + 1e-9


def test_the_shaking_is_measured() -> None:
    """A known spread is found again; a zigzag is reckoned by hand."""
    rng = np.random.default_rng(2)
    for edge in SEAMS[:8]:
        assert shake(traced(edge, 1.0, 0.0, rng)) < 0.005
        assert shake(traced(edge, 1.0, 0.08, rng)) == pytest.approx(0.08, rel=0.35)
    line = np.stack([np.arange(40.0), np.zeros(40)], axis=1)
    assert shake(line) == 0.0
    line[:, 1] = np.where(np.arange(40) % 2 == 0, 0.3, -0.3)
    # The cubic lies at 8/6 * -0.3 - 2/6 * 0.3 = -0.5 where the point lies at 0.3: 0.8 from it.
    assert shake(line) == pytest.approx(0.8 / 0.6745 / (1 + 34 / 36) ** 0.5, rel=1e-9)
    assert shake(line[:8]) == 0.0


@pytest.mark.parametrize("factor", [1 / 3, 3.0])
def test_how_much_of_the_shaking_is_followed_matters(factor: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Followed three times as closely the curve takes the shaking on; three times as loosely it leaves the points."""
    length, off = errors()
    monkeypatch.setattr(smoothing, "SHAKES_FOLLOWED", SHAKES_FOLLOWED * factor)
    monkeypatch.setattr(smoothing, "MOST_SHAKEN_MM", MOST_SHAKEN_MM * 3)
    other_length, other_off = errors()
    assert other_length > 2 * length or other_off > 2 * off
    assert FIT_MM < MOST_SHAKEN_MM


def test_a_traced_pattern_is_altered_like_the_one_it_was_traced_from() -> None:
    """Every seam of a shipped base as a shaky polyline in the drawing: read, altered to a client, no check fails."""
    base = shipped_base("waist-72")
    made = export_svg(base)
    found = import_drawing(made.drawing.encode(), ".svg", "traced", made.marks)
    rng = np.random.default_rng(3)
    style = found.style
    wanted = style.base_chart.with_value("waist_girth", style.base_chart["waist_girth"] + 20.0)
    outcome = alter(style, wanted, Wishes())
    assert outcome.residual < 1e-6
    findings = check_style(outcome.style, chart=outcome.style.base_chart)
    assert [finding.name for finding in findings if finding.verdict is Verdict.FAIL] == []
    for edge in SEAMS[-6:]:
        curve = curve_of(traced(edge, 1.0, 0.05, rng))
        assert abs(curve.length - edge.curve.length) <= LENGTH_MM
