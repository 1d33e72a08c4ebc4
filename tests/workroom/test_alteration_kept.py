"""What is changed on the alteration page stays with its order: newer records, other books, a program that is away."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest
from alteration_samples import Workroom, open_workroom, served
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect

from coutil.alter import Wishes
from coutil.measure import Reading
from coutil.record import (
    OrderRecord,
    change_chart,
    change_order,
    erase_client,
    find_chart,
    find_order,
    find_revision,
    find_trials,
    list_drafts,
    list_revisions,
)

# Everything this browser holds for the page, whatever it is called.
HELD = """async () => {
  const found = [];
  for (const { name } of await indexedDB.databases()) {
    const asked = indexedDB.open(name);
    const base = await new Promise((resolve) => { asked.onsuccess = () => resolve(asked.result); });
    for (const store of base.objectStoreNames) {
      const rows = await new Promise((resolve) => {
        const all = base.transaction(store).objectStore(store).getAll();
        all.onsuccess = () => resolve(all.result);
      });
      found.push(...rows.map((row) => JSON.stringify(row)));
    }
    base.close();
  }
  for (const store of [localStorage, sessionStorage]) {
    found.push(...Object.entries(store).map((pair) => pair.join(" ")));
  }
  return found;
}"""


@pytest.fixture
def workroom(tmp_path_factory: pytest.TempPathFactory) -> Workroom:
    return open_workroom(tmp_path_factory.mktemp("workroom"))


@pytest.fixture
def site(workroom: Workroom) -> Iterator[str]:
    with served(workroom.app) as url:
        yield url


@pytest.fixture
def order(workroom: Workroom) -> OrderRecord:
    return workroom.order()


@pytest.fixture
def page(window: BrowserContext, site: str, order: OrderRecord) -> Page:
    return opened(window, site, order)


def opened(window: BrowserContext, site: str, order: OrderRecord) -> Page:
    page = window.new_page()
    stumbled: list[str] = []
    page.on("pageerror", lambda error: stumbled.append(f"{error} {error.stack}"))
    page.goto(f"{site}/orders/{order.id}/alteration")
    ready(page)
    assert stumbled == []
    return page


def ready(page: Page) -> None:
    page.wait_for_selector("#alteration:not([data-busy])")


def again(page: Page) -> None:
    page.reload()
    ready(page)


def field(page: Page, path: str) -> Locator:
    return page.locator(f'[data-path="{path}"]')


def typed(page: Page, path: str, text: str) -> None:
    field(page, path).fill(text)
    field(page, path).press("Enter")


def overrule(page: Page, row: str, amount: str, why: str) -> None:
    typed(page, f"rows.{row}.amount", amount)
    reason = field(page, f"rows.{row}.why")
    expect(reason).to_be_focused()
    reason.fill(why)
    reason.press("Enter")
    expect(state(page)).to_contain_text(re.compile("; kept|held"))


def state(page: Page) -> Locator:
    return page.locator("#alt-state")


def away(page: Page) -> None:
    """The program does not answer any more."""
    page.route("**/api/**", lambda route: route.abort())


def back(page: Page) -> None:
    page.unroute("**/api/**")


def save(page: Page, note: str, correct: bool = False) -> None:
    page.keyboard.press("Control+s")
    page.get_by_label("Note").fill(note)
    if correct:
        page.get_by_label("Also correct").check()
    page.locator("#save-form").get_by_role("button", name="Save").click()
    expect(state(page)).to_contain_text("Saved as r")


def kept_steps(workroom: Workroom, order: OrderRecord) -> str:
    return " ".join(one.head for one in list_drafts(workroom.records, order.id))


# --- newer records ------------------------------------------------------------------------------------------------


def corrected(workroom: Workroom, order: OrderRecord, **readings: float) -> None:
    """The chart corrected on its own page."""
    chart = find_chart(workroom.records, order.chart_id or 0)
    new = {key: Reading(mm) for key, mm in readings.items()}
    change_chart(workroom.records, chart.id, chart.version, lambda old: replace(old, readings={**old.readings, **new}))


def test_after_saving_the_page_opens_on_what_was_corrected_since(
    page: Page, workroom: Workroom, order: OrderRecord
) -> None:
    """Save r1, correct the bust on the chart and the reduction on the order, go back: the new figures stand there."""
    overrule(page, "armhole", "3", "sat well on the last toile")
    save(page, "first toile")
    corrected(workroom, order, bust_girth=1020.0)
    now = find_order(workroom.records, order.id)
    wishes = replace(now.wishes, reduction=70.0)
    change_order(workroom.records, order.id, now.version, lambda old: replace(old, wishes=wishes))
    again(page)
    expect(field(page, "chart.bust_girth")).to_have_value("102.0")
    expect(field(page, "reduction")).to_have_value("7.0")
    expect(field(page, "rows.armhole.amount")).to_have_value("+3")
    assert len(list_revisions(workroom.records, order.id)) == 1


def test_what_was_not_saved_is_laid_over_what_was_corrected_since(
    page: Page, workroom: Workroom, order: OrderRecord
) -> None:
    overrule(page, "armhole", "3", "sat well on the last toile")
    corrected(workroom, order, bust_girth=1020.0)
    again(page)
    expect(state(page)).to_contain_text("was changed since you began here")
    expect(field(page, "chart.bust_girth")).to_have_value("102.0")
    expect(field(page, "rows.armhole.amount")).to_have_value("+3")
    save(page, "both")
    assert find_chart(workroom.records, order.chart_id or 0).readings["bust_girth"].value == 1020.0


def test_a_figure_that_both_changed_is_asked_about(page: Page, workroom: Workroom, order: OrderRecord) -> None:
    typed(page, "chart.bust_girth", "99")
    expect(state(page)).to_contain_text("; kept")
    corrected(workroom, order, bust_girth=1020.0)
    again(page)
    expect(page.locator("#merge")).to_be_visible()
    expect(page.locator("#merge-body")).to_contain_text("102")
    page.locator('#merge-body input[value="theirs"]').check()
    page.locator("#merge-form").get_by_role("button", name="Take these").click()
    expect(field(page, "chart.bust_girth")).to_have_value("102.0")


def test_a_page_that_comes_back_into_sight_tells_what_was_changed(
    page: Page, workroom: Workroom, order: OrderRecord
) -> None:
    corrected(workroom, order, bust_girth=1020.0)
    expect(page.locator("#alt-news")).to_be_hidden()
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(page.locator("#alt-news")).to_contain_text("changed elsewhere")
    page.locator("#news-look").click()
    expect(page.locator("#merge-body")).to_contain_text("102")


# --- another book at the same address ------------------------------------------------------------------------------


def test_another_book_at_the_same_address_never_sees_these_changes(
    window: BrowserContext, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Practised first, real after: same port, same numbers, same versions, and another woman's figures."""
    practice = open_workroom(tmp_path_factory.mktemp("practice"))
    real = open_workroom(tmp_path_factory.mktemp("real"))
    first, second = practice.order("Practice"), real.order("Real")
    assert (first.id, first.version, first.chart_id) == (second.id, second.version, second.chart_id)
    corrected(real, second, bust_girth=1020.0, waist_girth=840.0)
    with served(practice.app) as site:
        port = int(site.rpartition(":")[2])
        page = opened(window, site, first)
        typed(page, "chart.bust_girth", "99")
        overrule(page, "armhole", "3", "sat well on the last toile")
        away(page)
        typed(page, "chart.waist_girth", "71")
        expect(state(page)).to_contain_text("held in this browser")
        page.close()
    with served(real.app, port) as site:
        page = opened(window, site, second)
        expect(field(page, "chart.bust_girth")).to_have_value("102.0")
        expect(field(page, "chart.waist_girth")).to_have_value("84.0")
        expect(field(page, "rows.armhole.amount")).not_to_have_value("+3")
        save(page, "real")
    readings = find_chart(real.records, second.chart_id or 0).readings
    assert (readings["bust_girth"].value, readings["waist_girth"].value) == (1020.0, 840.0)
    assert find_trials(real.records, second.id) == {}


