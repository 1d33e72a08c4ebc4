"""The whole job in a real browser, as a new user does it: from the empty book to the revision compared."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from alteration_samples import Workroom, open_workroom, served
from numpy.typing import NDArray
from playwright.sync_api import BrowserContext, Page, expect

from coutil.record import find_chart, find_fitting, find_order, find_revision, list_revisions

DOTS_PER_POINT = 8  # 576 dots an inch.
ASIDE = 0.27  # Where across the square it is measured: between two marks of whole centimetres.
MM_PER_POINT = 25.4 / 72  # A PDF's unit: ISO 32000-1, 8.3.2.3.
READINGS = {
    "bust_girth": "38 1/2", "underbust_girth": "30", "waist_girth": "27 | 27 1/4 | 27", "high_hip_girth": "33 1/2",
    "waist_to_high_hip": "3 1/2", "hip_girth": "99.7", "waist_to_hip": "8",
}  # fmt: skip


@pytest.fixture
def workroom(tmp_path: Path) -> Iterator[Workroom]:
    opened = open_workroom(tmp_path)
    yield opened
    opened.records.close()


@pytest.fixture
def site(workroom: Workroom) -> Iterator[str]:
    with served(workroom.app) as url:
        yield url


def test_a_new_user_does_the_whole_job(window: BrowserContext, site: str, workroom: Workroom, tmp_path: Path) -> None:
    page, troubles = watched(window, site)
    measure_a_new_client(page, site, workroom)
    take_the_order(page, workroom)
    alter_and_mend(page, workroom)
    print_the_pack(page, tmp_path / "pack.pdf")
    record_a_fitting(page, workroom)
    compare_with_a_second_revision(page, workroom)
    assert troubles == []


def watched(window: BrowserContext, site: str) -> tuple[Page, list[str]]:
    """A page, and whatever it complains of or asks of others than us."""
    page, troubles = window.new_page(), []
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.on("console", lambda said: troubles.append(said.text) if said.type == "error" else None)
    ours = (site, "data:", "blob:")
    page.on("request", lambda asked: None if asked.url.startswith(ours) else troubles.append(asked.url))
    return page, troubles


def kept(page: Page) -> None:
    """Waits until everything typed is saved."""
    expect(page.locator("form[data-save]").first).to_have_attribute("data-kept", "yes")


def measure_a_new_client(page: Page, site: str, workroom: Workroom) -> None:
    """A chart in inches; one reading in centimetres among them is caught beside its field."""
    page.goto(site)
    expect(page.get_by_role("heading", name="The book is empty")).to_be_visible()
    page.get_by_role("button", name="in", exact=True).click()
    page.get_by_role("link", name="New client").click()
    page.get_by_label("Name").fill("Contralto")
    page.get_by_role("button", name="Keep").click()
    page.get_by_role("button", name="New chart").click()
    for key, typed in READINGS.items():
        page.locator(f'[name="m.{key}"]').fill(typed)
    hip = page.locator('[data-reading="hip_girth"]')
    caught = hip.locator(".remark", has_text="centimetres in a column of inches")
    expect(caught).to_have_count(1)
    page.locator('[name="m.hip_girth"]').fill("39 1/4")
    expect(caught).to_have_count(0)
    kept(page)
    chart = find_chart(workroom.records, 1).readings
    # Three readings of the waist, 27, 27 1/4 and 27 in: their median is 27 in, 685.8 mm; 39 1/4 in are 996.95.
    assert (chart["waist_girth"].value, chart["hip_girth"].value) == (685.8, 996.95)


def take_the_order(page: Page, workroom: Workroom) -> None:
    """The nearest base is offered and chosen."""
    page.get_by_role("link", name="Take an order on this chart").click()
    page.get_by_label("What is to be made").fill("Stage corset")
    page.get_by_role("button", name="Keep").click()
    base = page.get_by_label("Base pattern")
    expect(base).to_have_value("76-22")
    offered = page.locator('optgroup[label="Nearest to the chart"] option').all_inner_texts()
    other = next(key for key in offered if key != "76-22")
    base.select_option(other)
    kept(page)
    assert find_order(workroom.records, 1).base == other
    base.select_option("75-22")
    page.locator('[name="wishes.reduction"]').fill("2")
    kept(page)
    order = find_order(workroom.records, 1)
    assert (order.base, order.wishes.reduction) == ("75-22", 50.8)


def alter_and_mend(page: Page, workroom: Workroom) -> None:
    """Two rows are overruled; the second makes the garment too tight, a check says so, and it is mended."""
    page.get_by_role("navigation", name="Order").get_by_role("link", name="Alteration").click()
    page.wait_for_selector("#alteration:not([data-busy])")
    overrule(page, "side_front", "1/4", "sat well on the last toile")
    failing = page.locator("#checks-telling .check.fail")
    expect(failing).to_have_count(0)
    overrule(page, "curves_waist_back", "-5/8", "the client asked for it")
    expect(failing).to_have_count(1)
    expect(failing).to_contain_text("Girth from level to level")
    overrule(page, "curves_waist_back", "-1/4", "the client asked for it")
    expect(failing).to_have_count(0)
    page.keyboard.press("Control+s")
    page.get_by_label("Note").fill("first toile")
    page.locator("#save-form").get_by_role("button", name="Save").click()
    expect(page.locator("#alt-state")).to_have_text("Saved as r1.")
    head = list_revisions(workroom.records, 1)[0]
    assert (head.note, head.failed_checks) == ("first toile", 0)
    overruled = find_revision(workroom.records, head.id).wishes.overrides
    assert {one.row: (one.amount, one.why) for one in overruled} == {
        "side_front": (6.35, "sat well on the last toile"),
        "curves_waist_back": (-6.35, "the client asked for it"),
    }


def overrule(page: Page, row: str, amount: str, why: str) -> None:
    """Types an amount into a row and says why."""
    field = page.locator(f'[data-path="rows.{row}.amount"]')
    field.fill(amount)
    field.press("Enter")
    reason = page.locator(f'[data-path="rows.{row}.why"]')
    if not reason.input_value():
        expect(reason).to_be_focused()
    if reason.input_value() != why:
        reason.fill(why)
        reason.press("Enter")
    name = page.locator(f'tr.goes[data-row="{row}"] .row-name').inner_text()
    expect(page.locator("#undo")).to_have_attribute("title", name)


def print_the_pack(page: Page, path: Path) -> None:
    """The short revision number stands on its sheets, and its square measures 100 mm."""
    page.get_by_role("navigation", name="Order").get_by_role("link", name="Papers").click()
    with page.expect_download() as coming:
        page.get_by_role("button", name="Print pack (PDF)").click()
    assert coming.value.suggested_filename == "order-1-r1-pattern-ordered-a4.pdf"
    coming.value.save_as(path)
    document = pypdfium2.PdfDocument(path)
    assert "revision r1" in document[0].get_textpage().get_text_range()
    assert measured_square(document[0]) == pytest.approx((100, 100), abs=0.05)
    document.close()


def measured_square(page: pypdfium2.PdfPage) -> tuple[float, float]:
    """Width and height of the test square as a ruler reads them off the printed page, mm, from line to line."""
    image = page.render(scale=DOTS_PER_POINT, grayscale=True).to_numpy().squeeze()
    height = page.get_height()
    bounds = [found.get_bounds() for found in page.get_objects(max_depth=4)]
    left, bottom, right, top = next(
        box for box in bounds if all(99 < side * MM_PER_POINT < 101 for side in (box[2] - box[0], box[3] - box[1]))
    )
    # Neither words nor the marks of whole centimetres meet the lines there.
    row = image[round((height - bottom - ASIDE * (top - bottom)) * DOTS_PER_POINT)]
    column = image[:, round((left + ASIDE * (right - left)) * DOTS_PER_POINT)]
    across = line_at(row, right) - line_at(row, left)
    along = line_at(column, height - bottom) - line_at(column, height - top)
    return across * MM_PER_POINT, along * MM_PER_POINT


def line_at(dots: NDArray[np.uint8], points: float) -> float:
    """Where the middle of a dark line lies, near a place on the page, both in points."""
    first = round((points - 4) * DOTS_PER_POINT)
    dark = 255.0 - dots[first : round((points + 4) * DOTS_PER_POINT)]
    assert dark.max() > 128
    return float((np.arange(len(dark)) + 0.5) @ dark / dark.sum() + first) / DOTS_PER_POINT


def record_a_fitting(page: Page, workroom: Workroom) -> None:
    """What was seen, and an amount by seam, side and level."""
    page.get_by_role("navigation", name="Order").get_by_role("link", name="Fittings").click()
    page.get_by_role("button", name="New fitting").click()
    page.get_by_label("What was seen").fill("Gapes at the left upper edge.")
    page.get_by_role("button", name="Another amount").click()
    page.get_by_label("Seam").select_option("side")
    page.get_by_label("Side", exact=True).select_option("left")
    page.get_by_label("Level").select_option("waist")
    page.get_by_label("Amount in inches").fill("1/4")
    kept(page)
    page.reload()
    expect(page.get_by_label("Amount in inches")).to_have_value("1/4")
    fitting = find_fitting(workroom.records, 1)
    assert fitting.remarks == "Gapes at the left upper edge."
    assert [(a.seam, a.side, a.level, a.mm) for a in fitting.amounts] == [("side", "left", "waist", -6.35)]
    assert fitting.revision_id == list_revisions(workroom.records, 1)[0].id


def compare_with_a_second_revision(page: Page, workroom: Workroom) -> None:
    """A second state is kept and laid over the first: its chart, its row, both outlines."""
    page.goto(re.sub(r"/fittings/.*", "/orders/1/alteration", page.url))
    page.wait_for_selector("#alteration:not([data-busy])")
    overrule(page, "curves_waist_back", "-3/16", "as worn at the last fitting")
    page.keyboard.press("Control+s")
    page.get_by_label("Note").fill("after the fitting")
    page.locator("#save-form").get_by_role("button", name="Save").click()
    expect(page.locator("#alt-state")).to_have_text("Saved as r2.")
    page.get_by_role("navigation", name="Order").get_by_role("link", name="Revisions").click()
    page.get_by_role("button", name="Compare").click()
    expect(page.get_by_role("heading", name="r1 and r2")).to_be_visible()
    row = page.get_by_role("row", name=re.compile("as worn at the last fitting"))
    expect(row).to_contain_text("−1/4 in")
    expect(row).to_contain_text("−3/16 in")
    expect(page.get_by_text("Both were made from the same readings.")).to_be_visible()
    page.wait_for_function("() => document.querySelector('figure.drawing img').naturalWidth > 100")
    assert [head.note for head in list_revisions(workroom.records, 1)] == ["after the fitting", "first toile"]
