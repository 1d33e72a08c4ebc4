"""The workroom in a real browser: the path of a new user, two windows on one client, keys, light and dark."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pypdfium2
import pytest
from alteration_samples import Workroom, open_workroom, served
from playwright.sync_api import Browser, BrowserContext, Error, Page, expect, sync_playwright

from coutil.record import find_chart, find_client, find_fitting, find_order, list_revisions

CHROMIUM = "/usr/bin/chromium"
WAIT_MS = 30_000

pytestmark = pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="the pages need a browser: install chromium")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as driver:
        try:
            found = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        except Error as error:
            pytest.skip(f"chromium does not start here: {str(error).splitlines()[0]}")
        yield found
        found.close()


@pytest.fixture
def workroom(tmp_path: Path) -> Iterator[Workroom]:
    opened = open_workroom(tmp_path)
    yield opened
    opened.records.close()


@pytest.fixture
def site(workroom: Workroom) -> Iterator[str]:
    with served(workroom.app) as url:
        yield url


@pytest.fixture
def window(browser: Browser) -> Iterator[BrowserContext]:
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    context.set_default_timeout(WAIT_MS)
    yield context
    context.close()


def watched(window: BrowserContext, site: str) -> tuple[Page, list[str]]:
    """A page, and whatever it complains of or asks of others than us."""
    page, troubles = window.new_page(), []
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.on("console", lambda said: troubles.append(said.text) if "Content Security" in said.text else None)
    ours = (site, "data:", "blob:")
    page.on("request", lambda asked: None if asked.url.startswith(ours) else troubles.append(asked.url))
    return page, troubles


def kept(page: Page) -> None:
    """Waits until everything typed is saved."""
    expect(page.locator("form[data-save]").first).to_have_attribute("data-kept", "yes", timeout=WAIT_MS)


def test_a_new_user_from_the_empty_book_to_the_papers(
    window: BrowserContext, site: str, workroom: Workroom, tmp_path: Path
) -> None:
    page, troubles = watched(window, site)
    page.goto(site)
    expect(page.get_by_role("heading", name="The book is empty")).to_be_visible()
    page.get_by_role("button", name="in", exact=True).click()
    page.get_by_role("link", name="New client").click()
    page.get_by_label("Name").fill("Contralto")
    page.get_by_role("button", name="Keep").click()
    page.get_by_role("button", name="New chart").click()

    readings = {
        "bust_girth": "38 1/2", "underbust_girth": "30", "waist_girth": "27 | 27 1/4 | 27", "high_hip_girth": "33 1/2",
        "waist_to_high_hip": "3 1/2", "hip_girth": "99.7", "waist_to_hip": "8",
    }  # fmt: skip
    for key, typed in readings.items():
        page.locator(f'[name="m.{key}"]').fill(typed)
    # One wrong reading, in centimetres among inches, is caught beside its field.
    hip = page.locator('[data-reading="hip_girth"]')
    caught = hip.locator(".remark", has_text="centimetres in a column of inches")
    expect(caught).to_have_count(1, timeout=WAIT_MS)
    page.locator('[name="m.hip_girth"]').fill("39 1/4")
    expect(caught).to_have_count(0, timeout=WAIT_MS)
    kept(page)
    assert find_chart(workroom.records, 1).readings["waist_girth"].value == 685.8

    page.get_by_role("link", name="Take an order on this chart").click()
    page.get_by_label("What is to be made").fill("Stage corset")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator('[name="base"]')).to_have_value("75-22")
    page.locator('[name="wishes.reduction"]').fill("2")
    # What was just typed is saved before the next thing is done.
    page.locator("#revision-note").fill("first toile")
    page.get_by_role("button", name="Work out and keep as a revision").click()
    expect(page.get_by_role("heading", name="r1")).to_be_visible()
    assert find_order(workroom.records, 1).wishes.reduction == 50.8
    assert list_revisions(workroom.records, 1)[0].note == "first toile"

    page.get_by_role("link", name="Papers").first.click()
    with page.expect_download() as coming:
        page.get_by_role("button", name="Print pack (PDF)").click()
    assert coming.value.suggested_filename == "order-1-r1-pattern-ordered-a4.pdf"
    coming.value.save_as(tmp_path / "pack.pdf")
    document = pypdfium2.PdfDocument(tmp_path / "pack.pdf")
    assert "revision r1" in document[0].get_textpage().get_text_range()
    document.close()

    page.get_by_role("link", name="Fittings").click()
    page.get_by_role("button", name="New fitting").click()
    page.locator('[name="remarks"]').fill("Gapes at the left upper edge.")
    page.get_by_role("button", name="Another amount").click()
    page.get_by_label("Seam").select_option("side")
    page.get_by_label("Side", exact=True).select_option("left")
    page.get_by_label("Amount in inches").fill("1/4")
    kept(page)
    page.reload()
    fitting = find_fitting(workroom.records, 1)
    assert fitting.remarks == "Gapes at the left upper edge."
    assert [(a.seam, a.side, a.mm) for a in fitting.amounts] == [("side", "left", -6.35)]
    expect(page.get_by_label("Amount in inches")).to_have_value("1/4")
    assert troubles == []


def test_two_windows_on_one_client_lose_nothing(window: BrowserContext, site: str, workroom: Workroom) -> None:
    from coutil.record import add_client

    add_client(workroom.records, "Tenor", "stage door", "old")
    first, second = window.new_page(), window.new_page()
    for page in (first, second):
        page.goto(f"{site}/clients/1")
    first.get_by_label("Contact").fill("box 5")
    first.get_by_label("Note").fill("from the first window")
    kept(first)
    second.get_by_label("Note").fill("from the second window")
    told = second.get_by_role("heading", name="Saved in another window meanwhile")
    expect(told).to_be_visible()
    assert find_client(workroom.records, 1).note == "from the first window"
    expect(second.get_by_text("from the first window (as saved meanwhile)")).to_be_visible()
    second.get_by_role("button", name="Keep these").click()
    expect(told).to_be_hidden()
    expect(second.get_by_label("Contact")).to_have_value("box 5")
    client = find_client(workroom.records, 1)
    assert (client.contact, client.note) == ("box 5", "from the second window")


def test_what_was_typed_is_saved_when_one_goes_on(window: BrowserContext, site: str, workroom: Workroom) -> None:
    from coutil.record import add_client

    add_client(workroom.records, "Tenor")
    page = window.new_page()
    page.goto(f"{site}/clients/1")
    page.get_by_label("Note").fill("typed in haste")
    page.get_by_role("link", name="Orders", exact=True).click()
    page.wait_for_url("**/orders")
    assert find_client(workroom.records, 1).note == "typed in haste"


def test_an_error_stands_beside_its_field_and_the_rest_is_saved(
    window: BrowserContext, site: str, workroom: Workroom
) -> None:
    from coutil.record import add_chart, add_client

    add_chart(workroom.records, add_client(workroom.records, "Tenor").id, "2026-10-01")
    page = window.new_page()
    page.goto(f"{site}/charts/1")
    page.locator('[name="m.bust_girth"]').fill("ninety")
    page.locator('[name="m.waist_girth"]').fill("80")
    expect(page.locator('[data-error="m.bust_girth"]')).to_contain_text("is not a length")
    expect(page.locator('[name="m.bust_girth"]')).to_have_attribute("aria-invalid", "true")
    expect(page.locator("[data-status]")).to_contain_text("but for the fields marked")
    assert set(find_chart(workroom.records, 1).readings) == {"waist_girth"}
    page.locator('[name="m.bust_girth"]').fill("90")
    kept(page)
    assert find_chart(workroom.records, 1).readings["bust_girth"].value == 900


def test_by_keys_alone(window: BrowserContext, site: str) -> None:
    page = window.new_page()
    page.goto(site)
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="To the page")).to_be_focused()
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="New client")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.get_by_label("Name")).to_be_focused()
    page.keyboard.type("Tenor")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Tenor")).to_be_visible()


PATHS = ("/", "/clients", "/clients/1", "/charts/1", "/bases", "/bases/80-18", "/guide", "/privacy", "/clients/1/erase")
PAPER = "getComputedStyle(document.body).backgroundColor"


def test_light_and_dark_by_system_and_by_switch(browser: Browser, site: str) -> None:
    context = browser.new_context(color_scheme="dark")
    page = context.new_page()
    page.goto(site)
    dark = page.evaluate(PAPER)
    page.get_by_role("button", name="Light").click()
    expect(page.get_by_role("button", name="Light")).to_have_attribute("aria-pressed", "true")
    page.wait_for_load_state()
    light = page.evaluate(PAPER)
    assert dark != light
    page.get_by_role("button", name="As system").click()
    expect(page.get_by_role("button", name="As system")).to_have_attribute("aria-pressed", "true")
    page.wait_for_load_state()
    assert page.evaluate(PAPER) == dark
    context.close()


@pytest.mark.parametrize(("width", "height"), [(820, 1180), (640, 450)])
def test_nothing_runs_off_the_page_on_a_tablet_or_at_twice_the_size(
    browser: Browser, site: str, workroom: Workroom, width: int, height: int
) -> None:
    """A window of 1280 by 900 at 200 per cent shows what one of 640 by 450 shows."""
    order = workroom.order()
    context = browser.new_context(viewport={"width": width, "height": height})
    page = context.new_page()
    for path in (*PATHS, f"/orders/{order.id}"):
        page.goto(site + path)
        over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert over <= 0, path
    context.close()


CONTRAST = """() => {
  const parse = (c) => (c.match(/[\\d.]+/g) || []).map(Number);
  const lum = ([r, g, b]) => [r, g, b].map((v) => v / 255)
    .map((v) => (v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4))
    .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
  const back = (el) => {
    for (let e = el; e; e = e.parentElement) {
      const c = parse(getComputedStyle(e).backgroundColor);
      if (c.length < 4 ? c.length === 3 : c[3] > 0.99) return c;
    }
    return [255, 255, 255];
  };
  const poor = [];
  for (const el of document.querySelectorAll("body *")) {
    const own = [...el.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
    if (!own || !el.offsetParent || el.closest("svg, .unseen, .skip, .told")) continue;
    const [a, b] = [lum(parse(getComputedStyle(el).color)), lum(back(el))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 4.5) poor.push(`${el.tagName} "${el.textContent.trim().slice(0, 30)}" ${ratio.toFixed(2)}`);
  }
  return poor;
}"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_text_can_be_read(browser: Browser, site: str, workroom: Workroom, scheme: str) -> None:
    """WCAG 2.2, success criterion 1.4.3: a contrast of at least 4.5 to 1; its formula of relative luminance."""
    order = workroom.order()
    context = browser.new_context(color_scheme=scheme)  # type: ignore[arg-type]
    page = context.new_page()
    for path in (*PATHS, f"/orders/{order.id}"):
        page.goto(site + path)
        assert page.evaluate(CONTRAST) == [], path
    context.close()