# --- the program is away ---------------------------------------------------------------------------------------------


def test_what_is_changed_while_the_program_is_away_is_sent_when_it_is_back(
    page: Page, workroom: Workroom, order: OrderRecord
) -> None:
    away(page)
    typed(page, "chart.waist_girth", "70.2")
    expect(state(page)).to_contain_text("held in this browser until it does")
    assert "70.2" not in kept_steps(workroom, order)
    back(page)
    expect(state(page)).to_contain_text("answers again")
    expect(page.locator("#alteration")).to_have_class("alteration unsaved")
    assert "70.2" in kept_steps(workroom, order)
    assert not any("70.2" in piece for piece in page.evaluate(HELD))
    again(page)
    expect(field(page, "chart.waist_girth")).to_have_value("70.2")
    page.keyboard.press("Control+z")
    expect(field(page, "chart.waist_girth")).not_to_have_value("70.2")


def test_what_is_changed_while_the_program_is_away_outlives_the_page(
    page: Page, workroom: Workroom, window: BrowserContext, site: str, order: OrderRecord
) -> None:
    away(page)
    typed(page, "chart.waist_girth", "70.2")
    expect(state(page)).to_contain_text("held in this browser")
    page.close()
    later = opened(window, site, order)
    expect(field(later, "chart.waist_girth")).to_have_value("70.2")
    expect(state(later)).not_to_contain_text("does not answer")
    assert "70.2" in kept_steps(workroom, order)


@pytest.mark.parametrize("is_away", [False, True])
def test_an_amount_without_its_reason_is_asked_about_again_after_a_reload(page: Page, is_away: bool) -> None:
    if is_away:
        away(page)
    typed(page, "rows.armhole.amount", "3")
    expect(field(page, "rows.armhole.why")).to_be_focused()
    expect(state(page)).to_contain_text("held in this browser" if is_away else "Not yet saved")
    page.wait_for_timeout(300)
    back(page)
    again(page)
    expect(field(page, "rows.armhole.why")).to_be_focused()
    field(page, "rows.armhole.why").fill("sat well")
    field(page, "rows.armhole.why").press("Enter")
    expect(field(page, "rows.armhole.amount")).to_have_value("+3")
    again(page)
    expect(field(page, "rows.armhole.amount")).to_have_value("+3")


