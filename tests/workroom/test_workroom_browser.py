"""The workroom in a real browser: two windows on one client, what is typed in haste, keys, light and dark."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from alteration_samples import Workroom, open_workroom, served
from playwright.sync_api import Browser, BrowserContext, Page, expect

from coutil.record import Amount, find_chart, find_client, find_fitting


@pytest.fixture
def workroom(tmp_path: Path) -> Iterator[Workroom]:
    opened = open_workroom(tmp_path)
    yield opened
    opened.records.close()


@pytest.fixture
def site(workroom: Workroom) -> Iterator[str]:
    with served(workroom.app) as url:
        yield url


def kept(page: Page) -> None:
    """Waits until everything typed is saved."""
    expect(page.locator("form[data-save]").first).to_have_attribute("data-kept", "yes")


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


def test_an_amount_refused_twice_is_saved_once_it_is_whole(
    window: BrowserContext, site: str, workroom: Workroom
) -> None:
    page = window.new_page()
    sent: list[str] = []
    page.on("request", lambda asked: sent.append(asked.url) if "/api/fittings/" in asked.url else None)
    page.goto(f"{site}/fittings/{a_fitting(workroom)}")
    page.get_by_role("button", name="Another amount").click()
    page.locator('[name="a.0.amount"]').fill("much")
    refused = page.locator('[data-error="a.0.amount"]')
    expect(refused).to_contain_text("is not a length")
    page.locator('[name="a.0.amount"]').fill("0.6")
    expect(refused).to_contain_text("at which seam")
    page.locator('[name="a.0.seam"]').select_option("side")
    kept(page)
    expect(refused).to_have_text("")
    assert find_fitting(workroom.records, 1).amounts == (Amount("side", "both", "", -6),)
    assert len(sent) == 3
    # A line that was never saved and is left out again leaves nothing marked behind.
    page.get_by_role("button", name="Another amount").click()
    page.locator('[name="a.1.amount"]').fill("much")
    expect(page.locator('[data-error="a.1.amount"]')).to_contain_text("is not a length")
    page.get_by_role("button", name="leave out").last.click()
    kept(page)
    expect(page.locator("[data-status]")).to_contain_text(re.compile("^Saved"))


def a_fitting(workroom: Workroom) -> int:
    from coutil.record import Fitting, OrderRecord, add_client, add_fitting, add_order

    client = add_client(workroom.records, "Tenor")
    order = add_order(workroom.records, OrderRecord(0, 1, client.id, "Stage corset", base="75-22"))
    return add_fitting(workroom.records, Fitting(0, 1, order.id, "2026-10-01")).id


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
