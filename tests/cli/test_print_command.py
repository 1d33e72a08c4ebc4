"""coutil print: every option, what it writes, and one sentence for what it cannot do."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import pytest

from coutil import job
from coutil.alter import Wishes
from coutil.cli import run
from coutil.commands.alter import base_for
from coutil.measure import Chart
from coutil.shipped import demo_clients
from helpers.pdf_reading import MM_PER_POINT, layer_titles, pages, texts


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> Path:
    chart = demo_clients()["understudy"]
    renamed = Chart(f"{chart.name} 漢", chart.readings, chart.worn, chart.taken, chart.invented)
    done = job.run(job.Order(base_for("nearest", chart), renamed, Wishes(), "cm"))
    path = tmp_path_factory.mktemp("print") / "result.json"
    path.write_text(job.result_text(done), encoding="utf-8")
    return path


def printed(result: Path, *options: str) -> int:
    return run(["print", str(result), *options])


def refusal(result: Path, capsys: pytest.CaptureFixture[str], *options: str) -> str:
    capsys.readouterr()
    before = set(result.parent.iterdir())
    assert printed(result, *options) == 2
    assert set(result.parent.iterdir()) == before
    told = capsys.readouterr().err.strip()
    assert "\n" not in told
    return told


def test_a_pdf_on_a_roll_with_the_base_beneath(result: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert printed(result, "--paper", "roll:900", "--overlay", "base", "--unit", "in") in (0, 1)
    content = (result.parent / "pattern-over-base-roll-900.pdf").read_bytes()
    assert pages(content)[-1].get_size()[0] * MM_PER_POINT == pytest.approx(900, abs=0.01)
    assert "Base pattern" in layer_titles(content)
    assert "15.748 in" in texts(content)[-1]
    assert "has no letter for 漢" in capsys.readouterr().err


def test_one_layer_of_cloth_and_few_marks(result: Path) -> None:
    out = result.parent / "foam.pdf"
    options = ("--layers", "cup_foam", "--marks", "grain,points", "--paper", "single", "--out", str(out))
    assert printed(result, *options) in (0, 1)
    words = texts(out.read_bytes())[-1]
    assert "cut 2 × cup foam, mirrored" in words
    assert "cut 2 × outer" not in words
    # Names of levels go with their lines.
    assert "bust" not in words.replace("overbust", "")


def test_svg_and_both_kinds_of_dxf(result: Path) -> None:
    for kind, name in (("svg", "p.svg"), ("dxf", "p.dxf"), ("dxf-r12", "q.dxf")):
        options = ("--format", kind, "--layers", "cup_foam", "--out", str(result.parent / name))
        assert printed(result, *options) in (0, 1)
    assert (result.parent / "p.svg").read_text(encoding="utf-8").startswith("<?xml")
    assert ezdxf.readfile(result.parent / "p.dxf").dxfversion == "AC1015"
    assert ezdxf.readfile(result.parent / "q.dxf").dxfversion == "AC1009"


def test_a_square_that_is_true_is_told_and_printed(result: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = result.parent / "true.pdf"
    assert printed(result, "--scale-measured", "99.9", "--layers", "cup foam", "--out", str(out)) in (0, 1)
    assert "within 0.2 mm" in capsys.readouterr().out
    assert "Rescaled" not in texts(out.read_bytes())[0]


def test_a_square_that_is_off_is_printed_again_or_rescaled(result: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = refusal(result, capsys, "--scale-measured", "99.6")
    assert "The square measures 99.6 mm" in told
    assert "print page 1 again, or add --rescale" in told
    out = result.parent / "rescaled.pdf"
    options = ("--scale-measured", "99.6", "--rescale", "--layers", "cup foam", "--out", str(out))
    assert printed(result, *options) in (0, 1)
    assert "came out 99.6 mm across and 99.6 mm down" in texts(out.read_bytes())[0]


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (("--paper", "b5"), "There is no paper 'b5'"),
        (("--paper", "roll:5"), "A roll of 5 mm cannot be printed"),
        (("--marks", "grain,feathers"), "There is no mark 'feathers'"),
        (("--layers", "silk"), "has no layer 'silk'"),
        (("--scale-measured", "soft"), "is no measure of the 100 mm square"),
        (("--rescale",), "--rescale needs what the test square measures"),
        (("--format", "dxf", "--out", "x.pdf"), "x.pdf would hold DXF: call it x.dxf, or give --format pdf."),
        (("--format", "dxf-r12", "--out", "x.SVG"), "x.SVG would hold DXF: call it x.dxf, or give --format svg."),
        (("--out", "x.dxf"), "x.dxf would hold PDF: call it x.pdf, or give --format dxf."),
    ],
)
def test_what_cannot_be_printed_is_refused_in_one_sentence(
    result: Path, capsys: pytest.CaptureFixture[str], options: tuple[str, ...], sentence: str
) -> None:
    assert sentence in refusal(result, capsys, *options)


def test_every_print_has_a_name_of_its_own(result: Path) -> None:
    """A toile, a layer by itself or a rescaled print from the same folder replaces no other sheet."""
    toile = result.with_name("toile.json")
    toile.write_bytes(result.read_bytes())
    foam = ("--layers", "cup foam", "--paper", "single")
    before = set(result.parent.iterdir())
    for given, options in (
        (result, foam),
        (toile, foam),
        (result, (*foam, "--scale-measured", "99.6", "--rescale")),
        (result, (*foam, "--format", "svg")),
        (result, (*foam, "--format", "dxf")),
        (result, (*foam, "--format", "dxf-r12")),
    ):
        assert printed(given, *options) in (0, 1)
    assert {path.name for path in set(result.parent.iterdir()) - before} == {
        "pattern-cup-foam-single.pdf",
        "toile-cup-foam-single.pdf",
        "pattern-cup-foam-rescaled-single.pdf",
        "pattern-cup-foam.svg",
        "pattern-cup-foam.dxf",
        "pattern-cup-foam-r12.dxf",
    }