def test_nothing_of_an_erased_client_stays_in_the_browser(
    page: Page, workroom: Workroom, window: BrowserContext, site: str, order: OrderRecord
) -> None:
    away(page)
    typed(page, "chart.waist_girth", "70.2")
    expect(state(page)).to_contain_text("held in this browser")
    assert any("70.2" in piece for piece in page.evaluate(HELD))
    page.close()
    erase_client(workroom.records, order.client_id)
    other = window.new_page()
    other.goto(f"{site}/")
    other.wait_for_function(f"async () => !(await ({HELD})()).some((piece) => piece.includes('70.2'))")


def test_the_browser_holds_no_reading_while_the_program_answers(page: Page) -> None:
    typed(page, "chart.waist_girth", "70.2")
    expect(state(page)).to_contain_text("; kept")
    overrule(page, "armhole", "3", "sat well on the last toile")
    hers = "(piece) => piece.includes('70.2') || piece.includes('waist') || piece.includes('toile')"
    page.wait_for_function(f"async () => !(await ({HELD})()).some({hers})")


# --- a reading that is tried ----------------------------------------------------------------------------------


def test_a_reading_tried_belongs_to_the_order_and_the_chart_stays(
    page: Page, workroom: Workroom, order: OrderRecord
) -> None:
    before = find_chart(workroom.records, order.chart_id or 0)
    typed(page, "chart.bust_girth", "99")
    expect(state(page)).to_contain_text("; kept")
    page.keyboard.press("Control+s")
    expect(page.locator("#save-tried-said")).to_contain_text("Bust girth 99 cm (chart: 98 cm)")
    page.locator("#save-cancel").click()
    save(page, "tried")
    assert find_chart(workroom.records, before.id) == before
    head = list_revisions(workroom.records, order.id)[0]
    assert find_revision(workroom.records, head.id).chart["bust_girth"] == 990.0
    again(page)
    expect(field(page, "chart.bust_girth")).to_have_value("99.0")


def test_the_chart_is_corrected_where_she_says_so(page: Page, workroom: Workroom, order: OrderRecord) -> None:
    typed(page, "chart.bust_girth", "99")
    expect(state(page)).to_contain_text("; kept")
    save(page, "corrected", correct=True)
    assert find_chart(workroom.records, order.chart_id or 0).readings["bust_girth"].value == 990.0
    assert find_trials(workroom.records, order.id) == {}
    page.keyboard.press("Control+s")
    expect(page.locator("#save-tried")).to_be_hidden()


def test_a_reading_taken_again_on_the_chart_stands_over_what_was_tried(
    page: Page, workroom: Workroom, order: OrderRecord
) -> None:
    typed(page, "chart.bust_girth", "99")
    expect(state(page)).to_contain_text("; kept")
    save(page, "tried")
    corrected(workroom, order, bust_girth=985.0)
    again(page)
    expect(field(page, "chart.bust_girth")).to_have_value("98.5")
    expect(state(page)).to_contain_text("Taken again on the chart since")
    assert find_order(workroom.records, order.id).wishes == Wishes(reduction=60.0)


# --- how the page looks -----------------------------------------------------------------------------------------


def test_the_zoom_bar_lies_beside_the_pieces_and_girths_stand_on_one_line(page: Page) -> None:
    drawing, zooms = (page.locator(what).bounding_box() for what in ("#drawing", ".zooms"))
    assert drawing is not None
    assert zooms is not None
    assert zooms["y"] >= drawing["y"] + drawing["height"] - 1
    page.locator("summary", has_text="Ordered girths").click()
    heights = page.locator(".girths tbody tr").evaluate_all("rows => rows.map((row) => row.offsetHeight)")
    assert max(heights) < 40


def test_on_paper_chart_pieces_and_checks_are_there(page: Page) -> None:
    page.emulate_media(media="print")
    for what in ("#chart-table", "#drawing", "#checks-telling"):
        expect(page.locator(what)).to_be_visible()
    expect(page.locator("#save-open")).to_be_hidden()


def test_a_finger_finds_room_on_every_control(browser: Browser, site: str, order: OrderRecord) -> None:
    tablet = browser.new_context(viewport={"width": 1024, "height": 768}, has_touch=True, is_mobile=True)
    try:
        page = opened(tablet, site, order)
        assert page.evaluate("matchMedia('(pointer: coarse)').matches")
        small = page.locator(".alteration :is(button, select, input:not([type=checkbox]))").evaluate_all(
            "all => all.filter((one) => one.offsetParent && one.getBoundingClientRect().height < 44)"
            ".map((one) => one.outerHTML.slice(0, 80))"
        )
        assert small == []
    finally:
        tablet.close()
